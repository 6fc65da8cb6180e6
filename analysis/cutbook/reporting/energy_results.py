"""The energy of a run as plain values for results.json."""

from __future__ import annotations

from typing import Any

from cutbook.model.energy import EnergyLedger
from cutbook.reporting.energy_words import energy_sentences
from cutbook.reporting.plain_values import bare, quantity
from cutbook.workup.findings import Findings


def energy_result(findings: Findings) -> dict[str, Any] | None:
    """The ledger as dictionaries and lists of plain values; None where there is none.

    `streams` holds feeds first; `gross` is MJ/kg as weighed, `share` % of the energy of the feed. `process` is a range
    from the literature without losses; `ratio` (gas on what heated the reactor) is null without a declared fuel.
    """
    ledger = findings.energy
    if ledger is None:
        return None
    return {
        "streams": [
            {
                "name": row.name,
                "feed": row.feed,
                "mass": quantity(row.mass),
                "by_difference": row.by_difference,
                "gross": quantity(row.gross),
                "how": row.how,
                "method": row.method,
                "energy": quantity(row.energy),
                "share": quantity(row.share),
            }
            for row in ledger.rows
        ],
        "feed": quantity(ledger.feed),
        "products": quantity(ledger.products),
        "closure": quantity(ledger.closure),
        "unaccounted": quantity(ledger.unaccounted),
        "without": list(ledger.without),
        "gas_net": quantity(ledger.gas_net),
        "process": _process(ledger),
        "burner": None
        if ledger.burner is None
        else {"fuel": ledger.burner.fuel, "used": ledger.burner.used, "energy": quantity(ledger.burner.energy)},
        "ratio": quantity(ledger.ratio),
        "sentences": list(energy_sentences(findings)),
    }


def _process(ledger: EnergyLedger) -> dict[str, Any] | None:
    process = ledger.process
    if process is None:
        return None
    return {
        "peak_temperature": bare(process.peak_c, "°C"),
        "peak_assumed": process.assumed,
        "polymers": list(process.polymers),
        "covered": bare(process.covered, "%"),
        "energy": quantity(process.energy),
        "low": bare(process.low, "MJ"),
        "high": bare(process.high, "MJ"),
        "parts": [
            {"name": one.name, "low": bare(one.low, "MJ/kg"), "high": bare(one.high, "MJ/kg")} for one in process.parts
        ],
    }
