"""Put a planned distillation into the few lines that a terminal shows, from `reports/plan.toml`."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files

from cutbook.model.plan import FractionationPlan, PlannedCut
from cutbook.model.units import STANDARD_KPA
from cutbook.reporting.cautions import in_order
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, figure, plain, with_uncertainty


@cache
def plan_words() -> Mapping[str, Mapping[str, str]]:
    """The words of a plan, by section and key."""
    return tomllib.loads(files("cutbook.reports").joinpath("plan.toml").read_text(encoding="utf-8"))


def plan_lines(plan: FractionationPlan, run_id: str, settings: OutputSettings = AS_WRITTEN) -> Iterator[str]:
    """Stages, cuts with the change of receivers, the ways of compounds, the chlorine of each cut where the product was
    screened, dangers in full, other cautions counted."""
    words = plan_words()["lines"]

    def whole(value: float) -> str:
        return figure(value, 0, settings)

    yield words["title"].format(
        run=run_id, of=plan.of, charge=with_uncertainty(plan.charge, settings), plates=plan.plates,
        reflux=plain(plan.reflux, 4, settings), scheme=plan.scheme,
    )  # fmt: skip
    for stage in plan.stages:
        yield "  " + words["stage"].format(
            number=stage.number, pressure=plain(stage.pressure_kpa, 6, settings),
            first=figure(stage.first, 1, settings),
            last=figure(stage.last, 1, settings), head_first=whole(stage.head_first_c),
            head_last=whole(stage.head_last_c), pot_first=whole(stage.pot_first_c), pot_last=whole(stage.pot_last_c),
            receivers=", ".join(stage.receivers),
        )  # fmt: skip
    over = [cut for cut in plan.cuts if cut.last is not None]
    for cut in plan.cuts:
        if cut.purity.reason == "plan.empty_cut":
            yield "  " + words["empty"].format(cut=cut.cut, limits=cut.limits)
            continue
        yield "  " + words["cut"].format(
            cut=cut.cut, limits=cut.limits, mass=with_uncertainty(cut.mass, settings),
            share=with_uncertainty(cut.share, settings), purity=with_uncertainty(cut.purity, settings),
            recovery=with_uncertainty(cut.recovery, settings),
        )  # fmt: skip
        if cut.last is not None:
            yield "    " + _change(cut, cut is over[-1], settings)
    for fate in plan.compounds:
        share = dict(fate.shares)[fate.mainly_in]
        yield "  " + words["compound"].format(
            name=fate.name, mainly=fate.mainly_in, share=with_uncertainty(share, settings)
        )
    for cut in plan.cuts:
        if text := _chlorine(plan, cut, settings):
            yield "  " + text
    cautions = in_order(plan.own_cautions())
    for one in cautions:
        if one.level == "danger":
            yield f"  danger: {one.text}"
    counted = Counter(one.level for one in cautions if one.level != "danger")
    if counted:
        parts = [f"{count} {level}{'s' if count > 1 else ''}" for level, count in counted.items()]
        yield "  " + ", ".join(parts) + ": " + words["further"].format(file="plan.json")


def _chlorine(plan: FractionationPlan, cut: PlannedCut, settings: OutputSettings) -> str:
    """The chlorine of one cut, "" where nothing is known of it."""
    words = plan_words()["lines"]
    still, boiling = plan.chlorine_of(cut.cut)
    if still is None or (still.best.status == "not determined" and not still.compounds):
        return ""
    names = [f"{one.name} ({share})" for one in plan.chlorine[0].ways if one.name in still.compounds
             for share in [with_uncertainty(dict(one.shares)[cut.cut], settings)]]  # fmt: skip
    upper = words["chlorine_at_most" if still.upper.value is not None else "chlorine_unbounded"]
    bound = upper.format(upper=with_uncertainty(still.upper, settings))
    if not still.compounds and still.best.value is not None and still.best.value < 2 * (still.best.u or 0.0):
        return words["chlorine_hardly"].format(cut=cut.cut, upper=bound)
    ideal = "" if boiling is None or boiling.best.value is None else words["chlorine_ideal"]
    return words["chlorine"].format(
        cut=cut.cut, best=with_uncertainty(still.best, settings), lower=with_uncertainty(still.lower, settings),
        upper=bound,
        ideal="" if boiling is None else ideal.format(ideal=with_uncertainty(boiling.best, settings)),
        names=": " + "; ".join(names) if names else "",
    )  # fmt: skip


def _change(cut: PlannedCut, last: bool, settings: OutputSettings) -> str:
    """When the receiver is changed, or the still stopped."""
    words, point = plan_words()["lines"], cut.last
    if point is None:
        return ""
    pressure, over = plain(point.pressure_kpa, 6, settings), figure(point.distillate, 1, settings)
    if cut.ended_by in ("pot limit", "dry"):
        return words["end" if cut.ended_by == "pot limit" else "dry"].format(
            pot=figure(point.pot_c, 0, settings), pressure=pressure, over=over
        )
    return words["change" if not last else "stop"].format(
        head=figure(point.head_c, 0, settings), pressure=pressure, equivalent=figure(point.equivalent_c, 0, settings),
        over=over, standard=plain(STANDARD_KPA, 6, settings),
    )  # fmt: skip
