"""A doubt or a danger that travels with the number it concerns.

The words, the level (danger, warning, note) and the explanation of each code stand in
`reports/cautions.toml`; here is only which one applies, to what, with which figures.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType


@dataclass(frozen=True)
class Caution:
    """One caution.

    code : dotted name, a key of `reports/cautions.toml` ("ladder.few_points").
    about : what it concerns, as the user knows it ("oil", "traces/oil.csv", "balance").
    facts : figures and words that its text names.
    """

    code: str
    about: str = ""
    facts: Mapping[str, str | float | int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "facts", MappingProxyType(dict(self.facts)))

    def __hash__(self) -> int:
        return hash((self.code, self.about, tuple(sorted((k, str(v)) for k, v in self.facts.items()))))


def caution(code: str, about: str = "", **facts: str | float | int) -> Caution:
    """Make a caution: `caution("ladder.few_points", "traces/ladder.cdf", count=4)`."""
    return Caution(code, about, facts)
