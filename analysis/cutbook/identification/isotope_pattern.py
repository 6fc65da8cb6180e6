"""The isotope pattern of an ion at nominal mass, from its formula."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import TypeAlias

import numpy as np

from cutbook.model.atoms import atoms_of
from cutbook.model.errors import InputError
from cutbook.model.tables import reference
from cutbook.model.trace import Floats

Pattern: TypeAlias = tuple[tuple[int, float], ...]
"""(nominal mass above that of the lightest isotopologue, abundance as a fraction of the lightest's), ascending."""
_LEAST = 1e-4
"""Of the tallest peak; a quadrupole scan tells no less."""
_FORMULA = re.compile(r"(?:[A-Z][a-z]?(?:[1-9]\d{0,2})?)+")


def checked_atoms(formula: str) -> Mapping[str, int]:
    """Atoms by element of a plain formula of the elements in `reference/isotopes.csv`, D for deuterium.

    Raises
    ------
    InputError
        When it is no formula, or holds another element.
    """
    known = _isotopes()
    atoms = atoms_of(formula) if _FORMULA.fullmatch(formula) else {}
    if not atoms or set(atoms) - set(known):
        elements = ", ".join(known)
        raise InputError.single("", "", f"'{formula}'", f"a formula such as C6H5Cl of the elements {elements}")
    return MappingProxyType(atoms)


def isotope_pattern(formula: str | Mapping[str, int], least: float = _LEAST) -> Pattern:
    """What the isotopes make of one ion in a spectrum of unit mass.

    Parameters
    ----------
    formula : of the ion, "C6H4Cl2", or its atoms by element. least : as a fraction of the tallest peak; what is lower
        is left out, but never the lightest.

    Returns
    -------
    tuple of (int, float)
        Offset from the nominal mass of the lightest isotopologue, and abundance as a fraction of it.

    Raises
    ------
    InputError
        When it is no formula of known elements.

    Notes
    -----
    The isotopes of n atoms of an element are distributed multinomially; patterns of elements are convolved.
    Isotopologues of one nominal mass are added up.

    Examples
    --------
    >>> [(offset, round(share, 4)) for offset, share in isotope_pattern("Cl2")]
    [(0, 1.0), (2, 0.6399), (4, 0.1024)]
    """
    atoms = checked_atoms(formula) if isinstance(formula, str) else formula
    return _pattern(tuple(sorted((element, count) for element, count in atoms.items() if count)), least)


def halogen_pattern(chlorine: int, bromine: int = 0, carbon: int = 0) -> Pattern:
    """The pattern of an ion of which only the halogens, and the carbon roughly, are known.

    Examples
    --------
    >>> [(offset, round(share, 3)) for offset, share in halogen_pattern(0, 1)]
    [(0, 1.0), (2, 0.973)]
    """
    return isotope_pattern({"Cl": chlorine, "Br": bromine, "C": carbon})


def nominal_mass(formula: str | Mapping[str, int]) -> int:
    """Nominal mass of the lightest isotopologue: 112 for C6H5Cl, 117 for C6D5Cl.

    Raises
    ------
    InputError
        When it is no formula of known elements.
    """
    atoms = checked_atoms(formula) if isinstance(formula, str) else formula
    return sum(count * min(_isotopes()[element]) for element, count in atoms.items())


def isotope_share(formula: str | Mapping[str, int], mz: int, against: int) -> float:
    """Height of one peak of an ion as a fraction of another peak of it; nominal masses.

    Raises
    ------
    ValueError
        When the ion has no peak at one of them.

    Examples
    --------
    >>> round(isotope_share("C6H2Cl4", 214, 216), 3)
    0.78
    """
    shares = dict(isotope_pattern(formula, 1e-9))
    lightest = nominal_mass(formula)
    if not {mz - lightest, against - lightest} <= set(shares):
        raise ValueError(f"{formula} of mass {lightest} has no isotopologues at both {mz} and {against}")
    return shares[mz - lightest] / shares[against - lightest]


@cache
def _isotopes() -> Mapping[str, Mapping[int, float]]:
    """Abundance by mass number, by element."""
    found: dict[str, dict[int, float]] = {}
    for row in reference("isotopes").rows:
        found.setdefault(row["symbol"], {})[int(row["mass_number"])] = float(row["abundance"])
    return MappingProxyType(found)


@cache
def _pattern(atoms: tuple[tuple[str, int], ...], least: float) -> Pattern:
    shares: Floats = np.ones(1)
    for element, count in atoms:
        shares = np.convolve(shares, _power(element, count))
    tall = np.flatnonzero(shares >= least * shares.max())
    kept = shares[: int(tall[-1]) + 1] / shares[0]
    return tuple(
        (offset, float(share)) for offset, share in enumerate(kept) if offset == 0 or share >= least * kept.max()
    )


@cache
def _power(element: str, count: int) -> Floats:
    """Pattern of so many atoms of one element, the lightest isotopologue first, adding up to 1."""
    isotopes = _isotopes()[element]
    lightest = min(isotopes)
    one: Floats = np.zeros(max(isotopes) - lightest + 1)
    for mass_number, abundance in isotopes.items():
        one[mass_number - lightest] = abundance
    one /= one.sum()
    shares: Floats = np.ones(1)
    for bit in f"{count:b}":
        shares = np.convolve(shares, shares)
        if bit == "1":
            shares = np.convolve(shares, one)
    return shares
