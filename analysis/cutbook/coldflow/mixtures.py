"""Make the components of an oil from its wax formers, and take cuts out of it or blend others in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from cutbook.model.amount import nominal
from cutbook.model.atoms import atomic_mass
from cutbook.model.cold import Components, Family, WaxFormers
from cutbook.model.trace import Floats


def components_of(formers: WaxFormers, shift: Mapping[int, float] | None = None) -> Components:
    """The oil as the equilibrium takes it.

    Parameters
    ----------
    formers : chains and rest in %. shift : by how many % a chain (by its place) is more than read; None for none.

    Returns
    -------
    Components
        Shares brought to a sum of 1; what more a chain holds is taken from the rest of its carbon number where there is
        enough.
    """
    rest = dict(formers.rest)
    rows: list[tuple[float, Family, float]] = []
    for at, chain in enumerate(formers.chains):
        value = nominal(chain.mass.amount) if chain.mass.amount is not None else 0.0
        more = 0.0 if shift is None else shift.get(at, 0.0)
        rows.append((float(chain.n), chain.family, max(value + more, 0.0)))
        if float(chain.n) in rest:
            rest[float(chain.n)] = max(rest[float(chain.n)] - more, 0.0)
    rows += [(n, "rest", mass) for n, mass in sorted(rest.items())]
    return of_rows(rows)


def of_rows(rows: Sequence[tuple[float, Family, float]]) -> Components:
    """Components from (carbon number, family, mass) in any unit of mass; what is nothing is left out.

    Raises
    ------
    ValueError
        Where nothing is left.
    """
    kept = [row for row in rows if row[2] > 0]
    if not kept:
        raise ValueError("an oil without any mass")
    carbons, families, masses = zip(*kept, strict=True)
    n, mass = np.array(carbons), np.array(masses)
    alkene = np.array([family == "1-alkene" for family in families])
    return Components(n, tuple(families), mass / mass.sum(), _molar_mass(n, alkene))


def without(components: Components, above: float) -> tuple[Components, float]:
    """The oil without all that has more than some carbon number, and the share by mass that was taken out."""
    stays = np.asarray(components.carbons) <= above
    rows = zip(
        components.carbons[stays].tolist(), [f for f, s in zip(components.families, stays, strict=True) if s],
        components.mass_fraction[stays].tolist(), strict=True,
    )  # fmt: skip
    return of_rows(list(rows)), 1.0 - float(np.asarray(components.mass_fraction)[stays].sum())


def blended(oil: Components, other: Components, share: float) -> Components:
    """A blend that holds a share (0 to 1, by mass) of the other liquid."""
    rows: list[Any] = []
    for part, weight in ((oil, 1.0 - share), (other, share)):
        rows += zip(
            part.carbons.tolist(), part.families, (weight * np.asarray(part.mass_fraction)).tolist(), strict=True
        )
    return of_rows(rows)


def _molar_mass(n: Floats, alkene: Any) -> Floats:
    carbon, hydrogen = (nominal(atomic_mass(symbol)) for symbol in "CH")
    return np.asarray(carbon * n + hydrogen * (2.0 * n + np.where(alkene, 0.0, 2.0)))
