"""What the cold does to the liquids as plain values for results.json."""

from __future__ import annotations

from typing import Any

from cutbook.coldflow.cold_storage import warm_to_c
from cutbook.model.cold import AtStorage, ColdStorage
from cutbook.reporting.cold_words import cold_sentence
from cutbook.reporting.plain_values import quantity
from cutbook.workup.findings import ColdFindings


def cold_result(liquid: ColdFindings | None) -> dict[str, Any] | None:
    """One liquid, None for none.

    Returns
    -------
    dict
        Keys wax_appearance, solid, at_storage; and, of our own, of, sample, sentence, form (of the solid),
        wax_appearance_estimated, measured, difference, gel, and solid_by_carbon.
    """
    if liquid is None:
        return None
    answer = liquid.answer
    return {
        "of": liquid.of,
        "sample": liquid.name,
        "sentence": cold_sentence(answer),
        "wax_appearance": quantity(answer.shown),
        "wax_appearance_estimated": quantity(answer.appearance),
        "measured": {name: quantity(result) for name, result in answer.measured},
        "difference": quantity(answer.difference),
        "form": answer.form,
        "gel": [{"solid": gel.share, "temperature": quantity(gel.temperature)} for gel in answer.gel],
        "at_storage": _at_storage(answer.at_storage, warm_to_c(answer)),
        "solid": [{"temperature": point.temperature_c, "mass": quantity(point.mass)} for point in answer.points],
        "solid_by_carbon": _by_carbon(answer),
    }


def _by_carbon(answer: ColdStorage) -> dict[str, Any]:
    """Share of each carbon number in the solid, % of the solid: a row for each temperature of `solid`."""
    carbons = sorted({n for point in answer.points for n, _ in point.by_carbon})
    rows = [dict(point.by_carbon) for point in answer.points]
    return {"n": carbons, "unit": "% of the solid", "mass": [[row.get(n, 0.0) for n in carbons] for row in rows]}


def _at_storage(at: AtStorage | None, warm: int | None) -> dict[str, Any] | None:
    if at is None:
        return None
    return {
        "temperature": at.temperature_c,
        "solid": quantity(at.solid),
        "state": at.state,
        "worst_state": at.worst,
        "wax_gone": quantity(at.warm_to),
        "warm_to": warm,
    }
