"""Lay out the sheet Properties."""

from __future__ import annotations

from cutbook.model.properties import Property
from cutbook.reporting.property_names import property_names
from cutbook.reporting.sheet_writer import Sheet
from cutbook.workup.findings import Findings


def write_properties(sheet: Sheet, findings: Findings) -> None:
    """One row a property of each sample, then of each of its cuts; what is missing has its reason."""
    sheet.head(sheet.about["columns"], freeze=True)
    for sample in findings.samples:
        for one in sample.properties:
            _row(sheet, sample.name, "", one)
        if not sample.properties:
            sheet.say("sample", sample.name)
            sheet.say("reason", "no boiling curve, so no properties", "quiet")
            sheet.row += 1
        for cut in sample.cut_properties:
            sheet.row += 1
            if not cut.known:
                sheet.say("sample", sample.name)
                sheet.say("cut", f"{cut.cut} {cut.limits}")
                sheet.say("name", "all of them", "quiet")
                sheet.say("reason", sheet.why(cut.properties[0].result), "quiet")
                sheet.row += 1
                continue
            for one in cut.properties:
                _row(sheet, sample.name, f"{cut.cut} {cut.limits}", one)
        sheet.row += 1


def _row(sheet: Sheet, of: str, cut: str, one: Property) -> None:
    found = one.result
    sheet.say("sample", of)
    sheet.say("cut", cut)
    sheet.say("name", property_names()[one.name])
    sheet.stated(found)
    sheet.say("how", "estimate" if one.estimate else "measured")
    sheet.say("text", one.method)
    sheet.say("reason", sheet.why(found) if found.value is None else "", "quiet")
    sheet.say("step", found.step.id, "quiet")
    sheet.row += 1
