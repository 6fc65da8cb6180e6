"""Read the level of the detector where nothing elutes: before the first peak and at the end of the run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.noise import Noise
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class EndLevelSettings:
    """Which stretches count as ends.

    head_most, tail_share : the head reaches at most to this share of the run, the tail is this share of it.
    rise_noise : the head ends where the smoothed signal leaves its level by this many noise standard deviations.
    fewest : points that make a head.
    """

    head_most: float = 0.1
    tail_share: float = 0.02
    rise_noise: float = 4.0
    fewest: int = 12


@dataclass(frozen=True)
class EndLevel:
    """Mean of a quiet stretch: its time in min, level and standard uncertainty in the signal's unit; slope of a
    straight line through it with its standard uncertainty, signal per min."""

    time_min: float
    level: float
    u: float
    slope: float
    u_slope: float


def head_level(
    time_min: Floats, signal: Floats, noise: Noise, settings: EndLevelSettings = EndLevelSettings()
) -> EndLevel | None:
    """The level before anything elutes.

    Parameters
    ----------
    time_min, signal : shape (n,). noise : of the signal.
    settings : see `EndLevelSettings`.

    Returns
    -------
    EndLevel or None
        None when the run begins on a peak or a slope.
    """
    from scipy.ndimage import uniform_filter1d

    count = int(settings.head_most * len(signal))
    if count < settings.fewest:
        return None
    few = settings.fewest
    smooth = uniform_filter1d(signal[:count], few // 2 + 1)
    begin = float(np.median(signal[:few]))
    # noise of the running mean, and a quarter of a point's for the wander that persistent noise has
    bound = settings.rise_noise * noise.sd * float(np.sqrt(min(noise.correlation_points / (few // 2), 1.0)) + 0.25)
    left = np.flatnonzero(np.abs(smooth - begin) > bound)
    end = int(left[0]) - few // 2 if len(left) else count
    return _level(time_min[:end], signal[:end], noise) if end >= few else None


def tail_level(
    time_min: Floats, signal: Floats, noise: Noise, settings: EndLevelSettings = EndLevelSettings()
) -> EndLevel:
    """The level at the end of the run; whether it is quiet is for the caller to judge from its slope."""
    count = max(settings.fewest, int(settings.tail_share * len(signal)))
    return _level(time_min[-count:], signal[-count:], noise)


def _level(time_min: Floats, signal: Floats, noise: Noise) -> EndLevel:
    slope = float(np.polyfit(time_min - time_min.mean(), signal, 1)[0])
    u = noise.sd * float(np.sqrt(noise.correlation_points / len(signal)))
    return EndLevel(float(np.mean(time_min)), float(np.mean(signal)), u, slope, u / float(np.std(time_min)))
