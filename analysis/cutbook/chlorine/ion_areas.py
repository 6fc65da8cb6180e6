"""The area of a compound in each of its ions, what its neighbours give taken away."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
    variance : of the heights, shape (c, n, k).
    alone, beside : coefficients of the neighbours' courses without any compound, shape (c, k, q), and what a count·min
        of the compound at a position takes of them, shape (c, k, q, p).
    """

    area: Floats
    u_area: Floats
    misfit: Floats
    free: Floats
    variance: Floats
    alone: Floats
    beside: Floats

    def matrix(self, around: Neighbours, pieces: NDArray[np.intp], positions: NDArray[np.intp]) -> Floats:
        """What neighbours and background give of each ion beside the compound at one position of each of some pieces.

        Parameters
        ----------
        around : that the areas were read with. pieces, positions : shape (m,).

        Returns
        -------
        Floats
            Shape (m, n, k).
        """
        area = self.area[pieces, positions][:, :, None]
        coefficients = self.alone[pieces] - area * self.beside[pieces, :, :, positions]
        return np.asarray(around.courses[pieces] @ np.swapaxes(coefficients, 1, 2))


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
    noise, and shapes are not quite alike; both add to the variance: ``Σ (b_j / strength_j)² + (likeness · Σ b_j c_j)²``
    with the b_j of a first fit without weights, which is a projection, since courses are orthonormal. Where the
    residuals exceed the noise, u is raised by the root of their ratio.
    """
    return _readings(heights, floor, gain, around, shapes, (usual,), settings)[0]


def both_readings(
    heights: Floats, floor: Floats, gain: float, around: Neighbours, shapes: Floats, usual: Floats,
    settings: IonAreaSettings = IonAreaSettings(),
) -> tuple[IonAreas, IonAreas]:  # fmt: skip
    """`ion_areas` with neighbours that do what they usually do, and with neighbours that may do anything."""
    keen, strict = _readings(heights, floor, gain, around, shapes, (usual, None), settings)
    return keen, strict


def _readings(
    heights: Floats, floor: Floats, gain: float, around: Neighbours, shapes: Floats,
    usuals: tuple[Floats | None, ...], settings: IonAreaSettings,
) -> tuple[IonAreas, ...]:  # fmt: skip
    """One reading for each entry of `usuals`; arrays have it as their first axis."""
    base = np.broadcast_to(np.asarray(floor, dtype=float) ** 2, (heights.shape[0], heights.shape[2]))[:, None, :]
    counted = base + gain * np.maximum(_smooth(heights, settings.smooth_scans), 0.0)
    every = (heights.shape[0], heights.shape[2], around.courses.shape[2])
    held = np.stack([np.broadcast_to(_held(around.strength, usual), every) for usual in usuals])
    alone = np.swapaxes(heights, 1, 2) @ around.courses
    coefficients = alone / (1.0 + held * counted.mean(axis=1)[:, :, None])
    leak = np.einsum("...ckq,cq->...ck", coefficients**2, around.strength**-2.0)
    varying = around.courses[:, :, 2:] @ np.swapaxes(coefficients[..., 2:], -1, -2)
    variance = counted + leak[:, :, None, :] + (settings.likeness * varying) ** 2
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
    coefficients = np.swapaxes(heights, 1, 2) @ around.courses
    known = np.isfinite(around.strength) & (around.strength > 0)
    noise = np.sqrt(variance.mean(axis=1))[:, :, None]
    part = np.maximum(np.abs(coefficients) - 2.0 * noise, 0.0) / np.where(known, around.strength, 1.0)[:, None, :]
    by_ion = part.transpose(1, 0, 2)[:, known]
    if by_ion.shape[1] == 0:
        return np.zeros(heights.shape[2])
    return np.asarray(settings.spread * np.quantile(by_ion, settings.share, axis=1))


def _held(strength: Floats, usual: Floats | None) -> Floats:
    """Inverse prior variance of each course's coefficient in each ion, shape (c, k, q); 0 where nothing is held."""
    of_neighbour = np.isfinite(strength) & (strength > 0)
    if usual is None:
        return np.zeros((len(strength), 1, strength.shape[1]))
    spread = usual[None, :, None] * np.where(of_neighbour, strength, 1.0)[:, None, :]
    return np.where(of_neighbour[:, None, :], np.maximum(spread, _SMALLEST) ** -2.0, 0.0)


def _regular(gram: Floats, held: Floats) -> Floats:
    """Gram matrices (…, q, q) with what holds their coefficients, (…, q), made regular."""
    diagonal = np.einsum("...ii->...i", gram)  # a view: what is added to it is added to the matrices
    diagonal += _RIDGE * diagonal.mean(axis=-1, keepdims=True) + 1e-300 + held
    return gram


def _areas(heights: Floats, variance: Floats, courses: Floats, shapes: Floats, held: Floats) -> tuple[IonAreas, ...]:
    q = courses.shape[2]
    weights = np.swapaxes(1.0 / variance, 2, 3)
    weighted = np.swapaxes(courses, 1, 2)[:, None] * weights[:, :, :, None, :]
    products = weighted @ np.concatenate([courses, shapes], axis=2)[:, None]
    gram, bs = _regular(products[..., :q], held), products[..., q:]
    y = np.swapaxes(heights, 1, 2)
    wy = weights * y
    by, ys, ss = (weighted @ y[..., None])[..., 0], wy @ shapes, weights @ shapes**2
    solved = np.linalg.solve(gram, np.concatenate([by[..., None], bs], axis=-1))
    there = ss > 0  # a position outside the run has no shape
    whole = np.where(there, ss, 1.0)
    top = ys - (np.swapaxes(bs, -1, -2) @ solved[..., :1])[..., 0]
    bottom = np.maximum(ss - np.einsum("...qp,...qp->...p", bs, solved[..., 1:]), 1e-12 * whole)
    area = np.where(there, top / bottom, 0.0)
    rest = np.einsum("rckn,ckn->rck", wy, y) - np.einsum("...q,...q->...", by, solved[..., 0])
    used = (np.abs(courses).sum(axis=1) > 0).sum(axis=1) + 1
    freedom = np.maximum(heights.shape[1] - used, 1)[:, None, None]
    misfit = np.maximum(rest[..., None] - top**2 / bottom, 0.0) / freedom
    u_area = np.where(there, np.sqrt(np.maximum(misfit, 1.0) / bottom), _UNKNOWN)
    parts = (np.swapaxes(one, -1, -2) for one in (area, u_area, misfit, bottom / whole))
    told = zip(*parts, variance, solved[..., 0], solved[..., 1:], strict=True)
    return tuple(IonAreas(*one) for one in told)
