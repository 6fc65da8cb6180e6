"""The spectrum of what elutes at a lead: height and shift of the apex of every mass."""

from __future__ import annotations

from dataclasses import dataclass

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

    def at(self, mz: int) -> tuple[float, float]:
        """Height of a mass and its standard deviation; 0 and infinity outside the range that was scanned."""
        place = mz - self.first_mz
        if not 0 <= place < len(self.height):
            return 0.0, np.inf
        return float(self.height[place]), float(self.sd[place])

    def apart(self, mz: int, lead: int) -> float:
        """How far a mass has its apex from that of a lead, in standard deviations; 0 outside the range.

        One scan reads its masses one after another, so that apexes may stand apart by as much of a scan as their masses
        do of the range; that much is allowed.
        """
        place, other = mz - self.first_mz, lead - self.first_mz
        count = len(self.height)
        if not (0 <= place < count and 0 <= other < count) or self.height[other] <= 0:
            return 0.0
        share = float(self.height[place] / self.height[other])
        off = float(self.slope[place] - share * self.slope[other])
        allowed = abs(float(self.height[place])) * (abs(place - other) / count + 0.02 * self.width)
        sd = np.hypot(self.slope_sd[place], share * self.slope_sd[other])
        return float(off / np.hypot(sd, allowed))

    def together(self, lead: int, clear: float = 4.0, apart: float = 2.5) -> NDArray[np.intp]:
        """Masses that rise and fall with a lead and stand clear of the noise."""
        masses = np.flatnonzero(self.height > clear * self.sd) + self.first_mz
        return np.array([mz for mz in masses.tolist() if abs(self.apart(mz, lead)) < apart], np.intp)


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
    capped = (
        (piece >= noise.ceiling * (1 - 1e-6)).any(axis=0) if noise.ceiling is not None else np.zeros(len(height), bool)
    )
    return ClusterSpectrum(
        scan, height, np.sqrt(weights.height**2 @ spread), weights.slope @ piece, np.sqrt(weights.slope**2 @ spread),
        width, matrix.first_mz, capped,
    )  # fmt: skip
