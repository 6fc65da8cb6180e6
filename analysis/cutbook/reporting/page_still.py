"""Lay out a distillation for the page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from cutbook.model.result import Result
from cutbook.reporting.agreement_words import agreement_sentence, conversion_label, what_settles_it
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings
from cutbook.reporting.property_names import property_names
from cutbook.reporting.repair_names import repair_names, together
from cutbook.workup.findings import DistillationFindings

HEADLINE = "boiling-range"
BALANCE = ("recovered", "residue", "loss")


def still_section(
    still: DistillationFindings,
    number: int,
    why: Callable[[Result], str],
    fixed: Callable[[float | None, int], str],
    settings: OutputSettings = AS_WRITTEN,
) -> dict[str, Any]:
    """What the template needs of one distillation.

    Parameters
    ----------
    still : the distillation. number : its place from 1. why : tells why a result is missing.
    fixed : writes a number with so many decimals, "" for none. settings : decimal sign.
    """
    curve = still.curve
    by_percent = any(one.volume_percent is not None for one in curve.log.readings)
    weighed = any(one.mass_g is not None for one in curve.log.readings)
    unit = "% of the charge" if by_percent else "g" if weighed else "mL"
    by_volume = {(cut.scheme, cut.cut): cut.mass for cut in (*curve.cuts_by_volume, *curve.receivers_by_volume)}
    parts = [(f"receiver {cut.cut}", cut.limits, cut.mass, by_volume.get((cut.scheme, cut.cut)))
             for cut in curve.receivers]  # fmt: skip
    parts += [(cut.cut, cut.limits, cut.mass, by_volume.get((cut.scheme, cut.cut)))
              for cut in curve.cuts if cut.scheme == HEADLINE]  # fmt: skip
    whole = (curve.recovered, curve.residue, curve.loss)
    parts += [(name, "", one, beside) for name, one, beside in
              zip(BALANCE, whole, curve.by_volume or (None, None, None), strict=True)]  # fmt: skip
    return {
        "anchor": f"still-{number}",
        "name": still.name,
        "still": still,
        "amount_unit": unit,
        "parts": [
            {"name": name, "limits": limits, "result": one, "volume": beside, "remark": why(one)}
            for name, limits, one, beside in parts
        ],
        "both": bool(by_volume),
        "agreement": still.agreement,
        "sentence": "" if still.agreement is None else agreement_sentence(still.agreement, settings),
        "settles": () if still.agreement is None else what_settles_it(still.agreement),
        "conversion": ("", "") if still.agreement is None else conversion_label(still.agreement),
        "ends": _ends(still, fixed),
        "plan": [] if still.plan is None else list(still.plan.cuts),
        "plan_heads": [] if still.plan is None else [
            [one.place, fixed(one.recovered, 1), fixed(one.planned_c, 1), fixed(one.found_c, 1),
             fixed(one.difference_c, 1)]
            for one in still.plan.heads
        ],
        "temperatures": [
            {"name": property_names()[one.name], "result": one.result, "remark": why(one.result)}
            for one in still.properties
        ],
        "rows": [
            {
                "place": point.place,
                "point": point,
                "receiver": reading.receiver,
                "note": reading.note,
                "cells": [
                    fixed(reading.time_min, 0),
                    fixed(reading.pot_c, 1),
                    fixed(reading.head_c, 1),
                    fixed(reading.volume_percent if by_percent else reading.mass_g if weighed else reading.volume_ml,
                          1),
                    fixed(reading.pressure_kpa, 1),
                ],
            }
            for point, reading in zip(curve.points, curve.log.readings, strict=True)
        ],
        "repairs": [
            {"place": one.place, "column": one.column, "found": one.found, "read_as": one.read_as,
             "text": repair_names()[one.kind]}
            for one in together(curve.log.repairs)
        ],
    }  # fmt: skip


def _ends(still: DistillationFindings, fixed: Callable[[float | None, int], str]) -> list[dict[str, Any]]:
    """What boils below and above the temperatures that part the ends, by still and by trace."""
    if still.agreement is None:
        return []
    ends = (("below", still.agreement.light_end), ("above", still.agreement.heavy_end))
    return [
        {"name": f"{word} {fixed(end.temperature_c, 0)} °C", "still": end.still, "trace": end.trace,
         "difference": end.difference}
        for word, end in ends
        if end.temperature_c is not None
    ]  # fmt: skip
