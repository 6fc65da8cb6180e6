"""Measure the shape of a peak: height, width, tailing, resolution, signal to noise."""

from __future__ import annotations

import numpy as np

from cutbook.chromatogram.noise import Noise
from cutbook.chromatogram.peak_areas import Areas
from cutbook.chromatogram.peak_limits import Limits
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.model.peaks import Peak
from cutbook.model.trace import Floats

TAILING_LIMIT = 2.0
"""Asymmetry from which a peak is flagged as tailing, and its inverse for fronting: column or injector overload."""


def measure_peak(
    time_min: Floats, corrected: Floats, limits: Limits, areas: Areas, number: int, noise: Noise, widths: WidthLaw
) -> Peak:
    """The record of one peak.

    Parameters
    ----------
    time_min, corrected : the trace above its following baseline, shape (n,).
    limits, areas : of all its peaks. number : which one, from 0.
    noise, widths : of the trace.

    Returns
    -------
    Peak
        Without retention index. The apex is that of a parabola through the three highest points.
    """
    start, apex, end = int(limits.start[number]), int(limits.apex[number]), int(limits.end[number])
    apex_min, height = _apex(time_min, corrected, apex)
    half = _width_at(time_min, corrected, start, apex, end, 0.5 * height)
    fitted = float(areas.fitted_width_min[number])
    half_width = half[1] - half[0] if half else (fitted if np.isfinite(fitted) else float(widths.half_width(apex_min)))
    foot = _width_at(time_min, corrected, start, apex, end, 0.05 * height) if height > 60 * noise.sd else None
    tailing = (foot[1] - foot[0]) / (2.0 * (apex_min - foot[0])) if foot and apex_min > foot[0] else None
    flags = []
    if areas.rule[number] == "perpendicular drop" and not half:
        flags.append("unresolved")
    if tailing is not None and tailing > TAILING_LIMIT:
        flags.append("tailing")
    if tailing is not None and tailing < 1.0 / TAILING_LIMIT:
        flags.append("fronting")
    if start == 0 or end == len(time_min) - 1:
        flags.append("cut off")
    return Peak(
        start_min=float(time_min[start]),
        apex_min=apex_min,
        end_min=float(time_min[end]),
        area=float(areas.area[number]),
        u_area=float(areas.u_area[number]),
        height=height,
        half_width_min=half_width,
        tailing=tailing,
        resolution=_resolution(time_min, limits, number, widths),
        signal_to_noise=2.0 * height / noise.peak_to_peak,
        area_rule=areas.rule[number],
        flags=tuple(flags),
    )


def _apex(time_min: Floats, corrected: Floats, apex: int) -> tuple[float, float]:
    """Time and height of the vertex of the parabola through the apex and its neighbours."""
    if not 0 < apex < len(corrected) - 1:
        return float(time_min[apex]), float(corrected[apex])
    left, top, right = (float(value) for value in corrected[apex - 1 : apex + 2])
    bend = left - 2.0 * top + right
    if bend >= 0:
        return float(time_min[apex]), top
    shift = float(np.clip(0.5 * (left - right) / bend, -1.0, 1.0))
    neighbour = apex + 1 if shift > 0 else apex - 1
    return float(time_min[apex] + abs(shift) * (time_min[neighbour] - time_min[apex])), top - 0.25 * (
        left - right
    ) * shift


def _width_at(
    time_min: Floats, corrected: Floats, start: int, apex: int, end: int, level: float
) -> tuple[float, float] | None:
    """Times at which the peak crosses a level on either side, None when a neighbour hides a crossing."""
    before = np.flatnonzero(corrected[start:apex] <= level)
    after = np.flatnonzero(corrected[apex : end + 1] <= level)
    if not len(before) or not len(after):
        return None
    i, j = start + int(before[-1]), apex + int(after[0])
    return _crossing(time_min, corrected, i, i + 1, level), _crossing(time_min, corrected, j - 1, j, level)


def _crossing(time_min: Floats, corrected: Floats, i: int, j: int, level: float) -> float:
    a, b = float(corrected[i]), float(corrected[j])
    share = 0.5 if a == b else (level - a) / (b - a)
    return float(time_min[i] + share * (time_min[j] - time_min[i]))


def _resolution(time_min: Floats, limits: Limits, number: int, widths: WidthLaw) -> float | None:
    """To the nearer neighbour, 1.18 Δt / (w1 + w2), with the widths of the run's law."""
    here = float(time_min[limits.apex[number]])
    near = [float(time_min[limits.apex[i]]) for i in (number - 1, number + 1) if 0 <= i < len(limits.apex)]
    if not near:
        return None
    own = float(widths.half_width(here))
    return min(1.18 * abs(here - other) / (own + float(widths.half_width(other))) for other in near)
