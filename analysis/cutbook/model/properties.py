"""Properties of a liquid that follow from its boiling curve and density."""

from __future__ import annotations

from dataclasses import dataclass

from cutbook.model.amount import Amount
from cutbook.model.lineage import Step
from cutbook.model.result import Result


@dataclass(frozen=True, eq=False)
class Property:
    """One property.

    name : key in the results ("watson_k"). result : value or the reason why there is none.
    estimate : True unless it was measured. method : by which correlation, in short, and whether the density that went
        in was an estimate itself.
    """

    name: str
    result: Result
    estimate: bool
    method: str


@dataclass(frozen=True, eq=False)
class CutProperties:
    """The properties of one cut of a sample, by the names of the sample's own. scheme, cut, limits : as of the cut."""

    scheme: str
    cut: str
    limits: str
    properties: tuple[Property, ...]

    @property
    def known(self) -> bool:
        """Whether there is any property of this cut."""
        return any(one.result.value is not None for one in self.properties)


@dataclass(frozen=True, eq=False)
class WatsonFactor:
    """A Watson characterisation factor from which a density is estimated.

    amount : with its doubt. origin : where it is from, as printed ("assumed for oil of PE and PP").
    """

    amount: Amount
    origin: str
    step: Step
