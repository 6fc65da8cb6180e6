"""Cuts: named ranges of carbon number or boiling point, and what falls into them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from cutbook.model.lineage import Step
from cutbook.model.result import Result

CutKind = Literal["carbon number", "boiling range"]


@dataclass(frozen=True)
class CutLimits:
    """One cut of a scheme.

    lower, upper : carbon numbers, both inclusive, or boiling points in °C, lower inclusive and upper
        exclusive; ±inf where the cut is open.
    """

    cut: str
    lower: float
    upper: float

    def text(self, kind: CutKind) -> str:
        """The limits as printed: "C5–C12", "C21+", "36–200 °C", "> 350 °C"."""
        if kind == "carbon number":
            if math.isinf(self.upper):
                return f"C{self.lower:.0f}+"
            if math.isinf(self.lower):
                return f"up to C{self.upper:.0f}"
            return f"C{self.lower:.0f}–C{self.upper:.0f}"
        if math.isinf(self.upper):
            return f"> {self.lower:g} °C"
        if math.isinf(self.lower):
            return f"< {self.upper:g} °C"
        return f"{self.lower:g}–{self.upper:g} °C"


@dataclass(frozen=True)
class CutScheme:
    """A set of adjoining cuts, lightest first. name : as printed and selected; source : who draws them so."""

    name: str
    kind: CutKind
    cuts: tuple[CutLimits, ...]
    source: str = ""


@dataclass(frozen=True, eq=False)
class Cut:
    """The share of one cut in one sample, % of the sample.

    scheme : name in the results: "carbon-number" and "boiling-range" for the two headline schemes,
        the scheme's own name for the others. definition : name of the scheme. limits : as printed.
    cut : its name; "residue" for what did not elute.
    """

    scheme: str
    definition: str
    cut: str
    limits: str
    mass: Result


@dataclass(frozen=True)
class Sensitivity:
    """How much a headline cut depends on where its limits are drawn.

    value : % of the sample as reported; low, high : least and greatest over the customary limits.
    variants : (limits as printed, % of the sample) for each of them.
    """

    scheme: str
    cut: str
    value: float
    low: float
    high: float
    variants: tuple[tuple[str, float], ...]


@dataclass(frozen=True, eq=False)
class WholeCut:
    """One cut of the whole run, on feed.

    cut : name; "gas, not analysed" and the like for products without a trace; "char", "water" for
        products that no chromatogram speaks about.
    yield_as_charged : % of the feed as charged; dry and dry ash-free where moisture and ash are given.
    parts : (product, g of it in this cut) in the order of the run sheet.
    """

    scheme: str
    definition: str
    cut: str
    limits: str
    yield_as_charged: Result
    yield_dry: Result | None
    yield_dry_ash_free: Result | None
    parts: tuple[tuple[str, float], ...]
    step: Step
