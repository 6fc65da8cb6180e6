"""A detector signal against time, and the curves that are read from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from cutbook.model.lineage import Step

Floats: TypeAlias = NDArray[np.float64]


def frozen_array(values: object) -> Floats:
    """A read-only float64 copy; records hold nothing that can change behind their back."""
    array = np.array(values, dtype=np.float64, copy=True)
    array.setflags(write=False)
    return array


@dataclass(frozen=True, eq=False)
class StoredPeak:
    """A peak that the file itself brings along: apex, limits in min, area in signal unit × min or None."""

    name: str
    apex_min: float | None
    start_min: float | None
    end_min: float | None
    area: float | None
    start_baseline: float | None = None
    end_baseline: float | None = None


@dataclass(frozen=True, eq=False)
class Trace:
    """One detector signal.

    file : path relative to the run folder.
    time_min : retention times in min, strictly rising, shape (n,).
    signal : detector signal in `signal_unit`, finite, shape (n,).
    signal_unit : as in the file ("pA", "mV", "counts"; "" when it does not say).
    detector : "FID", "TCD", "MS" or "" when not known.
    stored_peaks : the file's own peak table, where it has one; never used in place of ours.
    """

    file: str
    time_min: Floats
    signal: Floats
    signal_unit: str
    detector: str
    step: Step
    stored_peaks: tuple[StoredPeak, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "time_min", frozen_array(self.time_min))
        object.__setattr__(self, "signal", frozen_array(self.signal))
        if self.time_min.ndim != 1 or self.time_min.shape != self.signal.shape or len(self.time_min) < 2:
            raise ValueError("time and signal must be one-dimensional, of equal length, with two points at least")
        if not (np.isfinite(self.time_min).all() and np.isfinite(self.signal).all()):
            raise ValueError("time and signal must be finite")
        if not (np.diff(self.time_min) > 0).all():
            raise ValueError("times must rise strictly")

    @property
    def interval_min(self) -> float:
        """Median sampling interval in min."""
        return float(np.median(np.diff(self.time_min)))


@dataclass(frozen=True, eq=False)
class Doubt:
    """How far a curve may be off for one reason: `profile` is the change of the signal, at every
    point, for one standard uncertainty of the cause `tag` (fully correlated along the trace)."""

    tag: str
    profile: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "profile", frozen_array(self.profile))


@dataclass(frozen=True, eq=False)
class ListedPeaks:
    """A list of peaks that somebody else integrated, in place of a trace.

    file : path relative to the run folder. peaks : by rising apex, each with apex and area.
    area_unit : as in the file, "" when it does not say. detector : as for a trace.
    """

    file: str
    peaks: tuple[StoredPeak, ...]
    area_unit: str
    detector: str
    step: Step


BaselineKind = Literal["following", "blank", "bleed model", "straight"]


@dataclass(frozen=True, eq=False)
class Baseline:
    """What the detector shows without sample, at every point of a trace.

    kind : "following" runs under the peaks and takes the unresolved hump with it (peak areas);
        "blank", "bleed model" and "straight" leave the hump in (totals, carbon numbers).
    values : in the trace's signal unit, shape (n,).
    doubts : causes by which `values` may be off, each with its profile.
    noise_sd : point-to-point noise of the curve itself (a subtracted blank adds its own), signal unit.
    """

    kind: BaselineKind
    values: Floats
    step: Step
    doubts: tuple[Doubt, ...] = ()
    noise_sd: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", frozen_array(self.values))
