"""First-order uncertainties held against random draws."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutbook.model.lineage import Step

Departure = Literal["too narrow", "too wide"]
NORMAL = 1.959964
"""Half width of the 95 % interval of a standard normal distribution."""


@dataclass(frozen=True)
class HeldAgainstDraws:
    """One result, to first order and drawn.

    name : in results.json. unit : of all figures. value, u : to first order. mean, u_drawn : of the draws.
    low, high : 95 % coverage interval of the draws, probabilistically symmetric. off : the larger distance of its ends
    from those of the first-order interval, value ± 1.96 u. tolerance : what of it is allowed. agrees : whether it is.
    """

    name: str
    unit: str
    value: float
    u: float
    mean: float
    u_drawn: float
    low: float
    high: float
    off: float
    tolerance: float

    @property
    def agrees(self) -> bool:
        """Whether the first-order uncertainty is validated."""
        return self.off <= self.tolerance

    @property
    def departure(self) -> Departure:
        """ "too narrow" where the first-order interval leaves out what the draws reach at either end by more than the
        tolerance, else "too wide"."""
        reach = NORMAL * self.u
        beyond = max(self.value - reach - self.low, self.high - self.value - reach)
        return "too narrow" if beyond > self.tolerance else "too wide"


@dataclass(frozen=True)
class MonteCarlo:
    """draws, seed : as drawn. results : held against draws, in the order of results.json."""

    draws: int
    seed: int
    results: tuple[HeldAgainstDraws, ...]
    step: Step

    @property
    def disagreeing(self) -> tuple[HeldAgainstDraws, ...]:
        """Results whose first-order uncertainty is not validated."""
        return tuple(one for one in self.results if not one.agrees)
