"""The gas of a run from its table to balance, results and report."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from cutbook.cli.main import main
from cutbook.importers.run_sheet import read_run
from cutbook.model.errors import InputError
from cutbook.reporting.explanation import explain
from cutbook.reporting.results_json import as_text, results
from cutbook.workup.readiness import readiness
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SHEET = """
[run]
id = "G-1"

[[feed]]
material = "{material}"
mass = "500.0 ± 0.5 g"

[[product]]
fraction = "oil"
mass = "300.0 ± 0.5 g"

[[product]]
fraction = "gas"
{gas}

{reactor}

[[gas_analysis]]
file = "gas.csv"
basis = "dry"
"""
METERED = 'volume = "100.0 ± 1.0 L"\ntemperature = "19.0 ± 0.5 °C"\npressure = "100.9 ± 0.1 kPa"\nwet = true'
TABLE = "component,mole %\nmethane,50.0\npropene,50.0\nnitrogen,0\noxygen,0\n"


def a_run(folder, gas=METERED, reactor='[reactor]\npurge_gas = "none"', table=TABLE, material="PE", more=""):
    folder.mkdir(exist_ok=True)
    (folder / "run.toml").write_text(SHEET.format(gas=gas, reactor=reactor, material=material) + more, encoding="utf-8")
    (folder / "gas.csv").write_text(table, encoding="utf-8")
    return read_run(folder)


def codes(findings):
    return {one.code for one in findings.cautions}


@pytest.fixture(scope="module")
def crate():
    return work_up(read_run(EXAMPLES / "crate-oil"))


def test_the_composition_of_the_example_is_the_one_it_was_made_with(crate):
    truth = json.loads((EXAMPLES / "generator" / "truth" / "crate-oil.json").read_text(encoding="utf-8"))["gas"]
    found = {one.component: one.mole for one in crate.gas.composition}
    for name, share in truth.items():
        assert found[name].value == pytest.approx(share, abs=max(0.06, 2 * found[name].u)), name
    assert crate.gas.gas.purge.value == pytest.approx(2.4, abs=0.05)
    assert crate.gas.gas.air_free


def test_a_metered_gas_brings_its_mass_into_the_balance(tmp_path):
    findings = work_up(a_run(tmp_path / "run"))
    gas = next(one for one in findings.balance.products if one.fraction == "gas")
    assert gas.how == "volume and composition"
    # (p - pw) V/(Z R T) M by hand; pw 2.198 kPa at 19 °C (steam tables), Z 0.993
    moles = (100.9 - 2.198) * 100 / (8.314462 * 292.15) / 0.993
    assert gas.mass.value == pytest.approx(moles * (0.5 * 16.042 + 0.5 * 42.08), rel=2e-3)
    assert findings.gas.mass.value == gas.mass.value
    assert findings.balance.closure.value == pytest.approx(100 * (300 + gas.mass.value) / 500)
    assert "volume of gas" in dict(findings.balance.closure.budget)


def test_without_an_analysis_a_metered_gas_has_no_mass(tmp_path):
    run = a_run(tmp_path / "run")
    sheet = (tmp_path / "run" / "run.toml").read_text(encoding="utf-8").split("[[gas_analysis]]")[0]
    (tmp_path / "run" / "run.toml").write_text(sheet, encoding="utf-8")
    run = read_run(tmp_path / "run")
    findings = work_up(run)
    assert findings.gas is None
    assert findings.balance.closure.value is None
    assert results(findings)["gas"] is None
    assert ("gas_analysis", "gas") in {(one.code, one.about) for one in readiness(run)}


def test_a_weighed_gas_keeps_its_weight(tmp_path):
    findings = work_up(a_run(tmp_path / "run", gas='mass = "120.0 ± 2.0 g"'))
    assert findings.balance.products[1].how == "weighed"
    assert findings.gas.mass.value == 120.0
    # energy: net calorific value by mass of half methane, half propene
    net = (0.5 * (891.51 - 2 * 44.431) + 0.5 * (2059.43 - 3 * 44.431)) / (0.5 * 16.04246 + 0.5 * 42.081)
    assert findings.gas.energy.value == pytest.approx(120 * net / 1000, rel=1e-6)


def test_a_gas_by_difference_has_a_heating_value_and_no_mass(tmp_path):
    findings = work_up(a_run(tmp_path / "run", gas="by_difference = true"))
    found = results(findings)
    assert found["gas"]["mass"] is None
    assert found["gas"]["energy"] is None
    assert found["gas"]["gross_calorific_value"]["unit"] == "MJ/kg"
    assert {one["name"]: one["text"] for one in found["missing"]}["gas.mass"].startswith(
        "gas was neither weighed nor metered"
    )


def test_results_hold_what_the_contract_names(crate):
    gas = json.loads(as_text(results(crate)))["gas"]
    assert {"composition", "air_free", "mass", "gross_calorific_value", "net_calorific_value", "volumetric"} <= set(gas)
    for one in gas["composition"]:
        assert {"component", "mole", "mass"} <= set(one)
    assert gas["volumetric"]["reference"] == "15/15 °C, 101.325 kPa"
    for key in ("gross", "net", "wobbe"):
        assert gas["volumetric"][key]["unit"] == "MJ/m3"
    seen = [one for one in gas["composition"] if one["mole"] is not None]
    for key in ("mole", "mass"):
        assert sum(one[key]["value"] for one in seen) == pytest.approx(100.0, abs=1e-9)
    assert len(gas["volumetric_at"]) == 20
    below = {one["component"]: one["below"]["value"] for one in gas["composition"] if one["mole"] is None}
    assert set(below) == {"oxygen", "hydrogen sulfide"}


def test_the_composition_is_a_table_too(crate):
    table = crate.table("gas").set_index("component")
    assert table.loc["propene", "mole_percent"] == crate.named()["gas.composition.propene.mole"].value
    assert table.loc["oxygen", "below_mole_percent"] == pytest.approx(0.1, rel=0.05)
    assert table.loc["oxygen", "reason"] == "gas.below_limit"


def test_every_missing_number_has_its_reason(crate):
    for one in results(crate)["missing"]:
        if one["name"].startswith("gas."):
            assert one["text"], one["name"]


def test_a_number_leads_back_to_the_table_and_the_sheet(crate):
    told = explain(crate, "gas.gross_calorific_value")
    assert "gas.csv" in told
    assert "what C5+ consists of" in told
    assert "run.toml" in explain(crate, "gas.mass")


def test_the_file_is_among_the_inputs(crate):
    assert ("gas.csv", "gas analysis", "gas") in {(one.source.path, one.role, one.of) for one in crate.inputs}


def test_a_purge_with_carbon_dioxide_gives_null_and_its_reason(tmp_path):
    table = "component,mole %\nmethane,40\npropene,30\nCO2,30\nnitrogen,0\noxygen,0\n"
    findings = work_up(a_run(tmp_path / "run", reactor='[reactor]\npurge_gas = "carbon dioxide"', table=table))
    found = results(findings)
    product = {one["component"]: one["mole"] for one in found["gas"]["composition"]}
    assert product["carbon dioxide"] is None
    assert "gas.purge_carbon_dioxide" in codes(findings)
    assert product["methane"]["value"] == pytest.approx(100 * 4 / 7)


def test_air_over_an_unswept_charge_is_bounded(tmp_path):
    reactor = '[reactor]\npurge_gas = "none"\nfree_volume = "2.1 L"\nswept_before_heating = false'
    findings = work_up(a_run(tmp_path / "run", reactor=reactor))
    # p V/(R T) of air at the state of the gas, a fifth of it oxygen
    expected = 0.2094 * 100.9 * 2.1 / (8.314462 * 292.15) * 31.9988
    assert findings.gas.trapped.oxygen.value == pytest.approx(expected, rel=1e-3)
    assert "gas.trapped_air" in codes(findings)
    assert "gas.trapped_air_assumed" not in codes(findings)
    weighed = work_up(a_run(tmp_path / "weighed", gas='mass = "120 g"', reactor=reactor))
    assert "gas.trapped_air_assumed" in codes(weighed)
    # at 20 °C and one atmosphere
    assert weighed.gas.trapped.oxygen.value == pytest.approx(
        0.2094 * 101.325 * 2.1 / (8.314462 * 293.15) * 31.9988, rel=1e-3
    )
    swept = work_up(a_run(tmp_path / "other", reactor=reactor.replace("false", "true")))
    assert swept.gas.trapped is None


@pytest.mark.parametrize(
    ("rows", "code"),
    [
        ("carbon monoxide,1.0\n", "safety.carbon_monoxide"),
        ("HCl,0.2\n", "safety.hydrogen_chloride"),
        ("", "safety.flammable_gas"),
    ],
)
def test_what_the_gas_does_to_people_comes_first(tmp_path, rows, code):
    findings = work_up(a_run(tmp_path / "run", table=TABLE + rows))
    assert code in codes(findings)
    assert code in [one["code"] for one in results(findings)["cautions"][:3]]
    assert results(findings)["cautions"][0]["level"] == "danger"


def test_chlorine_in_the_feed_and_no_line_for_its_acid_is_told(tmp_path):
    assert "gas.acid_not_seen" in codes(work_up(a_run(tmp_path / "run", material="PVC")))
    table = TABLE + "HCl,< 0.01\n"
    assert "gas.acid_not_seen" not in codes(work_up(a_run(tmp_path / "run", material="PVC", table=table)))


def test_a_density_that_the_composition_denies_is_told(tmp_path):
    gas = METERED + '\ndensity = "2.40 ± 0.02 g/L"'
    findings = work_up(a_run(tmp_path / "run", gas=gas))
    assert "gas.density_disagrees" in codes(findings)
    assert findings.balance.products[1].how == "volume × density"


def test_several_bags_are_mixed_by_volume(tmp_path):
    more = 'volume = "10 L"\n\n[[gas_analysis]]\nfile = "late.csv"\nbasis = "dry"\nvolume = "30 L"\n'
    folder = tmp_path / "run"
    folder.mkdir()
    (folder / "late.csv").write_text("component,mole %\nmethane,100\nnitrogen,0\noxygen,0\n", encoding="utf-8")
    findings = work_up(a_run(folder, more=more))
    found = {one.component: one.mole.value for one in findings.gas.composition}
    assert found["methane"] == pytest.approx(100 * (0.25 * 0.5 + 0.75))
    assert "gas.bags_weighted" in codes(findings)


def test_analyses_of_two_products_are_refused(tmp_path):
    folder = tmp_path / "run"
    more = '\n[[gas_analysis]]\nfile = "gas.csv"\nof = "oil"\n'
    with pytest.raises(InputError, match="analyses of one product"):
        work_up(a_run(folder, more=more))


def test_a_table_that_cannot_be_read_is_one_line_and_exit_status_one(tmp_path):
    a_run(tmp_path / "run", table="component,mole %\nmethane,50\nphlogiston,50\n")
    ended = CliRunner().invoke(main, ["workup", str(tmp_path / "run")])
    assert ended.exit_code == 1
    told = ended.output
    assert "gas.csv, line 3" in told
    assert "phlogiston" in told
    assert "Traceback" not in told


def test_a_gas_of_no_volume_is_refused(tmp_path):
    with pytest.raises(InputError, match="a volume above 0"):
        work_up(a_run(tmp_path / "run", gas=METERED.replace("100.0 ± 1.0 L", "0 L")))


def test_a_bag_of_no_volume_is_refused(tmp_path):
    with pytest.raises(InputError, match="a volume above 0"):
        a_run(tmp_path / "run", more='volume = "0 L"\n')


def test_a_misspelt_key_of_the_entry_is_told(tmp_path):
    with pytest.raises(InputError, match="'volum'"):
        a_run(tmp_path / "run", more='volum = "3 L"\n')


def test_the_results_folder_has_sheet_figure_and_section(tmp_path):
    shutil.copytree(EXAMPLES / "crate-oil", tmp_path / "run")
    ended = CliRunner().invoke(main, ["workup", str(tmp_path / "run"), "--out", str(tmp_path / "out")])
    assert ended.exit_code == 0
    assert (tmp_path / "out" / "figures" / "gas.svg").is_file()
    html = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert '<section id="gas">' in html
    assert "15/15 °C, 101.325 kPa" in html
    import openpyxl

    sheet = openpyxl.load_workbook(tmp_path / "out" / "workbook.xlsx")["Gas"]
    formulas = [cell.value for row in sheet.iter_rows() for cell in row if str(cell.value).startswith("=")]
    assert sum(one.startswith("=SUMPRODUCT(") for one in formulas) == 2
    assert sum(one.startswith("=SUM(") for one in formulas) == 2


def test_a_weighed_gas_that_holds_purge_gas_is_told_with_the_share(tmp_path):
    table = "component,mole %\nmethane,45\npropene,45\nnitrogen,10\noxygen,0\n"
    reactor = '[reactor]\npurge_gas = "nitrogen"'
    findings = work_up(a_run(tmp_path / "run", gas='mass = "120 g"', reactor=reactor, table=table))
    told = next(one for one in findings.cautions if one.code == "gas.mass_holds_purge")
    expected = 100 * 10 * 28.0134 / (10 * 28.0134 + 45 * (16.04246 + 42.081))
    assert told.facts["percent"] == pytest.approx(expected, abs=0.06)
    metered = work_up(a_run(tmp_path / "other", reactor=reactor, table=table))
    assert "gas.mass_holds_purge" not in codes(metered)


@pytest.mark.parametrize(
    "gas", ['mass = "120 g"\nwet = true', METERED.replace("wet = true", 'wet = true\ndensity = "1.2 g/L"')]
)
def test_a_gas_that_was_weighed_wet_is_told_with_its_water(tmp_path, gas):
    told = next(one for one in work_up(a_run(tmp_path / "run", gas=gas)).cautions if one.code == "gas.mass_holds_water")
    # saturation at 20 and 19 °C by steam tables, 2.3393 and 2.198 kPa; half methane, half propene
    water = 2.3393 / 101.325 if "mass" in gas else 2.198 / 100.9
    expected = 100 * water * 18.015 / (water * 18.015 + (1 - water) * 0.5 * (16.042 + 42.081))
    assert told.facts["percent"] == pytest.approx(expected, abs=0.06)


@pytest.mark.parametrize("gas", [METERED, 'mass = "120 g"', 'mass = "120 g"\nwet = false'])
def test_a_dry_gas_and_one_from_its_volume_hold_no_water(tmp_path, gas):
    assert "gas.mass_holds_water" not in codes(work_up(a_run(tmp_path / "run", gas=gas)))


@pytest.mark.parametrize(
    ("pressure", "told"), [("1.2", True), ("40", True), ("83", False), ("104", False), ("180", True)]
)
def test_a_pressure_that_may_be_one_over_the_room_is_told(tmp_path, pressure, told):
    gas = METERED.replace("100.9 ± 0.1", pressure).replace("wet = true", "wet = false")
    assert ("gas.pressure_unlikely" in codes(work_up(a_run(tmp_path / "run", gas=gas)))) == told
