"""A planned distillation as plain values for plan.json, from which it can be read back."""

from __future__ import annotations

from typing import Any

from cutbook import __version__
from cutbook.importers.plan_file import SCHEMA
from cutbook.model.chlorine_ledger import WhereDistilled
from cutbook.model.plan import FractionationPlan, PlannedCut, PlanPoint
from cutbook.model.result import Result
from cutbook.reporting.cautions import in_order
from cutbook.reporting.plain_values import bare, caution_values, quantity, step_values
from cutbook.reporting.provenance import step_lines


def plan_record(plan: FractionationPlan, run_id: str) -> dict[str, Any]:
    """Everything of a plan: numbers unrounded, u at k = 1; no NaN, no infinity.

    Keys schema, cutbook, run, plan, stages, cuts, compounds, chlorine, course, composition, cautions, missing, steps. A
    quantity is {"value", "u", "unit", "budget"}; a missing one is null, and told in "missing" with its reason.
    """
    missing = [
        {"cut": cut.cut, "measurand": one.measurand, "code": one.reason}
        for cut in plan.cuts
        for one in (cut.share, cut.mass, cut.purity, cut.recovery)
        if one.value is None
    ]
    still = [where for where in plan.chlorine if where.by == "simulated still"]
    missing += [
        {"cut": cut.cut, "measurand": one.measurand, "code": one.reason}
        for where in still
        for cut in where.cuts
        for one in (cut.lower, cut.best, cut.upper)
        if one.value is None
    ]
    ends = (plan.step, *(where.step for where in still))
    cautions = dict.fromkeys(one for step in ends for one in step.all_cautions())
    return {
        "schema": SCHEMA,
        "cutbook": __version__,
        "run": run_id,
        "plan": {
            "of": plan.of,
            "scheme": plan.scheme,
            "charge": _quantity(plan.charge),
            "plates": plan.plates,
            "reflux": plan.reflux,
            "hold_up": plan.hold_up,
            "pot_limit": bare(plan.pot_limit_c, "°C"),
            "step": plan.step.id,
        },
        "stages": [
            {
                "number": stage.number,
                "pressure_kpa": stage.pressure_kpa,
                "from_percent": stage.first,
                "to_percent": stage.last,
                "head_from_c": stage.head_first_c,
                "head_to_c": stage.head_last_c,
                "pot_from_c": stage.pot_first_c,
                "pot_to_c": stage.pot_last_c,
                "receivers": list(stage.receivers),
            }
            for stage in plan.stages
        ],
        "cuts": [_cut(cut) for cut in plan.cuts],
        "compounds": [
            {
                "name": fate.name,
                "boiling_c": fate.boiling_c,
                "charged_percent": fate.charged,
                "mainly_in": fate.mainly_in,
                "shares": [{"cut": cut, "share": _quantity(share)} for cut, share in fate.shares],
                "contents": [{"cut": cut, "content": _quantity(content)} for cut, content in fate.contents],
            }
            for fate in plan.compounds
        ],
        "chlorine": [_chlorine(where) for where in plan.chlorine],
        "course": [_point(point) for point in plan.points],
        "composition": {
            "watson_k": plan.composition.watson_k,
            "density_known": plan.composition.density_known,
            "light_share": plan.composition.light_share,
            "heavy_share": plan.composition.heavy_share,
            "whole": plan.composition.whole,
            "components": [
                {
                    "name": part.name,
                    "boiling_c": part.boiling_c,
                    "mass_share": part.mass_share,
                    "density_g_ml": part.density_g_ml,
                    "molar_mass": part.molar_mass,
                    "compound": part.compound,
                    "volatile": part.volatile,
                }
                for part in plan.composition.components
            ],
        },
        "cautions": caution_values(in_order(tuple(cautions))),
        "missing": missing,
        "steps": step_values(step_lines((*ends, *(where.step for where in plan.chlorine)))),
    }


def _cut(cut: PlannedCut) -> dict[str, Any]:
    return {
        "cut": cut.cut,
        "limits": cut.limits,
        "kept": cut.kept,
        "ended_by": cut.ended_by or None,
        "share": _quantity(cut.share),
        "mass": _quantity(cut.mass),
        "purity": _quantity(cut.purity),
        "recovery": _quantity(cut.recovery),
        "first": None if cut.first is None else _point(cut.first),
        "last": None if cut.last is None else _point(cut.last),
    }


def _chlorine(where: WhereDistilled) -> dict[str, Any]:
    return {
        "by": where.by,
        "of": where.of,
        "scheme": where.scheme,
        "cuts": [
            {
                "cut": cut.cut,
                "limits": cut.limits,
                "chlorine": _quantity(cut.best),
                "below": cut.best.limit,
                "bounds": {"lower": _quantity(cut.lower), "upper": _quantity(cut.upper)},
                "compounds": list(cut.compounds),
            }
            for cut in where.cuts
        ],
        "compounds": [
            {
                "name": way.name,
                "verdict": way.verdict,
                "boiling_c": way.boiling_c,
                "chlorine": _quantity(way.chlorine),
                "mainly_in": way.mainly_in,
                "shares": [{"cut": cut, "share": _quantity(share)} for cut, share in way.shares],
            }
            for way in where.ways
        ],
        "without_boiling_point": list(where.unplaced),
        "step": where.step.id,
    }


def _point(point: PlanPoint) -> dict[str, Any]:
    return {
        "percent": point.distillate,
        "head_c": point.head_c,
        "equivalent_c": point.equivalent_c,
        "pot_c": point.pot_c,
        "pressure_kpa": point.pressure_kpa,
        "receiver": point.receiver,
        "stage": point.stage,
    }


def _quantity(result: Result) -> dict[str, Any] | None:
    found = quantity(result)
    return None if found is None else {**found, "budget": [[tag, part] for tag, part in result.budget]}
