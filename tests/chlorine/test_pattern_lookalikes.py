"""Sulphur rings and siloxanes are named as what they are, and chlorine is not named as either."""

import numpy as np
import pytest

from cutbook.chlorine.cluster_spectrum import ClusterSpectrum
from cutbook.chlorine.pattern_lookalikes import lookalike_of
from cutbook.identification.isotope_pattern import isotope_pattern, nominal_mass

SULPHUR = {"S2": 90.0, "S3": 30.0, "S4": 60.0, "S5": 50.0, "S6": 40.0, "S7": 8.0, "S8": 70.0}


def spectrum_of(ions, amount, seed=1):
    """Heights of ions counted at one apex, `amount` of the tallest."""
    rng = np.random.default_rng(seed)
    expected = np.zeros(420)
    for formula, height in ions.items():
        for offset, share in isotope_pattern(formula):
            expected[nominal_mass(formula) + offset - 35] += height * share
    expected *= amount / expected.max()
    sd = np.sqrt(expected + 1.0)
    none, loose = np.zeros(420), np.full(420, 0.3) * sd
    return ClusterSpectrum(50, expected + rng.normal(0, 1, 420) * sd, sd, none, loose, 6.0, 35, np.zeros(420, bool))


@pytest.mark.parametrize("atoms", [5, 6, 7, 8])
@pytest.mark.parametrize("amount", [3e3, 1e5])
def test_sulphur_rings_and_their_fragments_are_sulphur(atoms, amount):
    base = 32 * atoms
    assert lookalike_of(spectrum_of(SULPHUR, amount), base, base) == "S"


@pytest.mark.parametrize("formula", ["Si5C9H27O5", "Si6C11H33O6", "Si4C7H21O4"])
def test_siloxanes_are_silicon(formula):
    base = nominal_mass(formula)
    assert lookalike_of(spectrum_of({formula: 100.0}, 1e4), base, base) == "Si"


@pytest.mark.parametrize("formula", ["C6H5Cl", "C10H7Cl", "C12H9Cl", "C6H4Cl2O", "C12H8Cl2", "C14H13Cl", "C19H15Cl"])
@pytest.mark.parametrize("amount", [3e3, 1e5])
def test_chlorine_is_neither(formula, amount):
    base = nominal_mass(formula)
    ions = {formula: 100.0, formula.split("Cl")[0]: 40.0}
    assert lookalike_of(spectrum_of(ions, amount), base, base) == ""


def test_a_mass_of_sulphur_without_its_chain_is_not_sulphur():
    assert lookalike_of(spectrum_of({"S6": 100.0}, 1e4), 192, 192) == ""
