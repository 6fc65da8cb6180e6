"""The n-alkane ladder: which retention time belongs to which carbon number, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutbook.model.lineage import Step
from cutbook.model.peaks import Peak
from cutbook.model.trace import Floats, frozen_array


@dataclass(frozen=True)
class Sign:
    """Independent evidence for the numbering of a ladder.

    name : "declared carbons", "doubled peaks", "spacing trend", "gap pattern", "known peak".
    verdict : what it says about the numbering chosen. seen : in words, with figures.
    """

    name: str
    verdict: Literal["agrees", "contradicts", "cannot tell"]
    seen: str


@dataclass(frozen=True)
class Rung:
    """One n-alkane of the ladder: its carbon number and its peak."""

    carbon: int
    peak: Peak


@dataclass(frozen=True, eq=False)
class Ladder:
    """A numbered ladder.

    file : the trace it was read from. rungs : ascending in carbon number and time.
    signs : the evidence. u_time_min : standard uncertainty of a retention time transferred to a sample.
    boiling_c : boiling point of each rung in °C, shape (k,), from the table named in `boiling_table`.
    """

    file: str
    rungs: tuple[Rung, ...]
    signs: tuple[Sign, ...]
    u_time_min: float
    boiling_c: Floats
    boiling_table: str
    step: Step

    def __post_init__(self) -> None:
        object.__setattr__(self, "boiling_c", frozen_array(self.boiling_c))

    @property
    def carbons(self) -> tuple[int, ...]:
        """Carbon numbers, ascending."""
        return tuple(rung.carbon for rung in self.rungs)

    @property
    def times_min(self) -> Floats:
        """Apex times in min, ascending, shape (k,)."""
        return frozen_array([rung.peak.apex_min for rung in self.rungs])


@dataclass(frozen=True)
class Check:
    """One line of the system check: what, its value, the limits, whether it passed (None: not tested)."""

    name: str
    value: float | None
    unit: str
    low: float | None
    high: float | None
    passed: bool | None
    remark: str = ""
