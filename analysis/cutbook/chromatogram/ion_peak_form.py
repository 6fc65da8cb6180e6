"""Learn width and tail of the peaks of a scan series from those that stand free in one ion's trace."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.peak_shape import tailed_gaussian
from cutbook.chromatogram.peak_width import WidthLaw, straight_width_law
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class PeakFormSettings:
    """How the form is learned.

    ions : traces that are asked, those with most current; 60 because by then every class of compound has spoken.
    least_height : of a peak against the median of its trace plus its scatter; a weak peak has no edges.
    standing_free : prominence as a share of height; merged peaks look wider than they are.
    fewest : with fewer peaks a form of `usual_points` scans and `usual_tail` is assumed, and said.
    usual_points, usual_tail : full width at half height in scans, tail as a share of sigma; common practice, no source.
    """

    ions: int = 60
    least_height: float = 60.0
    standing_free: float = 0.9
    fewest: int = 8
    usual_points: float = 6.0
    usual_tail: float = 0.4


@dataclass(frozen=True)
class PeakForm:
    """Peaks as Gaussians with an exponential tail.

    width : full width at half height against time. tail : tau as a share of sigma. peaks : that it was learned from.
    """

    width: WidthLaw
    tail: float
    peaks: int

    def shape(self, time_min: Floats, apex_min: float) -> Floats:
        """Unit-area shape (1/min) with its apex at `apex_min`; shape of `time_min`."""
        half = float(self.width.half_width(apex_min))
        lead, narrow = _lead_and_width(self.tail)
        sigma = half / narrow
        return tailed_gaussian(time_min, apex_min - lead * sigma, sigma, max(self.tail, 1e-3) * sigma)


def learn_peak_form(matrix: IonMatrix, settings: PeakFormSettings = PeakFormSettings()) -> PeakForm:
    """The form of the peaks of a run.

    Parameters
    ----------
    matrix : of the run. settings : which peaks are asked.

    Returns
    -------
    PeakForm
        A straight width law through all free peaks, robust against merged and overloaded ones, and the tail that the
        median ratio of back to front half-width at half height stands for.
    """
    counts, time = matrix.counts, matrix.time_min
    interval = float(np.median(np.diff(time))) if len(time) > 1 else 1.0
    loud = np.argsort(counts.sum(axis=0))[::-1][: settings.ions]
    found = [_free_peaks(time, counts[:, column].astype(float), settings) for column in loud]
    apex, front, back = np.concatenate([np.zeros((3, 0)), *found], axis=1)
    whole = front + back
    if len(apex) >= settings.fewest:
        typical = float(np.median(whole))
        usual = (whole > 0.3 * typical) & (whole < 3.0 * typical) & (whole >= 1.5 * interval)
        apex, front, back, whole = apex[usual], front[usual], back[usual], whole[usual]
    if len(apex) < settings.fewest:
        return PeakForm(WidthLaw(settings.usual_points * interval, 0.0, 2.0 * interval), settings.usual_tail, len(apex))
    tail = _tail_of(float(np.median(back / front)))
    return PeakForm(straight_width_law(apex, whole, 2.0 * interval), tail, len(apex))


def _free_peaks(time: Floats, trace: Floats, settings: PeakFormSettings) -> Floats:
    """Apex, front and back half-width at half height of the free peaks of one trace, in min; shape (3, n)."""
    from scipy.signal import find_peaks

    level = float(np.median(trace))
    scatter = 1.4826 * float(np.median(np.abs(np.diff(trace)))) / np.sqrt(2.0)
    least = settings.least_height * max(scatter, np.sqrt(max(level, 1.0)), float(trace.max()) * 1e-3)
    top = float(trace.max())
    peaks, about = find_peaks(trace, height=level + least, prominence=least)
    rows = []
    for peak, prominence in zip(peaks, about["prominences"], strict=True):
        height = trace[peak] - level
        flat = peak + 1 < len(trace) and trace[peak + 1] == trace[peak]  # a ceiling, not an apex
        if prominence < settings.standing_free * height or flat or (trace[peak] == top and (trace == top).sum() > 1):
            continue
        half = trace[peak] - 0.5 * prominence
        left, right = peak, peak
        while left > 0 and trace[left] > half:
            left -= 1
        while right < len(trace) - 1 and trace[right] > half:
            right += 1
        if trace[left] > half or trace[right] > half:
            continue
        apex = _apex(time, trace, peak)
        start = np.interp(half, trace[left : left + 2], time[left : left + 2])
        end = np.interp(-half, -trace[right - 1 : right + 1], time[right - 1 : right + 1])
        if start < apex < end:
            rows.append((apex, apex - start, end - apex))
    return np.array(rows, dtype=float).reshape(-1, 3).T


def _apex(time: Floats, trace: Floats, peak: int) -> float:
    """Apex time by the parabola through the three highest points."""
    if not 0 < peak < len(trace) - 1:
        return float(time[peak])
    before, at, after = trace[peak - 1 : peak + 2]
    bend = before - 2 * at + after
    shift = 0.0 if bend >= 0 else float(np.clip(0.5 * (before - after) / bend, -0.5, 0.5))
    return float(time[peak] + shift * (time[peak + 1] - time[peak - 1]) / 2)


_TAILS = np.linspace(0.0, 3.0, 31)


@lru_cache(maxsize=256)
def _form(tail: float) -> tuple[float, float, float]:
    """Apex after the Gaussian's centre, front and back half-width at half height, in sigma, of a tailed Gaussian."""
    grid = np.linspace(-6.0, 6.0 + 6.0 * tail, 4001)
    shape = tailed_gaussian(grid, 0.0, 1.0, max(tail, 1e-3))
    at = int(shape.argmax())
    half = 0.5 * shape[at]
    front = float(np.interp(half, shape[: at + 1], grid[: at + 1]))
    back = float(np.interp(-half, -shape[at:], grid[at:]))
    return float(grid[at]), float(grid[at]) - front, back - float(grid[at])


def _lead_and_width(tail: float) -> tuple[float, float]:
    """Apex after the centre and full width at half height, in sigma."""
    lead, front, back = _form(round(tail, 3))
    return lead, front + back


def _tail_of(back_to_front: float) -> float:
    """The tail whose half-widths have this ratio."""
    ratios = []
    for tail in _TAILS:
        _, front, back = _form(round(float(tail), 3))
        ratios.append(back / front)
    return float(np.interp(back_to_front, ratios, _TAILS))
