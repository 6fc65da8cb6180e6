"""Place a retention time on the scale of the n-alkanes."""

from __future__ import annotations

import dataclasses
import math

import numpy as np

from cutbook.model.ladder import Ladder
from cutbook.model.lineage import Step
from cutbook.model.peaks import PeakTable
from cutbook.model.trace import Floats


def programmed_index(time_min: float, carbons: tuple[int, ...], times_min: Floats) -> float | None:
    """Retention index under a temperature program.

    Parameters
    ----------
    time_min : retention time in min.
    carbons, times_min : the ladder, ascending.

    Returns
    -------
    float or None
        None outside the ladder: it is not extrapolated.

    Notes
    -----
    ``I = 100 [n + N (t_x - t_n) / (t_(n+N) - t_n)]`` with raw times.

    References
    ----------
    van den Dool and Kratz, J. Chromatogr. 11 (1963) 463, doi 10.1016/S0021-9673(01)80947-X.

    Examples
    --------
    >>> programmed_index(8.35, (9, 10), np.array([7.80, 9.40]))
    934.375
    """
    t = np.asarray(times_min, dtype=np.float64)
    if not t[0] <= time_min <= t[-1]:
        return None
    left = min(int(np.searchsorted(t, time_min, side="right")) - 1, len(t) - 2)
    n, span = carbons[left], carbons[left + 1] - carbons[left]
    return float(100 * (n + span * (time_min - t[left]) / (t[left + 1] - t[left])))


def isothermal_index(time_min: float, carbons: tuple[int, ...], times_min: Floats, hold_up_min: float) -> float | None:
    """Retention index at constant oven temperature.

    Parameters
    ----------
    time_min : retention time in min, above `hold_up_min`.
    carbons, times_min : the ladder, ascending.
    hold_up_min : time of an unretained compound in min.

    Returns
    -------
    float or None
        None outside the ladder.

    Notes
    -----
    ``I = 100 [n + N (log t'_x - log t'_n) / (log t'_(n+N) - log t'_n)]`` with t' = t - hold-up time.

    References
    ----------
    Kováts, Helv. Chim. Acta 41 (1958) 1915.

    Examples
    --------
    >>> isothermal_index(8.35, (9, 10), np.array([7.80, 9.40]), 1.20)
    936.875...
    """
    adjusted = np.asarray(times_min, dtype=np.float64) - hold_up_min
    if time_min <= hold_up_min or (adjusted <= 0).any():
        return None
    return programmed_index(math.log(time_min - hold_up_min), carbons, np.log(adjusted))


def index_peaks(peaks: PeakTable, ladder: Ladder) -> PeakTable:
    """The peak table with the programmed-temperature index of every peak inside the ladder."""
    carbons, times = ladder.carbons, ladder.times_min
    indexed = tuple(
        dataclasses.replace(peak, retention_index=programmed_index(peak.apex_min, carbons, times)) for peak in peaks
    )
    return PeakTable(indexed, peaks.signal_unit, Step("retention index/1", inputs=(peaks.step, ladder.step)))


def time_at(carbon: float, ladder: Ladder) -> float:
    """Retention time in min at a (broken) carbon number inside the ladder, by the same linear scale.

    Raises
    ------
    ValueError
        Outside the ladder.
    """
    carbons = np.array(ladder.carbons, dtype=np.float64)
    if not carbons[0] <= carbon <= carbons[-1]:
        raise ValueError(f"carbon number {carbon:g} lies outside the ladder C{carbons[0]:g}–C{carbons[-1]:g}")
    return float(np.interp(carbon, carbons, ladder.times_min))
