"""Look up how a compound boils: its vapour pressure from published constants, or from its boiling point and density."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cutbook.fractions.property_equations import specific_gravity, watson_k
from cutbook.fractions.vapour_pressure import vapour_pressure_kpa
from cutbook.model.errors import InputError, nearest
from cutbook.model.tables import reference
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class CompoundBoiling:
    """One compound.

    molar_mass : g/mol. boiling_c : °C at 101.325 kPa. watson_k : from boiling point and density; None where the
        equation of Maxwell and Bonnell does better without. antoine : a, b, c of log10(P/kPa) = a - b/(t/°C + c), and
        the range in °C; None where none are known.
    """

    name: str
    molar_mass: float
    boiling_c: float
    watson_k: float | None
    antoine: tuple[float, float, float, float, float] | None


def compound_boiling(name: str) -> CompoundBoiling:
    """A compound of `reference/compound_boiling.csv` by its name, or by an alias in `reference/compounds.csv`.

    Raises
    ------
    InputError
        When there is none of that name; the nearest known one is offered.
    """
    rows = reference("compound_boiling").by("name")
    wanted = " ".join(name.split()).casefold()
    by_name = {known.casefold(): known for known in rows}
    for row in reference("compounds").rows:
        if row["name"] in rows:
            by_name |= {alias.casefold(): row["name"] for alias in row["aliases"].split("|") if alias}
    if wanted not in by_name:
        near = nearest(wanted, tuple(by_name))
        raise InputError.single(
            "", "compound", f"'{name}'", "one of " + ", ".join(rows),
            f"Did you mean '{by_name[near]}'?" if near else "",
        )  # fmt: skip
    row = rows[by_name[wanted]]
    boiling = float(row["boiling_c"])
    density = row["density_15_g_ml"]
    factor = watson_k(boiling, specific_gravity(float(density))) if density else None
    constants = tuple(float(row[f"antoine_{part}"]) for part in ("a", "b", "c", "low_c", "high_c") if row["antoine_a"])
    return CompoundBoiling(
        row["name"], float(row["molar_mass"]), boiling, factor,
        (constants[0], constants[1], constants[2], constants[3], constants[4]) if constants else None,
    )  # fmt: skip


def compound_pressure_kpa(compound: CompoundBoiling, temperature_c: ArrayLike) -> Floats:
    """The vapour pressure of a compound in kPa.

    Within their range by the Antoine constants, beyond it by the equation of Maxwell and Bonnell times what makes the
    two meet there; by that equation alone where no constants are known.
    """
    at = np.asarray(temperature_c, dtype=np.float64)
    general = vapour_pressure_kpa(at, compound.boiling_c, compound.watson_k)
    if compound.antoine is None:
        return general
    a, b, c, low, high = compound.antoine
    within = np.clip(at, low, high)
    by_constants = 10.0 ** (a - b / (within + c))
    at_end = vapour_pressure_kpa(within, compound.boiling_c, compound.watson_k)
    return np.asarray(by_constants * general / at_end)


def compound_names() -> tuple[str, ...]:
    """Names of the compounds whose boiling is known."""
    return tuple(reference("compound_boiling").by("name"))
