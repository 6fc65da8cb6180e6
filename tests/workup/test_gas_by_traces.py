"""A run without a laboratory: gas by its traces, a certified gas, a meter that somebody read, and the purge."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from gas_traces import TIMES, a_trace

from cutbook.cli.main import main
from cutbook.importers.run_sheet import read_run
from cutbook.model.amount import measured
from cutbook.model.errors import InputError
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.reporting.explanation import explain
from cutbook.reporting.results_json import as_text, results
from cutbook.workup.gas import work_up_gas
from cutbook.workup.method import Method
from cutbook.workup.readiness import readiness
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TRUTH = json.loads((EXAMPLES / "generator" / "truth" / "bottle-caps.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def caps():
    return work_up(read_run(EXAMPLES / "bottle-caps"))


@pytest.fixture
def own(tmp_path):
    folder = tmp_path / "bottle-caps"
    shutil.copytree(EXAMPLES / "bottle-caps", folder, ignore=shutil.ignore_patterns("results"))
    return folder


def changed(folder, *pairs, more=""):
    text = (folder / "run.toml").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    (folder / "run.toml").write_text(text + more, encoding="utf-8")
    return folder


def codes(findings):
    return {one.code for one in findings.cautions}


def test_the_composition_of_the_example_is_the_one_it_was_made_with(caps):
    found = {one.component: one.mole for one in caps.gas.composition}
    for name, share in TRUTH["gas"].items():
        # 1 % of the share or 0.05 mole %, and twice the uncertainty where a response is a relative one
        bar = max(0.01 * share, 0.05) if found[name].u / share < 0.05 else 2 * found[name].u
        assert found[name].value == pytest.approx(share, abs=bar), name
    assert set(found) == {*TRUTH["gas"], "oxygen"}
    assert found["oxygen"].status == "below limit"


def test_the_mass_and_the_purge_of_the_example_are_those_it_was_made_with(caps):
    assert caps.gas.mass.value == pytest.approx(TRUTH["gas_g"], rel=0.005)
    assert caps.gas.amount.purge.found.value == pytest.approx(TRUTH["purge_mol"], rel=0.01)
    assert caps.gas.amount.purge.let_in.value == pytest.approx(TRUTH["purge_mol"], rel=1e-3)
    assert "gas.purge_agrees" in codes(caps)
    assert {"gas.purge_too_much", "gas.purge_too_little"}.isdisjoint(codes(caps))
    gas = next(one for one in caps.balance.products if one.fraction == "gas")
    assert gas.mass.value == caps.gas.mass.value
    assert caps.balance.closure.value == pytest.approx(100 * (432.6 + 61.2 + 8.4 + TRUTH["gas_g"]) / 602.5, abs=0.1)


def test_the_example_raises_the_cautions_that_it_is_made_for(caps):
    assert {
        "gas.relative_response", "gas.bridged", "gas.not_seen", "gas.hydrogen_in_helium", "gas.times_shifted",
        "gas.meter_over_top", "gas.meter_rows_missing", "gas.meter_repairs", "gas.traced_normalised", "gas.below_noise",
    } <= codes(caps)  # fmt: skip
    assert {"gas.standard_not_seen", "gas.detectors_disagree", "gas.bridge_off", "gas.told_by_order"}.isdisjoint(
        codes(caps)
    )


def test_a_gas_told_by_its_standard_is_no_oil_that_lacks_a_ladder(caps):
    assert not caps.samples
    assert "report.no_ladder" not in codes(caps)
    run = read_run(EXAMPLES / "bottle-caps")
    assert not {one.code for one in readiness(run)} & {
        "ladder",
        "gas_analysis",
        "gas_standard",
        "gas_wet",
        "purge_flow",
    }


def test_results_hold_peaks_meter_purge_and_detectors(caps):
    found = json.loads(as_text(results(caps)))["gas"]
    assert {one["component"] for one in found["peaks"]} >= {*TRUTH["gas"], "nitrogen"}
    methane = next(one for one in found["peaks"] if one["component"] == "methane" and one["detector"] == "TCD")
    assert methane["retention_time"]["value"] == pytest.approx(2.95 * 1.012, abs=0.02)
    # of the bag, 4 % less of which was injected
    assert methane["share"]["value"] == pytest.approx(0.96 * TRUTH["bag"]["methane"], rel=0.01)
    assert found["meter"]["volume"]["value"] == pytest.approx((1083.1 - 968.4) * 0.992, abs=0.5)
    assert len(found["meter"]["parts"]) == 11
    assert found["purge_check"]["gas"] == "nitrogen"
    assert [one["detector"] for one in found["detectors"]] == ["TCD", "FID"]
    assert found["composition"]
    assert found["mass"]["unit"] == "g"


def test_a_number_leads_back_to_traces_certificate_and_meter(caps):
    text = explain(caps, "gas.mass")
    for told in ("traces/gas-tcd.txt", "traces/standard-fid.txt", "meter.csv", "certificate of", "factor of the meter"):
        assert told in text, told
    assert {one.source.path for one in caps.inputs} == {
        "run.toml", "meter.csv", *(f"traces/{what}-{how}.txt" for what in ("gas", "standard") for how in ("tcd", "fid")),
    }  # fmt: skip


def test_every_missing_number_has_its_reason(caps):
    for name, result in caps.named().items():
        if result.value is None:
            assert result.reason, name


def test_report_and_workbook_show_the_peaks_and_the_meter(own):
    ran = CliRunner().invoke(main, ["workup", str(own)])
    assert ran.exit_code == 0, ran.output
    page = (own / "results" / "report.html").read_text(encoding="utf-8")
    for told in (
        "Peaks of the gas traces",
        "volume by the meter",
        "purge with nitrogen, let in",
        "gas standard",
    ):
        assert told in page
    from openpyxl import load_workbook

    sheet = load_workbook(own / "results" / "workbook.xlsx")["Gas"]
    cells = [str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert "Peaks of the gas traces" in cells
    assert any(text.startswith("=SUM(") for text in cells)
    assert "line 7" in cells


def test_a_table_beside_the_traces_is_taken_and_the_traces_are_held_against_it(own):
    table = "component,mole %\n" + "".join(f"{name},{share}\n" for name, share in TRUTH["bag"].items())
    (own / "gas.csv").write_text(table.replace("methane,7", "methane,9"), encoding="utf-8")
    found = work_up(read_run(changed(own, more='\n[[gas_analysis]]\nfile = "gas.csv"\nof = "gas"\nbasis = "dry"\n')))
    told = next(one for one in found.cautions if one.code == "gas.table_beside_traces")
    assert "methane" in told.facts["names"]
    assert found.gas.tables
    methane = next(one for one in found.gas.composition if one.component == "methane").mole.value
    assert methane > 15


def bag(folder, name, shares, taken_at, seed):
    trace = a_trace("TCD", shares, seed=seed)
    rows = "\n".join(f"{t:.5f}\t{y:.4f}" for t, y in zip(trace.time_min, trace.signal, strict=True))
    (folder / "traces" / name).write_text(f"time (min)\tTCD (mV)\n{rows}\n", encoding="utf-8")
    return f'[[trace]]\nfile = "traces/{name}"\ndetector = "TCD"\nrole = "sample"\nof = "gas"\n{taken_at}\n'


SHEET = """
[run]
id = "G-2"
[[feed]]
material = "PE"
mass = "500 g"
[[product]]
fraction = "gas"
wet = false
[[gas_meter]]
file = "meter.csv"
temperature = "20 °C"
pressure = "100 kPa"
[reactor]
purge_gas = "none"
[[trace]]
file = "traces/standard.txt"
detector = "TCD"
role = "standard"
carrier = "helium"
amounts = [
{amounts}
]
"""


def a_run(folder, first=("", ""), reactor="", more=""):
    (folder / "traces").mkdir(parents=True)
    standard = {"nitrogen": 0.2, "methane": 0.5, "carbon dioxide": 0.1, "ethane": 0.2}
    amounts = ",\n".join(
        f'{{ name = "{name}", concentration = "{100 * x:g} %", retention_time = "{TIMES["TCD"][name]} min" }}'
        for name, x in standard.items()
    )
    bag(folder, "standard.txt", standard, "", 1)
    early = bag(folder, "early.txt", {"methane": 0.8, "ethane": 0.2}, first[0], 2)
    late = bag(folder, "late.txt", {"methane": 0.4, "ethane": 0.6}, first[1], 3)
    (folder / "meter.csv").write_text("time (min),reading (L)\n0,0\n20,10\n40,40\n60,50\n", encoding="utf-8")
    (folder / "run.toml").write_text(SHEET.replace("{amounts}", amounts) + early + late + more, encoding="utf-8")
    return read_run(folder)


def share_of(findings, name):
    return next(one for one in findings.gas.composition if one.component == name).mole.value


def test_bags_are_weighted_by_what_passed_the_meter_about_their_times(tmp_path):
    found = work_up(a_run(tmp_path / "run", ('taken_at = "10 min"', 'taken_at = "50 min"')))
    assert "gas.bags_by_meter" in codes(found)
    # from the start to 30 min: 10 and half of 30 L; then the rest: 25 to 25
    assert share_of(found, "methane") == pytest.approx(60.0, abs=0.5)
    found = work_up(a_run(tmp_path / "other", ('taken_at = "4 min"', 'taken_at = "36 min"')))
    # midpoint 20 min: 10 L to 40 L
    assert share_of(found, "methane") == pytest.approx(0.2 * 80 + 0.8 * 40, abs=0.5)


def test_traces_without_a_time_are_repeats_of_one_gas(tmp_path):
    found = work_up(a_run(tmp_path / "run"))
    assert share_of(found, "methane") == pytest.approx(60.0, abs=0.5)
    assert len(found.gas.traced) == 1


def test_the_traces_of_one_bag_may_write_its_time_and_its_volume_differently(own):
    tcd, fid = (f'"traces/gas-{one}.txt"' for one in ("tcd", "fid"))
    changed(own, (tcd, f'{tcd}\ntaken_at = "60 min"'), (fid, f'{fid}\ntaken_at = "1.0 h"\nvolume = "2 L"'))
    assert len(work_up(read_run(own)).gas.traced) == 1
    changed(own, ('taken_at = "60 min"', 'taken_at = "60 min"\nvolume = "3 L"'))
    with pytest.raises(InputError, match="of the same bag"):
        work_up(read_run(own))


def test_a_density_beside_a_meter_takes_no_purge_out_again(own, caps):
    found = work_up(read_run(changed(own, ("wet = true", 'wet = true\ndensity = "1.4 g/L"'))))
    # 90 g product gas, its net calorific value by mole fractions of the truth; ISO 6976:2016 values
    assert found.gas.energy.value == pytest.approx(caps.gas.energy.value, rel=1e-9)
    assert "gas.mass_holds_purge" not in codes(found)


def test_a_flame_alone_says_that_air_was_not_tested(own):
    text = (own / "run.toml").read_text(encoding="utf-8")
    (own / "run.toml").write_text(
        "".join(part for part in _entries(text) if '"traces/gas-tcd.txt"' not in part), encoding="utf-8"
    )
    told = {one.code: one for one in work_up(read_run(own)).cautions}
    assert told["gas.air_not_tested"].facts["missing"] == "nitrogen, oxygen"
    assert "gas.oxygen_not_given" not in told


def _entries(text):
    first, *rest = text.split("[[trace]]")
    return [first, *(f"[[trace]]{one}" for one in rest)]


SCRUBBER = (
    '\n[[scrubber]]\nsolution_volume = "1.000 L"\nmethod = "ion-chromatography"\nchloride = "9725 mg/L"\n'
    "before_meter = {before}\n"
)


@pytest.mark.parametrize(("before", "grams"), [("true", 0.0), ("false", 10.0)])
def test_acid_that_passed_the_meter_is_taken_from_the_gas_once(tmp_path, before, grams):
    run = a_run(tmp_path / "run", more=SCRUBBER.format(before=before))
    caught = Result("hydrogen chloride caught", measured(10.0, 0.1, "titration"), "g", "", Step("titrate/1"))
    plain, told = work_up_gas(a_run(tmp_path / "plain"), Method()), work_up_gas(run, Method(), caught=caught)
    # 36.461 g/mol
    assert told.amount.product.value == pytest.approx(plain.amount.product.value - grams / 36.461, rel=1e-6)
    unknown = {one.code for one in work_up_gas(run, Method()).mass.step.all_cautions()}
    assert ("gas.acid_metered_unknown" in unknown) == bool(grams)


def test_only_the_acid_of_bottles_after_the_meter_is_taken_from_the_gas(tmp_path):
    both = SCRUBBER.format(before="true") + SCRUBBER.format(before="false").replace("9725", "972.5")
    found, plain = work_up(a_run(tmp_path / "run", more=both)), work_up(a_run(tmp_path / "plain"))
    # 0.9725 g chloride in the second bottle, 35.45 g/mol
    metered = plain.gas.amount.product.value - found.gas.amount.product.value
    assert metered == pytest.approx(0.9725 / 35.45, rel=1e-3)
    first = work_up(a_run(tmp_path / "first", more=SCRUBBER.format(before="true")))
    assert first.gas.amount.product.value == pytest.approx(plain.gas.amount.product.value)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('name = "ethene", concentration = "10.0 ± 0.1 %", retention_time = "6.60 min"',
         'name = "ethane", concentration = "10.0 ± 0.1 %", retention_time = "6.60 min"', "'ethane' twice"),
        ('name = "carbon monoxide", concentration = "5.00 ± 0.05 %"', 'name = "carbon monoxid", concentration = "5.00 %"',
         "Was 'carbon monoxide' meant"),
        ('concentration = "35.0 ± 0.2 %"', 'concentration = "350 g/kg"', "a share by mass"),
        ('retention_time = "2.95 min"', 'retention_time = "8.5 min"', "no peak at 8.50 min"),
        ('wet = true', 'wet = true\nvolume = "100 L"', "one of the two"),
        ('purge_time = "120 min"', "", "purge_time: found nothing"),
        ('factor = "0.992 ± 0.005"', "factor = 0", "a factor above 0"),
        ("counter_top", "counter_topp", "counter_top"),
        ('purge_flow = "0.400 ± 0.008 L/min"', 'purge_flow = "0.4 L"', "a flow with its unit"),
        ('carrier = "helium"', 'carrier = "heliun"', "Did you mean 'helium'"),
        ('file = "traces/standard-fid.txt"\ndetector = "FID"', 'file = "traces/standard-fid.txt"', "TCD or FID"),
        ('file = "traces/gas-fid.txt"\ndetector = "FID"', 'file = "traces/gas-fid.txt"', "TCD or FID"),
        ('file = "traces/gas-tcd.txt"', 'file = "traces/gas-tcd.txt"\nvolume = "0 L"', "a volume above 0"),
        ('detector = "TCD"', 'detector = "MS"', "found 'MS'; expected TCD or FID"),
    ],
)  # fmt: skip
def test_bad_input_is_one_line_and_exit_status_one(own, old, new, told):
    changed(own, (old, new))
    ran = CliRunner().invoke(main, ["check", str(own)])
    assert ran.exit_code == 1
    assert told in ran.stderr
    assert "Traceback" not in ran.output


def test_a_standard_of_a_liquid_by_mass_is_no_gas_standard(own):
    text = (own / "run.toml").read_text(encoding="utf-8").replace('role = "standard"\nof = "gas"', 'role = "standard"')
    (own / "run.toml").write_text(text.replace('concentration = "10.0 ± 0.1 %"', 'concentration = "5 mg/kg"'), "utf-8")
    run = read_run(own)
    found = work_up(run)
    assert found.gas is None
    assert "report.no_ladder" in codes(found)
    assert "gas_standard" in {one.code for one in readiness(run)}


def test_a_factor_may_be_a_bare_number_above_one(own):
    run = read_run(changed(own, ('factor = "0.992 ± 0.005"', "factor = 1.02")))
    assert run.further["gas_meter"][0]["factor"].value == 1.02


def test_a_leak_shows_in_the_purge(own):
    found = work_up(read_run(changed(own, ('purge_flow = "0.400', 'purge_flow = "0.600'))))
    assert "gas.purge_too_little" in codes(found)
    found = work_up(read_run(changed(own, ('purge_flow = "0.600', 'purge_flow = "0.200'))))
    assert "gas.purge_too_much" in codes(found)


def test_a_standard_without_a_trace_of_the_gas_changes_nothing(own):
    text = (own / "run.toml").read_text(encoding="utf-8")
    kept = text.split("[[trace]]")
    (own / "run.toml").write_text(kept[0] + "".join("[[trace]]" + one for one in kept[3:]), encoding="utf-8")
    found = work_up(read_run(own))
    assert found.gas is None
    assert found.balance.closure.value is None


def test_a_product_that_nobody_measured_is_still_a_fault(own):
    with pytest.raises(InputError, match="no amount of char"):
        read_run(changed(own, ('mass = "8.4 ± 0.2 g"', "")))
