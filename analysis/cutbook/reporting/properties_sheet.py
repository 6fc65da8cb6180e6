"""Lay out the sheet Properties."""

from __future__ import annotations

from cutbook.reporting.numbers import COVERAGE_FACTOR
from cutbook.reporting.property_names import property_names
from cutbook.reporting.sheet_writer import Sheet, digits_of
from cutbook.workup.findings import Findings


def write_properties(sheet: Sheet, findings: Findings) -> None:
    """One row a property and sample; one that is missing has its reason."""
    sheet.head(sheet.about["columns"], freeze=True)
    for sample in findings.samples:
        for one in sample.properties:
            found = one.result
            digits = digits_of(found)
            sheet.say("sample", sample.name)
            sheet.say("name", property_names()[one.name])
            sheet.number("value", found.value, digits)
            sheet.number("u", found.u, digits + 1)
            if found.u is not None:
                sheet.number("wide", COVERAGE_FACTOR * found.u, digits)
            sheet.say("unit", "" if found.unit == "1" else found.unit)
            sheet.say("how", "estimate" if one.estimate else "measured")
            sheet.say("text", one.method)
            sheet.say("reason", sheet.why(found) if found.value is None else "", "quiet")
            sheet.say("step", found.step.id, "quiet")
            sheet.row += 1
        if not sample.properties:
            sheet.say("sample", sample.name)
            sheet.say("reason", "no boiling curve, so no properties", "quiet")
            sheet.row += 1
        sheet.row += 1
