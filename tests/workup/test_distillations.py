"""Distillations in a run: receivers as samples, densities that were not measured, properties from the still itself."""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from cutbook.cli.main import main
from cutbook.fractions.property_equations import flash_point_c, watson_k
from cutbook.importers.run_sheet import read_run
from cutbook.model.errors import InputError
from cutbook.reporting.made_from import named_files
from cutbook.workup.work_up import work_up

CRATE = Path(__file__).resolve().parents[2] / "examples" / "crate-oil"


def copy_of(tmp_path, *changes, more=""):
    shutil.copytree(CRATE, tmp_path / "run")
    sheet = tmp_path / "run" / "run.toml"
    text = sheet.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    sheet.write_text(text + more, encoding="utf-8")
    return tmp_path / "run"


def codes(findings):
    return {one.code for one in findings.cautions}


@pytest.fixture(scope="module")
def crate():
    return work_up(read_run(CRATE))


def properties(still):
    return {one.name: one.result for one in still.properties}


def test_properties_follow_from_the_still_itself(crate):
    found = properties(crate.distillations[0])
    ten = found["recovered_10"].value
    assert found["flash_point"].value == pytest.approx(flash_point_c(ten))
    mean, density = found["mean_average_boiling_point"].value, 0.791
    assert found["watson_k"].value == pytest.approx(watson_k(mean, density / 0.999016), rel=1e-6)
    assert not any(name.startswith("one_plate") for name in found)


def test_a_packed_column_gives_no_one_plate_properties(tmp_path):
    findings = work_up(read_run(copy_of(tmp_path, ('kind = "simple"', 'kind = "packed"'))))
    found = properties(findings.distillations[0])
    assert "flash_point" not in found
    assert found["recovered_50"].value is not None


def test_a_receiver_is_a_sample_with_its_own_density_and_no_part_of_the_whole(tmp_path, crate):
    folder = copy_of(
        tmp_path,
        ('name = "2", mass = "62.4 ± 0.1 g"', 'name = "2", mass = "62.4 ± 0.1 g", density = "0.815 ± 0.001 g/mL"'),
        more='\n[[trace]]\nfile = "traces/receiver.cdf"\ndetector = "FID"\nrole = "sample"\nof = "2"\n'
             'ladder = "traces/ladder-fid.cdf"\n',
    )  # fmt: skip
    shutil.copyfile(CRATE / "traces" / "wax-fid.cdf", folder / "traces" / "receiver.cdf")
    findings = work_up(read_run(folder))
    sample = next(one for one in findings.samples if one.of == "2")
    density = next(one for one in sample.properties if one.name == "density")
    assert density.result.value == pytest.approx(0.815)
    assert not density.estimate
    before = {(cut.scheme, cut.cut): cut.yield_as_charged.value for cut in crate.cuts}
    assert {(cut.scheme, cut.cut): cut.yield_as_charged.value for cut in findings.cuts} == before


def test_a_density_that_was_not_measured_is_estimated_and_said(tmp_path, crate):
    line = 'density = "0.791 ± 0.001 g/mL"     # hydrometer, 15 °C\n'
    findings = work_up(read_run(copy_of(tmp_path, (line, ""))))
    still, measured = findings.distillations[0], crate.distillations[0]
    assert "still.density_estimated" in codes(findings)
    last, known = still.curve.points[-1].mass_recovered, measured.curve.points[-1].mass_recovered
    assert last.u > known.u
    assert last.value == pytest.approx(known.value, abs=2 * last.u)
    assert "assumed Watson factor" in dict(still.curve.points[-1].volume_recovered.budget)


def test_two_distillations_of_one_oil_have_names_of_their_own(tmp_path):
    folder = copy_of(tmp_path, more='\n[[distillation]]\nfile = "again.csv"\nof = "oil"\ncharge_mass = "250 g"\n')
    shutil.copyfile(CRATE / "still.csv", folder / "again.csv")
    findings = work_up(read_run(folder))
    assert [still.name for still in findings.distillations] == ["oil", "oil-2"]
    assert {"distillations.oil.loss", "distillations.oil-2.loss"} <= set(findings.named())
    assert "still.kind_not_said" in codes(findings)
    assert [one.source.path for one in findings.inputs if one.role == "still log"] == ["still.csv", "again.csv"]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('kind = "simple"', 'kind = "simpel"', "Did you mean 'simple'?"),
        ('charge_mass = "250.0 ± 0.1 g"', 'charge_mass = "0 g"', "a mass above 0"),
        ('residue_mass = "8.8 ± 0.2 g"', 'residue_mass = "300 g"', "no more than was charged"),
        ('kind = "simple"', 'kind = "simple"\nstem_temperature = "35 °C"', "emergent_stem_degrees"),
        ('kind = "simple"', 'kind = "simple"\nemergent_stem_degrees = 900\nstem_temperature = "35 °C"', "0 to 400"),
        ('kind = "simple"', 'kind = "simple"\ncolumns = { head = "T" }', "unknown key 'head'"),
        ('name = "2", mass', 'name = "1", mass', "'1' 2 times"),
        ('kind = "simple"', 'kind = "simple"\nas_written = 7', "line 7"),
    ],
)
def test_a_wrong_entry_is_one_line(tmp_path, old, new, told):
    with pytest.raises(InputError) as refused:
        read_run(copy_of(tmp_path, (old, new)))
    assert told in str(refused.value)
    assert str(refused.value).startswith("run.toml, [[distillation]] 1")


def test_columns_of_a_trace_may_name_the_sheet(tmp_path):
    folder = copy_of(tmp_path, ('file = "traces/oil-fid.cdf"\n',
                                'file = "traces/oil-fid.cdf"\ncolumns = { sheet = "S", time = "t" }\n'))  # fmt: skip
    assert read_run(folder).traces[0].columns == {"sheet": "S", "time": "t"}


def test_still_and_trace_of_the_example_agree(crate):
    agreement = crate.distillations[0].agreement
    assert (agreement.verdict, agreement.culprit) == ("agree", "")
    assert agreement.of == "oil"
    assert abs(agreement.median.value) < 5
    assert "still.csv" in {source.path for source in agreement.median.step.sources()}
    assert "traces/oil-fid.cdf" in {source.path for source in agreement.median.step.sources()}


def test_without_a_pressure_the_comparison_says_so_once(tmp_path):
    text = (CRATE / "still.csv").read_text(encoding="utf-8").splitlines()
    folder = copy_of(tmp_path)
    rows = [line.split(",") for line in text[:22]]
    (folder / "still.csv").write_text("\n".join(",".join(r[:4] + r[5:6]) for r in rows) + "\n", encoding="utf-8")
    findings = work_up(read_run(folder))
    told = [one.code for one in findings.cautions]
    assert told.count("still.no_barometer") == 1
    assert "agreement.no_pressure" not in told
    assert findings.distillations[0].agreement is not None


def test_a_plan_made_before_is_held_against_the_log_and_is_an_input(tmp_path):
    folder = copy_of(tmp_path)
    before = named_files(read_run(folder))
    made = CliRunner().invoke(
        main, ["plan", str(folder), "--cuts", "gasoline,diesel", "--plates", "1", "--reflux", "0.5"]
    )
    assert made.exit_code == 0, made.output
    assert named_files(read_run(folder)) == (*before, "plan/plan.json")
    findings = work_up(read_run(folder))
    plan = findings.distillations[0].plan
    assert {cut.cut for cut in plan.cuts} >= {"gasoline", "diesel"}
    assert ("plan/plan.json", "plan") in {(one.source.path, one.role) for one in findings.inputs}
    assert "distillations.oil.plan.gasoline.difference" in findings.named()
    (folder / "plan" / "plan.json").write_text("{}", encoding="utf-8")
    with pytest.raises(InputError, match="plan/plan.json: found JSON of something else"):
        work_up(read_run(folder))
