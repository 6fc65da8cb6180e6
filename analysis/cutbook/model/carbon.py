"""How the mass of a sample is spread over carbon numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.trace import Floats, frozen_array

Convention = Literal["after", "midpoint"]
Part = Literal["carbon number", "did not elute", "beyond the ladder"]


@dataclass(frozen=True, eq=False)
class CarbonShare:
    """The share of one carbon number.

    n : carbon number; None for what did not elute and for what eluted beyond the ladder.
    part : which of the three it is. lighter_too : True for the first bin, which also holds what
        eluted before the first rung of the ladder.
    mass : % of the sample (residue and what lies beyond the ladder included), response basis as selected.
    mass_other_response : the same with the other response basis (for comparison), value in %, or None.
    hidden : True where the solvent was left out of this bin.
    """

    n: int | None
    part: Part
    mass: Result
    mass_other_response: float | None = None
    lighter_too: bool = False
    hidden: bool = False


@dataclass(frozen=True, eq=False)
class CarbonDistribution:
    """A sample by carbon number.

    convention : "after" (all that elutes after n-C(k-1) up to and including n-Ck is k) or "midpoint".
    response : "equal mass response" or "effective carbon number".
    shares : ascending carbon numbers, then what did not elute, then what lies beyond the ladder.
    edges_min : bin edges in min, one more than there are carbon numbers.
    residue_known : whether an internal standard told how much eluted; if not, shares are of the
        eluted part only.
    hump : % of the sample's signal that lies in the unresolved hump. baseline_share : % of the raw
        signal, both above the level at the start of the run, that was taken off as bleed.
    """

    of: str
    convention: Convention
    response: str
    shares: tuple[CarbonShare, ...]
    edges_min: Floats
    residue_known: bool
    hump: Result
    baseline_share: Result
    step: Step

    def __post_init__(self) -> None:
        object.__setattr__(self, "edges_min", frozen_array(self.edges_min))

    def numbered(self) -> tuple[CarbonShare, ...]:
        """The shares that have a carbon number."""
        return tuple(share for share in self.shares if share.n is not None)
