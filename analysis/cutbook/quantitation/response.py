"""How strongly a flame ionisation detector answers to a gram of a compound, from its structure.

Two published models are kept side by side; where they differ, the difference is carried as uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from cutbook.model.tables import reference

# one SMARTS pattern a term of the effective-carbon-number table; carbons are matched by the first that fits
_CARBON_TERMS = (
    ("carboxyl C", "[CX3](=O)[OX2]"),
    ("carbonyl C", "[CX3]=[OX1]"),
    ("nitrile C", "[CX2]#N"),
    ("aromatic C", "c"),
    ("acetylenic C", "[CX2]#[CX2]"),
    ("olefinic C", "[CX3]=[CX3]"),
    ("aliphatic C", "[CX4]"),
)
_GROUP_TERMS = (
    ("ether O", "[OX2]([#6;!$(C=O)])[#6;!$(C=O)]"),
    ("primary alcohol O", "[OX2H][CX4H2]"),
    ("secondary alcohol O", "[OX2H][CX4H1]"),
    ("tertiary alcohol / ester O", "[OX2H][CX4H0]"),
    ("tertiary alcohol / ester O", "[OX2;!H]C=O"),
    ("Cl on olefinic C", "Cl[CX3]=[CX3]"),
    ("Cl, two or more on one aliphatic C (each)", "Cl[CX4]Cl"),
)
_PHENOL = "[OX2H]c"  # answers like a primary alcohol: Scanlon & Willis treat both alike (from memory)


@dataclass(frozen=True)
class RelativeResponse:
    """Area per gram relative to n-heptane, with the standard uncertainty from the two models' difference."""

    value: float
    u: float
    effective_carbon_number: float
    combustion_enthalpy: float


def _molecule(smiles: str) -> Any:
    from rdkit import Chem

    molecule = Chem.MolFromSmiles(smiles)
    if molecule is None:
        raise ValueError(f"not a structure: {smiles!r}")
    return molecule


def _matches(molecule: Any, smarts: str) -> list[tuple[int, ...]]:
    from rdkit import Chem

    return list(molecule.GetSubstructMatches(Chem.MolFromSmarts(smarts)))


@lru_cache(maxsize=4)
def _terms(model: str) -> dict[str, float]:
    rows = reference("detector_response_models").rows
    return {row["term"]: float(row["value"]) for row in rows if row["model"] == model}


def effective_carbon_number(smiles: str) -> float:
    """Number of aliphatic carbons that would answer like the molecule.

    Parameters
    ----------
    smiles : structure of a compound of C, H, O, N and Cl.

    Returns
    -------
    float
        Sum of the contributions of the reference table.

    References
    ----------
    Scanlon and Willis, J. Chromatogr. Sci. 23 (1985) 333; Sternberg et al. 1962.

    Examples
    --------
    >>> effective_carbon_number("C=Cc1ccccc1")
    7.9
    """
    molecule, terms = _molecule(smiles), _terms("effective carbon number")
    counted: set[int] = set()
    total = 0.0
    for term, smarts in _CARBON_TERMS:
        for match in _matches(molecule, smarts):
            carbons = [i for i in match if molecule.GetAtomWithIdx(i).GetSymbol() == "C" and i not in counted]
            if term in ("carboxyl C", "carbonyl C", "nitrile C"):
                carbons = carbons[:1]
            counted.update(carbons)
            total += terms[term] * len(carbons)
    for term, smarts in _GROUP_TERMS:
        chlorines = 2 if term.startswith("Cl, two") else 1
        total += terms[term] * chlorines * len(_matches(molecule, smarts))
    total += terms["primary alcohol O"] * len(_matches(molecule, _PHENOL))
    return round(total, 6)


def _combustion_sum(smiles: str) -> float:
    """Bracket of the combustion-enthalpy model: intercept + contributions of atoms and benzene rings, per mole."""
    from rdkit import Chem

    molecule, terms = Chem.AddHs(_molecule(smiles)), _terms("combustion enthalpy")
    total = terms["intercept"]
    for atom in molecule.GetAtoms():
        total += terms[atom.GetSymbol()]
    rings = molecule.GetRingInfo().AtomRings()
    benzene = sum(
        len(ring) == 6
        and all(
            molecule.GetAtomWithIdx(i).GetIsAromatic() and molecule.GetAtomWithIdx(i).GetAtomicNum() == 6 for i in ring
        )
        for ring in rings
    )
    return total + terms["benzene ring"] * benzene


def molar_mass(smiles: str) -> float:
    """Molar mass in g/mol, isotopes as written."""
    from rdkit.Chem import Descriptors

    return float(Descriptors.MolWt(_molecule(smiles)))  # type: ignore[attr-defined]


@lru_cache(maxsize=256)
def relative_response(smiles: str) -> RelativeResponse:
    """Area per gram relative to n-heptane.

    Parameters
    ----------
    smiles : structure.

    Returns
    -------
    RelativeResponse
        The effective-carbon-number value; u is the difference to the combustion-enthalpy model over √3
        (the truth taken as equally likely anywhere up to that distance on either side).
    """
    heptane = "CCCCCCC"
    mass = molar_mass(smiles)
    first = (effective_carbon_number(smiles) / mass) / (effective_carbon_number(heptane) / molar_mass(heptane))
    second = (_combustion_sum(smiles) / mass) / (_combustion_sum(heptane) / molar_mass(heptane))
    return RelativeResponse(first, abs(first - second) / 3**0.5, first, second)


def alkane_response(carbon: int) -> float:
    """Area per gram of an n-alkane relative to n-heptane by effective carbon number, from its formula."""
    table = reference("n_alkanes").by("carbon_number")
    heptane = table["7"]
    row = table[str(min(max(carbon, 1), len(table)))]
    per_gram = int(row["carbon_number"]) / float(row["molar_mass"])
    return per_gram / (7 / float(heptane["molar_mass"]))
