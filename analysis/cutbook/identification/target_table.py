"""The chlorinated compounds to look for, with their ions, from the tables of what is known."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cache
from typing import cast

from cutbook.identification.isotope_pattern import checked_atoms, isotope_share, nominal_mass
from cutbook.model.amount import nominal
from cutbook.model.atoms import atomic_mass
from cutbook.model.chlorine import IonRole, Target, TargetIon, TargetKind
from cutbook.model.tables import reference

PLACE = "chlorinated_targets"
"""Where the built-in targets stand."""
SAME_ION_U = 0.04
"""Relative standard uncertainty of the ratio of two isotopologues: what the tune of a quadrupole favours over some
masses (common practice, no source)."""
_HEAVIEST = 5000  # u


@cache
def targets() -> tuple[Target, ...]:
    """Every compound of `reference/chlorinated_targets.csv`, in its order."""
    return tuple(_target(row) for row in reference("chlorinated_targets").rows)


def target_named(name: str) -> Target:
    """A target of the table.

    Raises
    ------
    KeyError
        When there is none of that name.
    """
    return {target.name: target for target in targets()}[name]


def molar_mass(formula: str) -> float:
    """Molar mass in g/mol of a plain formula, D for deuterium."""
    return sum(count * _mass(element) for element, count in checked_atoms(formula).items())


def ranges(text: str) -> tuple[int, ...]:
    """Whole numbers written as "37-39 50": 37, 38, 39, 50.

    Raises
    ------
    ValueError
        When a part is neither a whole number nor a range that rises, or is heavier than any ion of a scan.
    """
    found: list[int] = []
    for part in text.split():
        low, dash, high = part.partition("-")
        first, last = int(low), int(high) if dash else int(low)
        if last < first or (dash and last == first) or last > _HEAVIEST:
            raise ValueError(part)
        found += range(first, last + 1)
    return tuple(sorted(set(found)))


def partner_u(fragment_u: float) -> float:
    """Relative uncertainty of an isotopologue of a fragment, from that of the fragment."""
    return math.hypot(fragment_u, SAME_ION_U)


def _target(row: Mapping[str, str]) -> Target:
    chlorine = checked_atoms(row["formula"])["Cl"]
    spectrum = reference("chlorinated_spectra").by("group")[row["group"]]
    # homologues share a list, and none gives ions beyond its own molecule
    heaviest = nominal_mass(row["formula"]) + 2 * chlorine + 1
    return Target(
        name=row["name"],
        formula=row["formula"],
        cas=row["cas"],
        smiles=row["smiles"],
        chlorine_atoms=chlorine,
        aromatic=row["aromatic"] == "yes",
        kind=cast(TargetKind, row["kind"]),
        group=row["group"],
        index=float(row["index"]),
        u_index=float(row["u_index"]),
        index_source=row["index_source"],
        ions=_ions()[row["group"]],
        other_ions=tuple(mz for mz in ranges(spectrum["other_ions"]) if mz <= heaviest),
        current_share=float(spectrum["current_share"]),
        molar_mass=molar_mass(row["formula"]),
        boiling_c=float(row["boiling_c"]) if row["boiling_c"] else None,
        hazards=(row["hazard"],),
        place=PLACE,
    )


@cache
def _ions() -> Mapping[str, tuple[TargetIon, ...]]:
    """Ions of each group, the quantifier first."""
    grouped: dict[str, list[Mapping[str, str]]] = {}
    for row in reference("chlorinated_ions").rows:
        grouped.setdefault(row["group"], []).append(row)
    return {group: _of_group(rows) for group, rows in grouped.items()}


def _of_group(rows: Sequence[Mapping[str, str]]) -> tuple[TargetIon, ...]:
    first = rows[0]
    found = []
    for row in rows:
        head = next(one for one in rows if one["ion"] == row["ion"])
        share, u = float(head["share"]), float(head["u_share"])
        role: IonRole = "quantifier" if row is first else "isotope partner" if head is first else "qualifier"
        if row is not head:
            share *= isotope_share(row["ion"], int(row["mz"]), int(head["mz"]))
            u = SAME_ION_U if head is first else partner_u(u)
        found.append(TargetIon(int(row["mz"]), share, role, u))
    return tuple(found)


def _mass(element: str) -> float:
    """g/mol; of deuterium, which has no standard atomic mass, that of the isotope."""
    if element == "D":
        return float(reference("isotopes").by("symbol")["D"]["mass"])
    return nominal(atomic_mass(element))
