"""What the neighbours of a compound do, scan by scan, told from the ions that the compound itself does not give."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.model.trace import Floats

_AT_ONCE = 64  # pieces, so that what is worked on stays in the cache


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
    least_rise : standard deviations by which the mean of three scans of an ion must somewhere rise; 4, since one that
        never does has nothing to say.
    widths_alike : largest ratio of the peak widths within a stretch of the run, which is cut by one of them; 1.1.
    """

    reach: float = 2.5
    least_scans: int = 8
    step: float = 1.25
    most_shapes: int = 12
    above_noise: float = 1.15
    least_share: float = 0.03
    least_rise: float = 4.0
    widths_alike: float = 1.1


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

    def of(self, pieces: NDArray[np.intp] | slice) -> Neighbours:
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


@dataclass(frozen=True, eq=False)
class PieceIons:
    """The ions of each piece of a stretch of the run, on the time courses that they have in common.

    pieces : c of them. mz : nominal masses, shape (m,). basis : orthonormal time courses that hold all that the ions
    do but for noise, shape (c, n, b). loadings : of each ion's trace, divided by its mean noise and without constant
    and slope, on them, shape (c, m, b). height : of each ion above its lowest, shape (c, m). unevenness : largest
    ratio of a scan's noise to the mean, shape (c,). speaks : whether an ion may speak at all, shape (c, m).
    """

    pieces: Pieces
    mz: NDArray[np.int64]
    basis: NDArray[np.float32]
    loadings: NDArray[np.float32]
    height: NDArray[np.float32]
    unevenness: Floats
    speaks: NDArray[np.bool_]

    def of(self, some: slice) -> PieceIons:
        """Those of some pieces."""
        pieces = Pieces(self.pieces.first[some], self.pieces.scans, self.pieces.positions[some])
        return PieceIons(
            pieces, self.mz, self.basis[some], self.loadings[some], self.height[some], self.unevenness[some],
            self.speaks[some],
        )  # fmt: skip


def piece_ions(
    counts: NDArray[np.float32],
    variance: NDArray[np.float32],
    pieces: Pieces,
    mz: NDArray[np.int64],
    top: int = 0,
    ceiling: NDArray[np.bool_] | None = None,
    settings: LocalMatrixSettings = LocalMatrixSettings(),
) -> PieceIons:
    """The ions of each piece: what any compound may later be looked for among.

    Parameters
    ----------
    counts : heights, shape (scans, m). variance : of them, same shape. pieces : c of them. mz : nominal masses.
    top : scan of the run at which `counts` begin.
    ceiling : heights at the detector's ceiling, same shape as `counts`; an ion with one does not speak.

    Notes
    -----
    Each trace is divided by its own mean noise, which leaves its shape alone; constant and slope are taken out. The
    basis are the leading left singular vectors of the ions of a piece, some more than may be counted as courses.
    """
    n = pieces.scans
    plain, c, b = _plain(n), len(pieces.first), min(_most(n, settings) + 2, n)
    rest = (np.eye(n) - plain @ plain.T).astype(np.float32)
    basis, loadings = np.empty((c, n, b), np.float32), np.empty((c, len(mz), b), np.float32)
    height, unevenness = np.empty((c, len(mz)), np.float32), np.empty(c)
    for begin in range(0, c, _AT_ONCE):
        some = slice(begin, begin + _AT_ONCE)
        rows = pieces.first[some, None] - top + np.arange(n)
        traces, uneven = counts[rows], variance[rows]
        height[some] = traces.max(axis=1) - traces.min(axis=1)
        noise = np.maximum(uneven.mean(axis=1, keepdims=True), np.float32(1e-30))
        traces -= traces.mean(axis=1, keepdims=True)
        traces /= np.sqrt(noise)
        basis[some] = _leading(rest @ (traces @ np.swapaxes(traces, 1, 2)) @ rest, b)
        np.matmul(np.swapaxes(traces, 1, 2), rest @ basis[some], out=loadings[some])
        uneven /= noise
        there = (height[some] > 0).astype(np.float32)
        by_scan = (uneven @ there[:, :, None])[:, :, 0]
        unevenness[some] = by_scan.max(axis=1) / np.maximum(there.sum(axis=1), 1.0)
    speaks: NDArray[np.bool_] = np.ones((len(pieces.first), len(mz)), np.bool_)
    if ceiling is not None:
        speaks = np.logical_not(ceiling[pieces.rows() - top].any(axis=1))
    return PieceIons(pieces, mz, basis, loadings, height, np.maximum(unevenness, 1.0), speaks)


def neighbours(
    among: PieceIons,
    clean: NDArray[np.bool_],
    quantifier_height: Floats,
    settings: LocalMatrixSettings = LocalMatrixSettings(),
) -> Neighbours:
    """The time courses of what elutes in each piece, from its clean ions.

    Parameters
    ----------
    among : the ions of the pieces. clean : masses that the compound does not give, shape (m,) or (c, m).
    quantifier_height : height of the compound's quantifier above its lowest in each piece, shape (c,).

    Returns
    -------
    Neighbours

    Notes
    -----
    The left singular vectors of the clean ions whose singular value exceeds ``a √v (√n + √m)``, the largest that noise
    gives, are the courses: n scans, m ions, v the largest ratio of a scan's noise to the mean. A skew of the scan, a
    ceiling that bends a peak or two compounds of one shape need no model of their own: each adds a course. They are
    looked for within the basis of all ions, since leaving ions out adds no course.

    References
    ----------
    The edge of the singular values of noise: Marchenko and Pastur, Math. USSR Sb. 1 (1967) 457.
    """
    c, n = len(among.basis), among.pieces.scans
    speaks = clean & among.speaks & (among.height > settings.least_share * quantifier_height[:, None])
    number = np.maximum(speaks.sum(axis=1), 1)
    spoken = np.flatnonzero(speaks.any(axis=0))
    heard = among.loadings[:, spoken] * speaks[:, spoken, None]
    values, turned = np.linalg.eigh((np.swapaxes(heard, 1, 2) @ heard).astype(np.float64))
    most = _most(n, settings)
    strength = np.sqrt(np.maximum(values[:, ::-1][:, :most], 0.0))
    uneven = among.unevenness
    edge = settings.above_noise * np.sqrt(uneven) * (np.sqrt(n) + np.sqrt(number))
    counts_in = strength > edge[:, None]
    kept = max(int(counts_in.any(axis=0).sum()), 1)  # the strongest come first: what no piece needs is not carried on
    strength, counts_in = strength[:, :kept], counts_in[:, :kept]
    courses = np.where(counts_in[:, None, :], among.basis @ turned[:, :, ::-1][:, :, :kept], 0.0)
    strength = np.where(counts_in, strength / np.sqrt(uneven)[:, None], np.inf)
    whole = np.concatenate([np.broadcast_to(_plain(n), (c, n, 2)), courses], axis=2)
    return Neighbours(whole, np.concatenate([np.full((c, 2), np.inf), strength], axis=1))


def _most(scans: int, settings: LocalMatrixSettings) -> int:
    """Time courses taken from the neighbours at most."""
    return min(settings.most_shapes, scans // 3)


def _plain(scans: int) -> Floats:
    """Constant and slope, orthonormal, shape (n, 2)."""
    line = np.linspace(-1.0, 1.0, scans)
    return np.stack([np.full(scans, scans**-0.5), line / np.sqrt((line**2).sum())], axis=1)


def _leading(gram: NDArray[np.float32], count: int) -> NDArray[np.float32]:
    """A basis of the leading eigenvectors of symmetric matrices (c, n, n), shape (c, n, count), by subspace iteration.

    A full decomposition would be handed to the threads of the linear algebra library, which takes forty times as long
    on matrices as small as these.
    """
    c, n, _ = gram.shape
    spare = min(count + 2, n)
    start = np.cos(np.outer(np.arange(n) + 0.5, np.arange(spare)) * np.pi / n)  # slow courses first
    wide = gram.astype(np.float64)
    basis: Floats = np.broadcast_to(start, (c, n, spare))
    twice = wide @ wide
    for step in (wide, twice, twice):
        basis, _ = np.linalg.qr(step @ basis)
    return basis[:, :, :count].astype(np.float32)
