"""A distillation as plain values for results.json."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cutbook.model.agreement import Agreement, EndBalance
from cutbook.model.cuts import Cut
from cutbook.model.plan import PlanComparison
from cutbook.model.still import StillCurve
from cutbook.reporting.agreement_words import (
    agreement_sentence,
    conversion_label,
    evidence_lines,
    reason_name,
    what_settles_it,
)
from cutbook.reporting.plain_values import bare, property_values, quantity
from cutbook.reporting.repair_names import repair_names
from cutbook.workup.findings import DistillationFindings


def distillation_result(still: DistillationFindings) -> dict[str, Any]:
    """One distillation.

    Returns
    -------
    dict
        Keys of, file, rows, loss, residue, cuts, agreement, properties; and, of our own, name, kind, basis, recovered,
        receivers, plan (how the log departs from the plan made before it), and repairs: what was not taken as it stands
        in the log. A row has its reading as written beside what follows from it.
    """
    curve = still.curve
    return {
        "name": still.name,
        "of": still.entry.of,
        "file": curve.log.file,
        "kind": curve.kind,
        "basis": curve.basis,
        "rows": [
            {
                "place": point.place,
                "reading": {
                    "time": reading.time_min,
                    "pot_temperature": reading.pot_c,
                    "head_temperature": reading.head_c,
                    "volume": reading.volume_ml,
                    "volume_percent": reading.volume_percent,
                    "mass": reading.mass_g,
                    "pressure": reading.pressure_kpa,
                    "receiver": reading.receiver or None,
                    "note": reading.note or None,
                },
                "mass_recovered": quantity(point.mass_recovered),
                "volume_recovered": quantity(point.volume_recovered),
                "head_temperature": quantity(point.head_temperature),
                "pressure": quantity(point.pressure),
                "equivalent_temperature": quantity(point.equivalent_temperature),
            }
            for point, reading in zip(curve.points, curve.log.readings, strict=True)
        ],
        "reading_units": {
            "time": "min", "pot_temperature": "°C", "head_temperature": "°C", "volume": "mL", "volume_percent": "%",
            "mass": "g", "pressure": "kPa",
        },
        "recovered": quantity(curve.recovered),
        "residue": quantity(curve.residue),
        "loss": quantity(curve.loss),
        "by_volume": None
        if curve.by_volume is None
        else dict(zip(("recovered", "residue", "loss"), map(quantity, curve.by_volume), strict=True)),
        "cuts": _cuts(curve, curve.cuts, curve.cuts_by_volume),
        "receivers": _cuts(curve, curve.receivers, curve.receivers_by_volume),
        **property_values(still.properties),
        "agreement": None if still.agreement is None else _agreement(still.agreement),
        "plan": None if still.plan is None else _plan(still.plan),
        "repairs": [
            {
                "place": repair.place or None,
                "column": repair.column or None,
                "kind": repair.kind,
                "text": repair_names()[repair.kind],
                "found": repair.found or None,
                "read_as": repair.read_as or None,
            }
            for repair in curve.log.repairs
        ],
    }  # fmt: skip


def _cuts(curve: StillCurve, cuts: Sequence[Cut], beside: Sequence[Cut]) -> list[dict[str, Any]]:
    """Each cut by mass and by volume; null by what is not known."""
    by_volume = {(cut.scheme, cut.cut): cut.mass for cut in (beside if curve.basis == "mass" else cuts)}
    return [
        {
            "scheme": cut.scheme,
            "definition": cut.definition,
            "cut": cut.cut,
            "limits": cut.limits,
            "mass": quantity(cut.mass) if curve.basis == "mass" else None,
            "volume": quantity(by_volume.get((cut.scheme, cut.cut))),
        }
        for cut in cuts
    ]


def _agreement(found: Agreement) -> dict[str, Any]:
    label, validity = conversion_label(found)
    return {
        "of": found.of,
        "verdict": found.verdict,
        "sentence": agreement_sentence(found),
        "culprit": found.culprit or None,
        "suspects": [
            {
                "code": one.code,
                "text": reason_name(one),
                "size": bare(one.size, one.unit),
                "gain": one.gain,
                "odd_one": one.odd_one or None,
                "evidence": list(evidence_lines(one)),
            }
            for one in found.suspects
        ],
        "what_settles_it": list(what_settles_it(found)),
        "median": quantity(found.median),
        "worst": quantity(found.worst),
        "light_end": _end(found.light_end),
        "heavy_end": _end(found.heavy_end),
        "counted_by": found.axis,
        "conversion": {"name": found.conversion, "text": label, "fitted_on": validity, "beyond": list(found.beyond)},
        "chi_square": found.chi_square,
        "degrees_of_freedom": found.degrees,
        "points": [
            {
                "recovered": one.recovered,
                "still": quantity(one.still),
                "trace": quantity(one.trace),
                "difference": quantity(one.difference),
            }
            for one in found.points
        ],
    }


def _end(end: EndBalance) -> dict[str, Any]:
    return {
        "temperature": end.temperature_c,
        "still": quantity(end.still),
        "trace": quantity(end.trace),
        "difference": quantity(end.difference),
    }


def _plan(found: PlanComparison) -> dict[str, Any]:
    return {
        "heads": [
            {
                "place": one.place,
                "recovered": one.recovered,
                "planned": one.planned_c,
                "found": one.found_c,
                "difference": one.difference_c,
                "unit": "°C",
            }
            for one in found.heads
        ],
        "cuts": [
            {
                "cut": one.cut,
                "planned": bare(one.planned, "%"),
                "found": quantity(one.found),
                "difference": quantity(one.difference),
            }
            for one in found.cuts
        ],
    }
