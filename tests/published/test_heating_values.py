"""Heating values from elements, of polymers and of water against published figures and a library of enthalpies.

Rows: tests/published/data/14_heats_of_combustion.csv. The correlation is also held against a second, independent one:
the heat per oxygen (Walters, Hackett and Lyon 2000).
"""

import csv
from pathlib import Path

import pytest
from chemicals import iapws
from chemicals.reaction import Hfg, Hfl
from energy_streams import mass_fractions, shares

from cutbook.balance.heating_value import HeatingValueSettings, constant, heating_value, polymer_heat, total_of
from cutbook.gas.substances import atoms_of, substances
from cutbook.model.amount import nominal, standard_uncertainty
from cutbook.model.tables import reference

TABLE = Path(__file__).parent / "data" / "14_heats_of_combustion.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
HEATS = [row for row in ROWS if row["quantity"] == "gross"]
EVAPORATIONS = [row for row in ROWS if row["quantity"] == "gross less net"]
NO_CHLORINE = [row for row in HEATS if "Cl" not in row["formula"]]
BY_OXYGEN = HeatingValueSettings(chlorine_from=-1.0)
OF_FORMATION = {"C": -393.51, "H": -285.83 / 2, "Cl": -92.31}
"""kJ/mol of carbon dioxide, and of half a liquid water and of gaseous hydrogen chloride (CODATA key values 1989)."""


def named(row):
    return f"{row['substance']} {row['value']}"


def test_the_rows_are_all_there():
    assert (len(HEATS), len(EVAPORATIONS), len({row["substance"] for row in HEATS})) == (19, 10, 8)


@pytest.mark.parametrize("row", [r for r in NO_CHLORINE if r["source_kind"] != "from-memory"], ids=named)
def test_the_correlation_agrees_with_published_heats_of_polymers(row):
    found = heating_value(row["substance"], shares(row["formula"]))
    # an average error of 1.45 % is a standard deviation of 1.8 %, and published values of one polymer differ by up to 8 %
    assert nominal(found.gross) == pytest.approx(float(row["value"]), rel=0.055)


@pytest.mark.parametrize("polymer", ["PE", "PP", "PS", "PET", "PMMA", "PA6", "PC"])
def test_the_correlation_agrees_with_the_table_within_three_percent(polymer):
    formula = next(row["formula"] for row in HEATS if row["substance"] == polymer)
    found = heating_value(polymer, shares(formula))
    assert nominal(found.gross) == pytest.approx(nominal(polymer_heat(polymer)), rel=0.03)
    assert found.by == "elements"
    # nitrogen of a polyamide (12 %) is beyond 5.6 %: the doubt is doubled
    assert found.outside == (("N",) if polymer == "PA6" else ())
    doubled = 2 if found.outside else 1
    assert standard_uncertainty(found.gross) / nominal(found.gross) == pytest.approx(
        doubled * 0.0145 * (3.141592653589793 / 2) ** 0.5, rel=1e-4
    )


@pytest.mark.parametrize("row", HEATS, ids=named)
def test_the_table_holds_what_the_sources_say(row):
    heat = polymer_heat(row["substance"])
    beyond = 2 * standard_uncertainty(heat)
    # two measured values are known to be too high: PE 47.7 and PS 43.7, whose monomers and homologues give less
    if row["value"] in ("47.7", "43.7"):
        assert nominal(heat) < float(row["value"])
    else:
        assert nominal(heat) == pytest.approx(float(row["value"]), abs=beyond)


@pytest.mark.parametrize("polymer", sorted({row["substance"] for row in HEATS}))
def test_heat_per_oxygen_agrees_with_the_table_within_its_spread(polymer):
    formula = next(row["formula"] for row in HEATS if row["substance"] == polymer)
    found = heating_value(polymer, shares(formula), settings=BY_OXYGEN)
    assert found.by == "oxygen"
    # 6 % between polymers; by hand: moles of oxygen that burning takes, hydrogen chloride left over
    atoms = atoms_of(formula)
    to_water = atoms["H"] - atoms.get("Cl", 0)
    moles = atoms["C"] + to_water / 4 - atoms.get("O", 0) / 2
    molar = sum(atoms[s] * m for s, m in (("C", 12.011), ("H", 1.008)))
    molar += atoms.get("O", 0) * 15.999 + atoms.get("N", 0) * 14.007 + atoms.get("Cl", 0) * 35.45
    assert nominal(found.net) == pytest.approx(13.10 * 31.998 * moles / molar, rel=1e-4)
    assert nominal(found.gross) == pytest.approx(nominal(polymer_heat(polymer)), rel=0.06)


@pytest.mark.parametrize(
    ("polymer", "formation"),
    [
        # styrene as a liquid less 69.9 kJ/mol of polymerisation (seen in a public copy of a textbook)
        ("PS", Hfl("100-42-5") / 1000 - 69.9),
        # methyl methacrylate as a liquid less 56 kJ/mol (from memory)
        ("PMMA", Hfl("80-62-6") / 1000 - 56.0),
        # two CH2 of liquid n-alkanes, less what crystals hold below a melt at 25 °C (about 0.2 MJ/kg, from memory)
        ("PE", 2 * (Hfl("544-76-3") - Hfl("124-18-5")) / 6000 - 0.2 * 28.054),
        # poly(vinyl chloride), which the library lists under its monomer as a solid; 0.5 MJ/kg allowed in the table
        ("PVC", -94.1),
    ],
)
def test_the_table_agrees_with_enthalpies_of_formation(polymer, formation):
    formula = next(row["formula"] for row in HEATS if row["substance"] == polymer)
    atoms = dict(atoms_of(formula))
    if "Cl" in atoms:
        atoms["H"] -= atoms["Cl"]
    burnt = sum(count * OF_FORMATION.get(symbol, 0.0) for symbol, count in atoms.items())
    molar = 12.011 * atoms_of(formula)["C"] + 1.008 * atoms_of(formula)["H"]
    molar += 15.999 * atoms.get("O", 0) + 35.45 * atoms.get("Cl", 0)
    heat = polymer_heat(polymer)
    assert nominal(heat) == pytest.approx((formation - burnt) / molar, abs=2 * standard_uncertainty(heat))


@pytest.mark.parametrize("row", EVAPORATIONS, ids=lambda row: row["substance"])
def test_gross_and_net_differ_by_the_water_formed(row):
    # within the rounding of two values to 10 kJ/kg; hydrogen counts nine times its mass
    found = heating_value(row["substance"], shares(row["formula"]))
    tolerance = 0.02 if row["substance"] == "hydrogen" else 0.008
    assert nominal(found.gross - found.net) == pytest.approx(float(row["value"]), abs=tolerance)


def test_evaporation_of_water_is_that_of_the_gas_standard():
    # IAPWS-95: T dp/dT (v'' - v'), in J/kg
    kelvin = 298.15
    gap = 1 / iapws.iapws95_rhog_sat(kelvin) - 1 / iapws.iapws95_rhol_sat(kelvin)
    slope = iapws.iapws95_dPsat_dT(kelvin)[0]
    assert nominal(constant("evaporation of water at 25 °C")) == pytest.approx(kelvin * slope * gap / 1e6, abs=2e-4)
    # ISO 6976:2016 has 44.013 kJ/mol at 25 °C
    water = substances()["water"]
    assert nominal(constant("evaporation of water at 25 °C")) == pytest.approx(
        nominal(water.gross[25.0]) / nominal(water.molar_mass), rel=1e-3
    )


def test_liquid_alkanes_and_aromatics_lie_within_the_error_of_the_correlation():
    # enthalpies of formation of the library, to liquid water: hexadecane 47.25, benzene (liquid) 41.83 MJ/kg
    for cas, formula in (("544-76-3", "C16H34"), ("71-43-2", "C6H6"), ("108-88-3", "C7H8")):
        atoms = atoms_of(formula)
        burnt = atoms["C"] * OF_FORMATION["C"] + atoms["H"] * OF_FORMATION["H"]
        molar = 12.011 * atoms["C"] + 1.008 * atoms["H"]
        expected = (Hfl(cas) / 1000 - burnt) / molar
        found = heating_value(formula, shares(formula))
        assert nominal(found.gross) == pytest.approx(expected, rel=2 * 0.0182), formula


def test_the_coefficients_are_used_as_percent():
    # glucose by hand from the printed equation: 0.3491 x 40.00 + 1.1783 x 6.714 - 0.1034 x 53.29
    shares_of = mass_fractions("C6H12O6")
    by_hand = 0.3491 * 40.002 + 1.1783 * 6.714 - 0.1034 * 53.285
    assert total_of(shares_of) == pytest.approx(by_hand, abs=0.005)
    assert total_of(shares_of) == pytest.approx(15.6, rel=0.06)  # 15.57 MJ/kg, common knowledge


def test_every_polymer_with_a_heat_is_in_the_table_of_polymers():
    known = reference("polymers").by("abbreviation")
    assert {row["polymer"] for row in reference("polymer_heats").rows} <= set(known)
    assert Hfg("74-85-1") == pytest.approx(52400, rel=0.01)
