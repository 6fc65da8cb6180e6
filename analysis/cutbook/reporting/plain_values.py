"""A result as plain values for JSON."""

from __future__ import annotations

import math
from typing import Any

from cutbook.model.result import Result


def quantity(result: Result | None) -> dict[str, Any] | None:
    """{"value", "u", "unit"} of a result; None where there is no value."""
    if result is None or result.value is None or not math.isfinite(result.value):
        return None
    u = result.u
    return {"value": result.value, "u": u if u is None or math.isfinite(u) else None, "unit": result.unit}
