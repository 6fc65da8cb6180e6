"""The area of a compound in each of its ions, what its neighbours give taken away."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chlorine.local_matrix import Neighbours
from cutbook.model.trace import Floats

_RIDGE = 1e-9
_UNKNOWN = 1e30  # counts·min; the uncertainty of an area that nothing tells
_SMALLEST = 1e-6  # counts; what a neighbour never gives is held at next to nothing


@dataclass(frozen=True)
class IonAreaSettings:
    """How areas are read.

    likeness : by how much the shapes of two ions of one neighbour differ, as a share of their height; 0.005 because
        the masses of a scan are not read at one moment and no detector is quite linear.
    smooth_scans : over which heights are averaged before they tell their own noise; noise told from single heights
        makes low ones count too much.
    """

    likeness: float = 0.005
    smooth_scans: int = 5


@dataclass(frozen=True)
class UsualSettings:
    """What neighbours usually do to an ion.

    share : of the neighbours that give no more than the usual; 0.8, so that a compound that is itself in a few pieces
        of the neighbourhood is not taken for usual. spread : factor on it; 3.
    """

    share: float = 0.8
    spread: float = 3.0


@dataclass(frozen=True, eq=False)
class IonAreas:
    """Areas by piece, position and ion.

    area, u_area : counts·min, shape (c, p, k). misfit : sum of squared residuals in noise variances by the degrees of
        freedom, at each position, shape (c, p, k); it has been let into `u_area`.
    free : share of the compound's shape that no neighbour can give, 0–1, shape (c, p, k).
    matrix : what neighbours and background give at the position with the highest pooled area, shape (c, n, k), only
        when asked for with `at`; variance : of the heights, shape (c, n, k).
    """

    area: Floats
    u_area: Floats
    misfit: Floats
    free: Floats
    variance: Floats


def ion_areas(
    heights: Floats,
    floor: Floats,
    gain: float,
    around: Neighbours,
    shapes: Floats,
    usual: Floats | None = None,
    settings: IonAreaSettings = IonAreaSettings(),
) -> IonAreas:
    """Fit the compound's shape and its neighbours' time courses to each ion.

    Parameters
    ----------
    heights : of the compound's ions in each piece, shape (c, n, k).
    floor : noise standard deviation of each ion without signal, shape (k,) or (c, k). gain : heights per ion counted.
    around : the time courses of the neighbours, q of them.
    shapes : of the compound with its apex at each position, unit area in 1/min, shape (c, n, p).
    usual : what one unit of strength of a neighbour usually gives of each ion, by `usual_part`, shape (k,); neighbours
        may give anything when None.

    Returns
    -------
    IonAreas

    Notes
    -----
    Weighted linear least squares ion by ion: ``y = Σ b_j c_j + a s + e``, var e = floor² + gain·height. Where `usual`
    is given, b_j has a normal prior about 0 of spread usual·strength_j. The courses are known only up to their own
    noise, and shapes are not quite alike; after a first fit both add to the variance:
    ``Σ (b_j / strength_j)² + (likeness · Σ b_j c_j)²``. Where the residuals exceed the noise, u is raised by the root
    of their ratio.
    """
    base = np.broadcast_to(np.asarray(floor, dtype=float) ** 2, (heights.shape[0], heights.shape[2]))[:, None, :]
    variance = base + gain * np.maximum(_smooth(heights, settings.smooth_scans), 0.0)
    held = _held(around.strength, usual)
    coefficients, fitted = _matrix_alone(heights, variance, around.courses, held)
    leak = np.einsum(
        "ckq,cq->ck", coefficients**2, np.where(np.isfinite(around.strength), around.strength, np.inf) ** -2.0
    )
    variance = (
        base
        + gain * np.maximum(_smooth(heights, settings.smooth_scans), 0.0)
        + leak[:, None, :]
        + (settings.likeness * _varying(fitted, coefficients, around.courses)) ** 2
    )
    return _areas(heights, variance, around.courses, shapes, held)


def _smooth(heights: Floats, scans: int) -> Floats:
    from scipy.ndimage import uniform_filter1d

    return np.asarray(uniform_filter1d(heights, scans, axis=1, mode="nearest"))


def usual_part(
    heights: Floats, floor: Floats, gain: float, around: Neighbours, settings: UsualSettings = UsualSettings()
) -> Floats:
    """What one unit of strength of a neighbour usually gives of each ion, in counts.

    Parameters
    ----------
    heights, floor, gain, around : as in `ion_areas`, of all pieces of the neighbourhood. settings : what is usual.

    Returns
    -------
    Floats
        Shape (k,): the `share` quantile, over all neighbours of all pieces, of the part that exceeds its own
        uncertainty, times `spread`.
    """
    base = np.broadcast_to(np.asarray(floor, dtype=float) ** 2, (heights.shape[0], heights.shape[2]))[:, None, :]
    variance = base + gain * np.maximum(_smooth(heights, 5), 0.0)
    coefficients, _ = _matrix_alone(heights, variance, around.courses, None)
    known = np.isfinite(around.strength) & (around.strength > 0)
    noise = np.sqrt(variance.mean(axis=1))[:, :, None]
    part = np.maximum(np.abs(coefficients) - 2.0 * noise, 0.0) / np.where(known, around.strength, 1.0)[:, None, :]
    by_ion = part.transpose(1, 0, 2)[:, known]
    if by_ion.shape[1] == 0:
        return np.zeros(heights.shape[2])
    return np.asarray(settings.spread * np.quantile(by_ion, settings.share, axis=1))


def _held(strength: Floats, usual: Floats | None) -> Floats | None:
    """Inverse prior variance of each course's coefficient in each ion, shape (c, k, q); None when nothing is held."""
    if usual is None:
        return None
    of_neighbour = np.isfinite(strength) & (strength > 0)
    spread = usual[None, :, None] * np.where(of_neighbour, strength, 1.0)[:, None, :]
    return np.where(of_neighbour[:, None, :], np.maximum(spread, _SMALLEST) ** -2.0, 0.0)


def _normal(weights: Floats, courses: Floats, held: Floats | None) -> tuple[Floats, Floats]:
    """Weighted courses, shape (c, k, q, n), and their Gram matrices, shape (c, k, q, q), made regular."""
    weighted = courses.transpose(0, 2, 1)[:, None, :, :] * weights.transpose(0, 2, 1)[:, :, None, :]
    gram = weighted @ courses[:, None, :, :]
    q = gram.shape[-1]
    scale = np.trace(gram, axis1=2, axis2=3)[:, :, None, None] / q
    gram = gram + (_RIDGE * scale + 1e-300) * np.eye(q)
    if held is not None:
        gram = gram + held[:, :, :, None] * np.eye(q)
    return weighted, gram


def _matrix_alone(heights: Floats, variance: Floats, courses: Floats, held: Floats | None) -> tuple[Floats, Floats]:
    """Coefficients of the courses, shape (c, k, q), and what they give, shape (c, n, k), without any compound."""
    weighted, gram = _normal(1.0 / variance, courses, held)
    right = weighted @ heights.transpose(0, 2, 1)[:, :, :, None]
    coefficients: Floats = np.asarray(np.linalg.solve(gram, right)[..., 0], dtype=np.float64)
    fitted: Floats = np.einsum("cnq,ckq->cnk", courses, coefficients)
    return coefficients, fitted


def _varying(fitted: Floats, coefficients: Floats, courses: Floats) -> Floats:
    """The part of the fit that neighbours give, without constant and slope."""
    return np.asarray(fitted - np.einsum("cnq,ckq->cnk", courses[:, :, :2], coefficients[:, :, :2]))


def _areas(heights: Floats, variance: Floats, courses: Floats, shapes: Floats, held: Floats | None) -> IonAreas:
    weights = 1.0 / variance
    weighted, gram = _normal(weights, courses, held)
    y = heights.transpose(0, 2, 1)
    by = weighted @ y[:, :, :, None]
    bs = weighted @ shapes[:, None, :, :]
    solved = np.linalg.solve(gram, np.concatenate([by, bs], axis=3))
    of_y, of_s = solved[..., 0], solved[..., 1:]
    w = weights.transpose(0, 2, 1)
    ys = (w * y) @ shapes
    ss = w @ shapes**2
    there = ss > 0  # a position outside the run has no shape
    whole = np.where(there, ss, 1.0)
    top = ys - np.einsum("ckqp,ckq->ckp", bs, of_y)
    bottom = np.maximum(ss - np.einsum("ckqp,ckqp->ckp", bs, of_s), 1e-12 * whole)
    area = np.where(there, top / bottom, 0.0)
    rest = (w * y * y).sum(axis=2) - np.einsum("ckq,ckq->ck", by[..., 0], of_y)
    used = (np.abs(courses).sum(axis=1) > 0).sum(axis=1) + 1
    freedom = np.maximum(heights.shape[1] - used, 1)[:, None, None]
    misfit = np.maximum(rest[:, :, None] - top**2 / bottom, 0.0) / freedom
    u_area = np.where(there, np.sqrt(np.maximum(misfit, 1.0) / bottom), _UNKNOWN)
    swap = (0, 2, 1)
    return IonAreas(
        area.transpose(swap), u_area.transpose(swap), misfit.transpose(swap), (bottom / whole).transpose(swap), variance
    )


def matrix_part(
    heights: Floats, variance: Floats, around: Neighbours, shapes: Floats, usual: Floats | None = None
) -> Floats:
    """What neighbours and background give of each ion beside a compound of known shape.

    Parameters
    ----------
    heights, variance : of each piece, shape (c, n, k). around, usual : as in `ion_areas`.
    shapes : of the compound, shape (c, n).

    Returns
    -------
    Floats
        Shape (c, n, k).
    """
    design = np.concatenate([around.courses, shapes[:, :, None]], axis=2)
    held = _held(np.concatenate([around.strength, np.full((len(shapes), 1), np.inf)], axis=1), usual)
    coefficients, _ = _matrix_alone(heights, variance, design, held)
    return np.asarray(np.einsum("cnq,ckq->cnk", around.courses, coefficients[:, :, :-1]))
