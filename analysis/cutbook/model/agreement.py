"""A distillation held against the simulated curve of the same oil: differences, balance of the ends, reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.still import Axis, StillKind

Verdict = Literal["agree", "differ", "not comparable"]
OddOne = Literal["still", "trace", ""]


@dataclass(frozen=True, eq=False)
class OverlayPoint:
    """Both curves at one recovered %, °C at 101.325 kPa; `trace` as it would read in the still's own kind."""

    recovered: float
    still: Result
    trace: Result
    difference: Result


@dataclass(frozen=True, eq=False)
class EndBalance:
    """How much lies beyond one temperature by either, % of the charge.

    temperature_c : of the still's kind. still, trace : % that boils below it (light end) or above it (heavy end).
    difference : still less trace.
    """

    temperature_c: float | None
    still: Result
    trace: Result
    difference: Result


@dataclass(frozen=True)
class Evidence:
    """One thing that speaks for or against a reason: key of its words in `reports/agreement.toml`, and its figures."""

    code: str
    facts: Mapping[str, float | int | str] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Suspect:
    """One reason that was tried.

    code : key in `reports/agreement.toml` ("ladder"). size : how much of it explains the differences best, in `unit`
    (a ladder numbered one too low: −1 carbon). gain : by how much the weighted squares of the differences fall when
    it is assumed, less what assuming it costs; below 0 it explains nothing. odd_one : which of the two is wrong then.
    evidence : what speaks for it, besides the fit.
    """

    code: str
    size: float
    unit: str
    gain: float
    odd_one: OddOne
    evidence: tuple[Evidence, ...]


@dataclass(frozen=True, eq=False)
class Agreement:
    """How far the still and the trace agree.

    name : of the distillation. of : the sample. axis : what recovered % are counted in.
    conversion : key of its label in `reports/agreement.toml`. beyond : places where the curve leaves what the
        conversion was fitted on.
    median, worst : of the differences between 20 and 80 %, °C, still less trace.
    chi_square, degrees : weighted squares of all differences if nothing is wrong, and how many they are.
    culprit : key of the reason, "" where none is named. suspects : all reasons that explain the differences about
        equally well, best first; more than one where they cannot be told apart.
    """

    name: str
    of: str
    kind: StillKind
    axis: Axis
    conversion: str
    beyond: tuple[str, ...]
    points: tuple[OverlayPoint, ...]
    median: Result
    worst: Result
    light_end: EndBalance
    heavy_end: EndBalance
    verdict: Verdict
    culprit: str
    suspects: tuple[Suspect, ...]
    chi_square: float | None
    degrees: int
    step: Step

    @property
    def evidence(self) -> tuple[Evidence, ...]:
        """What speaks for the reason that is named, besides the fit."""
        return self.suspects[0].evidence if self.suspects else ()
