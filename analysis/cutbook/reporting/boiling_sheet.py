"""Lay out the sheet Boiling curve."""

from __future__ import annotations

from cutbook.model.boiling import FINAL, INITIAL, CurvePrecision
from cutbook.reporting.numbers import COVERAGE_FACTOR
from cutbook.reporting.sheet_writer import Sheet
from cutbook.workup.findings import Findings

ENDS = {INITIAL: "initial boiling point", FINAL: "final boiling point"}


def write_boiling_curves(sheet: Sheet, findings: Findings) -> None:
    """One row a point and sample; a point without a temperature has its reason."""
    sheet.head(sheet.about["columns"], freeze=True)
    against = {pair.name: _told(pair) for pair in findings.curve_precision}
    for sample in findings.samples:
        curve = sample.boiling_curve
        sheet.say("sample", sample.name)
        if curve is None:
            sheet.say("reason", "no n-alkane ladder, so no boiling curve", "quiet")
            sheet.row += 1
            continue
        for point in curve.points:
            found = point.temperature
            sheet.say("sample", sample.name)
            sheet.number("recovered", point.recovered, 1, "text")
            sheet.number("temperature", found.value, 1)
            sheet.number("u", found.u, 1)
            if found.u is not None:
                sheet.number("wide", COVERAGE_FACTOR * found.u, 1)
            told = [ENDS[point.recovered]] if point.recovered in ENDS else []
            told += [sheet.why(found)] if found.value is None else []
            told += held[point.recovered] if (held := against.get(sample.name)) and point.recovered in held else []
            sheet.say("reason", "; ".join(told), "quiet")
            sheet.say("step", found.step.id, "quiet")
            sheet.row += 1
        sheet.row += 1


def _told(pair: CurvePrecision) -> dict[float, list[str]]:
    """What is said of each point of a repeated curve."""
    found = {}
    for point in pair.points:
        value = point.difference.value
        if value is not None and point.allowed is not None:
            verdict = "within" if point.within else "beyond"
            found[point.recovered] = [
                f"{value:+.1f} °C against {pair.first}, {verdict} the {pair.limit} of {point.allowed:.1f} °C"
            ]
    return found
