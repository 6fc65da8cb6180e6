"""What the neighbours of a compound do, scan by scan, told from the ions that the compound itself does not give."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from cutbook.model.trace import Floats


@dataclass(frozen=True)
class LocalMatrixSettings:
    """How the neighbours are told.

    reach : of a piece of the run to each side of its middle, in full widths at half height; 2.5 holds a whole peak with
        its neighbours and lets a straight line stand for what changes slowly.
    least_scans : to each side of the middle; below it a line and a peak cannot be told apart.
    step : from one piece to the next, in full widths; positions between are read from the nearer piece, in which they
        lie at least 1.9 widths from the end.
    most_shapes : independent time courses taken from the neighbours; as many as a third of the scans at most.
    above_noise : a time course counts when its strength exceeds that of pure noise by this factor.
    least_share : height of an ion in the piece, as a share of the compound's quantifier there, from which it may speak
        for the neighbours; below it, it may be an ion of the compound that no table knows.
    """

    reach: float = 2.5
    least_scans: int = 8
    step: float = 1.25
    most_shapes: int = 12
    above_noise: float = 1.15
    least_share: float = 0.03


@dataclass(frozen=True, eq=False)
class Pieces:
    """Pieces of a run around the places where a compound may elute.

    first : first scan of each piece, shape (c,). scans : in each piece. positions : scan at which the compound is
        tried, in each piece, shape (c, p), -1 where there is none.
    """

    first: NDArray[np.int64]
    scans: int
    positions: NDArray[np.int64]

    def rows(self) -> NDArray[np.int64]:
        """Scan numbers of every piece, shape (c, n)."""
        return np.asarray(self.first[:, None] + np.arange(self.scans)[None, :])


@dataclass(frozen=True, eq=False)
class Neighbours:
    """Time courses that neighbours and background may have in each piece.

    courses : constant, slope and the courses of the neighbours, shape (c, n, q); columns not needed are 0.
    strength : of each course in noise standard deviations, infinite for constant and slope, shape (c, q).
    """

    courses: Floats
    strength: Floats

    def of(self, pieces: NDArray[np.intp]) -> Neighbours:
        """Those of some pieces."""
        return Neighbours(self.courses[pieces], self.strength[pieces])


def lay_pieces(
    scan_count: int, first: int, last: int, width_scans: float, settings: LocalMatrixSettings = LocalMatrixSettings()
) -> Pieces:
    """Cut the run into overlapping pieces so that each scan from `first` to `last` is in the middle of one.

    Parameters
    ----------
    scan_count : of the run. first, last : scans between which the compound may elute, inside the run.
    width_scans : full width at half height in scans.
    """
    half = max(int(np.ceil(settings.reach * width_scans)), settings.least_scans)
    half = min(half, (scan_count - 1) // 2)
    hop = max(int(round(settings.step * width_scans)), 1)
    count = max((last - first) // hop + 1, 1)
    begins = first + hop * np.arange(count)
    positions = begins[:, None] + np.arange(hop)[None, :]
    positions = np.where(positions <= last, positions, -1)
    middles = begins + hop // 2
    starts = np.clip(middles - half, 0, max(scan_count - 2 * half - 1, 0))
    return Pieces(starts.astype(np.int64), 2 * half + 1, positions.astype(np.int64))


def neighbours(
    counts: NDArray[np.float32],
    variance: NDArray[np.floating],
    pieces: Pieces,
    clean: NDArray[np.bool_],
    quantifier_height: Floats,
    settings: LocalMatrixSettings = LocalMatrixSettings(),
) -> Neighbours:
    """The time courses of what elutes in each piece, from its clean ions.

    Parameters
    ----------
    counts : heights, shape (scans, m). variance : of them, same shape. pieces : c of them.
    clean : masses that the compound does not give, shape (m,) or (c, m).
    quantifier_height : height of the compound's quantifier above its lowest in each piece, shape (c,).

    Returns
    -------
    Neighbours

    Notes
    -----
    Each trace is divided by its own mean noise, which leaves its shape alone; constant and slope are taken out; the
    left singular vectors whose singular value exceeds ``a √v (√n + √m)``, the largest that noise gives, are the
    courses: n scans, m ions, v the largest ratio of a scan's noise to the mean. A skew of the scan, a ceiling that
    bends a peak or two compounds of one shape need no model of their own: each adds a course.

    References
    ----------
    The edge of the singular values of noise: Marchenko and Pastur, Math. USSR Sb. 1 (1967) 457.
    """
    from scipy.ndimage import maximum_filter1d, minimum_filter1d

    first, n, c = pieces.first, pieces.scans, len(pieces.first)
    middle = first + n // 2
    height = maximum_filter1d(counts, n, axis=0)[middle] - minimum_filter1d(counts, n, axis=0)[middle]
    speaks = clean & (height > settings.least_share * quantifier_height[:, None])
    noise = np.maximum(_means(variance, first, n), 1e-30)
    weight = np.where(speaks, noise**-0.5, 0.0)
    scaled = sliding_window_view(counts, n, axis=0)[first]
    scaled -= _means(counts, first, n)[:, :, None].astype(np.float32)
    scaled *= weight[:, :, None].astype(np.float32)
    line = np.linspace(-1.0, 1.0, n)
    plain = np.stack([np.full(n, n**-0.5), line / np.sqrt((line**2).sum())], axis=1)
    rest = np.eye(n) - plain @ plain.T
    gram = rest @ (np.swapaxes(scaled, 1, 2) @ scaled).astype(np.float64) @ rest
    number = np.maximum(speaks.sum(axis=1), 1)
    by_scan = np.einsum("cmn,cm->cn", sliding_window_view(variance, n, axis=0)[first], weight**2)
    uneven = np.maximum(by_scan.max(axis=1) / number, 1.0)
    values, vectors = _leading(gram, min(settings.most_shapes, n // 3))
    strength = np.sqrt(np.maximum(values, 0.0))
    edge = settings.above_noise * np.sqrt(uneven) * (np.sqrt(n) + np.sqrt(number))
    counts_in = strength > edge[:, None]
    kept = max(int(counts_in.any(axis=0).sum()), 1)  # the strongest come first: what no piece needs is not carried on
    vectors, strength, counts_in = vectors[:, :, :kept], strength[:, :kept], counts_in[:, :kept]
    courses = np.where(counts_in[:, None, :], vectors, 0.0)
    strength = np.where(counts_in, strength / np.sqrt(uneven)[:, None], np.inf)
    whole = np.concatenate([np.broadcast_to(plain, (c, n, 2)), courses], axis=2)
    return Neighbours(whole, np.concatenate([np.full((c, 2), np.inf), strength], axis=1))


def _means(values: NDArray[np.floating], first: NDArray[np.int64], scans: int) -> Floats:
    """Mean of each column over each piece, shape (c, m)."""
    sums = np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(values, axis=0, dtype=np.float64)])
    return np.asarray((sums[first + scans] - sums[first]) / scans)


def _leading(gram: Floats, count: int) -> tuple[Floats, Floats]:
    """Largest eigenvalues of symmetric matrices (c, n, n) and their vectors, (c, n, count), by subspace iteration.

    A full decomposition would be handed to the threads of the linear algebra library, which takes forty times as long
    on matrices as small as these.
    """
    c, n, _ = gram.shape
    spare = min(count + 4, n)
    start = np.cos(np.outer(np.arange(n) + 0.5, np.arange(spare)) * np.pi / n)  # slow courses first
    basis: Floats = np.broadcast_to(start, (c, n, spare))
    twice = gram @ gram
    for step in (gram, twice, twice):
        basis, _ = np.linalg.qr(step @ basis)
    values, turned = np.linalg.eigh(basis.transpose(0, 2, 1) @ gram @ basis)
    vectors: Floats = basis @ turned
    return values[:, ::-1][:, :count], vectors[:, :, ::-1][:, :, :count]
