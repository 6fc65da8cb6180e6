"""Tell the elements of a plastic from its repeat unit, or from the units that it typically consists of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from cutbook.model.amount import tabulated, total
from cutbook.model.atoms import mass_fractions
from cutbook.model.elements import ELEMENTS
from cutbook.model.polymers import polymer_named
from cutbook.model.tables import reference


@dataclass(frozen=True, eq=False)
class PolymerElements:
    """What a pure plastic consists of.

    name : as printed ("polyethylene"). shares : mass fraction by element, one for each of `ELEMENTS`; they add up to 1
    unless the plastic holds something else. typical : whether the shares are those of typical goods rather than of a
    formula. aromatic : whether it cracks to an oil rich in rings.
    """

    name: str
    shares: Mapping[str, Any]
    typical: bool
    aromatic: bool


@cache
def polymer_elements(material: str) -> PolymerElements | None:
    """The elements of a plastic by any of its names; None for what is no plastic of a known formula.

    Notes
    -----
    Of a copolymer, the units with a range are uncertain by a rectangle over it, each by itself, and the unit without a
    range takes the rest; all of its elements share these doubts.
    """
    row = polymer_named(material)
    if row is None:
        return None
    name, aromatic = row["name"], row["aromatic_oil"] == "1"
    if row["repeat_unit"]:
        shares = mass_fractions(row["repeat_unit"])
        return PolymerElements(name, _of_all(shares), False, aromatic)
    units = [one for one in reference("copolymers").rows if one["abbreviation"] == row["abbreviation"]]
    if not units:
        return None
    ranged = {one["repeat_unit"]: _share(name, one) for one in units if one["low"]}
    rest = next(one for one in units if not one["low"])["repeat_unit"]
    parts = {**ranged, rest: 1 - total(ranged.values())}
    mixed = {
        element: total(share * mass_fractions(unit).get(element, 0.0) for unit, share in parts.items())
        for element in ELEMENTS
    }
    return PolymerElements(name, MappingProxyType(mixed), True, aromatic)


def _of_all(shares: Mapping[str, Any]) -> Mapping[str, Any]:
    return MappingProxyType({element: shares.get(element, 0.0) for element in ELEMENTS})


def _share(name: str, unit: Mapping[str, str]) -> Any:
    spread = (float(unit["high"]) - float(unit["low"])) / 12**0.5  # a rectangle (JCGM 100:2008, 4.3.7)
    return tabulated(float(unit["share"]), spread, f"{unit['unit']} in {name}")
