"""Find the temperatures and compositions of the stages of a batch column from what is in the still."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from cutbook.model.trace import Floats

PressureLaw = Callable[[Floats], tuple[Floats, Floats]]
"""Temperatures in °C, shape (s,), to ln(vapour pressure/kPa) and its slope per °C, each of shape (s, components)."""

_CLOSE = 1e-9  # of the sum of mole fractions on a stage
_ROUNDS = 60
_WORTH = 0.01  # of the excess before: as long as old derivatives do so well they are not made anew
_LARGEST_STEP_C = 25.0


@dataclass(frozen=True)
class Column:
    """A pot with plates above it.

    plates : theoretical plates above the pot, which is one stage more; 0 is simple distillation.
    reflux : returned over taken off; infinite for total reflux. pressure_kpa : at the head, absolute.
    drop_kpa : pressure drop of one plate. held_mol : held on all plates together, evenly.
    """

    plates: int
    reflux: float
    pressure_kpa: float
    drop_kpa: float = 0.0
    held_mol: float = 0.0

    def __post_init__(self) -> None:
        sound = (
            0 <= self.plates
            and 0.0 <= self.reflux
            and 0.0 < self.pressure_kpa < math.inf
            and 0.0 <= self.drop_kpa < math.inf
            and 0.0 <= self.held_mol < math.inf
        )
        if not sound:
            raise ValueError(f"no column: {self}")

    @property
    def acting_plates(self) -> int:
        """Plates that part anything: none without reflux, since they run dry."""
        return self.plates if self.reflux > 0.0 else 0


@dataclass(frozen=True, eq=False)
class Stages:
    """The state of a column.

    temperatures_c : from the topmost plate down to the pot, shape (plates + 1,). leaving_ratio : of each component, its
        mole fraction in the distillate over its share of all that is in the still; shape (components,).
    pot : mole fractions in the pot. inverse : of the last derivatives used, for a state nearby.
    """

    temperatures_c: Floats
    leaving_ratio: Floats
    pot: Floats
    inverse: Floats

    @property
    def head_c(self) -> float:
        """Temperature of the vapour that leaves the topmost stage, °C."""
        return float(self.temperatures_c[0])

    @property
    def pot_c(self) -> float:
        """Temperature of the liquid in the pot, °C."""
        return float(self.temperatures_c[-1])


def column_stages(
    log_moles: Floats,
    column: Column,
    pressures: PressureLaw,
    near_c: Floats | None = None,
    inverse: Floats | None = None,
) -> Stages:
    """The stages of a column that follows the pot without delay.

    Parameters
    ----------
    log_moles : natural logarithm of the moles of each component in the still, plates included.
    column : see there. pressures : vapour pressures of the components.
    near_c, inverse : temperatures and derivatives to begin with, as in `Stages`; None when nothing is known.

    Returns
    -------
    Stages

    Raises
    ------
    ValueError
        When there is not more in the still than its plates hold, or no temperatures are found.

    Notes
    -----
    Ideal mixtures (Raoult), constant molal overflow, total condenser. With ``K`` of each plate, counted from the top,
    and ``g`` = distillate over vapour of a component at a plate, ``s = (R+1) K/(R + g K)`` is the ratio of its vapour
    above to that below the plate, and ``g`` of the next plate is ``s g``. The temperatures are those at which the mole
    fractions on every plate and in the vapour of the pot add up to one; they are found by Newton's method with the
    exact derivatives.
    """
    total = float(np.exp(log_moles).sum())
    left = total - (column.held_mol if column.acting_plates else 0.0)
    if not left > 0.0:
        raise ValueError("the plates hold more than there is in the still")
    stage_kpa = _pressures(column)
    worst = math.inf
    for at_c in _guesses(log_moles, column, pressures, near_c):
        before = math.inf
        for _ in range(_ROUNDS):
            balance = _Balance(log_moles, left, column, stage_kpa, *pressures(at_c))
            worst = float(np.max(np.abs(balance.excess)))
            if worst < _CLOSE and inverse is not None:
                over = np.exp(balance.log_leaving + balance.log_pot)
                # what the plates miss by a little, the distillate misses by the reflux as often
                ratio = np.exp(balance.log_leaving + balance.log_pot - log_moles) * (total / float(over.sum()))
                return Stages(at_c, ratio, np.exp(balance.log_pot), inverse)
            if inverse is None or worst > _WORTH * before:  # those of a state nearby do while they still help
                inverse = balance.inverse()
            if inverse is None:
                break
            step = inverse @ balance.excess
            before = worst
            at_c = at_c - step * min(1.0, _LARGEST_STEP_C / max(float(np.max(np.abs(step))), 1e-300))
        inverse = None
    raise ValueError(f"no temperatures of the stages found; the sums are off by {worst:.2g}")


def tabled(pressures_kpa: Callable[[Floats], Floats], low_c: float, high_c: float, step_c: float = 2.0) -> PressureLaw:
    """A law of vapour pressures as a smooth table, quick to read many times.

    Parameters
    ----------
    pressures_kpa : temperatures of shape (s, 1) to pressures in kPa of shape (s, components).
    low_c, high_c : range of the table; beyond it ln P goes on in a straight line. step_c : between its rows.
    """
    at = np.linspace(low_c, high_c, max(4, round((high_c - low_c) / step_c) + 1))
    spline = CubicSpline(at, np.log(pressures_kpa(at[:, None])))
    slope = spline.derivative()

    def law(temperature_c: Floats) -> tuple[Floats, Floats]:
        within = np.clip(temperature_c, low_c, high_c)
        rise = slope(within)
        return spline(within) + rise * (temperature_c - within)[:, None], rise

    return law


def bubble_c(log_shares: Floats, pressure_kpa: float, pressures: PressureLaw, near_c: float = 150.0) -> float:
    """The temperature in °C at which a liquid boils; `log_shares`: logarithms of its mole fractions."""
    at = near_c
    for _ in range(_ROUNDS):
        log_p, rise = pressures(np.array([at]))
        terms = log_shares + log_p[0]
        top = float(terms.max())
        parts = np.exp(terms - top)
        excess = top + math.log(float(parts.sum())) - math.log(pressure_kpa)
        if abs(excess) < _CLOSE:
            return at
        step = excess / (float(parts @ rise[0]) / float(parts.sum()))
        at -= max(-40.0, min(40.0, step))
    raise ValueError(f"no boiling point found at {pressure_kpa:g} kPa")


def _pressures(column: Column) -> Floats:
    """Of every stage from the top down, kPa."""
    return column.pressure_kpa + column.drop_kpa * np.arange(column.acting_plates + 1, dtype=np.float64)


def _guesses(log_moles: Floats, column: Column, pressures: PressureLaw, near_c: Floats | None) -> Iterator[Floats]:
    """Temperatures to begin with, one after another until one leads to the end."""
    if near_c is not None:
        yield near_c
    found = _boiled_upward(log_moles, column, pressures)
    yield found
    yield np.linspace(found[-2], found[-1], found.size) if found.size > 1 else found
    yield np.full_like(found, found[-1])


def _boiled_upward(log_moles: Floats, column: Column, pressures: PressureLaw) -> Floats:
    """Boil the liquid, condense the vapour, boil that, and so on upward."""
    shares = log_moles - _log_sum(log_moles)
    found: list[float] = []
    most: Floats | None = None  # no component is enriched further than by taking off all of it
    for pressure in _pressures(column)[::-1]:
        at = bubble_c(shares, float(pressure), pressures, found[-1] if found else 150.0)
        found.append(at)
        shares = shares + pressures(np.array([at]))[0][0] - math.log(float(pressure))
        most = shares + math.log(column.reflux + 1.0) if most is None else most
        shares = np.minimum(shares - _log_sum(shares), most)
        shares = shares - _log_sum(shares)
    return np.array(found[::-1])


def _log_sum(terms: Floats) -> float:
    top = float(terms.max())
    return top + math.log(float(np.exp(terms - top).sum()))


class _Balance:
    """The balances of all components at given temperatures, and how the sums of mole fractions miss one."""

    def __init__(
        self, log_moles: Floats, left: float, column: Column, stage_kpa: Floats, log_p: Floats, rise: Floats
    ) -> None:
        plates, reflux = column.acting_plates, column.reflux
        self.plates, self.rise = plates, rise
        log_k = log_p - np.log(stage_kpa)[:, None]
        # rho: how s changes with K of its own plate
        if math.isinf(reflux):
            log_s, self.log_rho = log_k[:-1], np.zeros_like(log_k[:-1])
        else:
            g = np.ones(log_moles.size)
            gk = np.exp(log_k[:-1])
            for plate in range(plates):
                row = gk[plate]
                row *= g
                g = (reflux + 1.0) * row / (reflux + row)
            below = np.log(reflux + gk)
            log_s = math.log(reflux + 1.0) + log_k[:-1] - below
            self.log_rho = math.log(reflux) - below if plates else log_s
        upward = np.cumsum(log_s[::-1], axis=0)[::-1]  # from the vapour of the pot to that above each plate
        self.log_liquid = log_k[-1] + upward - log_k[:-1]  # of each plate over the pot
        self.log_leaving = log_k[-1] + (upward[0] if plates else 0.0)
        held = column.held_mol / plates if plates else 0.0
        if held:
            per_pot = held * np.exp(self.log_liquid)
            inventory = left + per_pot.sum(axis=0)
            self.held = per_pot / inventory
            self.log_pot = log_moles - np.log(inventory)
        else:
            self.held = None
            self.log_pot = log_moles - math.log(left)
        # at total reflux the liquid of a plate does not hang on its own temperature: its vapour is summed instead
        self.of_vapour = math.isinf(reflux)
        on_plates = log_k[-1] + upward if self.of_vapour else self.log_liquid
        sums = np.concatenate([self.log_pot + on_plates, (self.log_pot + log_k[-1])[None, :]])
        top = sums.max(axis=1, keepdims=True)
        parts = np.exp(sums - top)
        whole = parts.sum(axis=1, keepdims=True)
        self.weights = parts / whole
        self.excess = (top + np.log(whole))[:, 0]

    def inverse(self) -> Floats | None:
        """Of the slopes; None where they have none."""
        try:
            found = np.linalg.inv(self.slopes())
        except np.linalg.LinAlgError:
            return None
        return np.asarray(found, dtype=np.float64) if np.all(np.isfinite(found)) else None

    def slopes(self) -> Floats:
        """Of the excess of each stage with the temperature of each."""
        n, weights, rise = self.plates, self.weights, self.rise
        slopes = np.zeros((n + 1, n + 1))
        running = np.cumsum(self.log_rho, axis=0)
        through = np.exp(running[-1] - running + self.log_rho) if n else running  # of all plates from k to the pot
        # d ln(liquid of plate j over pot)/d ln K of plate k
        moved = np.zeros((n, n + 1, rise.shape[1]))
        moved[:, :n] = through
        moved[:, n] = 1.0
        for j in range(n):
            moved[j, j] -= 1.0
            if j:
                moved[j, :j] -= np.exp(running[j - 1] - running[:j] + self.log_rho[:j])
        slopes[:n] = np.einsum("ji,jki,ki->jk", weights[:n], moved, rise)
        if self.of_vapour:
            slopes[range(n), range(n)] += np.einsum("ji,ji->j", weights[:n], rise[:n])
        slopes[n, n] = float(weights[n] @ rise[n])
        if self.held is not None:
            pot = -np.einsum("ji,jki->ki", self.held, moved) * rise  # d ln(pot) with each temperature
            slopes += weights @ pot.T
        return slopes
