"""Give each peak its area: its own where it stands alone, shared with its neighbours where they overlap."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.noise import Noise
from cutbook.chromatogram.overlap import ClusterFit, OverlapSettings, fit_cluster
from cutbook.chromatogram.peak_limits import Limits
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.model.peaks import AreaRule
from cutbook.model.trace import Floats


@dataclass(frozen=True, eq=False)
class Areas:
    """Area and standard uncertainty of k peaks in signal × min, by which rule, and the fitted half-height width in
    min where a fit was made (nan elsewhere), each of length k."""

    area: Floats
    u_area: Floats
    rule: tuple[AreaRule, ...]
    fitted_width_min: Floats


def share_areas(
    time_min: Floats,
    corrected: Floats,
    limits: Limits,
    noise: Noise,
    widths: WidthLaw,
    settings: OverlapSettings,
) -> Areas:
    """Areas of all peaks of a trace.

    Parameters
    ----------
    time_min, corrected : the trace above its following baseline, shape (n,).
    limits : of the peaks. noise, widths : of the trace.
    settings : see `OverlapSettings`.

    Returns
    -------
    Areas
        A fitted cluster is scaled so that its peaks add up to the area under the trace between its limits.
    """
    k = len(limits.apex)
    interval = float(np.median(np.diff(time_min)))
    running = np.concatenate([[0.0], np.cumsum(0.5 * (corrected[1:] + corrected[:-1]) * np.diff(time_min))])
    area = running[limits.end] - running[limits.start]
    u_area = noise.sd * interval * np.sqrt((limits.end - limits.start + 1) * noise.correlation_points)
    touching = np.zeros(k, dtype=bool)
    touching[1:] |= limits.joined
    touching[:-1] |= limits.joined
    rule: list[AreaRule] = ["perpendicular drop" if joined else "isolated" for joined in touching]
    fitted = np.full(k, np.nan)
    close = _close(time_min, corrected, limits, noise, widths, settings)
    loose = np.flatnonzero(limits.joined & ~close)
    for i in loose:  # what a perpendicular misplaces is of the order of the signal at the valley over a tail
        spill = max(float(corrected[limits.end[i]]), 0.0) * 0.2 * float(widths.half_width(time_min[limits.end[i]]))
        u_area[i] = np.hypot(u_area[i], spill)
        u_area[i + 1] = np.hypot(u_area[i + 1], spill)
    for first, last in _rows(close):
        for lower, upper, guests in _parts(first, last, corrected, limits, settings.largest_cluster):
            fit = _fit(time_min, corrected, limits, guests, noise, widths, settings)
            inside = np.arange(lower, upper + 1)
            if fit is None:
                u_area[inside] = np.hypot(u_area[inside], 0.3 * np.abs(area[inside]))
                continue
            own = inside - guests[0]
            whole, explained = float(area[inside].sum()), float(fit.area[own].sum())
            scale = whole / explained if explained > 0 and abs(whole / explained - 1.0) < settings.worst_misfit else 1.0
            if fit.misfit > settings.worst_misfit or explained <= 0:
                u_area[inside] = np.hypot(u_area[inside], 0.3 * np.abs(area[inside]))
                continue
            area[inside] = fit.area[own] * scale
            noise_part = u_area[inside]
            u_area[inside] = np.sqrt(
                np.minimum(noise_part, fit.u_area[own]) ** 2
                + fit.u_area[own] ** 2
                + ((scale - 1.0) * area[inside]) ** 2
                + (fit.misfit * area[inside]) ** 2
                + (settings.unseen_share * area[inside]) ** 2
            )
            for i in inside:
                rule[i] = "fitted"
            fitted[inside] = 2.3548 * fit.sigma[own]
    return Areas(area, u_area, tuple(rule), fitted)


def _close(
    time_min: Floats, corrected: Floats, limits: Limits, noise: Noise, widths: WidthLaw, settings: OverlapSettings
) -> np.ndarray:
    """Which joined neighbours overlap too much for a perpendicular, bool, shape (k - 1,)."""
    apex = limits.apex
    if len(apex) < 2:
        return np.zeros(0, dtype=bool)
    times, heights = time_min[apex], corrected[apex]
    width = widths.half_width(times)
    resolution = 1.18 * np.diff(times) / (width[1:] + width[:-1])
    valley = corrected[limits.end[:-1]]
    smaller = np.minimum(heights[1:], heights[:-1])
    high = valley > np.maximum(settings.valley_share * smaller, 3.0 * noise.sd)
    return np.asarray(limits.joined & ((resolution < settings.drop_from) | high))


def _rows(close: np.ndarray) -> list[tuple[int, int]]:
    """First and last peak of every run of close neighbours."""
    rows, first = [], None
    for i, near in enumerate(np.append(close, False)):
        if near and first is None:
            first = i
        elif not near and first is not None:
            rows.append((first, i))
            first = None
    return rows


def _parts(first: int, last: int, corrected: Floats, limits: Limits, largest: int) -> list[tuple[int, int, np.ndarray]]:
    """Cut a long row at its deepest valleys; each part with the peaks to fit, one guest beyond either cut."""
    cuts: list[tuple[int, int]] = []
    todo = [(first, last)]
    while todo:
        lower, upper = todo.pop()
        if upper - lower + 1 <= largest:
            cuts.append((lower, upper))
            continue
        margin = max(1, (upper - lower) // 5)
        inner = np.arange(lower + margin, upper - margin)
        depth = corrected[limits.end[inner]] / np.minimum(
            corrected[limits.apex[inner]], corrected[limits.apex[inner + 1]]
        )
        cut = int(inner[int(np.argmin(depth))])
        todo += [(lower, cut), (cut + 1, upper)]
    return [(lower, upper, np.arange(max(lower - 1, first), min(upper + 1, last) + 1)) for lower, upper in sorted(cuts)]


def _fit(
    time_min: Floats,
    corrected: Floats,
    limits: Limits,
    guests: np.ndarray,
    noise: Noise,
    widths: WidthLaw,
    settings: OverlapSettings,
) -> ClusterFit | None:
    here = slice(int(limits.start[guests[0]]), int(limits.end[guests[-1]]) + 1)
    apex = limits.apex[guests]
    return fit_cluster(
        time_min[here],
        corrected[here],
        time_min[apex],
        corrected[apex],
        noise.sd * float(np.sqrt(noise.correlation_points)),
        widths,
        settings,
    )
