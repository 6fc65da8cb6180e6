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
    for start in _starts(gaps):
        steps = _count_from(start, gaps, settings)
        if steps is not None:
            return steps
    return None


def _count_from(start: int, gaps: Floats, settings: RungSettings) -> tuple[int, ...] | None:
    """Steps when the gap at `start` is one carbon; None where a later gap then fits no whole number."""
    steps = np.zeros(len(gaps), dtype=int)
    steps[start] = 1
    for direction in (1, -1):
        seen = [(float(gaps[start]), 1)]
        index = start + direction
        while 0 <= index < len(gaps):
            step = _whole_steps(float(gaps[index]), seen, settings.widest_step)
            if step is None:
                return None
            steps[index] = step
            seen.append((float(gaps[index]) / step, step))
            index += direction
    return tuple(int(step) for step in steps)


def _starts(gaps: Floats) -> list[int]:
    """Gaps from which counting may start, the most regular neighbourhood first."""
    roughness = []
    for index in range(len(gaps)):
        near = gaps[max(0, index - 2) : index + 3]
        irregular = float(np.abs(near / np.median(near) - 1).max())
        roughness.append((irregular + 1e-3 * abs(index - len(gaps) / 2), index))
    return [index for _, index in sorted(roughness)]


def _whole_steps(gap: float, seen: list[tuple[float, int]], widest: int) -> int | None:
    """Carbons in a gap, from the spacing per carbon of the gaps before it, extrapolated carbon by carbon."""
    spacing, step_before = seen[-1]
    change = 1.0
    if len(seen) > 1:
        earlier, earlier_step = seen[-2]
        change = float(np.clip(spacing / earlier, 0.7, 1.3)) ** (2 / (step_before + earlier_step))
    for step in range(1, widest + 1):
        ratio = gap / (spacing * change ** ((step_before + step) / 2))
        # between 1 and 2 the geometric mean decides: the spacing itself may change by a third
        if (step == 1 and 0.6 <= ratio < 1.42) or (step > 1 and abs(ratio - step) < 0.34):
            return step
    return None
