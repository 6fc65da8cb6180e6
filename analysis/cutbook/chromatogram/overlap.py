"""Share the area of a cluster of overlapping peaks by fitting tailed Gaussians of one common shape."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.peak_shape import shape_and_slopes
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class OverlapSettings:
    """When and how overlapping peaks are fitted.

    drop_from : resolution from which a perpendicular at the valley shares the area well enough; below it the
        smaller peak would lose 4 % and more of its area at a ratio of 1:20.
    valley_share : a valley higher than this share of the smaller peak calls for a fit at any resolution.
    largest_cluster : peaks fitted together; longer rows are cut at their deepest valley, and the
        peaks next to the cut are fitted in both parts.
    width_scatter : how far one peak's width strays from that of its cluster, standard deviation of the ratio.
    model_error : how far the shape itself is off, share of the signal; keeps large peaks from drowning small ones.
    unseen_share : standard uncertainty of a fitted area for neighbours that nobody sees, share of the area; the
        median error of fitted areas in crowded synthetic traces.
    points_a_sigma : points a standard deviation of the narrowest peak that a fit is made on, at least; finer traces
        are averaged over blocks down to that, which changes the shape by less than the scatter of widths.
    worst_misfit : area that the fit leaves unexplained, as a share; beyond it perpendiculars are drawn after all.
    """

    drop_from: float = 1.25
    valley_share: float = 0.02
    largest_cluster: int = 10
    width_scatter: float = 0.02
    model_error: float = 0.0005
    unseen_share: float = 0.01
    points_a_sigma: float = 6.0
    worst_misfit: float = 0.1


@dataclass(frozen=True, eq=False)
class ClusterFit:
    """Peaks of one cluster: area and its standard uncertainty (signal × time), centre, sigma and tau in min, each
    of shape (k,); misfit : area left unexplained as a share of the whole."""

    area: Floats
    u_area: Floats
    centre: Floats
    sigma: Floats
    tau: float
    misfit: float


def fit_cluster(
    time_min: Floats,
    corrected: Floats,
    apex_min: Floats,
    height: Floats,
    noise_sd: float,
    widths: WidthLaw,
    settings: OverlapSettings = OverlapSettings(),
) -> ClusterFit | None:
    """Fit k peaks to a stretch of a trace.

    Parameters
    ----------
    time_min, corrected : the stretch above the following baseline, shape (n,).
    apex_min, height : where the peaks are and how high the signal is there, shape (k,).
    noise_sd : of one point, widened for noise that persists.
    widths : the run's width law.
    settings : see `OverlapSettings`.

    Returns
    -------
    ClusterFit or None
        None when there are fewer points than unknowns or the fit does not converge.

    Notes
    -----
    Unknowns are the logarithms of the areas, the centres, one width ratio and one tail ratio for the cluster, and
    for each peak a deviation from the common width that is held near zero by `width_scatter`. The Jacobian is
    analytic.
    """
    from scipy.optimize import least_squares

    k = len(apex_min)
    if len(time_min) < 2 * k + 4:
        return None
    sigma = widths.sigma(apex_min)
    block = int(float(sigma.min()) / (settings.points_a_sigma * float(time_min[1] - time_min[0])))
    if block > 1:
        time_min, corrected = _blocks(time_min, block), _blocks(corrected, block)
        noise_sd /= np.sqrt(block)
        if len(time_min) < 2 * k + 4:
            return None
    weight = 1.0 / np.hypot(noise_sd, settings.model_error * np.abs(corrected))
    start_tail = 0.3
    first = np.concatenate(
        [
            np.log(np.maximum(height, 0.1 * noise_sd) * sigma * 2.75),
            (apex_min - 0.25 * sigma) / sigma,
            np.zeros(k),
            [0.0, np.log(start_tail)],
        ]
    )
    cache: dict[bytes, tuple[Floats, Floats]] = {}

    def both(unknowns: Floats) -> tuple[Floats, Floats]:
        key = unknowns.tobytes()
        if key not in cache:
            cache.clear()
            cache[key] = _model(unknowns, time_min, sigma)
        return cache[key]

    def residual(unknowns: Floats) -> Floats:
        model, _ = both(unknowns)
        return np.concatenate([(model - corrected) * weight, unknowns[2 * k : 3 * k] / settings.width_scatter])

    def slopes(unknowns: Floats) -> Floats:
        _, jacobian = both(unknowns)
        held = np.zeros((k, 3 * k + 2))
        held[np.arange(k), 2 * k + np.arange(k)] = 1.0 / settings.width_scatter
        return np.vstack([jacobian * weight[:, None], held])

    try:
        fit = least_squares(residual, first, jac=slopes, method="lm", xtol=1e-6, ftol=1e-6, max_nfev=60)
    except (ValueError, FloatingPointError, np.linalg.LinAlgError):
        return None
    area = np.exp(np.clip(fit.x[:k], -700, 700))
    centre = fit.x[k : 2 * k] * sigma
    if not np.isfinite(fit.x).all() or (np.abs(centre - apex_min) > 2.5 * sigma).any():
        return None
    model, _ = both(fit.x)
    degrees = max(len(time_min) - 2 * k - 2, 1)
    stretch = max(1.0, float(np.sum(((model - corrected) * weight) ** 2)) / degrees)
    jacobian = np.asarray(fit.jac)
    covariance = np.linalg.pinv(jacobian.T @ jacobian)
    whole = float(np.trapezoid(corrected, time_min))
    return ClusterFit(
        area=area,
        u_area=area * np.sqrt(np.maximum(np.diag(covariance)[:k], 0.0) * stretch),
        centre=centre,
        sigma=sigma * np.exp(fit.x[-2] + fit.x[2 * k : 3 * k]),
        tau=float(np.median(sigma) * np.exp(fit.x[-2] + fit.x[-1])),
        misfit=abs(float(np.trapezoid(model - corrected, time_min))) / max(abs(whole), 1e-300),
    )


def _blocks(values: Floats, block: int) -> Floats:
    """Means over blocks of points; what is left at the end is a block of its own."""
    return np.add.reduceat(values, np.arange(0, len(values), block)) / np.diff(
        np.append(np.arange(0, len(values), block), len(values))
    )


def _held(logarithm: float, low: float, high: float) -> float:
    """The exponential of a logarithm held between two bounds."""
    return math.exp(min(max(float(logarithm), low), high))


def _model(unknowns: Floats, time_min: Floats, sigma: Floats) -> tuple[Floats, Floats]:
    """The sum of the peaks and its derivatives by every unknown, shapes (n,) and (n, 3k + 2)."""
    k = len(sigma)
    model = np.zeros_like(time_min)
    jacobian = np.zeros((len(time_min), 3 * k + 2))
    wider, tail = _held(unknowns[-2], -3.0, 3.0), _held(unknowns[-1], -4.0, 2.0)
    for i in range(k):
        width = sigma[i] * wider * _held(unknowns[2 * k + i], -1.0, 1.0)
        tau = sigma[i] * wider * tail
        centre = unknowns[k + i] * sigma[i]
        left, right = np.searchsorted(time_min, [centre - 7 * width, centre + 7 * width + 12 * tau])
        here = slice(left, right)
        shape, by_centre, by_sigma, by_tau = shape_and_slopes(time_min[here], centre, width, tau)
        area = _held(unknowns[i], -700.0, 700.0)
        model[here] += area * shape
        jacobian[here, i] = area * shape
        jacobian[here, k + i] = area * by_centre * sigma[i]
        jacobian[here, 2 * k + i] = area * by_sigma * width
        jacobian[here, -2] += area * (by_sigma * width + by_tau * tau)
        jacobian[here, -1] += area * by_tau * tau
    return model, jacobian
