"""The elements of a run from its sheet to results and report."""

import io
import json

import openpyxl
import pytest
from element_runs import EXAMPLES, OX, PE, WATER, C, H, N, a_run, codes, found, share

from cutbook.balance.stream_elements import kind_of
from cutbook.importers.run_sheet import read_run
from cutbook.model.amount import budget
from cutbook.model.errors import InputError
from cutbook.reporting.cautions import in_order
from cutbook.reporting.explanation import explain
from cutbook.reporting.page import page
from cutbook.reporting.results_json import as_text, results
from cutbook.reporting.workbook import workbook
from cutbook.workup.work_up import work_up


@pytest.fixture(scope="module")
def crate():
    return work_up(read_run(EXAMPLES / "crate-oil"))


@pytest.fixture(scope="module")
def film():
    return work_up(read_run(EXAMPLES / "mixed-film"))


def test_moisture_counts_as_water_and_ash_as_none_of_the_elements(tmp_path):
    wet = found(tmp_path, feeds=[{"material": "PE", "mass": "100.0 g", "moisture": "2.0 %", "ash": "3.0 %"}])
    assert share(wet, "PE", "H") == pytest.approx(0.95 * PE + 0.02 * WATER, rel=1e-9)
    assert share(wet, "PE", "O") == pytest.approx(0.02 * (1 - WATER), rel=1e-9)
    assert share(wet, "PE", "C") == pytest.approx(0.95 * (1 - PE), rel=1e-9)
    assert wet.named()["elements.C.fed"].value == pytest.approx(95 * (1 - PE), rel=1e-9)


def test_moisture_makes_no_product_suspect_of_oxygen(tmp_path):
    products = [{"fraction": "oil", "mass": "90.0 g"}, {"fraction": "water", "mass": "2.0 g"}]
    wet = found(tmp_path, feeds=[{"material": "PE", "mass": "100.0 g", "moisture": "2.0 %"}], products=products)
    assert share(wet, "oil", "O") == 0.0
    assert "elements.liquid_unknown" not in codes(wet)


def test_what_the_sheet_states_of_a_feed_stands_as_charged(tmp_path):
    feed = {"material": "PE", "mass": "100.0 g", "moisture": "2.0 %", "carbon": "84.0 %", "hydrogen": "14.2 %"}
    stated = found(tmp_path, feeds=[feed])
    assert share(stated, "PE", "C") == pytest.approx(0.84)
    assert share(stated, "PE", "H") == pytest.approx(0.142)  # moisture is in it
    assert share(stated, "PE", "O") == pytest.approx(0.02 * (1 - WATER))


def test_plasticised_pvc_gives_up_its_formula(tmp_path):
    soft = found(tmp_path, feeds=[{"material": "PVC", "mass": "100.0 g", "chlorine": "35.0 %"}])
    assert "elements.formula_contradicted" in codes(soft)
    assert share(soft, "PVC", "Cl") == pytest.approx(0.35)
    assert share(soft, "PVC", "C") is None
    assert soft.named()["elements.C.fed"].value is None


def test_an_unknown_material_says_what_to_enter(tmp_path):
    unknown = found(tmp_path, feeds=[{"material": "sweepings", "mass": "100.0 g", "carbon": "70 %"}])
    told = next(one for one in in_order(unknown.cautions) if one.code == "elements.feed_unknown")
    assert 'hydrogen = "… %"' in told.do
    assert "carbon = " not in told.do
    results_of = results(unknown)
    assert results_of["elements"]["C"]["fed"]["value"] == pytest.approx(70)
    assert results_of["elements"]["H"]["fed"] is None


def test_nylon_brings_nitrogen_and_oxygen(tmp_path):
    # C6H11NO, 113.16 g/mol
    whole = 6 * C + 11 * H + N + OX
    nylon = found(tmp_path, feeds=[{"material": "PA6", "mass": "100.0 g", "moisture": "0 %", "ash": "0 %"}])
    assert share(nylon, "PA6", "N") == pytest.approx(N / whole, rel=1e-9)
    assert share(nylon, "oil", "C") is None  # nobody analysed it, and it may hold nitrogen
    assert "elements.liquid_unknown" in codes(nylon)


def test_a_measured_hydrogen_leaves_carbon_as_the_rest_of_a_hydrocarbon(tmp_path):
    oil = {"fraction": "oil", "mass": "100.0 g", "hydrogen": "14.0 %", "moisture": "1.0 %", "ash": "0.5 %"}
    one = found(tmp_path, products=[oil])
    # of the oil as weighed: its moisture brings oxygen along, its hydrogen is in the 14 %
    assert share(one, "oil", "H") == pytest.approx(0.14)
    assert share(one, "oil", "O") == pytest.approx(0.01 * (1 - WATER))
    assert share(one, "oil", "C") == pytest.approx(1 - 0.14 - 0.005 - 0.01 * (1 - WATER))


def test_a_char_that_nobody_analysed_stays_between_its_bounds(tmp_path):
    run = found(
        tmp_path,
        feeds=[{"material": "PE", "mass": "100.0 g", "moisture": "0 %", "ash": "2.0 %"}],
        products=[{"fraction": "oil", "mass": "95.0 g"}, {"fraction": "char", "mass": "5.0 g"}],
    )
    char = next(one for one in run.elements.balance.streams if one.name == "char")
    assert char.elements["C"].share is None
    assert char.elements["C"].high == pytest.approx(1 - 2 / 5)  # the ash of the feed is in it
    assert char.elements["H"].high == pytest.approx(0.08)
    assert char.elements["O"].share == 0.0
    assert run.named()["elements.C.closure"].reason == "elements.open"


def test_a_run_whose_products_are_all_analysed_closes(tmp_path):
    # 100 g of polyethylene to 80 g of oil and 20 g of char, which take its carbon and hydrogen between them
    oil_h = 0.16
    char_h = (100 * PE - 80 * oil_h) / 20
    products = [
        {"fraction": "oil", "mass": "80.0 g", "hydrogen": f"{100 * oil_h} %", "carbon": f"{100 - 100 * oil_h} %"},
        {"fraction": "char", "mass": "20.0 g", "hydrogen": f"{100 * char_h:.10f} %",
         "carbon": f"{100 - 100 * char_h:.10f} %"},
    ]  # fmt: skip
    run = found(tmp_path, feeds=[{"material": "PE", "mass": "100.0 g", "moisture": "0 %", "ash": "0 %"}],
                products=products)  # fmt: skip
    for element in ("C", "H"):
        assert run.named()[f"elements.{element}.closure"].value == pytest.approx(100, abs=1e-7)
    assert results(run)["elements"]["H"]["closure"]["u"] > 0


GAS = "component,mole %\nmethane,50.0\nethene,50.0\n"


METERED = {"fraction": "gas", "volume": "100.0 L", "temperature": "19.0 °C", "pressure": "100.9 kPa", "wet": False}


BALANCED = '\n[reactor]\npurge_gas = "none"\n\n[[gas_analysis]]\nfile = "gas.csv"\nof = "gas"\nbasis = "dry"\n'


def test_a_gas_holds_what_its_components_hold(tmp_path):
    run = found(tmp_path, products=[METERED], more=BALANCED, files={"gas.csv": GAS})
    # CH4 and C2H4 by halves: 3 C and 8 H in 44.1 g
    whole = 3 * C + 8 * H
    assert share(run, "gas", "C") == pytest.approx(3 * C / whole, rel=1e-9)
    assert share(run, "gas", "H") == pytest.approx(8 * H / whole, rel=1e-9)


def test_the_elements_of_a_weighed_gas_count_its_purge_gas_as_mass_alone(tmp_path):
    weighed = {"fraction": "gas", "mass": "40.0 ± 0.1 g"}
    table = "component,mole %\nmethane,25.0\nethene,25.0\nnitrogen,50.0\noxygen,0.0\n"
    more = BALANCED.replace('"none"', '"nitrogen"')
    run = found(tmp_path, products=[weighed], more=more, files={"gas.csv": table})
    whole = 3 * C + 8 * H + 2 * 2 * N
    assert share(run, "gas", "C") == pytest.approx(3 * C / whole, rel=1e-9)
    assert share(run, "gas", "N") == 0.0
    told = next(one for one in run.cautions if one.code == "elements.gas_with_purge")
    assert told.facts["percent"] == pytest.approx(100 * 4 * N / whole, abs=0.1)
    assert "elements.gas_with_purge" not in codes(found(tmp_path, products=[METERED], more=more,
                                                        files={"gas.csv": table}))  # fmt: skip


def test_hydrogen_gas_gives_a_gas_more_room_than_methane(tmp_path):
    table = "component,mole %\nmethane,50.0\nhydrogen,50.0\n"
    run = found(tmp_path, products=[METERED], more=BALANCED, files={"gas.csv": table})
    one = next(each for each in run.elements.balance.implied if (each.name, each.element) == ("gas", "H"))
    free = 2 * H / (C + 4 * H + 2 * H)
    assert one.most == pytest.approx(100 * (free + (1 - free) * 4 * H / (C + 4 * H)), rel=1e-9)


def test_elements_above_the_whole_are_refused(tmp_path):
    with pytest.raises(InputError, match="100 % at most"):
        a_run(tmp_path / "run", feeds=[{"material": "PE", "mass": "100.0 g", "carbon": "90 %", "hydrogen": "14 %"}])


def test_a_run_of_masses_that_add_up_and_hydrogen_that_cannot_be_is_a_danger(tmp_path):
    # no publication of such a run is at hand; by the rule that a gas holds no more hydrogen than methane
    products = [
        {"fraction": "oil", "mass": "80.0 ± 0.1 g", "hydrogen": "11.0 ± 0.1 %", "carbon": "89.0 ± 0.1 %"},
        {"fraction": "char", "mass": "4.0 ± 0.1 g", "hydrogen": "1.0 %", "carbon": "97 %"},
        {"fraction": "gas", "by_difference": True},
    ]
    run = found(tmp_path, products=products)
    told = next(one for one in in_order(run.cautions) if one.code == "elements.hydrogen_impossible")
    assert told.level == "danger"
    assert "oil (hydrogen off by" in told.text
    right = [{**products[0], "hydrogen": "14.0 ± 0.1 %", "carbon": "86.0 ± 0.1 %"}, *products[1:]]
    assert "elements.hydrogen_impossible" not in codes(found(tmp_path, products=right))


def test_the_balanced_example_closes_by_carbon_and_hydrogen(crate):
    for element, wide in (("C", 3), ("H", 6)):
        closure = crate.named()[f"elements.{element}.closure"]
        assert abs(closure.value - 100) < min(wide, 2 * closure.u)
    assert "elements.hydrogen_impossible" not in codes(crate)


def test_closure_can_be_explained_down_to_the_sheet(crate):
    told = explain(crate, "elements.C.closure")
    assert "run.toml" in json.dumps(told) if isinstance(told, dict) else "run.toml" in str(told)
    assert "weighing of oil" in str(told)


def test_results_hold_the_contract_and_no_more_than_numbers(crate, film):
    for findings in (crate, film):
        told = json.loads(as_text(results(findings)))
        for symbol in ("C", "H", "O", "N", "Cl"):
            assert {"fed", "found", "closure"} <= set(told["elements"][symbol])
    assert told["elements"]["C"]["closure"] is None  # gas by difference
    assert told["chlorine"]["balance"]["scrubber"]["value"] == pytest.approx(9.567, abs=0.001)
    assert json.loads(as_text(results(crate)))["chlorine"] is None


def test_sheet_and_page_show_the_balance(crate, film):
    for findings in (crate, film):
        book = openpyxl.load_workbook(io.BytesIO(workbook(findings)), data_only=True)
        cells = {str(cell.value) for row in book["Elements"].iter_rows() for cell in row if cell.value is not None}
        assert {"C", "H", "Fed, found, closure", "What each product would have to hold"} <= cells
        shown = page(findings)
        assert '<section id="elements">' in shown
    assert "hydrogen chloride" in shown
    assert "Chlorine ledger" in book.sheetnames


def test_analyses_that_are_not_all_of_an_oil_are_told(tmp_path):
    oil = {"fraction": "oil", "mass": "100.0 g", "hydrogen": "11.0 ± 0.1 %", "carbon": "80.0 ± 0.3 %"}
    assert "elements.sum_short" in codes(found(tmp_path, products=[oil]))
    assert "elements.sum_short" not in codes(found(tmp_path, products=[{**oil, "carbon": "88.5 ± 0.3 %"}]))
    assert "elements.sum_exceeds" in codes(found(tmp_path, products=[{**oil, "carbon": "92.0 ± 0.3 %"}]))


def test_moisture_that_nobody_collected_leaves_oxygen_open(tmp_path):
    wet = [{"material": "PE", "mass": "100.0 g", "moisture": "2.0 %"}]
    oil, gas = {"fraction": "oil", "mass": "80.0 g"}, {"fraction": "gas", "mass": "15.0 g"}
    away = found(tmp_path, feeds=wet, products=[oil, gas])
    assert away.named()["elements.O.closure"].value is None
    assert share(away, "oil", "O") == 0.0
    (tmp_path / "second").mkdir()
    alone = found(tmp_path / "second", feeds=wet, products=[oil])
    assert alone.named()["elements.O.closure"].reason == "elements.moisture_not_collected"
    (tmp_path / "third").mkdir()
    water = {"fraction": "water", "mass": "2.0 g"}
    caught = found(tmp_path / "third", feeds=wet, products=[oil, water])
    assert caught.named()["elements.O.closure"].value == pytest.approx(100, abs=1e-6)


def test_the_reconciliation_knows_the_elements(crate):
    known = {(one.stream, one.element): one for one in crate.balance.reconciled.shares}
    assert known["gas", "H"].standing == "checked"
    assert not crate.balance.reconciled.suspects


def test_uncertainties_of_the_elements_hold_against_draws(film):
    from cutbook.model.draws import drawing
    from cutbook.workup.monte_carlo import drawn_findings

    with drawing(20_000, 7):
        drawn = drawn_findings(film).named()
    for name in ("elements.C.found", "elements.Cl.fed", "elements.scrubber.chlorine", "chlorine.balance.unaccounted"):
        # 20,000 draws tell a standard deviation to 0.5 %
        assert drawn[name].u == pytest.approx(film.named()[name].u, rel=0.03), name


def test_what_was_read_once_is_one_variable_in_all_balances(tmp_path):
    feeds = [{"material": "PE", "mass": "100.0 ± 0.1 g", "moisture": "5.0 ± 1.0 %", "ash": "2.0 ± 0.5 %"}]
    run = found(tmp_path, feeds=feeds)
    # dry ash-free polymer, by its carbon and by the mass balance: but for the doubt of the formula one and the same
    carbon = run.elements.balance.lines["C"].fed.amount
    ratio = carbon / run.balance.feed_dry_ash_free.amount
    assert ratio.std_dev / ratio.nominal_value == pytest.approx(0.005, rel=1e-4)
    energy = run.energy.feed.amount / run.balance.feed_dry_ash_free.amount
    assert {tag for tag, part in budget(energy) if part > 1e-12} == {"heat of combustion of PE"}


@pytest.mark.parametrize(("name", "kind"), [
    ("oil", "liquid"), ("light oil", "liquid"), ("gas oil", "liquid"), ("gasoline", "liquid"), ("loss-trap", "liquid"),
    ("tar", "liquid"), ("liquid", "liquid"), ("gas", "gas"), ("off-gas", "gas"), ("residue", "solid"),
    ("oil residue", "solid"), ("char + coke", "solid"), ("water layer", "water"), ("wash water", "water"),
    ("HCl", "acid"), ("hydrogen chloride", "acid"), ("wash bottle", "other"), ("discharge", "other"), ("Öl", "other"),
])  # fmt: skip
def test_a_stream_is_known_by_a_word_of_its_name(name, kind):
    assert kind_of(name) == kind
