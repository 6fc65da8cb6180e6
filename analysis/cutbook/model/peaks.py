"""Peaks as they were read from a trace."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from cutbook.model.lineage import Step

AreaRule = Literal["isolated", "perpendicular drop", "fitted", "as listed"]
LISTED_HALF_BASE_MIN = 0.05
"""Half the base of a peak of which a list gives the apex alone, in min: about three seconds, as on a capillary
column (common practice, no source)."""


@dataclass(frozen=True)
class Peak:
    """One chromatographic peak.

    start_min, apex_min, end_min : limits and apex in min, start < apex < end.
    area : above the following baseline, signal unit × min.
    u_area : standard uncertainty of the area from noise and overlap, same unit.
    height : at the apex above the baseline, signal unit.
    half_width_min : full width at half height in min.
    tailing : W0.05 / 2f (front half f at 5 % height); None where the 5 % width cannot be read.
    resolution : to the nearer neighbour, 1.18 (t2 - t1)/(w1 + w2) with half widths; None for a lone peak.
    signal_to_noise : 2 H / h with h the peak-to-peak noise over a quiet stretch (about 5 sd).
    area_rule : how the area was divided from its neighbours.
    flags : "saturated", "shoulder", "unresolved", "fronting", "tailing", "cut off", "solvent".
    retention_index : programmed-temperature index, None without a ladder.
    name : as a list of peaks calls it, "" otherwise.

    A peak that was taken from a list ("as listed") has None for what the list does not give.
    """

    start_min: float | None
    apex_min: float
    end_min: float | None
    area: float
    u_area: float
    height: float | None
    half_width_min: float | None
    tailing: float | None
    resolution: float | None
    signal_to_noise: float | None
    area_rule: AreaRule
    flags: tuple[str, ...] = ()
    retention_index: float | None = None
    name: str = ""

    @property
    def front_min(self) -> float:
        """Where the peak begins; for a listed peak without limits half a usual base before its apex."""
        return self.apex_min - LISTED_HALF_BASE_MIN if self.start_min is None else self.start_min

    @property
    def back_min(self) -> float:
        """Where the peak ends, likewise."""
        return self.apex_min + LISTED_HALF_BASE_MIN if self.end_min is None else self.end_min


@dataclass(frozen=True, eq=False)
class PeakTable:
    """The peaks of one trace in order of elution. signal_unit : of the trace they were read from."""

    peaks: tuple[Peak, ...]
    signal_unit: str
    step: Step

    def __iter__(self) -> Iterator[Peak]:
        return iter(self.peaks)

    def __len__(self) -> int:
        return len(self.peaks)
