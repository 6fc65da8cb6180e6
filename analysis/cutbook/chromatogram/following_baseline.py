"""Draw a baseline that follows the trace under its peaks; it takes the unresolved hump with it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.blocks import block_means, outside
from cutbook.chromatogram.noise import estimate_noise
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.trace import Baseline, Floats, Trace


@dataclass(frozen=True)
class FollowingBaselineSettings:
    """How the following baseline is drawn.

    cutoff_s : what changes more slowly than this is baseline. 56 s lies a factor of three from where the method
        begins to lose peaks or to cut humps, on eight kinds of synthetic trace.
    widths : the cut-off is never shorter than this many typical peak widths, so that broad peaks are not eaten.
    block_s : block means on which it is drawn; shorter costs time and gains nothing.
    check_s : half window of the second, unrelated method, which looks for baseline that was left over or cut
        into. disagree : what it finds, as a share of the total peak area, before it is said.
    """

    cutoff_s: float = 56.0
    widths: float = 9.0
    block_s: float = 0.5
    check_s: float = 15.0
    disagree: float = 0.02


def follow_baseline(
    trace: Trace,
    windows_min: tuple[tuple[float, float], ...] = (),
    typical_width_min: float = 0.0,
    settings: FollowingBaselineSettings = FollowingBaselineSettings(),
) -> Baseline:
    """A smooth curve under the peaks, by asymmetrically reweighted penalised least squares.

    Parameters
    ----------
    trace : the signal.
    windows_min : (start, end) of stretches to bridge (solvent).
    typical_width_min : full width at half height of the peaks in min, 0 when not yet known.
    settings : see `FollowingBaselineSettings`.

    Returns
    -------
    Baseline
        Of kind "following". When a morphological baseline of the corrected trace is not flat, the step carries
        `baseline.methods_disagree`.

    References
    ----------
    Baek, Park, Ahn, Choo, Analyst 140 (2015) 250, doi 10.1039/C4AN01061B (reweighting);
    the stiffness follows from the cut-off of a second-order Whittaker smoother, (cutoff / 2π block)⁴.
    """
    cutoff_s = max(settings.cutoff_s, settings.widths * typical_width_min * 60.0)
    times, means = block_means(trace, settings.block_s * cutoff_s / settings.cutoff_s / 60.0)
    kept = outside(times, windows_min)
    block_s = float(np.median(np.diff(times))) * 60.0
    followed = reweighted_baseline(means, (cutoff_s / (2.0 * np.pi * block_s)) ** 4, kept)
    corrected = np.where(kept, means - followed, 0.0)
    half = max(1, round(settings.check_s * cutoff_s / settings.cutoff_s / block_s))
    block_noise = estimate_noise(trace.signal).sd / float(np.sqrt(len(trace.signal) / len(means)))
    # an opening rests on the lowest of its points: what noise alone takes off is given back
    left_over = morphological_baseline(corrected, half) + expected_dip(2 * half + 1) * block_noise
    area, missed = float(np.sum(corrected)), float(np.sum(left_over[kept]))
    raised: tuple[Caution, ...] = ()
    if area > 0 and abs(missed / area) > settings.disagree:
        raised = (caution("baseline.methods_disagree", trace.file, percent=round(-100 * missed / area, 1)),)
    return Baseline(
        "following",
        np.interp(trace.time_min, times, followed),
        Step(
            "follow baseline/1",
            inputs=(trace.step,),
            settings={"baseline": settings, "cutoff_s": cutoff_s, "bridged": windows_min},
            cautions=raised,
        ),
    )


def expected_dip(count: int) -> float:
    """How far the lowest of so many normal deviates is expected to lie below their mean, in standard deviations.

    References
    ----------
    Blom, Statistical Estimates and Transformed Beta-Variables (1958): Φ⁻¹((r - 0.375)/(n + 0.25)); from memory.
    """
    from scipy.special import ndtri

    return -float(ndtri((1 - 0.375) / (count + 0.25)))


def reweighted_baseline(signal: Floats, stiffness: float, kept: np.ndarray | None = None) -> Floats:
    """Asymmetrically reweighted penalised least squares on evenly spaced points.

    Parameters
    ----------
    signal : shape (n,).
    stiffness : weight of the second differences, > 0.
    kept : which points may carry weight, bool, shape (n,); all when None.

    Returns
    -------
    ndarray
        shape (n,).
    """
    from scipy.linalg import solveh_banded
    from scipy.special import expit

    n = len(signal)
    kept = np.ones(n, dtype=bool) if kept is None else kept
    if n < 5 or kept.sum() < 5:
        return np.full(n, float(np.median(signal)))
    bands = np.zeros((3, n))
    bands[0], bands[1], bands[2] = 6.0, -4.0, 1.0
    bands[0, [0, -1]], bands[0, [1, -2]] = 1.0, 5.0
    bands[1, [0, n - 2]], bands[1, n - 1], bands[2, n - 2 :] = -2.0, 0.0, 0.0
    bands *= stiffness
    weights = kept.astype(np.float64)
    curve = signal
    for _ in range(60):
        system = bands.copy()
        system[0] += weights
        curve = solveh_banded(system, weights * signal, lower=True, check_finite=False)
        below = (signal - curve)[kept & (signal < curve)]
        if len(below) < 2:
            break
        mean, scatter = float(below.mean()), float(below.std())
        if scatter <= 0:
            break
        again = np.where(kept, expit(-2.0 * ((signal - curve) - (2.0 * scatter - mean)) / scatter), 0.0)
        change = float(np.linalg.norm(weights - again) / np.linalg.norm(weights))
        weights = again
        if change < 1e-3:
            break
    return np.asarray(curve)


def morphological_baseline(signal: Floats, half_window: int, passes: int = 40) -> Floats:
    """An opening averaged over its neighbours and taken again until it rests: the second opinion.

    Parameters
    ----------
    signal : shape (n,), evenly spaced.
    half_window : points; wider than any peak.
    passes : at most.

    References
    ----------
    Dai, Cozzolino, Li, Chen and others, Appl. Spectrosc. 2018 (improved morphological correction; from memory).
    """
    from scipy.ndimage import grey_dilation, grey_erosion, grey_opening

    size = (2 * half_window + 1,)
    curve = signal
    for _ in range(passes):
        opening = grey_opening(curve, size)
        around = 0.5 * (grey_dilation(opening, size) + grey_erosion(opening, size))
        again = np.minimum(signal, np.minimum(opening, around))
        if float(np.abs(again - curve).max()) <= 1e-4 * (float(np.ptp(signal)) + 1e-300):
            break
        curve = again
    return np.asarray(curve)
