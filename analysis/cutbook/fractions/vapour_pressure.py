"""Find the vapour pressure of what boils at a given temperature, by the equation of Maxwell and Bonnell."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from cutbook.model.tables import reference
from cutbook.model.trace import Floats
from cutbook.model.units import KELVIN, MMHG_PER_KPA

_JOIN = 1.05
"""Two branches that meet with a gap are joined over this ratio of pressures to either side, so that pressure rises with
temperature without a step; the join moves an equivalent temperature by less than 0.25 °C."""
_LOG_LOWEST, _LOG_HIGHEST = -6.0, 4.0
"""log P in mmHg beyond which log P goes on in a straight line over A, as the equation was never meant for either."""
_ROUNDS = 8  # each leaves less than a tenth of the error of the one before


@dataclass(frozen=True)
class Branch:
    """A = (a - b log P)/(c - d log P) from a pressure upward."""

    lowest_mmhg: float
    a: float
    b: float
    c: float
    d: float

    def at(self, log_p: float) -> float:
        """A at a decimal logarithm of the pressure in mmHg."""
        return (self.a - self.b * log_p) / (self.c - self.d * log_p)

    def log_pressure(self, big_a: Floats) -> Floats:
        """The decimal logarithm of the pressure in mmHg at which A has a value."""
        lowest, highest = self.at(_LOG_HIGHEST), self.at(_LOG_LOWEST)
        within = np.clip(big_a, lowest, highest)
        denominator = self.b - self.d * within
        log_p = (self.a - self.c * within) / denominator
        slope = (self.d * self.a - self.b * self.c) / denominator**2
        return np.asarray(log_p + slope * (big_a - within))


@dataclass(frozen=True)
class EquationConstants:
    """Slope, offset and shift of the equation, its branches by rising pressure, and the terms of the Watson factor."""

    slope: float
    offset: float
    shift: float
    branches: tuple[Branch, Branch, Branch]
    watson: dict[str, float]


def vapour_pressure_kpa(
    temperature_c: ArrayLike, normal_boiling_c: ArrayLike, watson_k: ArrayLike | None = None
) -> Floats:
    """The vapour pressure of a narrow petroleum fraction or a hydrocarbon.

    Parameters
    ----------
    temperature_c : °C. normal_boiling_c : °C at 101.325 kPa. watson_k : Watson characterisation factor; None leaves its
        term out, as for a factor of 12. Arrays of shapes that broadcast.

    Returns
    -------
    array
        kPa, of the common shape; rises with temperature, and is 101.325 kPa at the boiling point.

    Notes
    -----
    With ``T'`` the boiling point without its Watson term, ``A = (1/T - shift)/(slope/T' - offset)`` is solved for the
    pressure branch by branch: ``log P = (a - c A)/(b - d A)``. Where branches meet (2 and 760 mmHg) they leave a gap of
    up to 0.4 °C, which is closed by a straight line of log P over A. The Watson term itself hangs on the pressure and
    is found by repetition. Meant for 0.01 to 500 kPa; the correlation was made for hydrocarbons, errors of 3 % near
    atmospheric pressure and 10 % at 1 kPa are usual, and more for what associates (phenol).

    References
    ----------
    Maxwell and Bonnell, Ind. Eng. Chem. 49 (1957) 1187; constants in ``reference/equivalent_temperature.csv``.

    Examples
    --------
    >>> round(float(vapour_pressure_kpa(150.0, 289.13)) / 101.325 * 760.0, 2)
    10.0
    """
    known = equation_constants()
    at, boiling = np.broadcast_arrays(
        np.asarray(temperature_c, dtype=np.float64) + KELVIN, np.asarray(normal_boiling_c, dtype=np.float64) + KELVIN
    )
    log_p = _log_pressure(at, boiling, known)
    if watson_k is not None:
        excess = known.watson["factor"] * (np.asarray(watson_k, dtype=np.float64) - known.watson["neutral"])
        log_reference = np.log10(known.watson["reference"])
        for _ in range(_ROUNDS):
            ratio = np.clip(log_p, _LOG_LOWEST, _LOG_HIGHEST) - log_reference
            uncorrected = _without_watson(boiling, excess * ratio, known)
            log_p = _log_pressure(at, uncorrected, known)
    return np.asarray(10.0**log_p / MMHG_PER_KPA)


def _log_pressure(at: Floats, boiling: Floats, known: EquationConstants) -> Floats:
    """Decimal logarithm of the pressure in mmHg."""
    big_a = (1.0 / at - known.shift) / (known.slope / boiling - known.offset)
    deep, vacuum, above = known.branches
    low, high = np.log10(vacuum.lowest_mmhg), np.log10(above.lowest_mmhg)
    step = np.log10(_JOIN)
    # A falls with pressure: from large to small, deep vacuum, vacuum, above atmosphere
    found = np.where(big_a > vacuum.at(low + step), deep.log_pressure(big_a), vacuum.log_pressure(big_a))
    found = np.where(big_a < vacuum.at(high - step), above.log_pressure(big_a), found)
    found = _joined(found, big_a, (deep.at(low - step), low - step), (vacuum.at(low + step), low + step))
    # at the boiling point itself the pressure is 760 mmHg, whatever the branches say
    identity = (1.0 / boiling - known.shift) / (known.slope / boiling - known.offset)
    found = _joined(found, big_a, (vacuum.at(high - step), high - step), (identity, high))
    return _joined(found, big_a, (identity, high), (above.at(high + step), high + step))


def _joined(found: Floats, big_a: Floats, one: tuple[ArrayLike, float], other: tuple[ArrayLike, float]) -> Floats:
    """A straight line of log P over A between two points, outside them what was found."""
    (a_one, log_one), (a_other, log_other) = one, other
    share = (np.asarray(a_one) - big_a) / (np.asarray(a_one) - np.asarray(a_other))
    between = (share >= 0.0) & (share <= 1.0)
    return np.where(between, log_one + share * (log_other - log_one), found)


def _without_watson(boiling: Floats, whole: Floats, known: EquationConstants) -> Floats:
    """The boiling point in K before the Watson term, which is `whole` times a factor from 0 to 1 that rises with it."""
    intercept, rise = known.watson["intercept"], known.watson["rise"]
    starts, ends = -intercept / rise, (1.0 - intercept) / rise
    ramp = (boiling - intercept * whole) / (1.0 + rise * whole)
    return np.where(boiling <= starts, boiling, np.where(boiling >= ends + whole, boiling - whole, ramp))


@cache
def equation_constants() -> EquationConstants:
    """The constants of the equation, from the reference table."""
    by_part: dict[str, dict[str, float]] = {}
    for row in reference("equivalent_temperature").rows:
        by_part.setdefault(row["part"], {})[row["constant"]] = float(row["value"])
    equation = by_part["equation"]
    deep, vacuum, above = (
        Branch(part["from"], part["a"], part["b"], part["c"], part["d"])
        for part in (by_part[name] for name in ("deep vacuum", "vacuum", "above atmosphere"))
    )
    return EquationConstants(
        equation["slope"], equation["offset"], equation["shift"], (deep, vacuum, above), by_part["watson"]
    )
