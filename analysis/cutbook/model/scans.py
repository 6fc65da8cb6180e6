"""Mass spectra recorded one after another, as flat arrays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from cutbook.model.lineage import Step
from cutbook.model.trace import Floats, frozen_array

Ions: TypeAlias = NDArray[np.floating[Any]]
ScanKind = Literal["centroid", "profile", ""]


@dataclass(frozen=True, eq=False)
class ScanSeries:
    """The scans of one run.

    file : path relative to the run folder.
    time_min : when each scan was taken, in min, strictly rising, shape (n,).
    starts : where the ions of each scan begin in `mz`, and after the last where they end; shape (n + 1,).
    mz, intensity : of all scans one after another, shape (m,), m/z rising within each scan; read-only views in the
        precision of the file (32 or 64 bits), so that a series costs no more memory than its numbers.
    total : total ion current of each scan, as the file states it, else the sum of its intensities; shape (n,).
    kind : "centroid", "profile", or "" where the file does not say.
    """

    file: str
    time_min: Floats
    starts: NDArray[np.int64]
    mz: Ions
    intensity: Ions
    total: Floats
    kind: ScanKind
    step: Step

    def __post_init__(self) -> None:
        object.__setattr__(self, "time_min", frozen_array(self.time_min))
        object.__setattr__(self, "total", frozen_array(self.total))
        starts = np.array(self.starts, dtype=np.int64)
        starts.setflags(write=False)
        object.__setattr__(self, "starts", starts)
        for name in ("mz", "intensity"):
            view = np.asarray(getattr(self, name)).view()
            view.setflags(write=False)
            object.__setattr__(self, name, view)
        count = len(self.time_min)
        if starts.shape != (count + 1,) or self.total.shape != (count,) or self.mz.shape != self.intensity.shape:
            raise ValueError("times, totals and starts must belong to the same scans")
        if count < 1 or starts[0] != 0 or starts[-1] != len(self.mz) or (np.diff(starts) < 0).any():
            raise ValueError("starts must rise from 0 to the number of ions")
        if not (np.isfinite(self.time_min).all() and (np.diff(self.time_min) > 0).all()):
            raise ValueError("times must be finite and rise strictly")

    def __len__(self) -> int:
        return len(self.time_min)

    def scan(self, number: int) -> tuple[Ions, Ions]:
        """m/z and intensity of one scan, counted from 0."""
        first, end = self.starts[number], self.starts[number + 1]
        return self.mz[first:end], self.intensity[first:end]


@dataclass(frozen=True, eq=False)
class Spectrum:
    """One mass spectrum.

    time_min : when it was taken, None where nobody says. mz, intensity : of its ions, shape (m,), read-only.
    formula : of the compound as the file states it, "" where it does not. format : of the file, "" where it was none.
    """

    time_min: float | None
    mz: Floats
    intensity: Floats
    formula: str = ""
    format: str = ""

    def __post_init__(self) -> None:
        for name in ("mz", "intensity"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
