"""Lay out what random draws say of first-order uncertainties: as a sheet, and as plain values for results.json."""

from __future__ import annotations

from typing import Any

from cutbook.model.monte_carlo import MonteCarlo
from cutbook.reporting.numbers import places, unit_name
from cutbook.reporting.sheet_writer import Sheet


def write_draws(sheet: Sheet, found: MonteCarlo) -> None:
    """A row for every result that was held against draws."""
    sheet.head(sheet.about["columns"], freeze=True)
    for one in found.results:
        digits = max(0, places(one.value, 2 * one.u, one.unit)) + 1
        sheet.say("name", one.name)
        sheet.say("unit", unit_name(one.unit))
        for key in ("value", "u", "mean", "u_drawn", "low", "high", "off", "tolerance"):
            sheet.number(key, getattr(one, key), digits)
        sheet.say("verdict", "" if one.agrees else "first order is " + one.departure, "quiet")
        sheet.row += 1


def draws_result(found: MonteCarlo | None) -> dict[str, Any] | None:
    """The same as plain values; None where nothing was drawn."""
    if found is None:
        return None
    return {
        "draws": found.draws,
        "seed": found.seed,
        "results": [
            {
                "name": one.name,
                "first_order": {"value": one.value, "u": one.u, "unit": one.unit},
                "drawn": {"value": one.mean, "u": one.u_drawn, "unit": one.unit},
                "interval": [one.low, one.high],
                "off": one.off,
                "tolerance": one.tolerance,
                "agrees": one.agrees,
            }
            for one in found.results
        ],
    }
