"""Chlorine of plastics against a general-purpose library (rdkit)."""

import pytest
from rdkit.Chem import Descriptors, MolFromSmiles

from cutbook.model.tables import reference

UNITS = {"PVC": "CC(Cl)", "PVDC": "CC(Cl)(Cl)", "CR": "CC(Cl)=CC"}
HYDROGENS_OF_THE_ENDS = 2 * 1.008
"""A repeat unit has two hydrogens fewer than the molecule that rdkit closes it to."""


@pytest.mark.parametrize("name", sorted(UNITS))
def test_chlorine_follows_from_the_repeat_unit(name):
    molecule = MolFromSmiles(UNITS[name])
    chlorine = sum(atom.GetMass() for atom in molecule.GetAtoms() if atom.GetSymbol() == "Cl")
    share = chlorine / (Descriptors.MolWt(molecule) - HYDROGENS_OF_THE_ENDS)
    assert float(reference("polymers").by("abbreviation")[name]["chlorine"]) == pytest.approx(share, abs=2e-4)


def test_a_hundred_grams_of_pvc_hold_56_7_grams_of_chlorine():
    # customary in the literature: 56.7 %, and at most 58.3 % of its mass as hydrogen chloride
    share = float(reference("polymers").by("abbreviation")["PVC"]["chlorine"])
    assert 100 * share == pytest.approx(56.7, abs=0.05)
    from cutbook.workup.run_cautions import HYDROGEN_CHLORIDE_PER_CHLORINE

    assert 100 * share * HYDROGEN_CHLORIDE_PER_CHLORINE == pytest.approx(58.34, abs=0.05)


def test_names_and_aliases_are_unique():
    names = []
    for row in reference("polymers").rows:
        names += {name.casefold() for name in (row["abbreviation"], row["name"], *row["aliases"].split("|")) if name}
    assert len(names) == len(set(names))


def test_plastics_of_rings_are_marked_as_giving_an_oil_of_rings():
    # aromatic by their repeat unit; the vinyl chlorides and ABS by what is known of their oils (common practice)
    from rdkit import Chem

    rings = {"PS": "CC(c1ccccc1)", "PET": "OCCOC(=O)c1ccc(cc1)C(=O)", "PC": "Oc1ccc(cc1)C(C)(C)c1ccc(cc1)OC(=O)"}
    table = reference("polymers").by("abbreviation")
    for name, unit in rings.items():
        assert any(atom.GetIsAromatic() for atom in Chem.MolFromSmiles(unit).GetAtoms())
        assert table[name]["aromatic_oil"] == "1"
    for name in ("PE", "PP", "PA6", "PMMA", "EVA"):
        assert table[name]["aromatic_oil"] == "0"
