"""The spectrum of what elutes at a lead: height and shift of the apex of every mass."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.peak_filter import peak_filter
from cutbook.chlorine.peak_heights import BLOCK
from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise
from cutbook.model.trace import Floats


@dataclass(frozen=True, eq=False)
class ClusterSpectrum:
    """By mass of the matrix, shape (m,).

    scan : of the lead. height, sd : of a peak there. slope, slope_sd : height × shift of the apex in scans.
    width : of a peak, in scans. first_mz : of the first mass. capped : whether the detector was at its limit there.
    """

    scan: int
    height: Floats
    sd: Floats
    slope: Floats
    slope_sd: Floats
    width: float
    first_mz: int
    capped: NDArray[np.bool_]
    _seen: dict[int, Floats] = field(default_factory=dict, repr=False)

    def at(self, mz: int) -> tuple[float, float]:
        """Height of a mass and its standard deviation; 0 and infinity outside the range that was scanned."""
        place = mz - self.first_mz
        if not 0 <= place < len(self.height):
            return 0.0, np.inf
        return float(self.height[place]), float(self.sd[place])

    def apart(self, mz: int, lead: int) -> float:
        """How far a mass has its apex from that of a lead, in standard deviations; 0 outside the range."""
        place = mz - self.first_mz
        return float(self._aparts(lead)[place]) if 0 <= place < len(self.height) else 0.0

    def _aparts(self, lead: int) -> Floats:
        """The same of all masses.

        One scan reads its masses one after another, so that apexes may stand apart by as much of a scan as their masses
        do of the range; that much is allowed. A peak that is cut off has no apex.
        """
        if lead not in self._seen:
            other = lead - self.first_mz
            share = self.height / max(float(self.height[other]), 1e-30)
            off = self.slope - share * self.slope[other]
            distance = np.abs(np.arange(len(self.height)) - other) / len(self.height)
            allowed = np.abs(self.height) * (distance + 0.02 * self.width)
            sd = np.hypot(self.slope_sd, share * self.slope_sd[other])
            apart = off / np.maximum(np.hypot(sd, allowed), 1e-30)
            self._seen[lead] = np.where(self.capped | self.capped[other], 0.0, apart)
        return self._seen[lead]

    def together(self, lead: int, clear: float = 4.0, apart: float = 2.5) -> NDArray[np.intp]:
        """Masses that rise and fall with a lead and stand clear of the noise."""
        there = (self.height > clear * self.sd) & (np.abs(self._aparts(lead)) < apart)
        return np.flatnonzero(there) + self.first_mz


def cluster_spectrum(
    matrix: IonMatrix, noise: IonNoise, scan: int, width: float, level: NDArray[np.float32]
) -> ClusterSpectrum:
    """Read all masses at one scan.

    Parameters
    ----------
    matrix, noise : of the run. scan : of the lead. width : of a peak, in scans.
    level : what lies level, by block of scans and mass.
    """
    weights = peak_filter(width)
    rows = np.clip(np.arange(scan - weights.half, scan + weights.half + 1), 0, len(matrix.counts) - 1)
    piece = matrix.counts[rows].astype(float)
    spread = noise.variance(piece)
    height = weights.height @ piece - level[scan // BLOCK]
    ceiling = np.inf if noise.ceiling is None else noise.ceiling * (1 - 1e-6)
    capped = np.any(piece >= ceiling, axis=0)
    return ClusterSpectrum(
        scan, height, np.sqrt(weights.height**2 @ spread), weights.slope @ piece, np.sqrt(weights.slope**2 @ spread),
        width, matrix.first_mz, np.asarray(capped, dtype=np.bool_),
    )  # fmt: skip
