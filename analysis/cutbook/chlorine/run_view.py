"""A run of scans ready to be screened: ions by mass, their noise, the form of their peaks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise
from cutbook.chromatogram.ion_peak_form import PeakForm
from cutbook.model.trace import Floats


@dataclass(frozen=True, eq=False)
class RunView:
    """What the screen looks at.

    matrix : ions by nominal mass. noise : of each mass. form : of the peaks.
    threshold : height below which the instrument records nothing, 0 when it records everything.
    ceiling : masses and scans at the detector's ceiling, same shape as the matrix, None when there are none.
    """

    matrix: IonMatrix
    noise: IonNoise
    form: PeakForm
    threshold: float
    ceiling: NDArray[np.bool_] | None = None

    @property
    def interval_min(self) -> float:
        """From one scan to the next."""
        return float(np.median(np.diff(self.matrix.time_min)))

    def width_scans(self, time_min: float) -> float:
        """Full width at half height of a peak in scans."""
        return float(self.form.width.half_width(time_min)) / self.interval_min

    def scan_at(self, time_min: float) -> int:
        """The scan nearest to a time."""
        times: Floats = self.matrix.time_min
        at = int(np.clip(np.searchsorted(times, time_min), 1, len(times) - 1))
        return at if times[at] - time_min < time_min - times[at - 1] else at - 1

    def columns(self, mz: NDArray[np.int64]) -> NDArray[np.int64]:
        """Columns of nominal masses inside the range scanned."""
        return mz - self.matrix.first_mz


def recording_threshold(matrix: IonMatrix) -> float:
    """Height below which nothing was recorded: the smallest there is, where zeros are common.

    Parameters
    ----------
    matrix : of the run. An instrument that records every height leaves few zeros among small values, or values down
        to nothing.
    """
    counts = matrix.counts
    filled = counts[counts > 0]
    if not len(filled) or len(filled) > 0.98 * counts.size:
        return 0.0
    return float(np.quantile(filled, 0.001))
