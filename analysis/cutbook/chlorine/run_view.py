"""A run of scans ready to be screened: ions by mass, their noise, the form of their peaks."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from cutbook.chromatogram.centroids import CentroidSettings, centroided
from cutbook.chromatogram.ion_matrix import IonMatrix, IonMatrixSettings, ion_matrix
from cutbook.chromatogram.ion_noise import IonNoise, IonNoiseSettings, estimate_ion_noise
from cutbook.chromatogram.ion_peak_form import PeakForm, PeakFormSettings, learn_peak_form
from cutbook.chromatogram.mass_offset import MassOffsetSettings, mass_offset
from cutbook.chromatogram.saturation import SaturationSettings, find_saturation
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.scans import ScanSeries
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class ViewSettings:
    """The parts of making scans ready, each described beside the function that obeys it."""

    centroids: CentroidSettings = CentroidSettings()
    mass_offset: MassOffsetSettings = MassOffsetSettings()
    matrix: IonMatrixSettings = IonMatrixSettings()
    noise: IonNoiseSettings = IonNoiseSettings()
    saturation: SaturationSettings = SaturationSettings()
    form: PeakFormSettings = PeakFormSettings()


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
    step: Step = field(default=Step("scans as stated/1"))

    @cached_property
    def interval_min(self) -> float:
        """From one scan to the next."""
        return float(np.median(np.diff(self.matrix.time_min)))

    @cached_property
    def background(self) -> Floats:
        """Height of each mass in the quietest fifth of the run, shape (m,)."""
        some = self.matrix.counts[:: max(len(self.matrix.counts) // 600, 1)]
        return np.asarray(np.quantile(some, 0.2, axis=0), dtype=float)

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


def view_scans(scans: ScanSeries, settings: ViewSettings = ViewSettings(), like: PeakForm | None = None) -> RunView:
    """A series of scans made ready.

    Parameters
    ----------
    scans : as read; profiles are made centroids. settings : of each part.
    like : form of the peaks of a run under the same method, for one that has too few of its own.

    Returns
    -------
    RunView
        `step` holds how it was made, with every caution that arose on the way.
    """
    centroids = centroided(scans, settings.centroids)
    offset = mass_offset(centroids, settings.mass_offset)
    matrix = ion_matrix(centroids, offset.offset or 0.0, settings.matrix)
    noise = estimate_ion_noise(matrix, settings.noise)
    masses = np.arange(matrix.first_mz, matrix.last_mz + 1)
    cut_off = find_saturation(matrix.counts, masses, scans.file, (matrix.step,), settings.saturation)
    form = learn_peak_form(matrix, noise, settings.form, like)
    doubts: tuple[Caution, ...] = ()
    if form.file not in ("", matrix.file):
        doubts = (caution("scans.form_borrowed", scans.file, of=form.file),)
    elif form.peaks < settings.form.fewest:
        doubts = (caution("scans.form_assumed", scans.file, peaks=form.peaks),)
    elif form.times < settings.form.fewest_times:
        doubts = (caution("scans.form_without_slope", scans.file, times=form.times),)
    step = Step(
        "make scans ready/2", inputs=(offset.step, noise.step, cut_off.step),
        settings={"tail": round(form.tail, 3), "peaks": form.peaks, "form of": form.file, "settings": settings.form},
        cautions=doubts,
    )  # fmt: skip
    ceiling = cut_off.mask if cut_off.mask.any() else None
    return RunView(matrix, noise, form, noise.threshold, ceiling, step)
