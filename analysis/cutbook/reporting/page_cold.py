"""Lay out what the cold does to a liquid for the page."""

from __future__ import annotations

from typing import Any

from cutbook.reporting.cautions import wordings
from cutbook.reporting.cold_sheet import answers_of, most_of
from cutbook.reporting.cold_words import cold_sentence
from cutbook.reporting.numbers import OutputSettings, plain
from cutbook.workup.findings import ColdFindings


def cold_section(liquid: ColdFindings, number: int, settings: OutputSettings) -> dict[str, Any]:
    """What the template needs of one liquid. number : its place from 1."""
    sentence = cold_sentence(liquid.answer, settings)
    return {
        "anchor": f"cold-{number}",
        "name": liquid.of,
        "sample": liquid.name,
        "form": liquid.answer.form,
        "sentence": f"{sentence[:1].upper()}{sentence[1:]}.",
        "answers": [
            {"name": name, "result": result, "remark": _remark(result.reason) if result.value is None else ""}
            for name, result in answers_of(liquid.answer)
        ],
        "rows": [
            {
                "temperature": plain(point.temperature_c, 3, settings),
                "result": point.mass,
                "chains": most_of(point.by_carbon),
            }
            for point in liquid.answer.points
        ],
    }


def _remark(code: str) -> str:
    return wordings()[code].means if code in wordings() else ""
