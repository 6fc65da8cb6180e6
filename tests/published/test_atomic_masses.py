"""Atomic masses and formulas against a general-purpose library (rdkit)."""

import pytest
from rdkit.Chem import GetPeriodicTable

from cutbook.gas.substances import substances
from cutbook.model.amount import nominal, standard_uncertainty, total
from cutbook.model.atoms import atomic_mass, atoms_of, hydrogen_chloride_per_chlorine, mass_fractions
from cutbook.model.tables import reference

ROWS = reference("atomic_masses").rows


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["symbol"])
def test_masses_agree_with_a_second_source_and_lie_in_their_interval(row):
    library = GetPeriodicTable().GetAtomicWeight(row["symbol"])
    assert float(row["mass"]) == pytest.approx(library, rel=4e-4 if row["symbol"] == "Ar" else 3e-4)
    half_a_digit = 0.5 * 10.0 ** -len(row["mass"].partition(".")[2])
    assert float(row["low"]) - half_a_digit <= float(row["mass"]) <= float(row["high"]) + half_a_digit


def test_the_uncertainty_is_that_of_a_rectangle():
    # chlorine: conventional 35.45, interval 35.446 to 35.457 (CIAAW 2021)
    assert standard_uncertainty(atomic_mass("Cl")) == pytest.approx((35.457 - 35.45) / 3**0.5)
    assert standard_uncertainty(atomic_mass("C")) == pytest.approx((12.011 - 12.0096) / 3**0.5)


def test_every_gas_component_can_be_weighed_from_its_atoms():
    for name, substance in substances().items():
        weight = total(count * atomic_mass(element) for element, count in substance.atoms.items())
        # molar masses of ISO 6976:2016 are of earlier atomic masses; sulfur was 32.065 where it is 32.06 now
        assert nominal(weight) == pytest.approx(nominal(substance.molar_mass), rel=2e-4), name


def test_shares_of_a_formula_add_up_and_are_those_of_the_handbooks():
    assert nominal(total(mass_fractions("C6H11NO").values())) == pytest.approx(1, abs=1e-12)
    assert nominal(mass_fractions("CH4")["H"]) == pytest.approx(0.2513, abs=5e-5)  # 25.13 % hydrogen in methane
    assert nominal(mass_fractions("H2O")["H"]) == pytest.approx(0.1119, abs=5e-5)  # 11.19 % in water
    # hydrogen chloride: 36.46 g/mol
    assert nominal(hydrogen_chloride_per_chlorine()) == pytest.approx(36.46 / 35.45, abs=1e-4)
    assert atoms_of("C12H22N2O2") == {"C": 12, "H": 22, "N": 2, "O": 2}


def test_the_ends_for_hydrogen_are_those_of_pyrene_and_methane():
    low = next(float(row["low"]) for row in reference("possible_shares").rows if row["kind"] == "liquid")
    assert nominal(mass_fractions("C16H10")["H"]) == pytest.approx(low, abs=0.001)
