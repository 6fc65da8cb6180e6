"""Results, properties, cautions and steps as plain values for JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from typing import Any

from cutbook.model.properties import Property
from cutbook.model.result import Result
from cutbook.reporting.cautions import Shown
from cutbook.reporting.provenance import StepLine


def quantity(result: Result | None) -> dict[str, Any] | None:
    """{"value", "u", "unit"} of a result; None where there is no value."""
    if result is None or result.value is None or not math.isfinite(result.value):
        return None
    u = result.u
    return {"value": result.value, "u": u if u is None or math.isfinite(u) else None, "unit": result.unit}


def bare(value: float, unit: str) -> dict[str, Any]:
    """The same of a number that has no uncertainty of its own."""
    return {"value": value, "u": None, "unit": unit}


def property_values(properties: Sequence[Property]) -> dict[str, Any]:
    """Properties by their names, and how each was had."""
    return {
        "properties": {one.name: quantity(one.result) for one in properties},
        "property_methods": {one.name: {"estimate": one.estimate, "method": one.method} for one in properties},
    }


def caution_values(worded: Iterable[Shown]) -> list[dict[str, str]]:
    """Cautions in words."""
    return [
        {"code": c.code, "level": c.level, "about": c.about, "text": c.text, "means": c.means, "do": c.do}
        for c in worded
    ]


def step_values(steps: Iterable[StepLine]) -> list[dict[str, Any]]:
    """Steps, inputs before what they feed."""
    return [
        {
            "id": step.id,
            "operation": step.operation,
            "inputs": list(step.inputs),
            "path": step.file or None,
            "place": step.place or None,
            "sha256": step.sha256 or None,
            "settings": settings_value(json.loads(step.settings)) if step.settings else None,
            "cautions": list(step.cautions),
        }
        for step in steps
    ]


def settings_value(value: Any) -> Any:
    """Settings without what JSON cannot hold: an open limit (±inf) becomes the text "open"."""
    if isinstance(value, dict):
        return {name: settings_value(one) for name, one in value.items()}
    if isinstance(value, list):
        return [settings_value(one) for one in value]
    if isinstance(value, float) and not math.isfinite(value):
        return "open"
    return value
