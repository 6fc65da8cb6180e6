"""Read the peaks of a gas trace, those of a thermal-conductivity detector that point down included."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from cutbook.chromatogram.integration import Integration, IntegrationSettings, integrate
from cutbook.chromatogram.listed_areas import ListedAreaSettings, listed_table
from cutbook.chromatogram.noise import estimate_noise
from cutbook.model.cautions import Caution, caution
from cutbook.model.gas import GasPeak, GasPeaks
from cutbook.model.lineage import Step
from cutbook.model.peaks import LISTED_HALF_BASE_MIN
from cutbook.model.trace import ListedPeaks, Trace

DOWNWARD = "TCD"  # the detector whose peaks may point down
_LEAST_SPREAD = 3.0  # of eight points of noise, in its standard deviations; chance may make it look smaller
_HALF_WIDTH_PER_BASE = 0.25  # of a listed peak without limits


@dataclass(frozen=True)
class GasPeakSettings:
    """When a dip of a thermal-conductivity trace is a peak that points down.

    least_noise : depth of the smoothed dip over the noise of one point; the baseline, which follows from below, sags
        by a few of them.
    least_share : depth as a share of the tallest peak; the baseline undershoots by less beside a large one.
    margin : half-height widths that belong to such a peak on either side of where it crosses the baseline.
    level_points, step_points : a valve that switches moves the signal within so many points from one level stretch of
        so many points to another.
    step_spread : height of such a step over the spread of the two stretches together; between two such stretches the
        flank of a Gaussian peak, however narrow, rises by less than twice their spread.
    """

    least_noise: float = 8.0
    least_share: float = 0.003
    margin: float = 1.5
    level_points: int = 8
    step_points: int = 4
    step_spread: float = 4.0


def gas_peaks(
    signal: Trace | ListedPeaks,
    integration: IntegrationSettings,
    listed: ListedAreaSettings,
    settings: GasPeakSettings = GasPeakSettings(),
) -> GasPeaks:
    """The peaks of a gas trace.

    Parameters
    ----------
    signal : trace, or the list of peaks that somebody else integrated. integration, listed, settings : how each is
        read.

    Returns
    -------
    GasPeaks
        In order of elution. Areas above the following baseline; a peak that points down has a negative area, against a
        baseline that bridges it. Where a valve moved the signal of a thermal-conductivity detector from one level to
        another the later part is moved back first ("gas.step_levelled").
    """
    if isinstance(signal, ListedPeaks):
        return _of_list(signal, listed)
    if signal.detector == DOWNWARD:
        signal = _levelled(signal, settings)
    read = integrate(signal, (), integration)
    windows = _dips(read, settings) if signal.detector == DOWNWARD else ()
    if windows:
        read = integrate(signal, windows, integration)
    found = [
        GasPeak(peak.apex_min, peak.area, peak.u_area, peak.half_width_min or read.widths.least)
        for peak in read.peaks
        if "solvent" not in peak.flags
    ]
    found += [_downward(read, window) for window in windows]
    middle = 0.5 * float(signal.time_min[0] + signal.time_min[-1])
    noise = read.noise.sd * math.sqrt(signal.interval_min * read.noise.correlation_points)
    return GasPeaks(
        signal.file, tuple(sorted(found, key=lambda one: one.apex_min)), noise,
        float(read.widths.half_width(middle)), float(signal.time_min[0]), float(signal.time_min[-1]),
        Step("peaks of gas trace/1", (read.peaks.step,), {"settings": settings, "pointing down": windows}),
        signal.signal_unit,
    )  # fmt: skip


def _levelled(trace: Trace, settings: GasPeakSettings) -> Trace:
    """The trace without the steps of valves; the trace itself where there are none."""
    points, gap = settings.level_points, settings.step_points
    signal = trace.signal
    if len(signal) < 2 * points + gap + 2:
        return trace
    windows = np.lib.stride_tricks.sliding_window_view(signal, points)
    level, spread = np.median(windows, axis=1), np.ptp(windows, axis=1)
    before, after = slice(None, -(points + gap)), slice(points + gap, None)
    height = level[after] - level[before]
    both = np.maximum(spread[after] + spread[before], 2 * _LEAST_SPREAD * estimate_noise(signal).sd)
    found = np.abs(height) > settings.step_spread * both
    raised: list[Caution] = []
    moved = np.array(signal)
    for run in np.split(np.flatnonzero(found), np.flatnonzero(np.diff(np.flatnonzero(found)) > 1) + 1):
        if not len(run):
            continue
        best = int(run[np.argmax((np.abs(height) / both)[run])])
        jump = slice(best + points - 1, best + points + gap + 1)
        at = best + points + int(np.argmax(np.abs(np.diff(signal[jump]))))
        moved[at:] -= height[best]
        raised.append(
            caution("gas.step_levelled", trace.file, time=round(float(trace.time_min[at]), 2),
                    height=float(f"{height[best]:.3g}"), unit=trace.signal_unit or "signal units")
        )  # fmt: skip
    if not raised:
        return trace
    step = Step("level steps of valves/1", (trace.step,), {"settings": settings}, cautions=tuple(raised))
    return replace(trace, signal=moved, step=step)


def _of_list(signal: ListedPeaks, settings: ListedAreaSettings) -> GasPeaks:
    table = listed_table(signal, (), settings)
    peaks = tuple(
        GasPeak(one.apex_min, one.area, one.u_area, _HALF_WIDTH_PER_BASE * (one.back_min - one.front_min))
        for one in table
    )
    width = float(np.median([one.half_width_min for one in peaks])) if peaks else LISTED_HALF_BASE_MIN
    ends = [one.apex_min for one in peaks] or [0.0]
    return GasPeaks(signal.file, peaks, None, width, min(ends), max(ends), table.step, signal.area_unit)


def _dips(read: Integration, settings: GasPeakSettings) -> tuple[tuple[float, float], ...]:
    """(start, end) in min of every peak that points down, from where it leaves the baseline to where it is back."""
    from scipy.ndimage import uniform_filter1d

    time = read.trace.time_min
    below = read.following.values - read.trace.signal
    width = float(read.widths.half_width(0.5 * float(time[0] + time[-1]))) / read.trace.interval_min
    smooth = uniform_filter1d(below, max(3, round(0.5 * width)))
    depth = max(settings.least_noise * read.noise.sd, settings.least_share * float(-below.min()))
    deep = np.flatnonzero(np.diff(np.concatenate([[0], (smooth > depth).astype(np.int8), [0]])))
    margin = int(np.ceil(settings.margin * width))
    found: list[tuple[int, int]] = []
    for start, end in zip(deep[::2], deep[1::2] - 1, strict=True):
        # a peak next to it that points up ends it, too
        while start > 0 and smooth[start] > 0:
            start -= 1
        while end < len(smooth) - 1 and smooth[end] > 0:
            end += 1
        first, last = _clear(smooth, int(start), -margin, depth), _clear(smooth, int(end), margin, depth)
        if found and first <= found[-1][1]:
            found[-1] = (found[-1][0], max(last, found[-1][1]))
        else:
            found.append((first, last))
    return tuple((float(time[first]), float(time[last])) for first, last in found)


def _clear(smooth: np.ndarray, at: int, by: int, depth: float) -> int:
    """How far a dip's margin reaches from one of its ends before a peak that points up begins."""
    far = int(np.clip(at + by, 0, len(smooth) - 1))
    path = smooth[at : far + 1] if by > 0 else smooth[far : at + 1][::-1]
    up = np.flatnonzero(path < -depth)
    step = int(up[0]) if len(up) else len(path) - 1
    return at + step if by > 0 else at - step


def _downward(read: Integration, window: tuple[float, float]) -> GasPeak:
    time = read.trace.time_min
    first, last = np.searchsorted(time, window)
    here = slice(int(first), int(last) + 1)
    depth = (read.following.values - read.trace.signal)[here]
    at = time[here]
    area = float(np.sum(0.5 * (depth[1:] + depth[:-1]) * np.diff(at)))
    half = at[depth > 0.5 * depth.max()]
    u = read.noise.sd * read.trace.interval_min * math.sqrt(len(depth) * read.noise.correlation_points)
    # the bridge may be off by the noise of its ends, all along
    u = math.hypot(u, read.noise.sd * (window[1] - window[0]) / math.sqrt(max(len(depth) / 4, 1.0)))
    width = max(float(half[-1] - half[0]), read.trace.interval_min)
    return GasPeak(float(at[int(np.argmax(depth))]), -area, u, width)
