"""Hold a first-order uncertainty against random draws of what it was made from."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from cutbook.model.draws import Drawn
from cutbook.model.monte_carlo import NORMAL, HeldAgainstDraws
from cutbook.model.result import Result

COVERAGE = 0.95
ROUNDING = 1e-12
"""Relative uncertainty that is left of what cancels, a feed's share of itself for instance, and is none."""
_DENSITY = 0.0584507
"""Standard normal density at its 2.5 % quantile: a quantile of N draws is uncertain by √(p(1−p)/N) over it."""


@dataclass(frozen=True)
class MonteCarloSettings:
    """Whether and how uncertainties are held against random draws.

    draws : of each input; 0 leaves it, since it takes a second and rarely tells anything new. 10,000 know the ends of
        a 95 % interval to 3 % of the standard uncertainty. seed : of the random numbers, so that the same comes out.
    """

    draws: int = 0
    seed: int = 98


def held_against_draws(name: str, before: Result | None, after: Result, draws: int) -> HeldAgainstDraws | None:
    """One result to first order, `before`, against the same one drawn, `after`; None without an uncertainty to check.

    Notes
    -----
    Validation as in clause 8 of JCGM 101:2008: the ends of both 95 % intervals agree within half a unit of the first
    significant digit of u (7.9.2), plus three standard deviations of a quantile of so many draws.
    """
    amount = after.amount
    if before is None or before.value is None or not isinstance(amount, Drawn):
        return None
    if not before.u or before.u <= ROUNDING * abs(before.value):
        return None
    value, u = before.value, before.u
    low, high = (float(end) for end in np.quantile(amount.values, ((1 - COVERAGE) / 2, (1 + COVERAGE) / 2)))
    off = max(abs(low - (value - NORMAL * u)), abs(high - (value + NORMAL * u)))
    tail = (1 - COVERAGE) / 2
    sampling = u * math.sqrt(tail * (1 - tail) / draws) / _DENSITY
    tolerance = 0.5 * 10.0 ** math.floor(math.log10(u)) + 3 * sampling
    mean = float(np.mean(amount.values))
    return HeldAgainstDraws(name, before.unit, value, u, mean, amount.std_dev, low, high, off, tolerance)
