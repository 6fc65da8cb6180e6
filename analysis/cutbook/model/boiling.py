"""A simulated boiling curve: how much of a sample boils up to which temperature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutbook.model.lineage import Step
from cutbook.model.result import Result

INITIAL, FINAL = 0.5, 99.5
"""Recovered % of the initial and the final boiling point (ASTM D2887, section 3)."""

PrecisionLimit = Literal["repeatability", "reproducibility"]


@dataclass(frozen=True, eq=False)
class CurvePoint:
    """Recovered mass in % of the sample, and the temperature in °C up to which it boils."""

    recovered: float
    temperature: Result

    @property
    def label(self) -> str:
        """The point's name in the results: "0.5", "50"."""
        return f"{self.recovered:g}"


@dataclass(frozen=True, eq=False)
class BoilingCurve:
    """The curve of one sample.

    points : at the initial boiling point, every whole %, and the final boiling point; a point that did not elute or
        lies outside the ladder is missing, with the reason.
    boiling_table : where the boiling points of the n-alkanes come from.
    whole : whether recovered % are of the whole sample, not of its eluted part only.
    """

    of: str
    points: tuple[CurvePoint, ...]
    boiling_table: str
    whole: bool
    step: Step

    def at(self, recovered: float) -> Result:
        """The temperature at a recovered %; a `KeyError` where the curve has no such point."""
        return {point.recovered: point.temperature for point in self.points}[recovered]


@dataclass(frozen=True, eq=False)
class PointDifference:
    """How far two curves differ at one recovered %.

    difference : °C, the second curve less the first; missing where one of them has no temperature.
    allowed : °C that the precision of the method allows, None where there is no difference.
    """

    recovered: float
    difference: Result
    allowed: float | None

    @property
    def label(self) -> str:
        """The point's name in the results: "0.5", "50"."""
        return f"{self.recovered:g}"

    @property
    def within(self) -> bool | None:
        """Whether the difference is allowed; None where there is none."""
        if self.difference.value is None or self.allowed is None:
            return None
        return abs(self.difference.value) <= self.allowed


@dataclass(frozen=True, eq=False)
class CurvePrecision:
    """Two traces of one product held against each other.

    name : key in the results, that of the second sample. first, second : the two samples.
    limit : which precision of the method the differences are held against.
    """

    name: str
    of: str
    first: str
    second: str
    limit: PrecisionLimit
    points: tuple[PointDifference, ...]
    step: Step
