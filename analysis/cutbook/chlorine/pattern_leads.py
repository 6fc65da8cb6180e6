"""Pick the peaks of a run that could be the tallest of a chlorine or bromine pattern, with what stands beside them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.peak_filter import peak_filter
from cutbook.chlorine.peak_heights import BLOCK, EDGE, height_blocks
from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise
from cutbook.chromatogram.peak_width import WidthLaw

BELOW, ABOVE = 10, 14
"""Masses beside a lead that are kept with it: the pattern of six chlorines reaches from 2 below to 10 above its tallest
ion, that of four bromines from 4 below, and the ions that have lost one or two hydrogens stand below those."""

FLANK_SCANS = 4
"""Scans beside a stretch that is cut off, on which nothing is, that must show the peak for it to be read at all."""


@dataclass(frozen=True)
class LeadSettings:
    """What makes a lead.

    least : height in its standard deviations; 5, below which so much else is a lead that no pattern would be believed.
    partner : the ion two masses above as a share of the lead, least and most. A pattern of one to six chlorines or one
        to four bromines has 0.24 to 1.0 there; beyond that what counting and interference may change.
    between : the ion in between as a share of the lead, most; 13C of 24 carbons is 0.26, and as much may be another's.
    doubt : standard deviations by which a share may be missed.
    """

    least: float = 5.0
    partner: tuple[float, float] = (0.2, 1.25)
    between: float = 0.5
    doubt: float = 3.0


@dataclass(frozen=True, eq=False)
class Leads:
    """Leads by row.

    scan, mz : of the lead. height, variance : of the masses mz - BELOW … mz + ABOVE at that scan, shape (n, k).
    whole : like `height`, but with nothing taken away for neighbours and background: more than any peak there can be.
    width : of a peak there, in scans. level : what lies level, by block of scans and mass.
    crowd : by mass of the matrix, the share of scans at which a peak that is told from noise has its apex, shape (m,).
    """

    scan: NDArray[np.intp]
    mz: NDArray[np.intp]
    height: NDArray[np.float32]
    variance: NDArray[np.float32]
    whole: NDArray[np.float32]
    width: NDArray[np.float64]
    level: NDArray[np.float32]
    crowd: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.scan)


def pattern_leads(
    matrix: IonMatrix, widths: WidthLaw, noise: IonNoise, settings: LeadSettings = LeadSettings()
) -> Leads:
    """Leads of a whole run in order of time, each scan of a flat top once."""
    masses = matrix.counts.shape[1]
    scans, mzs, heights, variances, peak_widths, levels = [], [], [], [], [], []
    apexes = np.zeros(masses)
    beside = np.arange(-BELOW, ABOVE + 1)
    low, high = settings.partner
    for block in height_blocks(matrix, widths, noise):
        height = block.height
        levels.append(block.level)
        inner = slice(EDGE, len(height) - EDGE)
        here = height[inner]
        sd = np.sqrt(block.variance[inner])
        apex = (here >= height[EDGE - 1 : -EDGE - 1]) & (here > height[EDGE + 1 : len(height) - EDGE + 1])
        apex &= here > settings.least * sd
        apexes += apex.sum(axis=0)
        lead = apex[:, :-2].copy()
        doubt = settings.doubt * sd
        lead &= here[:, 2:] + doubt[:, 2:] > low * here[:, :-2]
        lead &= here[:, 2:] - doubt[:, 2:] < high * here[:, :-2]
        lead &= here[:, 1:-1] - doubt[:, 1:-1] < settings.between * here[:, :-2]
        if noise.ceiling is not None:  # a peak that is cut off has the wrong shares
            cut = matrix.counts[block.first : block.first + len(here)] >= noise.ceiling
            lead |= apex[:, :-2] & cut[:, :-2]
        row, column = np.nonzero(lead)
        if not len(row):
            continue
        at = column[:, None] + beside
        outside = (at < 0) | (at >= masses)
        at = np.clip(at, 0, masses - 1)
        rows = row[:, None] + EDGE
        piece, doubts = height[rows, at], block.variance[rows, at]
        piece[outside] = 0.0
        scans.append(row + block.first)
        mzs.append(column + matrix.first_mz)
        heights.append(piece)
        variances.append(doubts)
        peak_widths.append(np.full(len(row), block.weights.width))
    crowd = np.maximum(apexes, 1.0) / max(len(matrix.counts), 1)
    level = np.stack(levels) if levels else np.zeros((0, masses), np.float32)
    if not scans:
        none = np.zeros(0, np.intp)
        empty = np.zeros((0, len(beside)), np.float32)
        return Leads(none, none, empty, empty, empty, np.zeros(0), level, crowd)
    scan, mz, width = np.concatenate(scans), np.concatenate(mzs), np.concatenate(peak_widths)
    height, variance = np.concatenate(heights), np.concatenate(variances)
    leads = Leads(scan, mz, height, variance, _whole(matrix, scan, mz, width), width, level, crowd)
    if noise.ceiling is not None:
        _read_on_flanks(matrix, noise, noise.ceiling, leads)
    return leads


def _read_on_flanks(matrix: IonMatrix, noise: IonNoise, ceiling: float, leads: Leads) -> None:
    """Where a lead or a mass near it is cut off, read all masses against the lead on the scans at which none is.

    The lead's height becomes the ceiling, which is less than it was.
    """
    counts = matrix.counts
    scans, masses = counts.shape
    for row in range(len(leads)):
        half = int(np.ceil(1.5 * leads.width[row]))
        middle, cut = _middle(matrix.trace(int(leads.mz[row])), int(leads.scan[row]), half, ceiling)
        rows = np.clip(np.arange(middle - half - cut // 2, middle + half + cut // 2 + 1), 0, scans - 1)
        first = int(leads.mz[row]) - matrix.first_mz - BELOW
        low, high = max(first, 0), min(first + BELOW + ABOVE + 1, masses)
        piece = counts[rows, low:high].astype(float)
        lead = BELOW - (low - first)
        near = piece[:, max(lead - 4, 0) : lead + 9]
        free = (near < ceiling * (1 - 1e-6)).all(axis=1)
        weights = piece[:, lead] * free
        if free.all() or (weights > 0.01 * ceiling).sum() < FLANK_SCANS or weights.max() < 0.05 * ceiling:
            continue
        leads.scan[row] = middle
        weights *= ceiling / float(weights @ weights)
        place = slice(low - first, high - first)
        leads.height[row, place] = weights @ (piece - leads.level[middle // BLOCK, low:high])
        leads.whole[row, place] = weights @ piece
        leads.variance[row, place] = weights**2 @ noise.variance(piece, slice(low, high))


def _middle(trace: NDArray[np.float32], scan: int, half: int, ceiling: float) -> tuple[int, int]:
    """Middle and length of the stretch about a scan that is cut off; the scan itself and 0 where none is."""
    first = max(scan - half, 0)
    cut = np.flatnonzero(trace[first : scan + half + 1] >= ceiling * (1 - 1e-6)) + first
    if not len(cut):
        return scan, 0
    low = high = int(cut[np.abs(cut - scan).argmin()])
    while low > 0 and trace[low - 1] >= ceiling * (1 - 1e-6):
        low -= 1
    while high + 1 < len(trace) and trace[high + 1] >= ceiling * (1 - 1e-6):
        high += 1
    return (low + high) // 2, high - low + 1


def _whole(
    matrix: IonMatrix, scan: NDArray[np.intp], mz: NDArray[np.intp], width: NDArray[np.float64]
) -> NDArray[np.float32]:
    """Heights by a filter that only adds."""
    counts = matrix.counts
    beside = np.arange(-BELOW, ABOVE + 1)
    found = np.zeros((len(scan), len(beside)), np.float32)
    for one in np.unique(width):
        rows = np.flatnonzero(width == one)
        shape = peak_filter(float(one)).shape
        shape = shape[shape > 0.3]
        half = len(shape) // 2
        at = np.clip(scan[rows, None] + np.arange(-half, half + 1), 0, len(counts) - 1)
        column = mz[rows, None] - matrix.first_mz + beside
        piece = counts[at[:, :, None], np.clip(column, 0, counts.shape[1] - 1)[:, None, :]]
        found[rows] = np.einsum("s,nsm->nm", (shape / (shape @ shape)).astype(np.float32), piece)
    return found
