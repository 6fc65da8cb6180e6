"""Pick the n-alkanes of a ladder out of its peaks and count the carbons between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.model.peaks import Peak, PeakTable
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class RungSettings:
    """How rungs are told from impurities.

    smallest_share : a rung's area against the typical rung next to it, at least; impurities of ladder
        mixtures stay below a tenth, discriminated heavy alkanes above a quarter.
    largest_share : a peak above this many times the typical rung is solvent; doubled rungs reach 2.
    fewest : fewest rungs that make a ladder.
    widest_step : most carbons that may be missing between two rungs, plus one.
    """

    smallest_share: float = 0.2
    largest_share: float = 6.0
    fewest: int = 4
    widest_step: int = 6


def pick_rungs(
    peaks: PeakTable,
    solvent_windows_min: tuple[tuple[float, float], ...],
    count: int | None,
    settings: RungSettings = RungSettings(),
) -> tuple[Peak, ...]:
    """The peaks of a ladder trace that are rungs, in order of elution.

    Parameters
    ----------
    peaks : peak table of the ladder trace.
    solvent_windows_min : (start, end) in min of what is solvent.
    count : how many rungs there must be, where the run sheet says so; then exactly that many of the
        largest are taken.
    settings : see `RungSettings`.

    Returns
    -------
    tuple of Peak
        Possibly fewer than `settings.fewest`; the caller decides.
    """
    candidates = [
        peak
        for peak in peaks
        if "solvent" not in peak.flags and not any(a <= peak.apex_min <= b for a, b in solvent_windows_min)
    ]
    area = np.array([peak.area for peak in candidates])
    if len(area):
        ordinary = area <= settings.largest_share * _typical(area)
        candidates = [peak for peak, kept in zip(candidates, ordinary, strict=True) if kept]
        area = area[ordinary]
    if not candidates:
        return ()
    if count is not None:
        largest = sorted(candidates, key=lambda peak: -peak.area)[:count]
        return tuple(sorted(largest, key=lambda peak: peak.apex_min))
    keep = area > settings.smallest_share * _typical(area)
    for _ in range(10):
        times = np.array([peak.apex_min for peak in candidates])
        local = np.array([_typical_near(times, area, keep, t) for t in times])
        again = area > settings.smallest_share * local
        if (again == keep).all():
            break
        keep = again
    return tuple(peak for peak, kept in zip(candidates, keep, strict=True) if kept)


def _typical(area: Floats) -> float:
    """Area of a typical rung: the median of those above a tenth of the third largest."""
    third = float(np.sort(area)[-min(3, len(area))])
    return float(np.median(area[area > 0.1 * third]))


def _typical_near(times: Floats, area: Floats, keep: np.ndarray, t: float, neighbours: int = 7) -> float:
    kept = np.flatnonzero(keep)
    near = kept[np.argsort(np.abs(times[kept] - t))[:neighbours]]
    return float(np.median(area[near])) if len(near) else float("inf")


def overlooked(
    peaks: PeakTable,
    rungs: tuple[Peak, ...],
    solvent_windows_min: tuple[tuple[float, float], ...],
    settings: RungSettings = RungSettings(),
) -> tuple[Peak, ...]:
    """Peaks that are as large as rungs but are not among them: the declared carbons are then too few.

    A peak counts when it exceeds half of the smaller of the two rungs next to it.
    """
    free = pick_rungs(peaks, solvent_windows_min, None, settings)
    extra = []
    for peak in free:
        if peak in rungs:
            continue
        near = sorted(rungs, key=lambda rung: abs(rung.apex_min - peak.apex_min))[:2]
        if peak.area > 0.5 * min(rung.area for rung in near):
            extra.append(peak)
    return tuple(extra)


def count_steps(times_min: Floats, settings: RungSettings = RungSettings()) -> tuple[int, ...] | None:
    """How many carbons lie between neighbouring rungs, from their spacing alone.

    Parameters
    ----------
    times_min : apex times in min, ascending, shape (k,).

    Returns
    -------
    tuple of int, length k - 1, or None
        1 for neighbours, 2 where one is missing …; None where the spacing is too irregular to tell.

    Notes
    -----
    The spacing per carbon changes smoothly. Starting from the closest pair it is followed to both
    sides, each time extrapolated from the last two; a step is the whole number of extrapolated
    spacings that fits best, and must fit within a third of a carbon.
    """
    gaps = np.diff(np.asarray(times_min, dtype=np.float64))
    if len(gaps) < 2:
        return None
    steps = np.zeros(len(gaps), dtype=int)
    start = _start_of_regular_part(gaps)
    steps[start] = 1
    for direction in (1, -1):
        per_carbon = [float(gaps[start])]
        index = start + direction
        while 0 <= index < len(gaps):
            trend = float(np.clip(per_carbon[-1] / per_carbon[-2], 0.7, 1.3)) if len(per_carbon) > 1 else 1.0
            expected = per_carbon[-1] * trend
            step = _whole_steps(float(gaps[index]), expected)
            if step is None or step > settings.widest_step:
                return None
            steps[index] = step
            per_carbon.extend([float(gaps[index]) / step] * step)
            index += direction
    return tuple(int(step) for step in steps)


def _start_of_regular_part(gaps: Floats) -> int:
    """The gap from which counting starts: smallest against the median of its five neighbours, nearest to the middle."""
    best, where = np.inf, 0
    for index in range(len(gaps)):
        near = gaps[max(0, index - 2) : index + 3]
        roughness = float(np.abs(near / np.median(near) - 1).max()) + 1e-3 * abs(index - len(gaps) / 2)
        if gaps[index] <= 1.2 * np.median(near) and roughness < best:
            best, where = roughness, index
    return where


def _whole_steps(gap: float, expected: float) -> int | None:
    ratio = gap / expected
    if ratio < 0.6:
        return None
    if ratio < 1.42:  # between 1 and 2 the geometric mean decides: the spacing itself may change by a third
        return 1
    step = int(round(ratio))
    return step if abs(ratio - step) < 0.34 else None
