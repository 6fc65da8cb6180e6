"""What chlorinated compounds add up to in an oil, and where the chlorine of a run went."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from cutbook.model.cautions import Caution
from cutbook.model.chlorine import Verdict
from cutbook.model.lineage import Step
from cutbook.model.result import Result

ChlorineMethod: TypeAlias = Literal[
    "combustion ion chromatography", "combustion microcoulometry", "x-ray fluorescence", "washed naphtha", "other", ""
]
CountedAs: TypeAlias = Literal["lower", "best", "upper", "not counted"]
BulkVerdict: TypeAlias = Literal[
    "below the lower bound", "between the bounds", "above the lower bound", "above the upper bound", "not compared"
]
PlacedBy: TypeAlias = Literal["boiling point", "simulated still"]
Definition: TypeAlias = Literal["caught", "solid", "oil"]


@dataclass(frozen=True, eq=False)
class ChlorinePart:
    """What one compound, or one cluster that is no target's, contributes.

    verdict : "unknown" for a cluster. chlorine : mg/kg of the oil, at the limit for what was not found; missing where
    nobody knows. counted : from which of the three sums on it is in; "not counted" for what is counted under
    another name, `instead`, and for what has no figure. retention_index : of a cluster.
    """

    name: str
    verdict: Verdict | Literal["unknown"]
    chlorine: Result
    counted: CountedAs
    instead: str = ""
    retention_index: float | None = None


@dataclass(frozen=True, eq=False)
class BulkChlorine:
    """Chlorine of the whole oil by a method of a laboratory.

    value : mg/kg. method : as entered. difference : value less the best sum, mg/kg, missing without one. verdict : how
    it lies to the bounds, both uncertainties allowed for, "above the lower bound" where there is no upper one; "not
    compared" where the method speaks of something else.
    """

    value: Result
    method: ChlorineMethod
    difference: Result
    verdict: BulkVerdict


@dataclass(frozen=True, eq=False)
class OrganicChlorine:
    """Organic chlorine of one product by its compounds, mg/kg.

    lower : confirmed alone. best : with what was indicated and with unknown clusters. upper : with the limits of all
    that was looked for and not found; missing where one has no limit. bulk : None where nobody entered one.
    """

    of: str
    lower: Result
    best: Result
    upper: Result
    parts: tuple[ChlorinePart, ...]
    bulk: BulkChlorine | None
    step: Step

    def all_cautions(self) -> tuple[Caution, ...]:
        """Of the sums and of the comparison with a laboratory, each once."""
        steps = [self.step]
        if self.bulk is not None:
            steps += [self.bulk.value.step, self.bulk.difference.step]
        return tuple(dict.fromkeys(one for step in steps for one in step.all_cautions()))


@dataclass(frozen=True, eq=False)
class CutChlorine:
    """Chlorine of one cut, mg/kg of the cut.

    lower, best, upper : as of `OrganicChlorine`. compounds : names placed in it that were found, by weight of chlorine.
    """

    cut: str
    limits: str
    lower: Result
    best: Result
    upper: Result
    compounds: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class CompoundWay:
    """Which receivers a chlorinated compound goes to.

    boiling_c : °C at 101.325 kPa, as it was placed by. chlorine : that it brings, mg/kg of the oil. shares : (cut, % of
    the compound), all cuts in their order. mainly_in : cut with the largest share.
    """

    name: str
    verdict: Verdict | Literal["unknown"]
    boiling_c: float
    chlorine: Result
    shares: tuple[tuple[str, Result], ...]
    mainly_in: str


@dataclass(frozen=True, eq=False)
class WhereDistilled:
    """Where the chlorinated compounds go on distillation.

    scheme : of the cuts. unplaced : found compounds whose boiling point is not known, with unknown clusters.
    by : boiling point alone, as of a perfect column, or the simulated still. ways : of the compounds found, by boiling
    point; of the simulated still alone.
    """

    of: str
    scheme: str
    cuts: tuple[CutChlorine, ...]
    unplaced: tuple[str, ...]
    step: Step
    by: PlacedBy = "boiling point"
    ways: tuple[CompoundWay, ...] = ()


@dataclass(frozen=True, eq=False)
class Dechlorination:
    """One efficiency, in %, with its definition: "caught", hydrogen chloride caught on chlorine fed; "solid", what the
    solid lost of the chlorine fed; "oil", how far the oil lies below a reference oil."""

    definition: Definition
    value: Result


@dataclass(frozen=True, eq=False)
class ChlorineBalance:
    """Where the chlorine of a run went, in g.

    scrubber, oil, wax, water, char : None without one. second_bottle : the last of several bottles, counted in
    `scrubber`. oil_from : how the chlorine of the oil is known. oil_low, oil_high : its bounds where it was summed from
    compounds. walls : as entered. others : further products of which it is known and not nothing. unaccounted : what
    was fed and was found nowhere. residual : chlorine of the solid against that of the feed, by mass fraction.
    sorbent : % of it that the chlorine fed can use up.
    """

    fed: Result
    scrubber: Result | None
    oil: Result | None
    char: Result | None
    unaccounted: Result
    step: Step
    second_bottle: Result | None = None
    wax: Result | None = None
    water: Result | None = None
    walls: Result | None = None
    others: tuple[tuple[str, Result], ...] = ()
    oil_from: str = ""
    oil_low: Result | None = None
    oil_high: Result | None = None
    efficiencies: tuple[Dechlorination, ...] = ()
    residual: Result | None = None
    sorbent: Result | None = None
