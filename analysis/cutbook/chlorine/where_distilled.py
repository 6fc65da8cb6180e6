"""Place chlorinated compounds in the cuts of a boiling-range scheme, and tell the chlorine of each cut."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from cutbook.chlorine.concentration import FOUND, UNIT
from cutbook.model.amount import nominal, standard_uncertainty, total
from cutbook.model.cautions import caution
from cutbook.model.chlorine import QuantifiedTarget
from cutbook.model.chlorine_ledger import ChlorinePart, CutChlorine, OrganicChlorine, WhereDistilled
from cutbook.model.cuts import CutLimits, CutScheme
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.tables import reference


@dataclass(frozen=True)
class WhereDistilledSettings:
    """How compounds are placed.

    edge_c : °C on either side of a limit within which a compound may go to either cut; 10, as far as a boiling point
        that is estimated from the retention index can be off, and as a short column smears a cut (common practice, no
        source). Such a compound counts in the best figure of its own cut, in the upper bound of both, in no lower one.
        In the simulated still each compound is tried at so much below and above its boiling point, too: an activity
        coefficient of 1.3 in the oil does as much as 10 °C (by Trouton's rule).
    least_share : % of the oil that a cut must hold, beyond twice its uncertainty, before chlorine is told on it; 0.5.
    least_way : % of a compound that must go to a receiver of the simulated still before it is named there; 5. Less
        counts all the same.
    """

    edge_c: float = 10.0
    least_share: float = 0.5
    least_way: float = 5.0


PLACED = WhereDistilledSettings()
"""How compounds are placed where nobody says."""


@dataclass(frozen=True)
class PlacedPart:
    """What one compound contributes, and its boiling point in °C at 101.325 kPa."""

    part: ChlorinePart
    boiling_c: float


def where_distilled(
    organic: OrganicChlorine,
    targets: Sequence[QuantifiedTarget],
    scheme: CutScheme,
    shares: Mapping[str, Result],
    settings: WhereDistilledSettings = PLACED,
) -> WhereDistilled:
    """Where the chlorinated compounds of an oil go on distillation.

    Parameters
    ----------
    organic : of the oil. targets : that it was added up from, for their boiling points.
    scheme : by boiling range. shares : of each cut in the oil, %, by its name. settings : see there.

    Returns
    -------
    WhereDistilled
        Chlorine in mg/kg of each cut; missing where the share of the cut is not known or hardly anything.

    Notes
    -----
    By boiling point alone, as if a perfect column cut at each limit: w(cut) = Σ w(compound)/share(cut). A compound
    without a boiling point, and an unknown cluster, is placed at that of the n-alkane of its retention index: of
    chlorobenzene, dichlorobenzenes and trichlorobenzenes that is 3 to 8 °C too high. What has lost hydrogen chloride in
    the pot goes where the acid goes.
    """
    placed, unplaced = placed_parts(organic, targets)
    raised = [caution("chlorine.placed_by_boiling", organic.of)]
    if unplaced:
        raised.append(caution("chlorine.unplaced", organic.of, names=", ".join(unplaced[:6])))
    inputs = [organic.step, *(one.step for one in shares.values())]
    step = Step("place compounds in cuts/1", inputs=tuple(inputs), cautions=tuple(raised),
                settings={"scheme": scheme.name, "settings": settings})  # fmt: skip
    cuts = [
        _cut(limits, limits.text(scheme.kind), placed, shares.get(limits.cut), organic, step, settings)
        for limits in scheme.cuts
    ]
    return WhereDistilled(organic.of, scheme.name, tuple(cuts), unplaced, step)


def placed_parts(
    organic: OrganicChlorine, targets: Sequence[QuantifiedTarget]
) -> tuple[tuple[PlacedPart, ...], tuple[str, ...]]:
    """Everything that counts in the sums with its boiling point, and the names of what was found and has none."""
    boiling = {one.screened.target.name: _boiling_of(one) for one in targets}
    placed: list[PlacedPart] = []
    unplaced: list[str] = []
    for part in organic.parts:
        if part.instead:
            continue
        at = boiling.get(part.name)
        if part.retention_index is not None:
            at = boiling_by_index(part.retention_index)
        if at is not None:
            placed.append(PlacedPart(part, at))
        elif part.verdict in (*FOUND, "unknown"):
            unplaced.append(part.name)
    return tuple(placed), tuple(unplaced)


def boiling_by_index(index: float) -> float | None:
    """Boiling point of the n-alkane of a retention index, °C; None outside C5 to C40."""
    carbons, boiling = _alkanes()
    return float(np.interp(index / 100, carbons, boiling)) if carbons[0] <= index / 100 <= carbons[-1] else None


@cache
def _alkanes() -> tuple[tuple[float, ...], tuple[float, ...]]:
    table = reference("n_alkanes").numbers("carbon_number", "boiling_c")
    numbers = [n for n in sorted(table) if 5 <= n <= 40]
    return tuple(float(n) for n in numbers), tuple(table[n] for n in numbers)


def _boiling_of(one: QuantifiedTarget) -> float | None:
    target = one.screened.target
    return target.boiling_c if target.boiling_c is not None else boiling_by_index(target.index)


def _cut(
    limits: CutLimits, text: str, placed: Sequence[PlacedPart], share: Result | None, organic: OrganicChlorine,
    step: Step, settings: WhereDistilledSettings,
) -> CutChlorine:  # fmt: skip
    """The chlorine of one cut."""
    edge = settings.edge_c
    own = [one for one in placed if limits.lower <= one.boiling_c < limits.upper]
    sure = [one for one in own if limits.lower + edge <= one.boiling_c < limits.upper - edge]
    maybe = [one for one in placed if limits.lower - edge <= one.boiling_c < limits.upper + edge]
    names = ("chlorine, lower bound", "chlorine", "chlorine, upper bound")
    found = sorted(
        (one for one in own if one.part.counted in ("lower", "best")), key=lambda one: -(one.part.chlorine.value or 0.0)
    )
    compounds = tuple(one.part.name for one in found)
    basis = f"{limits.cut} of {organic.of}"
    amount: Any = None if share is None else share.amount
    if amount is None or nominal(amount) - 2 * standard_uncertainty(amount) < settings.least_share:
        none = [Result.missing(f"{name} of {limits.cut}", UNIT, basis, step, "chlorine.cut_unknown") for name in names]
        return CutChlorine(limits.cut, text, none[0], none[1], none[2], compounds)
    sums = [
        total(one.part.chlorine.amount for one in sure if one.part.counted == "lower"),
        total(one.part.chlorine.amount for one in own if one.part.counted in ("lower", "best")),
        total(one.part.chlorine.amount for one in maybe if one.part.chlorine.amount is not None),
    ]
    results = [
        Result(f"{name} of {limits.cut}", 100 * each / amount, UNIT, basis, step)
        for name, each in zip(names, sums, strict=True)
    ]
    if any(one.part.chlorine.amount is None for one in maybe):
        results[2] = Result.missing(f"{names[2]} of {limits.cut}", UNIT, basis, step, "chlorine.no_upper_bound")
    return CutChlorine(limits.cut, text, results[0], results[1], results[2], compounds)
