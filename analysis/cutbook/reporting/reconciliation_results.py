"""A reconciliation as plain values for results.json."""

from __future__ import annotations

from typing import Any

from cutbook.model.balance import ReconciledValue, Reconciliation
from cutbook.reporting.plain_values import bare, quantity


def reconciliation_result(found: Reconciliation | None) -> dict[str, Any] | None:
    """Raw beside reconciled masses and shares, the test of each, and what is suspected; None without redundancy."""
    if found is None:
        return None
    return {
        "streams": [
            {"name": one.stream, "raw": quantity(one.raw), "mass": quantity(one.reconciled), **_standing(one)}
            for one in found.masses
        ],
        "shares": [
            {
                "stream": one.stream,
                "element": one.element,
                "raw": quantity(one.raw),
                "share": quantity(one.reconciled),
                **_standing(one),
            }
            for one in found.shares
        ],
        "imbalances": [{"of": one.of, "fed_less_found": quantity(one.difference)} for one in found.imbalances],
        "chi_square": found.chi_square,
        "degrees_of_freedom": found.degrees_of_freedom,
        "p": found.p,
        "suspect": found.suspects[0].stream if found.suspects else None,
        "suspects": [
            {
                "stream": one.stream,
                "element": one.element or None,
                "test": one.test,
                "chance": one.chance,
                "measured": quantity(one.measured),
                "others_say": quantity(one.others),
                "not_told_from": [{"stream": stream, "element": element or None} for stream, element in one.alike],
            }
            for one in found.suspects
        ],
    }


def _standing(one: ReconciledValue) -> dict[str, Any]:
    found = one.detectable
    return {
        "test": one.test,
        "standing": one.standing,
        "noticed_from": None if found is None else bare(found, one.raw.unit),
    }
