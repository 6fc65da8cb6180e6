"""What atoms weigh, and what share of a substance each of its elements has by mass."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Any

from cutbook.model.amount import Amount, tabulated, total
from cutbook.model.tables import reference


@cache
def atomic_mass(symbol: str) -> Amount:
    """Standard atomic mass of an element in g/mol, one variable wherever it is used.

    Notes
    -----
    Standard uncertainty: the larger distance from the ends of the interval over √3 (IUPAC 2021, as a rectangle).
    """
    row = reference("atomic_masses").by("symbol")[symbol]
    mass = float(row["mass"])
    u = max(mass - float(row["low"]), float(row["high"]) - mass) / 3**0.5
    return tabulated(mass, u, f"atomic mass of {row['name']}")


def atoms_of(formula: str) -> dict[str, int]:
    """Atoms by element of a plain formula: "C4H10" is 4 C and 10 H."""
    found: dict[str, int] = {}
    for element, count in re.findall(r"([A-Z][a-z]?)(\d*)", formula):
        found[element] = found.get(element, 0) + int(count or 1)
    return found


@cache
def mass_fractions(formula: str) -> Mapping[str, Any]:
    """Mass fraction of each element in a substance of a plain formula; they add up to 1.

    Examples
    --------
    >>> round(mass_fractions("CH4")["H"].nominal_value, 4)
    0.2513
    """
    masses = {element: count * atomic_mass(element) for element, count in atoms_of(formula).items()}
    whole = total(masses.values())
    return MappingProxyType({element: mass / whole for element, mass in masses.items()})


@cache
def hydrogen_chloride_per_chlorine() -> Any:
    """g of hydrogen chloride a g of chlorine."""
    return 1 / mass_fractions("HCl")["Cl"]
