"""The area of a compound in each of its ions, what its neighbours give taken away."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

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


@dataclass(frozen=True, eq=False)
class Design:
    """What is fitted in each piece: the courses of its neighbours, and the compound's shape at each position.

    around : the courses, q of them. shapes : unit area in 1/min, shape (c, n, p).
    """

    around: Neighbours
    shapes: Floats

    def of(self, pieces: NDArray[np.intp] | slice) -> Design:
        """That of some pieces."""
        return Design(self.around.of(pieces), self.shapes[pieces])

    @cached_property
    def columns(self) -> Floats:
        """Courses and shapes, scans last, shape (c, q + p, n)."""
        return np.concatenate([np.swapaxes(one, 1, 2) for one in (self.around.courses, self.shapes)], axis=1)

    @cached_property
    def products(self) -> Floats:
        """Courses times columns, and shapes squared, scan by scan: weighed sums of them make every normal equation;
        shape (c, q (q + p) + p, n)."""
        columns, q = self.columns, self.around.courses.shape[2]
        crossed = (columns[:, :q, None, :] * columns[:, None, :, :]).reshape(len(columns), -1, columns.shape[2])
        return np.concatenate([crossed, columns[:, q:] ** 2], axis=1)


@dataclass(frozen=True, eq=False)
class IonFit:
    """Normal equations of the fit of each ion, from which areas are read in either way.

    gram : of the courses, shape (c, k, q, q). right : of the courses with the heights, then with the shapes at each
    position, shape (c, k, q, 1 + p). on_shape, of_shape : shapes with the heights and with themselves, shape (c, k, p).
    total : heights with themselves, shape (c, k). variance : of the heights, shape (c, n, k). strength : of the
    courses, shape (c, q). freedom : degrees of, of what a fit leaves, shape (c,).
    """

    gram: Floats
    right: Floats
    on_shape: Floats
    of_shape: Floats
    total: Floats
    variance: Floats
    strength: Floats
    freedom: NDArray[np.int64]

    def areas(self, usual: Floats | None = None, pieces: NDArray[np.intp] | slice = slice(None)) -> IonAreas:
        """The areas in some pieces.

        Parameters
        ----------
        usual : what one unit of strength of a neighbour usually gives of each ion, by `usual_part`, shape (k,);
            neighbours may give anything when None. pieces : all of them when not given.
        """
        gram, right, ys, ss = (one[pieces] for one in (self.gram, self.right, self.on_shape, self.of_shape))
        gram = gram.copy()
        diagonal = np.einsum("...ii->...i", gram)  # a view: what is added to it is added to the matrices
        diagonal += _RIDGE * diagonal.mean(axis=-1, keepdims=True) + 1e-300 + _held(self.strength[pieces], usual)
        solved = np.asarray(np.linalg.solve(gram, right), dtype=float)
        there = ss > 0  # a position outside the run has no shape
        whole = np.where(there, ss, 1.0)
        by, bs, alone, beside = right[..., 0], right[..., 1:], solved[..., 0], solved[..., 1:]
        top = ys - np.einsum("...qp,...q->...p", bs, alone)
        bottom = np.maximum(ss - np.einsum("...qp,...qp->...p", bs, beside), 1e-12 * whole)
        area = np.where(there, top / bottom, 0.0)
        rest = self.total[pieces] - (by * alone).sum(axis=-1)
        misfit = np.maximum(rest[..., None] - top * area, 0.0) / self.freedom[pieces, None, None]
        u_area = np.where(there, np.sqrt(np.maximum(misfit, 1.0) / bottom), _UNKNOWN)
        area, u_area, misfit, free = (np.swapaxes(one, -1, -2) for one in (area, u_area, misfit, bottom / whole))
        return IonAreas(area, u_area, misfit, free, self.variance[pieces], alone, beside)


def ion_areas(
    heights: Floats,
    floor: Floats,
    gain: float,
    design: Design,
    usual: Floats | None = None,
    settings: IonAreaSettings = IonAreaSettings(),
) -> IonAreas:
    """Fit the compound's shape and its neighbours' time courses to each ion, and read the areas.

    Parameters
    ----------
    heights, floor, gain, design, settings : see `fit_ions`. usual : see `IonFit.areas`.
    """
    return fit_ions(heights, floor, gain, design, settings).areas(usual)


def fit_ions(
    heights: Floats, floor: Floats, gain: float, design: Design, settings: IonAreaSettings = IonAreaSettings()
) -> IonFit:
    """Fit the compound's shape and its neighbours' time courses to each ion.

    Parameters
    ----------
    heights : of the compound's ions in each piece, shape (c, n, k).
    floor : noise standard deviation of each ion without signal, shape (k,) or (c, k). gain : heights per ion counted.
    design : what is fitted.

    Notes
    -----
    Weighted linear least squares ion by ion: ``y = Σ b_j c_j + a s + e``, var e = floor² + gain·height. Where areas are
    read with what neighbours usually give, b_j has a normal prior about 0 of spread usual·strength_j. The courses are
    known only up to their own noise, and shapes are not quite alike; both add to the variance:
    ``Σ (b_j / strength_j)² + (likeness · Σ b_j c_j)²`` with the b_j of a first fit without weights, which is a
    projection, since courses are orthonormal. Where the residuals exceed the noise, u is raised by the root of their
    ratio.
    """
    around, columns = design.around, design.columns
    q, p = around.courses.shape[2], design.shapes.shape[2]
    y = np.ascontiguousarray(np.swapaxes(heights, 1, 2))
    base = np.broadcast_to(np.asarray(floor, dtype=float) ** 2, (y.shape[0], y.shape[1]))[:, :, None]
    coefficients = y @ around.courses
    leak = coefficients**2 @ (around.strength**-2.0)[:, :, None]
    varying = coefficients[:, :, 2:] @ columns[:, 2:q]
    variance = (
        base + gain * np.maximum(_smooth(y, settings.smooth_scans), 0.0) + leak + (settings.likeness * varying) ** 2
    )
    weights = 1.0 / variance
    sums = weights @ np.swapaxes(design.products, 1, 2)
    weighed = weights * y
    with_heights = weighed @ np.swapaxes(columns, 1, 2)
    crossed = sums[..., : q * (q + p)].reshape(*sums.shape[:2], q, q + p)
    right = np.concatenate([with_heights[..., :q, None], crossed[..., q:]], axis=-1)
    used = (around.courses != 0).any(axis=1).sum(axis=1) + 1
    return IonFit(
        crossed[..., :q], right, with_heights[..., q:], sums[..., q * (q + p) :], (weighed * y).sum(axis=-1),
        np.swapaxes(variance, 1, 2), around.strength, np.maximum(heights.shape[1] - used, 1),
    )  # fmt: skip


def _smooth(heights: Floats, scans: int) -> Floats:
    """Mean over some scans, which are the last axis."""
    from scipy.ndimage import uniform_filter1d

    return np.asarray(uniform_filter1d(heights, scans, axis=-1, mode="nearest"))


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
    # the mean over a piece of heights that are smoothed is that of the heights but for its ends
    variance = np.asarray(floor, dtype=float) ** 2 + gain * np.maximum(heights.mean(axis=1), 0.0)
    coefficients = np.swapaxes(heights, 1, 2) @ around.courses
    known = np.isfinite(around.strength) & (around.strength > 0)
    noise = np.sqrt(variance)[:, :, None]
    part = np.maximum(np.abs(coefficients) - 2.0 * noise, 0.0) / np.where(known, around.strength, 1.0)[:, None, :]
    by_ion = part.transpose(1, 0, 2)[:, known]
    if by_ion.shape[1] == 0:
        return np.zeros(heights.shape[2])
    at = int(settings.share * (by_ion.shape[1] - 1))
    return np.asarray(settings.spread * np.partition(by_ion, at, axis=1)[:, at])


def _held(strength: Floats, usual: Floats | None) -> Floats:
    """Inverse prior variance of each course's coefficient in each ion, shape (c, k, q); 0 where nothing is held."""
    of_neighbour = np.isfinite(strength) & (strength > 0)
    if usual is None:
        return np.zeros((len(strength), 1, strength.shape[1]))
    spread = usual[None, :, None] * np.where(of_neighbour, strength, 1.0)[:, None, :]
    return np.where(of_neighbour[:, None, :], np.maximum(spread, _SMALLEST) ** -2.0, 0.0)
