"""Place chlorinated compounds in the receivers of a simulated still, and tell the chlorine of each and of the pot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cutbook.chlorine.concentration import UNIT
from cutbook.chlorine.hazards import acid_names
from cutbook.chlorine.where_distilled import PLACED, PlacedPart, WhereDistilledSettings, placed_parts
from cutbook.model.amount import Amount, nominal, standard_uncertainty, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine import QuantifiedTarget
from cutbook.model.chlorine_ledger import CompoundWay, CutChlorine, OrganicChlorine, WhereDistilled
from cutbook.model.lineage import Step
from cutbook.model.plan import FractionationPlan, PlannedCut
from cutbook.model.result import Result

_COUNTED = ("lower", "best")
_NOWHERE = 0.01  # % of a compound: no more than the steps of the simulation leave open


@dataclass(frozen=True)
class _Way:
    """One compound: its shares in a receiver, %, at its boiling point and at both ends of what that may be."""

    placed: PlacedPart
    shares: tuple[Mapping[str, Amount], ...]

    def at(self, cut: str) -> Amount:
        return self.shares[1][cut]

    def least(self, cut: str) -> Amount:
        return min((one[cut] for one in self.shares), key=nominal)

    def most(self, cut: str) -> Amount:
        return max((one[cut] for one in self.shares), key=nominal)


def traces_to_follow(
    organic: OrganicChlorine,
    targets: Sequence[QuantifiedTarget],
    settings: WhereDistilledSettings = PLACED,
) -> tuple[float, ...]:
    """The boiling points in °C of the traces that a plan must follow for `where_simulated`, each once, rising."""
    placed, _ = placed_parts(organic, targets)
    return tuple(sorted({at for one in placed for at in _tried(one, settings)}))


def where_simulated(
    organic: OrganicChlorine,
    targets: Sequence[QuantifiedTarget],
    plan: FractionationPlan,
    settings: WhereDistilledSettings = PLACED,
) -> WhereDistilled:
    """Where the chlorinated compounds of an oil go in a simulated still.

    Parameters
    ----------
    organic : of the oil. targets : that it was added up from, for their boiling points.
    plan : of the same oil, with the ways of `traces_to_follow`. settings : see there.

    Returns
    -------
    WhereDistilled
        Chlorine in mg/kg of what each receiver holds, and of what stays in the pot; missing where a receiver gets
        hardly anything.

    Raises
    ------
    ValueError
        When the plan did not follow the traces.

    Notes
    -----
    Each compound is a trace in the batch still with the vapour pressure of a pseudo-component that boils where it does:
    w(cut) = Σ w(compound) f(compound, cut)/share(cut), f from the simulation, Σ f = 1 over receivers and pot. f is
    taken at the boiling point and at `edge_c` below and above it: the best figure has the first, the lower bound the
    least of the three, the upper the largest, the limits of what was not found among them. f and the share of the cut
    are correlated by the doubts of the plan.
    """
    placed, unplaced = placed_parts(organic, targets)
    known = {way.boiling_c: dict(way.shares) for way in plan.ways}
    if missing := [at for one in placed for at in _tried(one, settings) if at not in known]:
        raise ValueError(f"the plan did not follow what boils at {missing[0]:g} °C")
    ways = [_Way(one, tuple(known[at] for at in _tried(one, settings))) for one in placed]
    found = sorted((way for way in ways if way.placed.part.counted in _COUNTED), key=lambda way: way.placed.boiling_c)
    acid = acid_names([one.screened.target for one in targets if _is_found(one, found)])
    raised: list[Caution] = [caution("chlorine.dioxins_unseen", organic.of)]
    raised.append(caution("chlorine.placed_by_still", organic.of, edge=settings.edge_c))
    if found:
        told = _where_mainly(found, plan)
        raised.insert(0, caution("chlorine.comes_over", organic.of, where=told))
    if acid:
        raised.insert(0, caution("chlorine.acid_from_pot", organic.of, names=acid))
    if unplaced:
        raised.append(caution("chlorine.unplaced", organic.of, names=", ".join(unplaced[:6])))
    step = Step("place compounds in receivers/1", inputs=(plan.step, organic.step), cautions=tuple(raised),
                settings={"scheme": plan.scheme, "settings": settings})  # fmt: skip
    cuts = tuple(_cut(cut, ways, found, organic, step, settings) for cut in plan.cuts)
    return WhereDistilled(organic.of, plan.scheme, cuts, unplaced, step, "simulated still",
                          tuple(_told(way, plan, step) for way in found))  # fmt: skip


def _tried(one: PlacedPart, settings: WhereDistilledSettings) -> tuple[float, float, float]:
    return one.boiling_c - settings.edge_c, one.boiling_c, one.boiling_c + settings.edge_c


def _is_found(one: QuantifiedTarget, found: Sequence[_Way]) -> bool:
    return any(way.placed.part.name == one.screened.target.name for way in found)


def _mainly(way: _Way, plan: FractionationPlan) -> str:
    return max((cut.cut for cut in plan.cuts), key=lambda cut: nominal(way.at(cut)))


def _where_mainly(found: Sequence[_Way], plan: FractionationPlan) -> str:
    """Every found compound by where most of it goes: "in gasoline: chlorobenzene; left in the pot: …"."""
    by_cut: dict[str, list[str]] = {}
    for way in found:
        by_cut.setdefault(_mainly(way, plan), []).append(way.placed.part.name)
    return "; ".join(
        f"{'in ' + cut.cut if cut.ended_by else 'left in the pot'}: {'; '.join(by_cut[cut.cut])}"
        for cut in plan.cuts
        if cut.cut in by_cut
    )


def _told(way: _Way, plan: FractionationPlan, step: Step) -> CompoundWay:
    part = way.placed.part
    shares = tuple(
        (cut.cut, Result(f"share of the {part.name} in {cut.cut}", way.at(cut.cut), "%", part.name, step))
        for cut in plan.cuts
    )
    return CompoundWay(part.name, part.verdict, way.placed.boiling_c, part.chlorine, shares, _mainly(way, plan))


def _cut(
    cut: PlannedCut, ways: Sequence[_Way], found: Sequence[_Way], organic: OrganicChlorine, step: Step,
    settings: WhereDistilledSettings,
) -> CutChlorine:  # fmt: skip
    """The chlorine of one receiver, or of the pot."""
    name, basis = cut.cut, f"{cut.cut} of {organic.of}"
    names = [f"{what} of {name}" for what in ("chlorine, lower bound", "chlorine", "chlorine, upper bound")]
    here = [way for way in found if nominal(way.at(name)) >= settings.least_way]
    here.sort(key=lambda way: -nominal(way.at(name)) * (way.placed.part.chlorine.value or 0.0))
    compounds = tuple(way.placed.part.name for way in here)
    share: Any = cut.share.amount
    if share is None or nominal(share) - 2 * standard_uncertainty(share) < settings.least_share:
        none = [Result.missing(one, UNIT, basis, step, "chlorine.cut_unknown") for one in names]
        return CutChlorine(name, cut.limits, none[0], none[1], none[2], compounds)
    lower = total(_held(way) * way.least(name) for way in found if way.placed.part.counted == "lower") / share
    best = total(_held(way) * way.at(name) for way in found) / share
    bounded = [way for way in ways if way.placed.part.chlorine.amount is not None]
    upper = Result(names[2], total(_held(way) * way.most(name) for way in bounded) / share, UNIT, basis, step)
    if any(way.placed.part.chlorine.amount is None and nominal(way.most(name)) > _NOWHERE for way in ways):
        upper = Result.missing(names[2], UNIT, basis, step, "chlorine.no_upper_bound")
    likely = Result(names[1], best, UNIT, basis, step)
    if not found:  # nothing found is no zero
        limit = max(upper.value or 0.0, 2 * (upper.u or 0.0))
        likely = (
            Result(names[1], None, UNIT, basis, step, "below limit", limit, "chlorine.none_found")
            if limit
            else Result.missing(names[1], UNIT, basis, step, "chlorine.no_upper_bound")
        )
    return CutChlorine(name, cut.limits, Result(names[0], lower, UNIT, basis, step), likely, upper, compounds)


def _held(way: _Way) -> Any:
    """mg/kg of the oil."""
    return way.placed.part.chlorine.amount
