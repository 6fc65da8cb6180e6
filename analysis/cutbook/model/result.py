"""What is claimed: a measurand with value, uncertainty, unit, basis, status and lineage."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutbook.model import amount as amounts
from cutbook.model.amount import Amount
from cutbook.model.lineage import Step

Status = Literal["measured", "below limit", "not determined"]


@dataclass(frozen=True, eq=False)
class Result:
    """One reported number, or the reason why there is none.

    measurand : in words ("yield of gasoline").
    amount : value with its uncertainty and correlations, in `unit`; None unless status is "measured".
    unit : as printed ("%", "g").
    basis : what a percentage refers to ("feed as charged", "oil"), "" otherwise.
    step : lineage.
    status : "measured", "below limit" (then `limit` says which) or "not determined".
    reason : code of the caution that says why there is no value.
    has_u : False where a value exists for which no uncertainty can be given.
    """

    measurand: str
    amount: Amount | float | None
    unit: str
    basis: str
    step: Step
    status: Status = "measured"
    limit: float | None = None
    reason: str = ""
    has_u: bool = True

    def __post_init__(self) -> None:
        if (self.amount is None) == (self.status == "measured"):
            raise ValueError(f"{self.measurand}: status {self.status!r} contradicts amount {self.amount!r}")

    @property
    def value(self) -> float | None:
        """The value alone, None when there is none."""
        return None if self.amount is None else amounts.nominal(self.amount)

    @property
    def u(self) -> float | None:
        """Standard uncertainty (k = 1) in `unit`; None when there is no value or none can be given."""
        if self.amount is None or not self.has_u:
            return None
        return amounts.standard_uncertainty(self.amount)

    @property
    def budget(self) -> tuple[tuple[str, float], ...]:
        """(input, contribution to u) pairs, largest first."""
        return () if self.amount is None or not self.has_u else amounts.budget(self.amount)

    @classmethod
    def missing(cls, measurand: str, unit: str, basis: str, step: Step, reason: str) -> Result:
        """A result that could not be determined; `reason` is the code of the caution that says why."""
        return cls(measurand, None, unit, basis, step, "not determined", None, reason)
