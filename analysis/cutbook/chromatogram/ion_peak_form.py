"""Learn width and tail of the peaks of a scan series from those that stand free in one ion's trace."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise
from cutbook.chromatogram.peak_shape import tailed_gaussian
from cutbook.chromatogram.peak_width import WidthLaw, straight_width_law
from cutbook.model.trace import Floats

_ROUNDS = 6  # of keeping peaks near the law and drawing it anew; more change nothing


@dataclass(frozen=True)
class PeakFormSettings:
    """How the form is learned.

    ions : traces that are asked, those with most current; 60 because by then every class of compound has spoken.
    least_height : of a peak in standard deviations of what is counted at its apex; 20, so that half its height is known
        to a few percent, and no noise is taken for a peak. least_share : of a peak of the tallest in its trace.
    standing_free : prominence as a share of height; merged peaks look wider than they are.
    scatter : standard deviations, as of those that are narrower, within which a peak is one of the free ones; 1.5, so
        that most of them count and few that are merged.
    fewest : with fewer peaks a form of `usual_points` scans and `usual_tail` is assumed, and said.
    fewest_times : at which peaks stand; with fewer, as in a run of a standard, the form is that of a run under the same
        method, and without one peaks are as wide everywhere as in the median: a slope cannot be told from a few.
    usual_points, usual_tail : full width at half height in scans, tail as a share of sigma; common practice, no source.
    """

    ions: int = 60
    least_height: float = 20.0
    least_share: float = 0.06
    standing_free: float = 0.9
    scatter: float = 1.5
    fewest: int = 8
    fewest_times: int = 12
    usual_points: float = 6.0
    usual_tail: float = 0.4


@dataclass(frozen=True)
class PeakForm:
    """Peaks as Gaussians with an exponential tail.

    width : full width at half height against time. tail : tau as a share of sigma. peaks : that it was learned from.
    file : that they stand in, "" where it was assumed. times : at which they stand.
    """

    width: WidthLaw
    tail: float
    peaks: int
    file: str = ""
    times: int = 0

    def shape(self, time_min: Floats, apex_min: float) -> Floats:
        """Unit-area shape (1/min) with its apex at `apex_min`; shape of `time_min`."""
        half = float(self.width.half_width(apex_min))
        lead, narrow = _lead_and_width(self.tail)
        sigma = half / narrow
        return tailed_gaussian(time_min, apex_min - lead * sigma, sigma, max(self.tail, 1e-3) * sigma)


def learn_peak_form(
    matrix: IonMatrix, noise: IonNoise, settings: PeakFormSettings = PeakFormSettings(), like: PeakForm | None = None
) -> PeakForm:
    """The form of the peaks of a run.

    Parameters
    ----------
    matrix : of the run. noise : of its ions. settings : which peaks are asked.
    like : the form of a run under the same method, taken where this one has too few peaks of its own.

    Returns
    -------
    PeakForm
        A straight width law through all free peaks, robust against merged and overloaded ones, and the tail that the
        median ratio of back to front half-width at half height stands for.
    """
    counts, time = matrix.counts, matrix.time_min
    interval = float(np.median(np.diff(time))) if len(time) > 1 else 1.0
    loud = np.argsort(counts.sum(axis=0))[::-1][: settings.ions]
    traces = counts[:, loud].T.astype(float, order="C")
    apex, front, back = _free_peaks(time, traces, noise.floor[loud], noise.gain, settings)
    whole = front + back
    if len(apex) >= settings.fewest:
        typical = float(np.median(whole))
        usual = (whole > 0.3 * typical) & (whole < 3.0 * typical) & (whole >= 1.5 * interval)
        apex, front, back, whole = apex[usual], front[usual], back[usual], whole[usual]
    least = 2.0 * interval
    times = 1 + int((np.diff(np.sort(apex)) > 2.0 * np.median(whole)).sum()) if len(apex) else 0
    if times < settings.fewest_times and like is not None and like.file:  # not one that was itself assumed
        return like
    if len(apex) < settings.fewest:
        return PeakForm(WidthLaw(settings.usual_points * interval, 0.0, least), settings.usual_tail, len(apex))
    if times < settings.fewest_times:
        law = WidthLaw(float(np.median(whole)), 0.0, least)
        return PeakForm(law, _tail_of(float(np.median(back / front))), len(apex), matrix.file, times)
    law = straight_width_law(apex, whole, least)
    kept: NDArray[np.bool_] = np.ones(len(apex), np.bool_)
    for _ in range(_ROUNDS):  # merging makes peaks wider only: what is narrower tells how free ones scatter
        off = whole / law.half_width(apex) - 1.0
        scatter = 1.4826 * float(np.median(np.abs(off[off <= 0]))) if (off <= 0).any() else 0.0
        near = np.abs(off) <= settings.scatter * scatter + 1e-3
        if near.sum() < settings.fewest:
            break
        kept = near
        law = straight_width_law(apex[kept], whole[kept], least)
    return PeakForm(law, _tail_of(float(np.median(back[kept] / front[kept]))), len(apex), matrix.file, times)


def _free_peaks(time: Floats, traces: Floats, floor: Floats, gain: float, settings: PeakFormSettings) -> Floats:
    """Apex, front and back half-width at half height of the free peaks of traces (k, n), in min; shape (3, m).

    Apex and height are those of the parabola through the logarithms of the three highest scans, and towards half the
    height the square root of the logarithm is taken for straight: both are so of a Gaussian, wherever its scans lie.
    """
    found = [_standing_free(trace, own, gain, settings) for trace, own in zip(traces, floor.tolist(), strict=True)]
    row = np.repeat(np.arange(len(found)), [len(peaks) for peaks, _ in found])
    peak = np.concatenate([peaks for peaks, _ in found])
    prominence = np.concatenate([prominence for _, prominence in found])
    base = traces[row, peak] - prominence

    def height(at: NDArray[np.intp]) -> Floats:
        return np.asarray(np.maximum(traces[row, at] - base, 1e-3 * prominence))

    before, highest, after = (np.log(height(peak + step)) for step in (-1, 0, 1))
    bend = before - 2 * highest + after
    shift = np.where(bend < 0, np.clip(0.5 * (before - after) / np.where(bend < 0, bend, -1.0), -0.5, 0.5), 0.0)
    apex = time[peak] + shift * (time[peak + 1] - time[peak - 1]) / 2
    top = np.exp(highest - 0.25 * (before - after) * shift)
    half = base + 0.5 * top
    left, right = _falls_to(traces, row, peak, half, -1), _falls_to(traces, row, peak, half, 1)

    def crossing(out: NDArray[np.intp], within: NDArray[np.intp]) -> Floats:
        down, up = (np.sqrt(np.maximum(np.log(top / height(at)), 0.0)) for at in (out, within))
        return np.asarray(
            time[out] + (time[within] - time[out]) * (down - np.sqrt(np.log(2.0))) / np.maximum(down - up, 1e-9)
        )

    start, end = crossing(left, left + 1), crossing(right, right - 1)
    return np.stack([apex, apex - start, end - apex])[:, (start < apex) & (apex < end)]


def _standing_free(
    trace: Floats, floor: float, gain: float, settings: PeakFormSettings
) -> tuple[NDArray[np.intp], Floats]:
    """Scans and prominences of the free peaks of one trace; none is its first scan or its last."""
    from scipy.signal import find_peaks

    level, top = float(np.median(trace)), float(trace.max())
    least = max(settings.least_share * top, settings.least_height * floor)
    peaks, about = find_peaks(trace, height=level + least, prominence=least)
    prominence, height = about["prominences"], trace[peaks]
    free = prominence >= settings.standing_free * (height - level)
    free &= prominence >= settings.least_height * np.sqrt(floor**2 + gain * np.maximum(height, 0.0))
    free &= trace[peaks + 1] != height  # a ceiling, not an apex
    if np.count_nonzero(trace == top) > 1:
        free &= height != top
    return peaks[free], prominence[free]


def _falls_to(
    traces: Floats, row: NDArray[np.intp], peak: NDArray[np.intp], half: Floats, step: Literal[-1, 1]
) -> NDArray[np.intp]:
    """The first scan on one side of each peak that is no higher than half its prominence; there always is one."""
    at = peak.copy()
    above = np.arange(len(at))
    while len(above):
        at[above] += step
        above = above[traces[row[above], at[above]] > half[above]]
    return at


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
