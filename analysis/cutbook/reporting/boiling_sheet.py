"""Lay out the sheet Boiling curve."""

from __future__ import annotations

from cutbook.reporting.numbers import COVERAGE_FACTOR
from cutbook.reporting.sheet_writer import Sheet
from cutbook.workup.findings import Findings

ENDS = {0.5: "initial boiling point", 99.5: "final boiling point"}


def write_boiling_curves(sheet: Sheet, findings: Findings) -> None:
    """One row a point and sample; a point without a temperature has its reason."""
    sheet.head(sheet.about["columns"], freeze=True)
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
            sheet.say("reason", "; ".join(told), "quiet")
            sheet.say("step", found.step.id, "quiet")
            sheet.row += 1
        sheet.row += 1
