"""Estimate from a run of spectra how its ion heights scatter: counts per ion, and what each mass adds to it."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.model.lineage import Step
from cutbook.model.trace import Floats, frozen_array

# what a cubic through five scans leaves: their fourth difference, scaled so that white noise keeps its variance
_FOURTH = np.array([1.0, -4.0, 6.0, -4.0, 1.0]) / np.sqrt(70.0)
_CHI2_MEDIAN = 0.454936  # median of the square of a standard normal deviate


@dataclass(frozen=True)
class IonNoiseSettings:
    """How the scatter is read.

    unbroken : share of the windows of a class that must be without any 0; where there are more, heights below a
        threshold or below 0 are missing and the scatter says nothing about counting. Where no class has as few, those
        with the fewest are taken.
    bins : classes of height, evenly spaced in the logarithm, in each of which the scatter is read.
    fewest : windows of five scans that make a class.
    most : windows that are sorted into classes; 100,000 give each class thousands.
    clip : squares of deviations above this multiple of their expectation count as that multiple; 25 (five standard
        deviations) takes nothing from normal noise and holds off a spike.
    rounds : of gain and floor in turn, each from the other; 6, after which neither moves by more than a few percent.
    near_ceiling : share of the largest height above which a run that has a ceiling is left out.
    """

    unbroken: float = 0.95
    bins: int = 30
    fewest: int = 40
    most: int = 100_000
    clip: float = 25.0
    rounds: int = 6
    near_ceiling: float = 0.8


@dataclass(frozen=True, eq=False)
class IonNoise:
    """Variance of an ion's height in one scan: floor² + gain × height.

    gain : height per ion counted, in the unit of the heights, > 0; with a detector whose pulses differ in height it is
        the variance divided by the mean, which is larger than the mean pulse.
    floor : standard deviation of what does not come from counting, by column of the matrix, shape (m,), > 0.
    threshold : smallest height recorded; a 0 may stand for anything below it. 0 in an empty run.
    ceiling : height at which the detector or its converter ran into its limit, None where it did not.
    """

    gain: float
    floor: Floats
    threshold: float = 0.0
    ceiling: float | None = None
    step: Step = field(default=Step("ion noise as stated/1"))

    def __post_init__(self) -> None:
        object.__setattr__(self, "floor", frozen_array(self.floor))

    def variance(self, counts_smoothed: Floats, columns: slice | NDArray[np.intp] = slice(None)) -> Floats:
        """Variance of single heights about an expected height.

        Parameters
        ----------
        counts_smoothed : what is expected there, shape (n, k); below 0 counts as 0. Heights as recorded in place of
            expected ones make low readings look surer than high ones.
        columns : of the matrix, that the k columns are; all when not said.
        """
        return np.maximum(counts_smoothed, 0.0) * self.gain + self.floor[columns] ** 2


def estimate_ion_noise(matrix: IonMatrix, settings: IonNoiseSettings = IonNoiseSettings()) -> IonNoise:
    """The scatter of a run from scan-to-scan differences.

    Parameters
    ----------
    matrix : heights by scan and mass; five scans at least, else the smallest height stands for the gain.
    settings : see `IonNoiseSettings`.

    Returns
    -------
    IonNoise
        The floor never below threshold/√12, the scatter of a height that may be anything below the threshold.

    Notes
    -----
    Scans are taken in fives. What a cubic leaves of them, d = (x₁ - 4x₂ + 6x₃ - 4x₄ + x₅)/√70, has the variance of one
    height, is not correlated with their mean h, and for Poisson counts its square has the expectation gain × h whether
    h is known or read from the same five. A chromatographic peak leaves in it a part in proportion to its height, so
    d² = floor² + gain h + (c h)² is fitted to classes of h with none of the three negative, and c is thrown away.
    """
    counts = matrix.counts
    scans, masses = counts.shape
    windows = scans // 5
    sample = counts[:: max(1, counts.size // 500_000)]
    positive = sample[sample > 0]
    if not len(positive) or windows < 1:
        smallest = float(positive.min()) if len(positive) else 1.0
        return _noise(matrix, smallest, np.full(masses, smallest / np.sqrt(12.0)), smallest, None, settings)
    threshold = float(np.partition(positive, len(positive) // 1000)[len(positive) // 1000])
    ceiling = _ceiling(counts)
    fives = np.ascontiguousarray(counts[: windows * 5].reshape(windows, 5, masses).transpose(1, 0, 2))
    deviation = np.tensordot(_FOURTH.astype(np.float32), fives, axes=1)
    # the variance of d is the gain times this mean of the heights, also where they rise or fall
    level = np.tensordot((_FOURTH**2).astype(np.float32), fives, axes=1)
    usable = np.isfinite(deviation)
    if ceiling is not None:
        usable &= fives.max(axis=0) < settings.near_ceiling * ceiling
    square = np.multiply(deviation, deviation, out=deviation)
    least = np.float32(threshold * threshold / 12.0)
    classes = _Classes(square, level, fives.mean(axis=0), usable, fives.min(axis=0) > 0, settings)
    # what is expected is judged from a wider stretch, for five scans that happen to be low are no quieter
    higher = _around(level)
    np.maximum(level, higher, out=higher)
    floor = np.full(masses, max(classes.added, float(least)), np.float32)
    gain = curve = 0.0
    for _ in range(settings.rounds):
        gain, curve = classes.counting(floor)
        gain = gain or threshold
        floor = _floors(square, level, higher, usable, floor, least, gain, curve, settings)
    return _noise(matrix, gain, np.sqrt(floor.astype(float)), threshold, ceiling, settings)


def _noise(
    matrix: IonMatrix, gain: float, floor: Floats, threshold: float, ceiling: float | None, settings: IonNoiseSettings
) -> IonNoise:
    step = Step("estimate ion noise/1", inputs=(matrix.step,), settings=settings)
    return IonNoise(gain, floor, threshold, ceiling, step)


def _ceiling(counts: NDArray[np.float32]) -> float | None:
    """The largest height, when it was met in two scans running in at least two places or five times in one."""
    highest = counts.max(axis=0)
    largest = float(highest.max())
    least = np.float32(largest * (1 - 1e-6))
    at_top = counts[:, highest >= least] >= least
    running = at_top[1:] & at_top[:-1]
    return largest if int(running.sum()) >= 2 else None


class _Classes:
    """Windows put into classes by their mean height, with the scatter of each class."""

    def __init__(
        self, square: NDArray[np.float32], level: NDArray[np.float32], mean: NDArray[np.float32],
        usable: NDArray[np.bool_], whole: NDArray[np.bool_], settings: IonNoiseSettings,
    ) -> None:  # fmt: skip
        clear = usable & (mean > 0)
        windows = np.flatnonzero(clear.ravel())
        windows = windows[:: max(1, len(windows) // settings.most)]
        means = mean.ravel()[windows]
        order = np.argsort(means)
        windows, means = windows[order], means[order]
        masses = windows % mean.shape[1]
        squares, heights = square.ravel()[windows], level.ravel()[windows]
        self.height, self.scatter, self.weight, self.members = [], [], [], []
        cuts = np.zeros(1, np.intp)
        if len(means):
            cuts = np.searchsorted(means, np.geomspace(means[0], means[-1] * 1.0001, settings.bins + 1))
        edges = [(a, b) for a, b in zip(cuts[:-1].tolist(), cuts[1:].tolist(), strict=True) if b - a >= settings.fewest]
        edges = edges or [(0, len(means))]
        unbroken = whole.ravel()[windows]
        shares = [float(unbroken[a:b].mean()) if b > a else 0.0 for a, b in edges]
        enough = min(settings.unbroken, 0.6 * max(shares))
        clear_of_zero = [edge for edge, share in zip(edges, shares, strict=True) if share >= enough]
        for first, end in clear_of_zero:
            piece = squares[first:end]
            if not len(piece):
                continue
            # where single ions stand in noise the median tells nothing of them
            typical = float(np.median(piece)) / _CHI2_MEDIAN if max(shares) >= settings.unbroken else 0.0
            scatter = float((np.minimum(piece, settings.clip * typical) if typical > 0 else piece).mean())
            if scatter > 0:
                self.height.append(float(heights[first:end].mean()))
                self.scatter.append(scatter)
                # a twenty-fold surplus of windows makes a class no surer: what peaks leave differs between classes too
                self.weight.append(np.sqrt(min(end - first, 20 * settings.fewest)) / scatter)
                self.members.append(np.bincount(masses[first:end], minlength=mean.shape[1]))  # by mass

    @property
    def added(self) -> float:
        """Variance that does not grow with height, were it the same at all masses."""
        return float(self._parts(np.ones(len(self.height)))[0]) if self.height else 0.0

    def counting(self, floor: NDArray[np.float32]) -> tuple[float, float]:
        """Gain, and the square of what peaks leave in proportion to their height.

        floor : variance that each mass adds; only its course over the masses is used, not its size.
        """
        if not self.height:
            return 0.0, 0.0
        part = self._parts(self._medians(floor))
        return float(part[1]), float(part[2])

    def _medians(self, floor: NDArray[np.float32]) -> Floats:
        """Median over the windows of each class of what their masses add."""
        order = np.argsort(floor)
        rising = floor[order]
        up_to = np.cumsum(np.array(self.members)[:, order], axis=1)
        count = up_to[:, -1:]
        lower, upper = (rising[(up_to <= middle).sum(axis=1)] for middle in ((count - 1) // 2, count // 2))
        return np.asarray((lower + upper) / np.float32(2.0), dtype=np.float64)

    def _parts(self, added: Floats) -> Floats:
        """Shares of what is added, of counting and of peaks in the scatter; with so few classes, counting alone."""
        height, weight = np.array(self.height), np.array(self.weight)
        if len(height) < 4:
            return np.array([0.0, float(np.mean(np.array(self.scatter) / height)), 0.0])
        design = np.stack([added, height, height * height], axis=1)
        return _non_negative(design * weight[:, None], np.array(self.scatter) * weight)


def _non_negative(design: Floats, read: Floats) -> Floats:
    """Least squares with no coefficient negative, by trying every set of coefficients that are not 0."""
    count = design.shape[1]
    best, least = np.zeros(count), float(read @ read)
    for size in range(1, count + 1):
        for kept in combinations(range(count), size):
            columns = design[:, kept]
            scale = np.linalg.norm(columns, axis=0)
            part, *_ = np.linalg.lstsq(columns / scale, read, rcond=None)
            if (part < 0).any():
                continue
            off = read - columns @ (part / scale)
            if float(off @ off) < least:
                least = float(off @ off)
                best = np.zeros(count)
                best[list(kept)] = part / scale
    return best


def _around(level: NDArray[np.float32]) -> NDArray[np.float32]:
    """Mean over stretches of seven windows, for each window that of its stretch."""
    first = np.arange(0, len(level), 7)
    lengths = np.diff(np.append(first, len(level)))
    mean = np.add.reduceat(level, first, axis=0) / lengths.astype(np.float32)[:, None]
    return np.repeat(mean.astype(np.float32), lengths, axis=0)


def _floors(
    square: NDArray[np.float32],
    level: NDArray[np.float32],
    higher: NDArray[np.float32],
    usable: NDArray[np.bool_],
    start: NDArray[np.float32],
    least: np.float32,
    gain: float,
    curve: float,
    settings: IonNoiseSettings,
) -> NDArray[np.float32]:
    """Variance of each mass that counting does not explain, from its quiet windows above all, in two steps."""
    used = usable.astype(np.float32)
    counted = np.float32(gain) * level
    bent = np.float32(curve) * level * level if curve else np.float32(0.0)
    counted += bent
    most = np.float32(gain) * higher
    over, weight = np.empty_like(counted), np.empty_like(counted)
    floor = start
    for _ in range(2):
        expected = np.add(most, floor, out=weight)
        expected += bent
        np.multiply(expected, np.float32(settings.clip), out=over)
        np.minimum(square, over, out=over)
        over -= counted
        expected *= expected
        np.divide(used, expected, out=weight)
        total = np.maximum(weight.sum(axis=0), np.float32(1e-30))  # a mass that is never usable
        floor = np.maximum(np.einsum("wm,wm->m", weight, over) / total, least)
    return floor
