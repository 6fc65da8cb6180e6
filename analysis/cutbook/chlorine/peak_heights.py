"""Read the height of a peak at every scan and mass of a run, block by block of scans."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.peak_filter import PeakFilter, peak_filter
from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise
from cutbook.chromatogram.peak_width import WidthLaw

BLOCK = 96
"""Scans at a time: heights of a block and what is reckoned from them stay in the processor's cache."""
EDGE = 2
"""Scans on either side of a block that are read with it, so that an apex can be told at its edge."""


@dataclass(frozen=True, eq=False)
class HeightBlock:
    """Peak heights of a block, shape (n + 2 × EDGE, m), float32; the edges repeat the neighbouring blocks' rows.

    first : scan of the first row after the edge. height : as if a peak had its apex at that scan, what lies level taken
    away. variance : of it, from counting and floor. level : what was taken away, shape (m,). weights : the filter.
    """

    first: int
    height: NDArray[np.float32]
    variance: NDArray[np.float32]
    level: NDArray[np.float32]
    weights: PeakFilter


def height_blocks(matrix: IonMatrix, widths: WidthLaw, noise: IonNoise) -> Iterator[HeightBlock]:
    """Peak heights of a whole run.

    Parameters
    ----------
    matrix : heights by scan and mass. widths : full width at half height in min. noise : of the run.

    Yields
    ------
    HeightBlock
        In order of time.

    Notes
    -----
    A filter along the scans is a product with a banded matrix; taken block by block it runs at the speed of matrix
    products, and the width may change from block to block. What lies level is the third decile of the heights of the
    block itself, raised by half a standard deviation, which is where it lies when there is nothing but noise.
    """
    counts = matrix.counts
    scans = len(counts)
    if scans < 2:
        return
    interval = float(np.median(np.diff(matrix.time_min)))
    floor = (noise.floor**2).astype(np.float32)
    gain = np.float32(noise.gain)
    bands: dict[tuple[float, int], tuple[NDArray[np.float32], NDArray[np.float32]]] = {}
    for first in range(0, scans, BLOCK):
        rows = min(BLOCK, scans - first)
        middle = float(matrix.time_min[min(first + rows // 2, scans - 1)])
        weights = peak_filter(float(widths.half_width(middle)) / interval)
        key = (weights.width, rows)
        if key not in bands:
            bands[key] = _bands(weights, rows + 2 * EDGE)
        band, square = bands[key]
        reach = weights.half + EDGE
        piece = _stretch(counts, first - reach, first + rows + reach)
        height = band @ piece
        variance = square @ piece
        variance *= gain
        variance += floor * np.float32(weights.height @ weights.height)
        few = max(1, rows // 24)
        third = len(height[::few]) * 3 // 10
        level = np.partition(height[::few], third, axis=0)[third]
        level += np.float32(0.52) * np.sqrt(np.median(variance[:: 4 * few], axis=0))
        height -= level
        yield HeightBlock(first, height, variance, level, weights)


def _stretch(counts: NDArray[np.float32], first: int, end: int) -> NDArray[np.float32]:
    """Rows first … end - 1; before and after the run its first and last row are repeated."""
    if first >= 0 and end <= len(counts):
        return counts[first:end]
    return counts[np.clip(np.arange(first, end), 0, len(counts) - 1)]


def _bands(weights: PeakFilter, rows: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """The filter, and the squares of its weights, as banded matrices."""
    length = 2 * weights.half + 1
    band = np.zeros((rows, rows + length - 1), np.float32)
    at = np.arange(rows)[:, None], np.arange(rows)[:, None] + np.arange(length)
    band[at] = weights.height
    return band, band * band
