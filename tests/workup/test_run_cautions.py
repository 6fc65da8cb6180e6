"""What a run as a whole gives reason to warn of."""

from dataclasses import replace

from cutbook.workup.run_cautions import doubts_of_run


def test_an_oil_of_aromatic_plastics_warns_of_its_boiling_curve(findings):
    feed = findings.run.feeds[0]
    codes = {}
    for material in ("PE-HD", "PS", "EPS", "PVC"):
        run = replace(findings.run, feeds=(replace(feed, material=material),))
        told = [
            one for one in doubts_of_run(run, findings.samples, findings.cuts) if one.code == "boiling.aromatic_bias"
        ]
        codes[material] = [one.facts["material"] for one in told]
    assert codes == {"PE-HD": [], "PS": ["PS"], "EPS": ["EPS"], "PVC": ["PVC"]}


def test_without_a_curve_there_is_nothing_to_warn_of(findings):
    run = replace(findings.run, feeds=(replace(findings.run.feeds[0], material="PS"),))
    bare = [replace(sample, boiling_curve=None) for sample in findings.samples]
    assert "boiling.aromatic_bias" not in {one.code for one in doubts_of_run(run, bare, findings.cuts)}
