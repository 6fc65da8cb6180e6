"""Lay the ions of a scan series into a dense matrix, one row a scan, one column a nominal mass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.model.cautions import caution
from cutbook.model.lineage import Step
from cutbook.model.scans import ScanSeries
from cutbook.model.trace import Floats

_STRIP = 512  # scans binned at a time, so that no copy of all ions is ever made


@dataclass(frozen=True)
class IonMatrixSettings:
    """How ions are given a nominal mass.

    lower_edge : a nominal mass m takes ions from m - lower_edge to m + 1 - lower_edge. 0.3 because the mass of a
        hydrocarbon ion exceeds its nominal mass by up to 0.6 at m/z 550 and that of a chlorinated one falls short of it
        by up to 0.2; rounding at 0.5 misplaces one heavy alkane ion in twenty.
    largest_mz : nominal mass above which ions are left out; 700 because no column lets heavier molecules through that
        this screen asks for.
    """

    lower_edge: float = 0.3
    largest_mz: int = 700


@dataclass(frozen=True, eq=False)
class IonMatrix:
    """The ions of a run by scan and nominal mass.

    time_min : of the scans, shape (n,). first_mz : nominal mass of the first column.
    counts : heights, float32, shape (n, m); 0 where nothing was recorded; read-only.
    """

    file: str
    time_min: Floats
    first_mz: int
    counts: NDArray[np.float32]
    step: Step

    @property
    def last_mz(self) -> int:
        """Nominal mass of the last column."""
        return self.first_mz + int(self.counts.shape[1]) - 1

    def trace(self, mz: int) -> NDArray[np.float32]:
        """The trace of one nominal mass, zeros outside the range that was scanned; shape (n,)."""
        if not self.first_mz <= mz <= self.last_mz:
            return np.zeros(len(self.time_min), np.float32)
        return self.counts[:, mz - self.first_mz]

    def traces(self, mz: Sequence[int]) -> Floats:
        """The traces of several nominal masses as doubles, shape (n, k)."""
        return np.stack([self.trace(one) for one in mz], axis=1).astype(float)


def nominal_masses(
    mz: NDArray[np.floating], offset: float = 0.0, settings: IonMatrixSettings = IonMatrixSettings()
) -> NDArray[np.int64]:
    """Nominal mass of each ion.

    Parameters
    ----------
    mz : of the ions. offset : by which the instrument reads too high, in u. settings : where a nominal mass begins.
    """
    return np.floor(mz + mz.dtype.type(settings.lower_edge - offset)).astype(np.int64)


def ion_matrix(scans: ScanSeries, offset: float = 0.0, settings: IonMatrixSettings = IonMatrixSettings()) -> IonMatrix:
    """Bin the ions of each scan by nominal mass.

    Parameters
    ----------
    scans : centroids. offset : by which the instrument reads too high, in u; taken off before binning.
    settings : where a nominal mass begins.

    Returns
    -------
    IonMatrix
        Columns from the lightest to the heaviest ion met; ions that share a column are added up, heights below
        0 count as 0, and what is heavier than `largest_mz` is left out with the caution "scans.heavy_left_out".

    Notes
    -----
    Nominal mass is floor(m/z - offset + lower_edge). Of all CxHy, CxHyClz and siloxane ions up to m/z 550 none is
    misplaced while the calibration is within 0.05 u. Besides the ions and the matrix itself the work needs the memory
    of `_STRIP` scans.
    """
    mz, starts = scans.mz, scans.starts
    if not len(mz):
        first, last = 1, 1
    else:
        lightest, heaviest = nominal_masses(np.array([mz.min(), mz.max()]), offset, settings).tolist()
        last = min(max(lightest, heaviest, 0), settings.largest_mz)
        first = min(max(lightest, 0), last)
    width = last - first + 1
    counts = np.zeros((len(scans), width), np.float32)
    left_out = 0
    for top in range(0, len(scans), _STRIP):
        rows = min(_STRIP, len(scans) - top)
        begin, end = starts[top], starts[top + rows]
        column = nominal_masses(mz[begin:end], offset, settings) - first
        row = np.repeat(np.arange(rows), np.diff(starts[top : top + rows + 1]))
        weight = scans.intensity[begin:end]
        inside = (column >= 0) & (column < width)
        if not inside.all():
            left_out += int((~inside).sum())
            column, row, weight = column[inside], row[inside], weight[inside]
        counts[top : top + rows] = np.bincount(row * width + column, weights=weight, minlength=rows * width).reshape(
            rows, width
        )
    np.maximum(counts, 0.0, out=counts)
    counts.setflags(write=False)
    step = Step(
        "lay ions by nominal mass/1",
        inputs=(scans.step,),
        settings={
            "lower edge": settings.lower_edge, "offset": offset, "masses": f"{first} to {last}",
            "ions left out": left_out,
        },
        cautions=(caution("scans.heavy_left_out", scans.file, count=left_out, above=last),) if left_out else (),
    )  # fmt: skip
    return IonMatrix(scans.file, scans.time_min, first, counts, step)
