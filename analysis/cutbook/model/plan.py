"""A distillation that is planned: what is charged, how it is run, what it will give; and how a log departs from it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from cutbook.model.amount import Amount
from cutbook.model.cautions import Caution
from cutbook.model.chlorine_ledger import CutChlorine, WhereDistilled
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result

CutEnd = Literal["head", "pot limit", "dry", "not begun", ""]


@dataclass(frozen=True)
class PseudoComponent:
    """A narrow stretch of a boiling curve, or a compound, as one component of a charge.

    name : limits as printed ("152–158 °C"), or that of the compound. boiling_c : °C at 101.325 kPa.
    lower_c, upper_c : °C, the stretch. mass_share : of the charge, 0–1; 0 for a trace whose amount is not known.
    density_g_ml : at 15 °C. molar_mass : g/mol. compound : whether it is one.
    volatile : False for what does not boil below the end of the curve.
    """

    name: str
    boiling_c: float
    lower_c: float
    upper_c: float
    mass_share: float
    density_g_ml: float
    molar_mass: float
    compound: bool = False
    volatile: bool = True


@dataclass(frozen=True, eq=False)
class ChargeComposition:
    """What a charge is made of.

    components : by boiling point, the heavy end last, then compounds. watson_k : of all pseudo-components.
    density_known : whether the factor follows from a measured density; else it is assumed.
    light_share, heavy_share : of the charge, 0–1, boiling before the first and after the last point of the curve.
    whole : whether the curve speaks of the whole sample.
    """

    of: str
    components: tuple[PseudoComponent, ...]
    watson_k: float
    density_known: bool
    light_share: float
    heavy_share: float
    whole: bool
    step: Step


@dataclass(frozen=True)
class PlanPoint:
    """A moment of the planned distillation.

    distillate : % of the charge by mass. head_c, pot_c : °C. equivalent_c : of the head at 101.325 kPa.
    stage : number, from 1.
    """

    distillate: float
    head_c: float
    equivalent_c: float
    pot_c: float
    pressure_kpa: float
    receiver: str
    stage: int


@dataclass(frozen=True)
class PlanStage:
    """A stretch of the distillation at one pressure.

    number : from 1. pressure_kpa : absolute, at the head. first, last : % of the charge distilled at its two ends.
    head_first_c … pot_last_c : °C. receivers : filled during it.
    """

    number: int
    pressure_kpa: float
    first: float
    last: float
    head_first_c: float
    head_last_c: float
    pot_first_c: float
    pot_last_c: float
    receivers: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class PlannedCut:
    """What one receiver will hold, or the pot in the end.

    cut : name in the scheme; "residue" for what stays in the still. kept : whether it was asked for.
    share : % of the charge. mass : g. purity : % of it that boils within its limits.
    recovery : % of what boils within its limits that is in it. first, last : its two ends, None when it stays empty;
        the receiver is changed at `last`. ended_by : its upper limit, the pot limit, a pot run dry; "not begun"
        where one of the latter two came before, "" for the residue.
    """

    cut: str
    limits: str
    lower_c: float
    upper_c: float
    kept: bool
    share: Result
    mass: Result
    purity: Result
    recovery: Result
    first: PlanPoint | None
    last: PlanPoint | None
    ended_by: CutEnd

    @property
    def complete(self) -> bool:
        """Whether all that the head lets through is in it."""
        return self.ended_by in ("head", "dry", "") or (self.ended_by == "pot limit" and math.isinf(self.upper_c))


@dataclass(frozen=True, eq=False)
class CompoundFate:
    """Where a compound ends up.

    charged : % of the charge, None when not known. shares : (cut, % of the compound charged).
    contents : (cut, % of the cut), empty when the amount charged is not known. mainly_in : cut with the largest share.
    """

    name: str
    boiling_c: float
    charged: float | None
    shares: tuple[tuple[str, Result], ...]
    contents: tuple[tuple[str, Result], ...]
    mainly_in: str


@dataclass(frozen=True, eq=False)
class TraceWay:
    """Where a trace ends up of which only the boiling point is known.

    boiling_c : °C at 101.325 kPa. shares : (cut, % of it), in the order of the cuts of the plan.
    """

    boiling_c: float
    shares: tuple[tuple[str, Amount], ...]


@dataclass(frozen=True, eq=False)
class FractionationPlan:
    """A whole plan.

    of : product. scheme : whose limits are used. charge : g. cuts : in the order in which they come over, the residue
    last. ways : of the traces asked for. chlorine : of each cut, by the simulated still and by boiling point alone;
    empty where the product was not screened.
    """

    of: str
    scheme: str
    charge: Result
    composition: ChargeComposition
    plates: int
    reflux: float
    pot_limit_c: float
    hold_up: float
    stages: tuple[PlanStage, ...]
    points: tuple[PlanPoint, ...]
    cuts: tuple[PlannedCut, ...]
    compounds: tuple[CompoundFate, ...]
    step: Step
    ways: tuple[TraceWay, ...] = ()
    chlorine: tuple[WhereDistilled, ...] = ()

    def chlorine_of(self, cut: str) -> tuple[CutChlorine | None, CutChlorine | None]:
        """Chlorine of a cut by the simulated still and by boiling point alone, None where either does not tell."""
        found = {where.by: one for where in self.chlorine for one in where.cuts if one.cut == cut}
        return found.get("simulated still"), found.get("boiling point")

    def own_cautions(self) -> tuple[Caution, ...]:
        """Of the plan and of what chlorine does in it, without those of the data behind it."""
        still = [where.step for where in self.chlorine if where.by == "simulated still"]
        return tuple(dict.fromkeys(one for step in (self.step, *still) for one in step.cautions))


@dataclass(frozen=True)
class PlannedShare:
    """What a plan on paper says of a cut: % of the charge and its standard uncertainty."""

    cut: str
    share: float
    u: float


@dataclass(frozen=True)
class PlanOnPaper:
    """As much of a plan as a log is held against. source : where it was read, None when it was not."""

    source: Source | None
    of: str
    scheme: str
    points: tuple[PlanPoint, ...]
    shares: tuple[PlannedShare, ...]


@dataclass(frozen=True)
class HeadDifference:
    """Head temperature of a log less that of the plan, °C at 101.325 kPa, where so many % have come over."""

    place: str
    recovered: float
    planned_c: float
    found_c: float
    difference_c: float


@dataclass(frozen=True, eq=False)
class ShareDifference:
    """A cut as planned and as found, % of the charge; `difference` is found less planned."""

    cut: str
    planned: float
    found: Result
    difference: Result


@dataclass(frozen=True, eq=False)
class PlanComparison:
    """How a distillation departed from its plan. cautions on the step."""

    name: str
    heads: tuple[HeadDifference, ...]
    cuts: tuple[ShareDifference, ...]
    step: Step
