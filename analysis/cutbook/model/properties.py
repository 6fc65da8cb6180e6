"""Properties of a liquid that follow from its boiling curve and density."""

from __future__ import annotations

from dataclasses import dataclass

from cutbook.model.result import Result


@dataclass(frozen=True, eq=False)
class Property:
    """One property.

    name : key in the results ("watson_k"). result : value or the reason why there is none.
    estimate : True unless it was measured. method : by which correlation, in short.
    """

    name: str
    result: Result
    estimate: bool
    method: str
