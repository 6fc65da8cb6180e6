"""Findings as plain values for results.json: numbers unrounded, with unit and standard uncertainty."""

from __future__ import annotations

import json
import math
from typing import Any

from cutbook import __version__
from cutbook.chromatogram.stored_peaks import compared_peaks
from cutbook.model.boiling import CurvePrecision
from cutbook.model.cuts import Sensitivity
from cutbook.model.ladder import Check, Ladder
from cutbook.model.lineage import canonical
from cutbook.reporting.cautions import in_order, reason_text
from cutbook.reporting.chlorine_results import chlorine_result
from cutbook.reporting.cold_results import cold_result
from cutbook.reporting.distillation_results import distillation_result
from cutbook.reporting.draws_sheet import draws_result
from cutbook.reporting.element_results import elements_result
from cutbook.reporting.energy_results import energy_result
from cutbook.reporting.gas_results import gas_result
from cutbook.reporting.methods import methods_paragraph
from cutbook.reporting.plain_values import (
    bare,
    caution_values,
    property_values,
    quantity,
    settings_value,
    step_values,
)
from cutbook.reporting.provenance import steps_of
from cutbook.reporting.reconciliation_results import reconciliation_result
from cutbook.reporting.whole_sensitivity import whole_run_sensitivity
from cutbook.workup.findings import Findings, SampleFindings

SCHEMA = 1


def results(findings: Findings) -> dict[str, Any]:
    """Everything found, as dictionaries and lists of plain values.

    Parameters
    ----------
    findings : of one run.

    Returns
    -------
    dict
        Keys schema, cutbook, run, inputs, settings, cautions, balance, samples, cuts, distillations, chlorine (screen,
        sums and balance; null where nothing was screened and none was fed or caught), gas (null without an analysis),
        elements, cold; and, of our own, energy, cold_others (further liquids), curve_precision (traces of one product
        held against each other), missing (every result that is null, with its reason), methods, lineage (per number:
        step id and budget), steps. A
        quantity is {"value", "u", "unit"} with u at k = 1, or null; a missing result is null. No NaN, no infinity.
    """
    run = findings.run
    worded = in_order(findings.cautions)
    spread = whole_run_sensitivity(findings)
    return {
        "schema": SCHEMA,
        "cutbook": __version__,
        "run": {
            "id": run.id,
            "date": run.date.isoformat() if run.date else None,
            "title": run.title,
            "operator": run.operator,
            "notes": run.notes,
            "conditions": {name: _condition(value) for name, value in run.conditions.items()},
        },
        "inputs": [
            {"path": one.source.path, "sha256": one.source.sha256, "role": one.role, "of": one.of}
            for one in findings.inputs
        ],
        "settings": settings_value(canonical(findings.method)),
        "cautions": caution_values(worded),
        "balance": _balance(findings),
        "samples": [_sample(sample) for sample in findings.samples],
        "curve_precision": [_precision(pair) for pair in findings.curve_precision],
        "cuts": [
            {
                "scheme": cut.scheme,
                "definition": cut.definition,
                "cut": cut.cut,
                "limits": cut.limits,
                "yield": quantity(cut.yield_as_charged),
                "yield_dry": quantity(cut.yield_dry),
                "yield_dry_ash_free": quantity(cut.yield_dry_ash_free),
                "sensitivity": _sensitivity(spread[cut.scheme, cut.cut]) if (cut.scheme, cut.cut) in spread else None,
                "parts": [{"of": of, "mass": bare(grams, "g")} for of, grams in cut.parts],
            }
            for cut in findings.cuts
        ],
        "distillations": [distillation_result(one) for one in findings.distillations],
        "chlorine": chlorine_result(findings.elements, findings.chlorine, findings.workplace_air),
        "gas": gas_result(findings.gas),
        "energy": energy_result(findings),
        "monte_carlo": draws_result(findings.monte_carlo),
        "elements": elements_result(findings.elements),
        "cold": cold_result(findings.cold[0] if findings.cold else None),
        "cold_others": [cold_result(one) for one in findings.cold[1:]],
        "missing": [
            {"name": name, "status": one.status, "code": one.reason, "text": reason_text(one.reason, worded)}
            for name, one in findings.named().items()
            if one.value is None
        ],
        "methods": methods_paragraph(findings),
        "lineage": {
            name: {"step": one.step.id, "budget": [[tag, part] for tag, part in one.budget]}
            for name, one in findings.named().items()
        },
        "steps": step_values(steps_of(findings)),
    }


def as_text(found: dict[str, Any]) -> str:
    """results.json as text: UTF-8, indented, refusing NaN."""
    return json.dumps(found, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _condition(value: Any) -> Any:
    if hasattr(value, "u_stated"):
        return {"value": value.value, "u": value.u, "unit": value.unit, "as_written": value.text}
    return value


def _balance(findings: Findings) -> dict[str, Any]:
    balance = findings.balance
    return {
        "feed": quantity(balance.feed),
        "feed_dry": quantity(balance.feed_dry),
        "feed_dry_ash_free": quantity(balance.feed_dry_ash_free),
        "products": [
            {
                "fraction": product.fraction,
                "how": product.how,
                "mass": quantity(product.mass),
                "yield": quantity(product.yield_as_charged),
                "yield_dry": quantity(product.yield_dry),
                "yield_dry_ash_free": quantity(product.yield_dry_ash_free),
            }
            for product in balance.products
        ],
        "total": quantity(balance.total),
        "closure": quantity(balance.closure),
        "verdict": balance.verdict,
        "reconciled": reconciliation_result(balance.reconciled),
    }


def _stored(sample: SampleFindings) -> list[dict[str, Any]]:
    """The peak table that the file brings along, each peak beside ours."""
    if sample.trace is None:
        return []
    return [
        {
            "name": one.stored.name or None,
            "apex_min": one.stored.apex_min,
            "area": one.stored.area,
            "our_apex_min": None if one.ours is None else one.ours.apex_min,
            "our_area": None if one.ours is None else one.ours.area,
            "difference_percent": None if one.difference is None else 100.0 * one.difference,
        }
        for one in compared_peaks(sample.trace, sample.peaks)
    ]


def _sample(sample: SampleFindings) -> dict[str, Any]:
    of_cuts = {(one.scheme, one.cut): one.properties for one in sample.cut_properties}
    found: dict[str, Any] = {
        "name": sample.name,
        "of": sample.of,
        "detector": sample.detector,
        "file": sample.file,
        "points": None if sample.trace is None else len(sample.trace.time_min),
        "peaks": len(sample.peaks),
        "baseline": None
        if sample.curves is None
        else {"peaks": sample.curves[1].kind, "totals": sample.curves[2].kind},
        "peaks_of_the_file": _stored(sample),
        "solvent_windows": [{"start": start, "end": end, "unit": "min"} for start, end in sample.solvent_windows_min],
        "ladder": _ladder(sample.ladder) if sample.ladder is not None else None,
        "system_check": [_check(one) for one in sample.system_check],
        "carbon_numbers": [],
        "cuts": [
            {
                "scheme": cut.scheme,
                "definition": cut.definition,
                "cut": cut.cut,
                "limits": cut.limits,
                "mass": quantity(cut.mass),
                **property_values(of_cuts.get((cut.scheme, cut.cut), ())),
            }
            for cut in sample.cuts
        ],
        "sensitivity": [_sensitivity(one) for one in sample.sensitivity],
        **property_values(sample.properties),
        "boiling_curve": []
        if sample.boiling_curve is None
        else [
            {"recovered": point.recovered, "temperature": quantity(point.temperature)}
            for point in sample.boiling_curve.points
        ],
    }
    carbons = sample.carbons
    if carbons is not None:
        found["carbon_numbers"] = [
            {
                "n": share.n,
                "part": share.part,
                "mass": quantity(share.mass),
                "mass_other_response": share.mass_other_response,
                "lighter_too": share.lighter_too,
                "hidden": share.hidden,
            }
            for share in carbons.shares
        ]
        found["convention"] = carbons.convention
        found["response"] = carbons.response
        found["residue_known"] = carbons.residue_known
        found["hump"] = quantity(carbons.hump)
        found["baseline_share"] = quantity(carbons.baseline_share)
    return found


def _precision(pair: CurvePrecision) -> dict[str, Any]:
    return {
        "of": pair.of,
        "first": pair.first,
        "second": pair.second,
        "limit": pair.limit,
        "points": [
            {
                "recovered": point.recovered,
                "difference": quantity(point.difference),
                "allowed": None if point.allowed is None else bare(point.allowed, "°C"),
                "within": point.within,
            }
            for point in pair.points
        ],
    }


def _ladder(ladder: Ladder) -> dict[str, Any]:
    return {
        "file": ladder.file,
        "rungs": [
            {"n": rung.carbon, "time": rung.peak.apex_min, "boiling": float(boiling)}
            for rung, boiling in zip(ladder.rungs, ladder.boiling_c, strict=True)
        ],
        "units": {"time": "min", "boiling": "°C"},
        "u_time": ladder.u_time_min,
        "boiling_table": ladder.boiling_table,
        "signs": [{"name": sign.name, "verdict": sign.verdict, "seen": sign.seen} for sign in ladder.signs],
    }


def _check(check: Check) -> dict[str, Any]:
    return {
        "name": check.name,
        "value": _finite(check.value),
        "unit": check.unit,
        "low": _finite(check.low),
        "high": _finite(check.high),
        "passed": check.passed,
        "remark": check.remark,
    }


def _sensitivity(one: Sensitivity) -> dict[str, Any]:
    return {
        "scheme": one.scheme,
        "cut": one.cut,
        "value": one.value,
        "low": one.low,
        "high": one.high,
        "unit": "%",
        "variants": [{"limits": limits, "mass": value} for limits, value in one.variants],
    }


def _finite(value: float | None) -> float | None:
    return value if value is None or math.isfinite(value) else None
