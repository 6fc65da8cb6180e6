"""The chlorine of a run: what its scrubber caught, counted once, and what is found nowhere."""

import pytest
from element_runs import CL, EXAMPLES, SCRUBBER, WATER, C, H, a_run, codes, found, share

from cutbook.importers.run_sheet import read_run
from cutbook.model.amount import budget
from cutbook.model.errors import InputError
from cutbook.reporting.cautions import in_order
from cutbook.reporting.results_json import results
from cutbook.workup.work_up import work_up


@pytest.fixture(scope="module")
def film():
    return work_up(read_run(EXAMPLES / "mixed-film"))


def test_a_hundred_grams_of_pvc_hold_56_7_grams_of_chlorine(tmp_path):
    # the base of every chlorine balance: 56.73 % by common stoichiometry, 56.72 % with the masses of 2021
    pvc = found(tmp_path, feeds=[{"material": "PVC", "mass": "100.0 g"}])
    assert pvc.named()["elements.Cl.fed"].value == pytest.approx(56.73, abs=0.02)


def test_what_a_scrubber_caught_is_a_product_and_a_stream(tmp_path):
    run = found(
        tmp_path,
        feeds=[{"material": "PE", "mass": "100.0 ± 0.1 g"}, {"material": "PVC", "mass": "5.00 ± 0.01 g"}],
        products=[{"fraction": "oil", "mass": "90.0 ± 0.1 g", "chlorine": "100 mg/kg"},
                  {"fraction": "char", "mass": "10.0 ± 0.1 g", "chlorine": "0.5 %"}],
        more=SCRUBBER.format(method="argentometric"),
    )  # fmt: skip
    caught = (18.31666667 - 0.05) / 1000 * 0.1 * 40 * CL
    acid = next(one for one in run.balance.products if one.fraction == "hydrogen chloride")
    assert acid.how == "titration"
    assert acid.mass.value == pytest.approx(caught * (CL + H) / CL, rel=1e-6)
    assert run.balance.total.value == pytest.approx(100 + acid.mass.value)
    balance = results(run)["chlorine"]["balance"]
    fed = 5 * CL / (2 * C + 3 * H + CL)
    assert balance["fed"]["value"] == pytest.approx(fed, rel=1e-6)
    assert balance["scrubber"]["value"] == pytest.approx(caught, rel=1e-6)
    assert balance["oil"]["value"] == pytest.approx(0.009)
    assert balance["char"]["value"] == pytest.approx(0.05)
    assert balance["unaccounted"]["value"] == pytest.approx(fed - caught - 0.059, rel=1e-5)
    assert run.named()["elements.Cl.closure"].value == pytest.approx(100 * (caught + 0.059) / fed, rel=1e-6)
    assert "scrubber.counted" in codes(run)


def test_a_product_that_is_the_hydrogen_chloride_is_not_counted_twice(tmp_path):
    run = found(
        tmp_path,
        feeds=[{"material": "PVC", "mass": "5.00 g"}],
        products=[{"fraction": "char", "mass": "2.0 g"}, {"fraction": "hydrogen chloride", "mass": "2.7 g"}],
        more=SCRUBBER.format(method="argentometric"),
    )
    assert [one.fraction for one in run.balance.products] == ["char", "hydrogen chloride"]
    assert "scrubber.listed_already" in codes(run)


def test_more_chlorine_than_was_fed_is_a_danger(tmp_path):
    run = found(tmp_path, feeds=[{"material": "PVC", "mass": "1.00 g"}], more=SCRUBBER.format(method="argentometric"))
    assert "elements.chlorine_exceeds" in codes(run)
    assert next(one for one in in_order(run.cautions) if one.code == "elements.chlorine_exceeds").level == "danger"


def test_acid_base_after_carbon_dioxide_is_neither_product_nor_chlorine(tmp_path):
    run = found(
        tmp_path,
        feeds=[{"material": "PVC", "mass": "5.00 g"}],
        more=SCRUBBER.format(method="acid-base") + '[reactor]\npurge_gas = "carbon dioxide"\n',
    )
    assert "scrubber.carbon_dioxide_purge" in codes(run)
    assert [one.fraction for one in run.balance.products] == ["oil"]
    assert results(run)["chlorine"]["balance"]["scrubber"] is None


def test_a_water_layer_beside_chlorine_asks_to_be_titrated(tmp_path):
    feeds = [{"material": "PVC", "mass": "50.0 g"}]
    water = {"fraction": "water", "mass": "10.0 g"}
    asked = found(tmp_path, feeds=feeds, products=[water])
    assert "elements.water_not_titrated" in codes(asked)
    assert share(asked, "water", "H") is None
    told = found(tmp_path, feeds=feeds, products=[{**water, "chlorine": "10.0 %"}])
    acid = 0.1 * (CL + H) / CL
    assert "elements.water_not_titrated" not in codes(told)
    assert share(told, "water", "H") == pytest.approx((1 - acid) * WATER + 0.1 * H / CL)
    dry = found(tmp_path, products=[water])
    assert share(dry, "water", "H") == pytest.approx(WATER)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (SCRUBBER.format(method="argentometric").replace('aliquot = "25.00 mL"\n', ""), "no aliquot"),
        (SCRUBBER.format(method="ion-chromatography"), "no chloride"),
        (SCRUBBER.format(method="argentometric").replace('method = "argentometric"\n', ""), "method"),
        (SCRUBBER.format(method="argentometric").replace("0.05 mL", "19.00 mL"), "swapped"),
        (SCRUBBER.format(method="argentometric").replace("25.00 mL", "2.000 L"), "no more than the whole solution"),
    ],
)
def test_a_scrubber_that_tells_too_little_is_one_clear_line(tmp_path, text, told):
    with pytest.raises(InputError, match=told) as raised:
        a_run(tmp_path / "run", more=text)
    assert len(str(raised.value).splitlines()) == 1


def test_hydrogen_chloride_has_no_trace_and_is_not_asked_for_one(film):
    about = {one.about for one in film.cautions if one.code == "cuts.not_analysed"}
    assert "hydrogen chloride" not in about
    assert "hydrogen chloride" in {cut.cut for cut in film.cuts}


def test_a_scrubber_that_is_a_product_of_any_name_holds_what_it_caught(tmp_path):
    feeds = [{"material": "PVC", "mass": "10.0 ± 0.01 g"}]
    products = [{"fraction": "oil", "mass": "4.0 ± 0.01 g", "chlorine": "0.1 ± 0.01 %"},
                {"fraction": "scrubber", "mass": "9.0 ± 0.1 g"}]  # fmt: skip
    run = found(tmp_path, feeds=feeds, products=products, more=SCRUBBER.format(method="argentometric"))
    # (18.32 + 18.28 + 18.35)/3 - 0.05 mL of 0.1 mol/L, times 1000/25
    caught = (18.31667 - 0.05) / 1000 * 0.1 * 40 * CL
    assert share(run, "scrubber", "Cl") * 9.0 == pytest.approx(caught, rel=1e-5)
    chlorine = run.elements.chlorine
    assert chlorine.unaccounted.value == pytest.approx(10 * CL / (2 * C + 3 * H + CL) - caught - 0.004, rel=1e-3)
    assert chlorine.char is None and chlorine.oil.value == pytest.approx(0.004)
    # the titration is one variable on both sides: what is unaccounted for knows nothing of the mass of the bottle
    assert not any("weighing of scrubber" in tag for tag, _ in budget(chlorine.unaccounted.amount))


def test_hydrogen_chloride_by_difference_leaves_nothing_to_be_unaccounted_for(tmp_path):
    feeds = [{"material": "PVC", "mass": "100.0 ± 0.1 g"}]
    products = [{"fraction": "oil", "mass": "30.0 g"}, {"fraction": "HCl", "by_difference": True}]
    rest = found(tmp_path, feeds=feeds, products=products).elements.chlorine.unaccounted
    assert (rest.value, rest.reason) == (None, "elements.by_difference")
