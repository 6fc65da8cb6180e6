"""Carry the doubts of wax formers and equilibrium on to the first wax and to the solid at each temperature."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from cutbook.coldflow.mixtures import components_of
from cutbook.coldflow.solid_liquid import LOWEST_K, EquilibriumSettings, appearance_k, solid_curve
from cutbook.coldflow.solid_properties import constant
from cutbook.model.amount import Amount, doubt, measured, signed_parts
from cutbook.model.cold import SolidForm, WaxFormers
from cutbook.model.trace import Floats
from cutbook.model.units import KELVIN

MODEL = "equilibrium of wax and oil"
_NEGLIGIBLE = 5e-3  # of a chain's share: what changes none by more is left out
_COARSE = 8  # every so many temperatures, the change of the solid is smooth
Shift = Mapping[int, float]


@dataclass(frozen=True)
class ColdSettings:
    """How the cold is worked out.

    equilibrium : which equations hold. lowest_c : °C down to which the solid is listed.
    draws : mixtures by which the scatter of single peak areas is carried on, with a fixed seed; few, because each area
        matters little.
    """

    equilibrium: EquilibriumSettings = EquilibriumSettings()
    lowest_c: int = -40
    draws: int = 8

    def __post_init__(self) -> None:
        if not -90 <= self.lowest_c <= 20:
            raise ValueError(f"lowest_c = {self.lowest_c} is not between -90 and 20 °C")
        if not 2 <= self.draws <= 1000:
            raise ValueError(f"draws = {self.draws} is not between 2 and 1000")


@dataclass(frozen=True, eq=False)
class ColdReading:
    """One mixture. appearance_c : first wax in °C, the lowest looked for if there is none. solid : % by temperature."""

    appearance_c: float
    solid: Floats


@dataclass(frozen=True, eq=False)
class ColdDoubt:
    """One cause. appearance : °C and solid : %, shape (m,), by which one standard uncertainty changes them."""

    tag: str
    appearance: float
    solid: Floats


def _read(formers: WaxFormers, shift: Shift, near_c: float, degrees_c: Floats, how: EquilibriumSettings) -> ColdReading:
    """First wax and solid of an oil, some of whose chains are more or less than read."""
    components = components_of(formers, shift)
    appears = appearance_k(components, how, near_c + KELVIN)
    curve = solid_curve(components, degrees_c + KELVIN, how)
    return ColdReading((LOWEST_K if appears is None else appears) - KELVIN, 100.0 * np.asarray(curve.solid))


def cold_doubts(
    formers: WaxFormers, base: ColdReading, form: SolidForm, degrees_c: Floats, settings: ColdSettings
) -> tuple[ColdDoubt, ...]:
    """What each cause does to the answers.

    Parameters
    ----------
    formers : chains with correlated amounts. base : as read. form : of its solid, kept throughout.
    degrees_c : falling, shape (m,). settings : see there.

    Returns
    -------
    tuple of ColdDoubt
        One for each tag of the amounts, and one for the equilibrium.

    Notes
    -----
    A cause that is one input (integration, baseline from C20, response, class, tail) is followed by half the difference
    of both answers one standard uncertainty up and down, with its sign. Many inputs of one tag (single areas) are drawn
    together a few times with a fixed seed. The equilibrium shifts the temperature by its own uncertainty.
    """
    how = replace(settings.equilibrium, solid=form)
    coarse = np.unique(np.append(np.arange(0, len(degrees_c), _COARSE), len(degrees_c) - 1))
    at, here = degrees_c[coarse], base.solid[coarse]
    found = []
    for tag, shifts in _by_tag(formers).items():
        if len(shifts) == 1:
            up, down = (
                _read(formers, {n: sign * part for n, part in shifts[0].items()}, base.appearance_c, at, how)
                for sign in (1.0, -1.0)
            )
            first, solid = 0.5 * (up.appearance_c - down.appearance_c), 0.5 * (up.solid - down.solid)
        else:
            first, solid = _drawn(formers, shifts, ColdReading(base.appearance_c, here), at, how, settings.draws)
        found.append(ColdDoubt(tag, first, np.interp(-degrees_c, -at, solid)))
    u_model = constant("model_u")
    warm, cold = (np.interp(-(degrees_c + shift), -degrees_c, base.solid) for shift in (u_model, -u_model))
    return (*found, ColdDoubt(MODEL, u_model, 0.5 * (cold - warm)))


def with_doubts(value: float, changes: Mapping[str, float], shared: Mapping[str, Amount]) -> Amount:
    """A value with the changes that each cause makes; the same causes are the same variables everywhere."""
    amount = measured(value, 0.0, "")
    for tag, change in changes.items():
        if change:
            amount = amount + change * shared[tag]
    return amount


def shared_doubts(doubts: tuple[ColdDoubt, ...]) -> dict[str, Amount]:
    """One variable of standard uncertainty 1 for each cause."""
    return {one.tag: doubt(one.tag) for one in doubts}


def _by_tag(formers: WaxFormers) -> dict[str, list[Shift]]:
    """The inputs of each tag, each with what it does to the chains by their place."""
    by_input: dict[object, dict[int, float]] = {}
    values: dict[int, float] = {}
    for at, chain in enumerate(formers.chains):
        values[at] = abs(chain.mass.value or 0.0)
        for variable, part in signed_parts(chain.mass.amount if chain.mass.amount is not None else 0.0).items():
            by_input.setdefault(variable, {})[at] = part
    tags: dict[str, list[Shift]] = {}
    for variable, shift in by_input.items():
        tags.setdefault(str(getattr(variable, "tag", "") or "unnamed"), []).append(shift)
    return {tag: shifts for tag, shifts in sorted(tags.items()) if _matters(shifts, values)}


def _matters(shifts: list[Shift], values: Mapping[int, float]) -> bool:
    squares: dict[int, float] = {}
    for shift in shifts:
        for at, part in shift.items():
            squares[at] = squares.get(at, 0.0) + part**2
    return any(square**0.5 > _NEGLIGIBLE * values[at] for at, square in squares.items())


def _drawn(
    formers: WaxFormers, shifts: list[Shift], base: ColdReading, degrees_c: Floats, how: EquilibriumSettings, draws: int
) -> tuple[float, Floats]:
    rng = np.random.default_rng(20)
    first, solid = [], []
    for _ in range(draws):
        drawn: dict[int, float] = {}
        for shift in shifts:
            size = float(rng.standard_normal())
            for at, part in shift.items():
                drawn[at] = drawn.get(at, 0.0) + size * part
        one = _read(formers, drawn, base.appearance_c, degrees_c, how)
        first.append((one.appearance_c - base.appearance_c) ** 2)
        solid.append((one.solid - base.solid) ** 2)
    return float(np.sqrt(np.mean(first))), np.asarray(np.sqrt(np.mean(solid, axis=0)))
