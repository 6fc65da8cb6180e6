"""Decide where each peak begins and ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.noise import Noise
from cutbook.chromatogram.peak_detection import Candidates
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class PeakLimitSettings:
    """How far a peak reaches when no neighbour stops it.

    before, after : at least this many half-height widths before and after the apex; a Gaussian has lost less than
        1e-5 of its area there, and a tail gets more room.
    farthest : at most this many widths, while the signal stays above the noise and above `least_share` of the
        peak's height.
    """

    before: float = 2.0
    after: float = 2.2
    farthest: float = 10.0
    least_share: float = 0.001


@dataclass(frozen=True, eq=False)
class Limits:
    """Limits of k peaks as indices into the trace: start <= apex <= end, each of shape (k,).

    joined : whether peak i touches peak i + 1, shape (k - 1,); has_top : as detected.
    """

    start: np.ndarray
    apex: np.ndarray
    end: np.ndarray
    joined: np.ndarray
    has_top: np.ndarray


def set_limits(
    time_min: Floats,
    corrected: Floats,
    found: Candidates,
    noise: Noise,
    widths: WidthLaw,
    settings: PeakLimitSettings = PeakLimitSettings(),
) -> Limits:
    """Limits of every peak.

    Parameters
    ----------
    time_min, corrected : the trace above its following baseline, shape (n,).
    found : the peaks. noise, widths : of the trace.
    settings : see `PeakLimitSettings`.

    Returns
    -------
    Limits
        Between neighbours the limit is the valley, or for a shoulder the bend where the signal dips most below the
        chord of the two apexes.
    """
    from scipy.ndimage import uniform_filter1d

    interval = float(np.median(np.diff(time_min)))
    width = np.maximum(widths.half_width(time_min[found.index]) / interval, 2.0)
    smooth = uniform_filter1d(corrected, max(1, int(0.15 * float(np.median(width))) if len(width) else 1))
    floor = 2.0 * noise.sd
    k = len(found.index)
    start, end = np.empty(k, dtype=np.int64), np.empty(k, dtype=np.int64)
    joined = np.zeros(max(k - 1, 0), dtype=bool)
    for i, apex in enumerate(found.index):
        least = max(floor, settings.least_share * float(corrected[apex]))
        start[i] = _reach(smooth, apex, -1, settings.before * width[i], settings.farthest * width[i], least)
        end[i] = _reach(smooth, apex, 1, settings.after * width[i], settings.farthest * width[i], least)
    for i in range(k - 1):
        left, right = int(found.index[i]), int(found.index[i + 1])
        if end[i] < start[i + 1]:
            continue
        between = smooth[left : right + 1]
        lowest = int(np.argmin(between))
        if lowest in (0, len(between) - 1):  # a shoulder has no valley: the bend below the chord takes its place
            lowest = int(np.argmin(between - np.linspace(between[0], between[-1], len(between))))
        valley = left + lowest
        valley = min(max(valley, left + 1), right - 1) if right - left > 1 else left
        end[i], start[i + 1], joined[i] = valley, valley, True
    return Limits(start, found.index, end, joined, found.has_top)


def _reach(smooth: Floats, apex: int, direction: int, least: float, farthest: float, floor: float) -> int:
    """Index where a flank ends: `least` points away, farther while the signal stays above the floor."""
    near, far = apex + direction * int(np.ceil(least)), apex + direction * int(np.ceil(farthest))
    near, far = int(np.clip(near, 0, len(smooth) - 1)), int(np.clip(far, 0, len(smooth) - 1))
    beyond = smooth[near : far + 1] if direction > 0 else smooth[far : near + 1][::-1]
    below = np.flatnonzero(beyond < floor)
    return near + direction * (int(below[0]) if len(below) else max(len(beyond) - 1, 0))
