"""The range within which a correlation or a method is used."""

from __future__ import annotations

import math

from cutbook.model.tables import reference


def ranges_of(method: str) -> dict[str, tuple[float, float]]:
    """Lower and upper limit of each quantity that a method restricts, infinite where it does not.

    Parameters
    ----------
    method : as in ``reference/method_ranges.csv``, which tells units and sources; without rows there, no limits.
    """
    return {
        row["quantity"]: (float(row["low"] or -math.inf), float(row["high"] or math.inf))
        for row in reference("method_ranges").rows
        if row["method"] == method
    }
