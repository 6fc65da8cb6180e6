"""Learn from the run itself how wide its peaks are at each time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.noise import Noise
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class PeakWidthSettings:
    """How the width law is learned.

    least_noise : height of a peak in noise standard deviations before it is asked.
    standing_free : height above the higher of its two valleys as a share of its height; merged peaks look wider
        than they are.
    fewest : with fewer peaks the median width is taken for the whole run.
    """

    least_noise: float = 30.0
    standing_free: float = 0.8
    fewest: int = 6


@dataclass(frozen=True)
class WidthLaw:
    """Full width at half height in min against time: `at_start + slope × t`, never below `least`."""

    at_start: float
    slope: float
    least: float

    def half_width(self, time_min: Floats | float) -> Floats:
        """Full width at half height in min at the given times."""
        return np.maximum(self.at_start + self.slope * np.asarray(time_min, dtype=np.float64), self.least)

    def sigma(self, time_min: Floats | float) -> Floats:
        """Standard deviation in min of a Gaussian of that width."""
        return self.half_width(time_min) / 2.3548200450309493


def learn_widths(
    time_min: Floats, corrected: Floats, noise: Noise, settings: PeakWidthSettings = PeakWidthSettings()
) -> WidthLaw:
    """The width law of a run.

    Parameters
    ----------
    time_min, corrected : the trace above its following baseline, shape (n,).
    noise : of the trace.
    settings : see `PeakWidthSettings`.

    Returns
    -------
    WidthLaw
        A straight line through the widths of well separated peaks, robust against merged ones.
    """
    from scipy.ndimage import uniform_filter1d
    from scipy.signal import find_peaks, peak_widths

    interval = float(np.median(np.diff(time_min)))
    least = 3.0 * interval
    smooth = uniform_filter1d(corrected, 3)
    found, about = find_peaks(
        smooth, height=settings.least_noise * noise.sd, prominence=settings.least_noise * noise.sd
    )
    free = found[about["prominences"] > settings.standing_free * about["peak_heights"]]
    if not len(free):
        span = float(time_min[-1] - time_min[0])
        return WidthLaw(max(least, 1e-3 * span), 0.0, least)
    widths = peak_widths(smooth, free, rel_height=0.5)[0] * interval
    times = time_min[free]
    typical = float(np.median(widths))
    ordinary = (widths > 0.3 * typical) & (widths < 3.0 * typical) & (widths >= least)
    if ordinary.sum() < settings.fewest:
        return WidthLaw(max(typical, least), 0.0, least)
    return straight_width_law(times[ordinary], widths[ordinary], least)


def straight_width_law(times: Floats, widths: Floats, least: float) -> WidthLaw:
    """Straight line through widths by iteratively reweighted least squares; what lies above it is distrusted more.

    Parameters
    ----------
    times, widths : of free peaks, min, shape (n,). least : below which no width falls, min.
    """
    design = np.vstack([np.ones_like(times), times]).T
    weights = np.ones_like(times)
    line = np.array([float(np.median(widths)), 0.0])
    for _ in range(30):
        root = np.sqrt(weights)
        line, *_ = np.linalg.lstsq(design * root[:, None], widths * root, rcond=None)
        off = widths - design @ line
        scale = 1.4826 * float(np.median(np.abs(off))) + 1e-3 * float(np.median(widths))
        bound = np.where(off > 0, 1.0, 2.0) * scale
        weights = 1.0 / np.maximum(1.0, (off / bound) ** 2)
    return WidthLaw(float(line[0]), float(line[1]), max(least, 0.3 * float(np.median(widths))))
