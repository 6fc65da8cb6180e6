"""Lay out the sheet Elements."""

from __future__ import annotations

from cutbook.model.elements import ElementBalance, ImpliedShare
from cutbook.model.result import Result
from cutbook.reporting.element_words import grams_result, share_result, shown_elements, shown_implied, verdict
from cutbook.reporting.sheet_writer import Sheet, definitions, digits_of
from cutbook.workup.findings import Findings


def write_elements(sheet: Sheet, findings: Findings) -> None:
    """Streams by elements, their closures as formulas over them, what each product would have to hold."""
    found = findings.elements
    sheet.head(sheet.about["columns"])
    if found is None:
        return
    _streams(sheet, found.balance)
    sheet.caption("What each product would have to hold")
    sheet.head(definitions()["elements_implied"]["columns"], widths=False)
    for one in shown_implied(found.balance):
        _implied(sheet, one)


def _streams(sheet: Sheet, balance: ElementBalance) -> None:
    """One row a stream and element: mass × share; then fed, found and closure as formulas over the rows."""
    closures = []
    for element in shown_elements(balance):
        first = sheet.row
        sides: dict[bool, list[tuple[str, float]]] = {True: [], False: []}
        for stream in balance.streams:
            share, grams = share_result(stream, element), grams_result(stream, element)
            sheet.say("part", element)
            sheet.say("name", stream.name)
            sheet.say("what", "feed" if stream.feed else "product")
            sheet.number("mass", stream.mass.value, digits_of(stream.mass))
            _pair(sheet, "share", share)
            if grams is not None and grams.value is not None:
                worked = None
                if stream.mass.value is not None and share is not None and share.value is not None:
                    worked = stream.mass.value * share.value / 100
                formula = f"{sheet.ref('mass')}*{sheet.ref('share')}/100"
                sheet.worked("grams", formula, worked, grams.value, digits_of(grams) if grams.value else 0)
                sheet.number("u_grams", grams.u, digits_of(grams) + 1 if grams.value else 0)
                sides[stream.feed].append((sheet.ref("grams"), grams.value))
            ends = stream.elements[element]
            open_ends = "" if share is not None else f", {100 * ends.low:.3g} to {100 * ends.high:.3g} %"
            sheet.say("reason", ends.how + open_ends, "quiet")
            sheet.say("step", stream.step.id, "quiet")
            sheet.row += 1
        closures.append((element, sides))
        sheet.row += 1 if sheet.row > first else 0
    sheet.caption("Fed, found, closure")
    sheet.head(definitions()["elements_closure"]["columns"], widths=False)
    for element, sides in closures:
        line = balance.lines[element]
        sheet.say("part", element, bold=True)
        for key, result, cells in (("fed", line.fed, sides[True]), ("found", line.found, sides[False])):
            formula = "SUM(" + ",".join(ref for ref, _ in cells) + ")"
            sheet.worked(key, formula, sum(value for _, value in cells), result.value, digits_of(result), bold=True)
            sheet.number(f"u_{key}", result.u, digits_of(result) + 1)
        if line.closure.value is not None and line.fed.value and line.found.value is not None:
            worked = 100 * line.found.value / line.fed.value
            formula = f"100*{sheet.ref('found')}/{sheet.ref('fed')}"
            sheet.worked("closure", formula, worked, line.closure.value, digits_of(line.closure), bold=True)
            sheet.number("u_closure", line.closure.u, digits_of(line.closure) + 1)
        missing = f"not known of {', '.join(line.open)}. " if line.open else ""
        sheet.say("reason", missing + sheet.why(line.closure), "quiet")
        sheet.say("step", line.closure.step.id, "quiet")
        sheet.row += 1


def _implied(sheet: Sheet, one: ImpliedShare) -> None:
    sheet.say("part", one.element)
    sheet.say("name", one.name)
    _pair(sheet, "share", one.share if one.share.value is not None else None)
    sheet.number("low", one.low, 1)
    sheet.number("high", one.high, 1)
    sheet.say("limits", f"{one.least:.3g} to {one.most:.3g}")
    sheet.number("known", one.known, 2)
    sheet.say("reason", verdict(one), "attention" if one.possible is False else "quiet")
    sheet.say("step", one.share.step.id, "quiet")
    sheet.row += 1


def _pair(sheet: Sheet, key: str, result: Result | None) -> None:
    if result is not None:
        digits = digits_of(result) if result.value else 0
        sheet.number(key, result.value, digits)
        sheet.number(f"u_{key}", result.u, digits + 1 if result.value else 0)
