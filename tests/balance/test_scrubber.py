"""The chlorine that a scrubber caught, from its titration."""

import csv
import math
from pathlib import Path

import pytest

from cutbook.balance.scrubber import scrubber_chlorine
from cutbook.model.amount import nominal
from cutbook.model.entered import Entered
from cutbook.model.errors import InputError
from cutbook.model.lineage import Source

SHEET = Source("run.toml", "0" * 64)
CHECK = Path(__file__).resolve().parents[2].parent / "shared" / "check-values" / "12_uncertainty.csv"
CL = 35.45
"""Conventional atomic mass of chlorine (IUPAC 2021)."""


def entered(value, unit, u=0.0):
    return Entered(value, u, unit, f"{value} {unit}", True)


def a_bottle(titres=(18.32, 18.28, 18.35), blank=0.05, method="argentometric", place="[[scrubber]] 1", u=0.0, **more):
    return {
        "place": place,
        "solution_volume": entered(1000.0, "mL"),
        "aliquot": entered(25.0, "mL"),
        "titrant": entered(0.1, "mol/L"),
        "titre": tuple(entered(one, "mL", u) for one in titres),
        "blank": None if blank is None else entered(blank, "mL"),
        "method": method,
        "chloride": None,
        **more,
    }


def codes(found):
    return {one.code for one in found.step.cautions}


def test_the_worked_example_gives_its_chlorine_and_the_uncertainty_of_its_titres():
    # 12_uncertainty.csv: 2.5904 g, u 0.0029 g from the scatter of the titres alone, with M(Cl) = 35.453 g/mol
    found = scrubber_chlorine([a_bottle()], SHEET).chlorine
    assert found.value == pytest.approx(2.5904, abs=5e-4)
    assert found.u == pytest.approx(0.0029, abs=5e-5)
    # by hand with the atomic mass of 2021: mean titre less blank x titrant x aliquot factor x M
    mean = (18.32 + 18.28 + 18.35) / 3
    assert found.value == pytest.approx((mean - 0.05) / 1000 * 0.1 * 1000 / 25 * CL, rel=1e-12)


def test_the_table_of_check_values_says_the_same():
    if not CHECK.is_file():
        pytest.skip("the table of check values is not beside this repository")
    with CHECK.open(encoding="utf-8") as table:
        row = next(one for one in csv.DictReader(table) if one["example"].startswith("argentometric scrubber"))
    found = scrubber_chlorine([a_bottle()], SHEET).chlorine
    assert found.value == pytest.approx(float(row["value"]), abs=5e-4)
    assert found.u == pytest.approx(float(row["u"]), abs=1e-4)


def test_hydrogen_chloride_weighs_a_hydrogen_more():
    found = scrubber_chlorine([a_bottle()], SHEET)
    assert found.hydrogen_chloride.value / found.chlorine.value == pytest.approx((CL + 1.008) / CL, rel=1e-12)


def test_readings_worse_than_the_scatter_decide_the_uncertainty():
    scatter = math.sqrt(sum((t - 18.31667) ** 2 for t in (18.32, 18.28, 18.35)) / 2 / 3)
    fine = scrubber_chlorine([a_bottle(u=0.5 * scatter)], SHEET).chlorine
    coarse = scrubber_chlorine([a_bottle(u=0.3)], SHEET).chlorine
    factor = 0.1 / 1000 * 40 * CL
    assert fine.u == pytest.approx(scatter * factor, rel=2e-2)
    assert coarse.u == pytest.approx(0.3 / math.sqrt(3) * factor, rel=2e-2)


def test_one_titre_and_no_blank_are_told():
    told = codes(scrubber_chlorine([a_bottle(titres=(18.3,), blank=None)], SHEET))
    assert {"scrubber.one_titre", "scrubber.no_blank", "scrubber.one_bottle"} <= told


def test_ion_chromatography_needs_volume_and_concentration_alone():
    bottle = a_bottle(method="ion-chromatography", titres=(), blank=None, aliquot=None, titrant=None,
                      chloride=entered(2590.0, "mg/L"))  # fmt: skip
    found = scrubber_chlorine([bottle], SHEET)
    assert found.chlorine.value == pytest.approx(2.590)  # 2590 mg/L x 1 L
    assert found.bottles[0].titre is None
    assert "scrubber.silver_counts_bromide" not in codes(found)


def test_bottles_in_series_add_up_and_the_last_tells_what_passed():
    second = a_bottle(titres=(1.05, 1.05, 1.05), place="[[scrubber]] 2")
    first = a_bottle(titres=(9.05, 9.05, 9.05))
    found = scrubber_chlorine([first, second], SHEET)
    assert found.chlorine.value == pytest.approx(10.0 / 1000 * 0.1 * 40 * CL)  # 9 mL and 1 mL after the blank
    assert found.last_share.value == pytest.approx(10.0)
    told = next(one for one in found.step.cautions if one.code == "scrubber.breakthrough")
    assert dict(told.facts) == {"share": 10.0, "count": 2}


def test_an_empty_last_bottle_is_the_proof_that_nothing_passed():
    clean = a_bottle(titres=(0.05, 0.05, 0.05), place="[[scrubber]] 2")
    found = scrubber_chlorine([a_bottle(), clean], SHEET)
    assert not {"scrubber.breakthrough", "scrubber.one_bottle"} & codes(found)


def test_each_method_says_what_else_it_counts():
    assert "scrubber.silver_counts_bromide" in codes(scrubber_chlorine([a_bottle()], SHEET))
    assert "scrubber.acid_base" in codes(scrubber_chlorine([a_bottle(method="acid-base")], SHEET, "nitrogen"))


def test_acid_and_base_after_a_purge_with_carbon_dioxide_tell_no_chlorine():
    found = scrubber_chlorine([a_bottle(method="acid-base")], SHEET, "carbon dioxide")
    assert found.chlorine.value is None
    assert found.chlorine.reason == "scrubber.carbon_dioxide_purge"
    told = next(one for one in found.step.cautions if one.code == "scrubber.carbon_dioxide_purge")
    assert told.facts["grams"] == pytest.approx(nominal(found.bottles[0].chlorine.amount), abs=1e-3)
    assert scrubber_chlorine([a_bottle()], SHEET, "carbon dioxide").chlorine.value is not None


def test_a_blank_above_the_titre_is_refused():
    with pytest.raises(InputError, match="blank of 19 mL"):
        scrubber_chlorine([a_bottle(blank=19.0)], SHEET)


def test_a_missing_key_is_named():
    with pytest.raises(InputError, match="no aliquot"):
        scrubber_chlorine([a_bottle(aliquot=None)], SHEET)
