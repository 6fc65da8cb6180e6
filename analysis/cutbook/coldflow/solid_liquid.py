"""Find how much of an oil is solid at each temperature, and where the first solid appears."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from cutbook.coldflow.fixed_point import Rows, fixed_point
from cutbook.coldflow.liquid_activity import LiquidForm, ln_liquid_activity
from cutbook.coldflow.solid_activity import ln_solid_activity
from cutbook.coldflow.solid_properties import (
    HeatCapacity,
    SolidProperties,
    chain_solution,
    ln_solubility,
    pure_solids,
)
from cutbook.model.cold import Components, SolidCurve, SolidForm
from cutbook.model.trace import Floats

LOWEST_K, HIGHEST_K = 180.0, 400.0
"""Where the first solid is looked for: below what is stored, above the melting point of C60."""
_CLOSE = 1e-10
_NEAR = 8.0  # K to either side of where the first solid is looked for first
_MOST_SOLID = 1.0 - 1e-15  # a last trace of liquid, so that what does not crystallise has a place
_LEAST = -700.0  # logarithm of what counts as nothing


@dataclass(frozen=True)
class EquilibriumSettings:
    """Which equations hold.

    liquid : "ideal" because heats of mixing of n-alkanes are small and the excess entropy of neighbours is negligible
        (Thermochim. Acta 306 (1997) 69); "free volume" makes long chains more soluble in short ones, "regular solution"
        less.
    solid : "whichever appears first" takes the crystal that appears at the higher temperature, for the whole curve:
        pure solids where few even chains meet, a solid solution where neighbours are many, as in every real wax.
    heat_capacity : counted, because far below the melting point it halves the error against measured eutectics.
    """

    liquid: LiquidForm = "ideal"
    solid: Literal["pure solids", "solid solution", "whichever appears first"] = "whichever appears first"
    heat_capacity: HeatCapacity = "by molar mass"


def solid_curve(
    components: Components, temperature_k: ArrayLike, settings: EquilibriumSettings = EquilibriumSettings()
) -> SolidCurve:
    """Solid and liquid of an oil at equilibrium.

    Parameters
    ----------
    components : the oil; chains of C5 to C60 and what does not crystallise.
    temperature_k : K, shape (m,), in any order.
    settings : see there.

    Returns
    -------
    SolidCurve
        Masses of each component in solid and liquid; they add up to the oil to the last digits, because the liquid is
        found first and the solid is what remains of each component.

    Notes
    -----
    Pure solids: the liquid holds of each chain what there is or what dissolves, whichever is less; its amount solves
    one equation that falls throughout. Solid solution: ``x_s = x_l γ_l / (a γ_s)`` with a from `ln_solubility`; the
    share of solid solves the equation of Rachford and Rice, the activities are brought up to date between solutions.
    Neither form's Gibbs energy has more than one minimum with an ideal liquid, so there is no second solid to look for
    and every start ends at the same place.
    """
    t = np.atleast_1d(np.asarray(temperature_k, dtype=np.float64))
    form = _form(components, settings)
    ordered, back = _by_chain(components)
    if form == "pure solids":
        liquid_moles = _beside_pure_solids(ordered, t, settings)
    else:
        liquid_moles = _beside_solution(ordered, t, settings)
    z = ordered.mole_fraction
    mass_of = np.asarray(ordered.mass_fraction)
    stays = np.where(z > 0, np.clip(liquid_moles / np.where(z > 0, z, 1.0), 0.0, 1.0), 1.0)
    liquid = (mass_of * stays)[:, back]
    solid = (mass_of * (1.0 - stays))[:, back]
    return SolidCurve(t, solid.sum(axis=1), solid, liquid, form)


def appearance_k(
    components: Components, settings: EquilibriumSettings = EquilibriumSettings(), near_k: float | None = None
) -> float | None:
    """Temperature in K at which the first solid is in equilibrium with the oil, None where there is none above 180 K.

    near_k : where it is looked for first; it is found elsewhere all the same.

    Raises
    ------
    ValueError
        For a chain outside C5 to C60.
    """
    return _appears(components, replace(settings, solid=_form(components, settings)), near_k)


def _form(components: Components, settings: EquilibriumSettings) -> SolidForm:
    candidates = _candidates(settings)
    if len(candidates) == 1:
        return candidates[0]
    there = components.forms_wax & (np.asarray(components.mass_fraction) > 0)
    if np.count_nonzero(there) == 1:
        return "pure solids"
    first = _appears(components, replace(settings, solid="pure solids"))
    at = np.array([LOWEST_K if first is None else first])
    ordered, _ = _by_chain(components)
    already = float(_supersaturation(ordered, at, replace(settings, solid="solid solution"))[0]) > 0
    return "solid solution" if already else "pure solids"


def _candidates(settings: EquilibriumSettings) -> tuple[SolidForm, ...]:
    return ("pure solids", "solid solution") if settings.solid == "whichever appears first" else (settings.solid,)


def _by_chain(components: Components) -> tuple[Components, np.ndarray[tuple[int], np.dtype[np.intp]]]:
    """The same oil with rising carbon numbers, and where each component of the given one is now."""
    order = np.argsort(components.carbons, kind="stable")
    sorted_ = Components(
        components.carbons[order],
        tuple(components.families[at] for at in order),
        components.mass_fraction[order],
        components.molar_mass[order],
    )
    return sorted_, np.argsort(order, kind="stable")


def _appears(components: Components, settings: EquilibriumSettings, near_k: float | None = None) -> float | None:
    """By ever finer grids: on each the logarithm of the supersaturation changes sign once, from below to above."""
    ordered, _ = _by_chain(components)
    low, high = LOWEST_K, HIGHEST_K
    grids: tuple[int, ...] = (24, 12, 12, 12)
    if near_k is not None:
        about = np.array([near_k + _NEAR, near_k - _NEAR])
        warm, cold = _supersaturation(ordered, about, settings)
        if warm <= 0 < cold:
            high, low, grids = float(about[0]), float(about[1]), (9, 9)
    excess = np.zeros(2)
    for points in grids:
        t = np.linspace(high, low, points)
        excess = _supersaturation(ordered, t, settings)
        at = int(np.argmax(excess > 0))
        if excess[at] <= 0:
            return None
        if at == 0:
            return float(t[0])
        high, low = float(t[at - 1]), float(t[at])
        excess = excess[at - 1 : at + 1]
    return high - (high - low) * float(-excess[0] / (excess[1] - excess[0]))


def _supersaturation(ordered: Components, t: Floats, settings: EquilibriumSettings) -> Floats:
    """Logarithm of how far the oil as a liquid exceeds saturation with its most stable solid, shape (m,)."""
    asked = _ln_asked(ordered, t, settings, _solids(ordered, settings), _ln_all_liquid(ordered, len(t)))
    if settings.solid == "pure solids":
        return np.asarray(asked.max(axis=1))
    return _incipient(ordered, t, asked)[0]


def _solids(ordered: Components, settings: EquilibriumSettings) -> SolidProperties:
    return pure_solids(ordered) if settings.solid == "pure solids" else chain_solution(ordered)


def _ln_all_liquid(ordered: Components, m: int) -> Floats:
    z = ordered.mole_fraction
    ln_z = np.where(z > 0, np.log(np.where(z > 0, z, 1.0)), _LEAST)
    return np.tile(ln_z, (m, 1))


def _ln_asked(
    ordered: Components, t: Floats, settings: EquilibriumSettings, solids: SolidProperties, ln_x: Floats
) -> Floats:
    """Logarithm of each component's activity in the liquid over that of its pure solid; very low where it has none."""
    activity = ln_liquid_activity(settings.liquid, np.exp(ln_x), t, ordered.carbons)
    return np.maximum(ln_x + activity - ln_solubility(t, solids, settings.heat_capacity), _LEAST)


def _incipient(ordered: Components, t: Floats, asked: Floats) -> tuple[Floats, Floats]:
    """Supersaturation with a solid solution, and the composition of its first crystal."""
    carbons = np.asarray(ordered.carbons)

    def answer(ln_w: Floats, rows: Rows) -> tuple[Floats, Floats]:
        _, w = _normalised(ln_w)
        return np.maximum(asked[rows] - ln_solid_activity(w, t[rows], carbons), _LEAST), w

    return _normalised(fixed_point(answer, asked, _CLOSE))


def _normalised(ln_w: Floats) -> tuple[Floats, Floats]:
    """Logarithm of the sum, and the fractions."""
    top = ln_w.max(axis=1, keepdims=True)
    w = np.exp(ln_w - top)
    total = w.sum(axis=1, keepdims=True)
    return np.asarray((top + np.log(total))[:, 0]), np.asarray(w / total)


def _beside_solution(ordered: Components, t: Floats, settings: EquilibriumSettings) -> Floats:
    """Moles of each component in the liquid of one mole of oil, beside a solid solution, shape (m, n)."""
    z = ordered.mole_fraction
    liquid = np.tile(z, (len(t), 1))
    solids = chain_solution(ordered)
    excess, w = _incipient(ordered, t, _ln_asked(ordered, t, settings, solids, _ln_all_liquid(ordered, len(t))))
    cold = np.flatnonzero(excess > 0)
    if not len(cold):
        return liquid
    here = t[cold]
    base = -ln_solubility(here, solids, settings.heat_capacity)
    carbons = np.asarray(ordered.carbons)
    share = np.full(len(cold), 1e-3)

    def answer(ln_k: Floats, rows: Rows) -> tuple[Floats, Floats]:
        ratio = np.exp(np.minimum(ln_k, -_LEAST / 2))
        share[rows] = _share_of_solid(z, ratio, share[rows])
        x = z / (1.0 + share[rows][:, None] * (ratio - 1.0))
        x_s = ratio * x
        x_s = x_s / x_s.sum(axis=1, keepdims=True)
        x = x / x.sum(axis=1, keepdims=True)
        activity = ln_liquid_activity(settings.liquid, x, here[rows], carbons)
        wanted = base[rows] + activity - ln_solid_activity(x_s, here[rows], carbons)
        return np.maximum(wanted, _LEAST), x_s

    start = np.maximum(base - ln_solid_activity(w[cold], here, carbons), _LEAST)
    ratio = np.exp(np.minimum(fixed_point(answer, start, _CLOSE), -_LEAST / 2))
    share = _share_of_solid(z, ratio, share)
    liquid[cold] = (1.0 - share)[:, None] * z / (1.0 + share[:, None] * (ratio - 1.0))
    return liquid


def _share_of_solid(z: Floats, ratio: Floats, start: Floats) -> Floats:
    """The root from 0 to just below 1 of ``Σ z (K-1)/(1 + s (K-1))``, by Newton's steps held between its bounds."""
    lower, upper, s = np.zeros(len(start)), np.full(len(start), _MOST_SOLID), np.minimum(start, _MOST_SOLID)
    less_one = ratio - 1.0
    for _ in range(60):
        over = less_one / (1.0 + s[:, None] * less_one)
        value, slope = (z * over).sum(axis=1), -(z * over**2).sum(axis=1)
        lower, upper = np.where(value > 0, s, lower), np.where(value < 0, s, upper)
        step = s - value / np.where(slope < 0, slope, -1.0)
        new = np.where((step > lower) & (step < upper), step, 0.5 * (lower + upper))
        moved = float(np.max(np.abs(new - s)))
        s = new
        if moved < 1e-14:
            break
    return s


def _beside_pure_solids(ordered: Components, t: Floats, settings: EquilibriumSettings) -> Floats:
    """The same beside crystals of each chain alone."""
    z = ordered.mole_fraction
    solids = pure_solids(ordered)
    ln_a = ln_solubility(t, solids, settings.heat_capacity)
    most = np.exp(np.minimum(ln_a, -_LEAST))
    carbons = np.asarray(ordered.carbons)
    if settings.liquid == "ideal":
        return _beside(z, most)

    def answer(ln_gamma: Floats, rows: Rows) -> tuple[Floats, Floats]:
        x = _beside(z, most[rows] * np.exp(-ln_gamma))
        total = x.sum(axis=1, keepdims=True)
        x = np.where(total > 0, x / np.where(total > 0, total, 1.0), z)
        return ln_liquid_activity(settings.liquid, x, t[rows], carbons), np.ones_like(x)

    start = np.zeros((len(t), len(z)))
    return _beside(z, most * np.exp(-fixed_point(answer, start, _CLOSE)))


def _beside(z: Floats, most: Floats) -> Floats:
    """Moles in the liquid where of each component no more than a mole fraction dissolves."""
    return np.minimum(z, _amount_of_liquid(z, most)[:, None] * most)


def _amount_of_liquid(z: Floats, most: Floats) -> Floats:
    """Moles of liquid L with ``Σ min(z/L, X) = 1``, by bisection on its logarithm; 0 where all is solid."""
    low, high = np.full(len(most), -60.0), np.zeros(len(most))
    for _ in range(80):
        middle = 0.5 * (low + high)
        held = np.minimum(z * np.exp(-middle)[:, None], most).sum(axis=1)
        low, high = np.where(held > 1.0, middle, low), np.where(held > 1.0, high, middle)
    return np.where(low > -59.9, np.exp(high), 0.0)
