"""What was found of organic chlorine in a run, by name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cutbook.model.chlorine import ScreenedOil, StandardLimits
from cutbook.model.chlorine_ledger import ChlorineBalance, OrganicChlorine, WhereDistilled
from cutbook.model.lineage import Source
from cutbook.model.result import Result


@dataclass(frozen=True, eq=False)
class ChlorineFindings:
    """Organic chlorine of a run.

    screened : the oils, in the order of the sheet; the first is the main one. organic : of each, in the same order.
    distilled : of the oils whose cuts are known. sources : files read for it alone, with their role and product.
    """

    screened: tuple[ScreenedOil, ...]
    organic: tuple[OrganicChlorine, ...]
    distilled: tuple[WhereDistilled, ...] = ()
    sources: tuple[tuple[Source, str, str], ...] = ()

    def sums(self, oil: ScreenedOil) -> OrganicChlorine:
        """The organic chlorine of a screened oil."""
        return self.organic[self.screened.index(oil)]

    def cuts(self, oil: ScreenedOil) -> WhereDistilled | None:
        """Where its chlorine goes on distillation, None where its cuts are not known."""
        return next((one for one in self.distilled if one.of == oil.of), None)


LINES = (
    "fed",
    "scrubber",
    "second_bottle",
    "oil",
    "oil_low",
    "oil_high",
    "wax",
    "water",
    "char",
    "walls",
    "unaccounted",
)
"""Lines of the ledger, by the names under which results hold them."""


def chlorine_names(found: ChlorineFindings | None, ledger: ChlorineBalance | None) -> Iterator[tuple[str, Result]]:
    """Every reported number by its name: "chlorine.screen.chlorobenzene.concentration"; further oils under
    "chlorine.others.OF"."""
    if ledger is not None:
        yield from _ledger(ledger)
    if found is None:
        return
    for place, oil in enumerate(found.screened):
        at = "chlorine" if place == 0 else f"chlorine.others.{place}"
        for one in oil.targets:
            name = f"{at}.screen.{one.screened.target.name}"
            yield f"{name}.concentration", one.concentration
            yield f"{name}.detection_limit", one.detection_limit
            yield f"{name}.quantitation_limit", one.quantitation_limit
            if one.standards is not None:
                yield from _of_standards(f"{name}.standards", one.standards)
        sums = found.sums(oil)
        yield f"{at}.organic_chlorine", sums.best
        yield f"{at}.organic_chlorine_bounds.lower", sums.lower
        yield f"{at}.organic_chlorine_bounds.upper", sums.upper
        for number, part in enumerate((part for part in sums.parts if part.verdict == "unknown"), 1):
            yield f"{at}.unknown_chlorinated.{number}.chlorine", part.chlorine
        if sums.bulk is not None:
            yield f"{at}.bulk.value", sums.bulk.value
            yield f"{at}.bulk.difference", sums.bulk.difference
        where = found.cuts(oil)
        for cut in where.cuts if where is not None else ():
            yield f"{at}.cuts.{cut.cut}.lower", cut.lower
            yield f"{at}.cuts.{cut.cut}.best", cut.best
            yield f"{at}.cuts.{cut.cut}.upper", cut.upper


def _of_standards(at: str, limits: StandardLimits) -> Iterator[tuple[str, Result]]:
    yield f"{at}.line_limit", limits.by_line
    if limits.by_replicates is not None:
        yield f"{at}.method_limit", limits.by_replicates
    if limits.quantitation is not None:
        yield f"{at}.quantitation_limit", limits.quantitation


def _ledger(ledger: ChlorineBalance) -> Iterator[tuple[str, Result]]:
    for key in LINES:
        if (result := getattr(ledger, key)) is not None:
            yield f"chlorine.balance.{key}", result
    for name, result in ledger.others:
        yield f"chlorine.balance.others.{name}", result
    for one in ledger.efficiencies:
        yield f"chlorine.efficiencies.{one.definition}", one.value
    if ledger.residual is not None:
        yield "chlorine.balance.residual", ledger.residual
    if ledger.sorbent is not None:
        yield "chlorine.balance.sorbent", ledger.sorbent
