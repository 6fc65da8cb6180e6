"""Elements of plastics against a general-purpose library (rdkit)."""

import pytest
from rdkit import Chem
from rdkit.Chem import Descriptors, MolFromSmiles

from cutbook.balance.polymer_elements import polymer_elements
from cutbook.model.amount import nominal, standard_uncertainty, total
from cutbook.model.atoms import atoms_of, hydrogen_chloride_per_chlorine
from cutbook.model.tables import reference

UNITS = {"PVC": "CC(Cl)", "PVDC": "CC(Cl)(Cl)", "CR": "CC(Cl)=CC"}
REPEATS = {
    "PE": "CC", "PP": "CC(C)", "PS": "CC(c1ccccc1)", "PET": "OCCOC(=O)c1ccc(cc1)C(=O)", **UNITS,
    "PA6": "NCCCCCC(=O)", "PA66": "NCCCCCCNC(=O)CCCCC(=O)", "PA11": "NCCCCCCCCCCC(=O)", "PA12": "NCCCCCCCCCCCC(=O)",
    "PC": "Oc1ccc(cc1)C(C)(C)c1ccc(cc1)OC(=O)", "PMMA": "CC(C)(C(=O)OC)", "PBT": "OCCCCOC(=O)c1ccc(cc1)C(=O)",
    "PEN": "OCCOC(=O)c1ccc2cc(ccc2c1)C(=O)", "PAN": "CC(C#N)", "PVAC": "CC(OC(C)=O)", "PVAL": "CC(O)", "POM": "CO",
    "PPE": "Oc1c(C)cc(cc1C)", "PLA": "OC(C)C(=O)", "PMP": "CC(CC(C)C)", "PB": "CC(CC)", "PIB": "CC(C)(C)",
    "BR": "CC=CC", "IR": "CC(C)=CC",
}  # fmt: skip
"""Repeat units drawn as molecules, from their chemistry; the ends carry a hydrogen each."""
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
    assert 100 * share * nominal(hydrogen_chloride_per_chlorine()) == pytest.approx(58.34, abs=0.05)


def test_names_and_aliases_are_unique():
    names = []
    for row in reference("polymers").rows:
        names += {name.casefold() for name in (row["abbreviation"], row["name"], *row["aliases"].split("|")) if name}
    assert len(names) == len(set(names))


def test_plastics_of_rings_are_marked_as_giving_an_oil_of_rings():
    # aromatic by their repeat unit; the vinyl chlorides and ABS by what is known of their oils (common practice)
    rings = {"PS": "CC(c1ccccc1)", "PET": "OCCOC(=O)c1ccc(cc1)C(=O)", "PC": "Oc1ccc(cc1)C(C)(C)c1ccc(cc1)OC(=O)"}
    table = reference("polymers").by("abbreviation")
    for name, unit in rings.items():
        assert any(atom.GetIsAromatic() for atom in Chem.MolFromSmiles(unit).GetAtoms())
        assert table[name]["aromatic_oil"] == "1"
    for name in ("PE", "PP", "PA6", "PMMA", "EVA"):
        assert table[name]["aromatic_oil"] == "0"


@pytest.mark.parametrize("row", [r for r in reference("polymers").rows if r["repeat_unit"]],
                         ids=lambda row: row["abbreviation"])  # fmt: skip
def test_elements_follow_from_the_repeat_unit(row):
    molecule = Chem.AddHs(MolFromSmiles(REPEATS[row["abbreviation"]]))
    counts = {}
    for atom in molecule.GetAtoms():
        counts[atom.GetSymbol()] = counts.get(atom.GetSymbol(), 0) + 1
    counts["H"] -= 2
    assert counts == atoms_of(row["repeat_unit"])
    masses = {symbol: count * Chem.GetPeriodicTable().GetAtomicWeight(symbol) for symbol, count in counts.items()}
    found = polymer_elements(row["abbreviation"])
    for symbol, mass in masses.items():
        assert nominal(found.shares[symbol]) == pytest.approx(mass / sum(masses.values()), abs=2e-4), symbol
    assert float(row["chlorine"]) == pytest.approx(nominal(found.shares["Cl"]), abs=1e-4)


def test_copolymers_hold_what_their_typical_units_hold():
    # EVA with 18 % vinyl acetate (C4H6O2, 86.09 g/mol, of which 32 are oxygen): 6.69 % oxygen; range 5 to 40 %
    eva = polymer_elements("EVA")
    assert eva.typical
    assert nominal(eva.shares["O"]) == pytest.approx(0.18 * 32.0 / 86.09, abs=1e-4)
    assert standard_uncertainty(eva.shares["O"]) == pytest.approx(0.35 / 12**0.5 * 32.0 / 86.09, rel=1e-3)
    # ABS with 25 % acrylonitrile (C3H3N, 53.06 g/mol, of which 14.007 are nitrogen)
    assert nominal(polymer_elements("ABS").shares["N"]) == pytest.approx(0.25 * 14.007 / 53.06, abs=1e-4)
    # a rest takes what the others leave, so that shares add up whatever they are
    for name in ("ABS", "SAN", "SBR", "EVA", "PE-C", "PVC-C"):
        whole = total(polymer_elements(name).shares.values())
        assert (nominal(whole), standard_uncertainty(whole)) == (pytest.approx(1), pytest.approx(0, abs=1e-12))


@pytest.mark.parametrize(("name", "low", "high"), [("PE-C", 0.25, 0.45), ("PVC-C", 0.63, 0.69)])
def test_chlorinated_plastics_hold_their_typical_chlorine(name, low, high):
    found = polymer_elements(name).shares["Cl"]
    assert nominal(found) == pytest.approx(float(reference("polymers").by("abbreviation")[name]["chlorine"]), abs=1e-3)
    assert standard_uncertainty(found) == pytest.approx((high - low) / 12**0.5, rel=0.01)


def test_shares_of_copolymers_add_up_and_lie_in_their_range():
    rows = reference("copolymers").rows
    for name in {row["abbreviation"] for row in rows}:
        own = [row for row in rows if row["abbreviation"] == name]
        assert sum(float(row["share"]) for row in own) == pytest.approx(1)
        assert sum(not row["low"] for row in own) == 1
        assert all(float(row["low"]) < float(row["share"]) < float(row["high"]) for row in own if row["low"])
