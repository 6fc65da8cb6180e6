"""The example runs as a user meets them: from the folder to every number. Their truth is invented with them, so
this guards against change; what is right is held to published values and to simulated oils elsewhere."""

import json
import shutil
from pathlib import Path

import pytest

from cutbook.importers.run_sheet import read_run
from cutbook.model.errors import InputError
from cutbook.reporting.explanation import explain, explanation
from cutbook.workup.read_method import read_method
from cutbook.workup.readiness import readiness
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NAMES = ("crate-oil", "foam-oil", "mixed-film")


def worked_up(name, folder=None):
    run = read_run((folder or EXAMPLES) / name)
    return work_up(run, read_method(run.folder))


@pytest.fixture(scope="module")
def runs():
    return {name: worked_up(name) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_examples_come_out_as_they_were_made(runs, name):
    truth = json.loads((EXAMPLES / "generator" / "truth" / f"{name}.json").read_text(encoding="utf-8"))
    for sample in runs[name].samples:
        known = truth[sample.name]
        lost = known.get("did_not_elute", 0.0)
        for share in sample.carbons.numbered():
            expected = known[str(share.n)] * (1 - lost / 100)
            assert share.mass.value == pytest.approx(expected, abs=max(0.1, 3 * share.mass.u))
        if lost:
            residue = next(share.mass for share in sample.carbons.shares if share.part == "did not elute")
            assert residue.value == pytest.approx(lost, abs=2.0)


@pytest.mark.parametrize("name", NAMES)
def test_the_cuts_of_a_sample_and_of_the_run_add_up(runs, name):
    findings = runs[name]
    for sample in findings.samples:
        for scheme in {cut.scheme for cut in sample.cuts}:
            shares = [cut.mass.value for cut in sample.cuts if cut.scheme == scheme and cut.mass.value is not None]
            assert sum(shares) == pytest.approx(100, abs=0.05)
    known = sum(entry.yield_as_charged.value for entry in findings.balance.products)
    for scheme in {cut.scheme for cut in findings.cuts}:
        yields = [c.yield_as_charged.value for c in findings.cuts if c.scheme == scheme]
        assert sum(value for value in yields if value is not None) == pytest.approx(known, abs=0.05)


def test_a_measured_run_closes_and_one_by_difference_is_not_tested(runs):
    closure = runs["crate-oil"].balance.closure
    # (431.2 + 187.6 + 188.4 L at 1.88 g/L + 24.6 + 14.5) / (812.4 + 205.3)
    assert closure.value == pytest.approx(100 * (431.2 + 187.6 + 188.4 * 1.88 + 24.6 + 14.5) / (812.4 + 205.3))
    assert runs["crate-oil"].balance.verdict == "good"
    assert runs["mixed-film"].balance.closure.value is None
    assert runs["mixed-film"].balance.verdict == "not tested"


def test_dry_yields_follow_from_the_moisture(runs):
    balance = runs["foam-oil"].balance
    oil = balance.products[0]
    assert oil.yield_dry.value == pytest.approx(oil.yield_as_charged.value / (1 - 0.002))


EXPECTED = {
    "crate-oil": {"safety.light_ends", "safety.benzene", "cuts.not_analysed", "sample.solvent_hides", "cuts.partial"},
    "foam-oil": {"safety.benzene", "sample.solvent_hides", "sample.response_basis", "cuts.not_analysed"},
    "mixed-film": {"safety.chlorine_fed", "balance.by_difference", "sample.no_blank", "ladder.interpolated",
                   "sample.residue_unknown", "cuts.before_ladder"},
}  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_examples_raise_the_cautions_that_they_are_made_for(runs, name):
    codes = {one.code for one in runs[name].cautions}
    assert codes >= EXPECTED[name]
    assert "sample.retention_shift" not in codes
    assert "baseline.methods_disagree" not in codes


def test_a_ladder_without_declared_carbons_is_numbered_by_two_signs(runs):
    ladder = runs["mixed-film"].samples[0].ladder
    assert ladder.carbons == (*range(7, 13), *range(14, 37))
    assert sum(sign.verdict == "agrees" for sign in ladder.signs) >= 2


def test_files_with_decimal_commas_and_umlauts_are_read(runs):
    sample = runs["mixed-film"].samples[0]
    assert sample.file == "traces/Öl.csv"
    assert (sample.trace.signal_unit, len(sample.trace.signal)) == ("pA", 44 * 60 * 5)


def test_the_known_aromatics_bring_their_own_response(runs):
    sample = runs["foam-oil"].samples[0]
    nine = next(share for share in sample.carbons.numbered() if share.n == 9)
    # styrene counts with C9 because it elutes after n-octane; it answers more strongly than an alkane
    assert nine.mass_other_response > nine.mass.value + 3


def test_own_and_further_schemes_are_reported_beside_the_headlines(runs):
    schemes = {cut.scheme for cut in runs["foam-oil"].cuts}
    assert schemes == {"carbon-number", "boiling-range", "carbon-4-11-20", "lights-styrene-oligomers"}
    own = {c.cut: c.mass.value for c in runs["foam-oil"].samples[0].cuts if c.scheme == "lights-styrene-oligomers"}
    assert own["styrene range"] > 50


def test_lineage_of_ten_headline_numbers_reaches_the_files(runs):
    findings = runs["crate-oil"]
    names = [
        "balance.closure", "balance.products.oil.yield", "balance.products.gas.mass",
        "cuts.carbon-number.gasoline.yield", "cuts.carbon-number.diesel.yield", "cuts.boiling-range.wax.yield", "samples.oil.carbon_numbers.12.mass",
        "samples.wax.carbon_numbers.did-not-elute.mass", "samples.wax.cuts.carbon-number.wax.mass", "samples.oil.hump",
    ]  # fmt: skip
    hashes = {one.source.path: one.source.sha256 for one in findings.inputs}
    for name in names:
        text = explain(findings, name)
        result = findings.named()[name]
        told = explanation(findings, name)
        files = {step["file"] for step in told["steps"] if step["file"]}
        assert files
        for file in files:
            assert f"sha256 {hashes[file]}" in text
        assert result.step.id in text
        assert sum(part["u"] ** 2 for part in told["budget"]) == pytest.approx(result.u**2)
        assert all(part["input"] in text for part in told["budget"])
    assert "traces/oil-fid.cdf" in explain(findings, "cuts.carbon-number.gasoline.yield")
    assert "blank.u_scale = 0.03" in explain(findings, "cuts.carbon-number.gasoline.yield")


def ids(findings):
    return {name: result.step.id for name, result in findings.named().items()}


def test_a_changed_setting_changes_every_id_downstream_and_no_other(tmp_path, runs):
    shutil.copytree(EXAMPLES / "crate-oil", tmp_path / "crate-oil")
    (tmp_path / "crate-oil" / "method.toml").write_text("[response]\nu_class = 0.04\n", encoding="utf-8")
    before, after = ids(runs["crate-oil"]), ids(worked_up("crate-oil", tmp_path))
    assert before.keys() == after.keys()
    for name in before:
        touched = "carbon_numbers" in name or ".cuts." in name or ".boiling_curve." in name or ".properties." in name
        touched = ".agreement." in name if name.startswith("distillations.") else touched
        touched |= name.startswith(("cold.", "cold_others."))
        touched |= name.startswith(("energy.streams.oil.", "energy.streams.wax."))
        touched |= name in ("energy.products", "energy.closure", "energy.unaccounted")
        touched |= name.startswith("cuts.") and "not analysed" not in name and ".char." not in name
        touched |= name.startswith("elements.") and not name.endswith(".fed")  # hydrogen of oil and wax is estimated
        touched |= name.startswith("balance.reconciled.")  # over the elements
        assert (before[name] != after[name]) == touched, name


def test_a_changed_weighing_changes_what_hangs_on_it_and_nothing_else(tmp_path, runs):
    shutil.copytree(EXAMPLES / "crate-oil", tmp_path / "crate-oil")
    sheet = tmp_path / "crate-oil" / "run.toml"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace('"431.2', '"431.4'), encoding="utf-8")
    before, after = ids(runs["crate-oil"]), ids(worked_up("crate-oil", tmp_path))
    assert before["samples.oil.carbon_numbers.12.mass"] == after["samples.oil.carbon_numbers.12.mass"]
    assert before["balance.products.wax.mass"] == after["balance.products.wax.mass"]
    for name in ("balance.products.oil.mass", "balance.closure", "cuts.carbon-number.gasoline.yield"):
        assert before[name] != after[name]


def test_the_order_of_entries_changes_no_value(tmp_path, runs):
    shutil.copytree(EXAMPLES / "crate-oil", tmp_path / "crate-oil")
    sheet = tmp_path / "crate-oil" / "run.toml"
    head, *entries = sheet.read_text(encoding="utf-8").split("\n[[")
    sheet.write_text("\n[[".join([head, *reversed(entries)]), encoding="utf-8")
    other = worked_up("crate-oil", tmp_path).named()
    for name, result in runs["crate-oil"].named().items():
        assert other[name].value == (None if result.value is None else pytest.approx(result.value, rel=1e-9, abs=1e-12))


def test_work_up_leaves_the_input_as_it_was(tmp_path):
    shutil.copytree(EXAMPLES / "mixed-film", tmp_path / "mixed-film")
    files = {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in (tmp_path / "mixed-film").rglob("*") if p.is_file()}
    worked_up("mixed-film", tmp_path)
    assert {
        p: (p.read_bytes(), p.stat().st_mtime_ns) for p in (tmp_path / "mixed-film").rglob("*") if p.is_file()
    } == files


def test_readiness_names_what_one_more_entry_would_give():
    found = {(one.code, one.about) for one in readiness(read_run(EXAMPLES / "mixed-film"))}
    assert {("measured", "gas"), ("blank", "traces/Öl.csv"), ("internal_standard", "traces/Öl.csv"),
            ("ladder_carbons", "traces/Leiter.csv"), ("trace", "wax"), ("ash", "feed PVC")} <= found  # fmt: skip


def changed(tmp_path, name, old, new):
    shutil.copytree(EXAMPLES / name, tmp_path / name)
    sheet = tmp_path / name / "run.toml"
    text = sheet.read_text(encoding="utf-8")
    assert old in text
    sheet.write_text(text.replace(old, new), encoding="utf-8")
    return name


def line_of(tmp_path, name):
    with pytest.raises(InputError) as refused:
        worked_up(name, tmp_path)
    assert "\n" not in str(refused.value)
    return str(refused.value)


def test_a_ladder_declared_one_carbon_off_is_refused(tmp_path):
    carbons = list(range(5, 45))
    shifted = str([n + 1 for n in carbons])
    name = changed(tmp_path, "crate-oil", str(carbons), shifted)
    assert line_of(tmp_path, name).startswith("traces/ladder-fid.cdf, ladder numbering: found numbering C6–C45 with ")


def test_a_ladder_with_a_carbon_too_many_is_refused(tmp_path):
    carbons = list(range(5, 45))
    name = changed(tmp_path, "crate-oil", str(carbons), str([*carbons, 45]))
    assert line_of(tmp_path, name) == (
        "traces/ladder-fid.cdf, ladder_carbons: found 40 peaks that could be n-alkanes, from 1.48 to 43.97 min; "
        "expected 41, as declared. Leave out of ladder_carbons what the solvent hides or what is missing from the mixture."
    )


def test_an_internal_standard_that_is_not_there_is_refused(tmp_path):
    name = changed(
        tmp_path, "crate-oil", 'name = "methyl octanoate"', 'name = "methyl octanoate", retention_time = "3.6 min"'
    )
    assert line_of(tmp_path, name) == (
        "traces/wax-fid.cdf, internal standard 'methyl octanoate': found no peak between 3.50 and 3.70 min "
        "(retention_time of the run sheet); expected its peak there. Give internal_standard its retention_time or "
        "retention_index in the run sheet, or remove it."
    )


def test_an_internal_standard_of_unknown_place_is_refused(tmp_path):
    name = changed(tmp_path, "crate-oil", 'name = "methyl octanoate"', 'name = "dotriacontanol"')
    assert line_of(tmp_path, name) == (
        "traces/wax-fid.cdf, internal standard 'dotriacontanol': found no retention index for it; expected a "
        'retention_time or retention_index in the run sheet. Write for example internal_standard = { name = "…", '
        'retention_time = "12.34 min", … }.'
    )


def test_without_a_ladder_there_are_peaks_and_a_caution_and_no_cuts(tmp_path):
    name = changed(tmp_path, "mixed-film", 'ladder = "traces/Leiter.csv"\n', "")
    findings = worked_up(name, tmp_path)
    assert findings.samples[0].carbons is None
    assert findings.cuts == ()
    assert len(findings.samples[0].peaks) > 50
    assert "report.no_ladder" in {one.code for one in findings.cautions}


def test_another_detector_is_said_to_count_signal(tmp_path):
    name = changed(tmp_path, "mixed-film", 'detector = "FID"', 'detector = "TCD"')
    assert "sample.area_only" in {one.code for one in worked_up(name, tmp_path).cautions}


def test_replicate_traces_are_averaged_and_their_scatter_counts(tmp_path):
    shutil.copytree(EXAMPLES / "crate-oil", tmp_path / "crate-oil")
    folder = tmp_path / "crate-oil"
    # the wax trace read as a second oil trace: the two differ far more than either's uncertainty
    text = (folder / "run.toml").read_text(encoding="utf-8").replace('of = "wax"', 'of = "oil"')
    (folder / "run.toml").write_text(text, encoding="utf-8")
    findings = worked_up("crate-oil", tmp_path)
    assert [sample.name for sample in findings.samples] == ["oil", "oil-2"]
    first, second = (
        next(c.mass for c in s.cuts if (c.scheme, c.cut) == ("carbon-number", "diesel")) for s in findings.samples
    )
    whole = next(c for c in findings.cuts if (c.scheme, c.cut) == ("carbon-number", "diesel"))
    mean = (first.value + second.value) / 2
    assert dict(whole.parts)["oil"] == pytest.approx(431.2 * mean / 100)
    scatter = abs(first.value - second.value) / 2
    assert whole.yield_as_charged.u == pytest.approx(431.2 * scatter / (812.4 + 205.3), rel=0.02)


def test_lost_light_ends_are_called_out(tmp_path):
    from cutbook.fractions.light_ends import light_end_loss
    from cutbook.model.carbon import CarbonDistribution, CarbonShare
    from cutbook.model.lineage import Step
    from cutbook.model.result import Result

    def distribution(kept):
        step = Step("made/1")
        shares = [
            CarbonShare(n, "carbon number", Result("share", 3.0 * (kept if n < 7 else 1.0), "%", "oil", step))
            for n in range(5, 31)
        ]
        hump = Result("hump", 0.0, "%", "", step)
        return CarbonDistribution(
            "oil", "after", "equal mass response", tuple(shares), range(27), False, hump, hump, step
        )

    assert light_end_loss(distribution(1.0)) == ()
    (told,) = light_end_loss(distribution(0.4))  # 60 % of C5 and C6 removed
    assert (told.code, told.facts["missing"]) == ("sample.light_ends_lost", pytest.approx(3.6))


def test_a_distillation_comes_out_as_it_was_made(runs):
    (still,) = runs["crate-oil"].distillations
    truth = json.loads((EXAMPLES / "generator" / "truth" / "crate-oil.json").read_text(encoding="utf-8"))[
        "distillation"
    ]
    curve = still.curve
    by_name = {cut.cut: cut.mass for cut in curve.receivers}
    for name, grams in zip(("1", "2"), truth["receivers_g"], strict=True):
        assert by_name[name].value == pytest.approx(100 * grams / 250.0, abs=0.1)
    assert curve.residue.value == pytest.approx(100 * truth["pot_g"] / 250.0, abs=0.1)
    # 0.6 % left through the vent
    assert curve.loss.value == pytest.approx(0.6, abs=3 * curve.loss.u)
    # the log's own volumes, made masses by density, agree with the balance within their uncertainty
    last = curve.points[-1].mass_recovered
    assert last.value == pytest.approx(curve.recovered.value, abs=3 * last.u)
    assert [repair.kind for repair in curve.log.repairs if repair.kind != "ditto"] == ["backward", "receiver"]


def test_a_log_in_place_of_the_run_sheet_is_refused_in_one_line(tmp_path):
    shutil.copytree(EXAMPLES / "crate-oil", tmp_path / "crate-oil")
    (tmp_path / "crate-oil" / "still.csv").write_text("nothing here\n", encoding="utf-8")
    with pytest.raises(InputError) as refused:
        worked_up("crate-oil", tmp_path)
    assert str(refused.value).startswith("still.csv: found no line of headings")
