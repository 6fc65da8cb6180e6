"""Lay out the sheet Cold: the answers for each liquid, then its solid at every degree."""

from __future__ import annotations

from collections.abc import Iterator

from cutbook.model.cold import ColdStorage
from cutbook.model.result import Result
from cutbook.reporting.cold_words import cold_sentence
from cutbook.reporting.numbers import COVERAGE_FACTOR, plain
from cutbook.reporting.sheet_writer import Sheet, digits_of
from cutbook.workup.findings import Findings

_MOST = 5


def write_cold(sheet: Sheet, findings: Findings) -> None:
    """One block a liquid; a missing number is an empty cell with its reason."""
    sheet.head(sheet.about["columns"], freeze=True)
    if not findings.cold:
        sheet.say("reason", "no liquid with an n-alkane ladder", "quiet")
        return
    for liquid in findings.cold:
        sheet.say("sample", liquid.of)
        sheet.say("what", "in short")
        sheet.say("reason", cold_sentence(liquid.answer))
        sheet.row += 1
        for name, result in answers_of(liquid.answer):
            _line(sheet, liquid.of, name, result)
            sheet.row += 1
        for point in liquid.answer.points:
            _line(sheet, liquid.of, "solid", point.mass)
            sheet.number("temperature", point.temperature_c, 0, "text")
            sheet.say("chains", most_of(point.by_carbon))
            sheet.row += 1
        sheet.row += 1


def answers_of(answer: ColdStorage) -> Iterator[tuple[str, Result]]:
    """The single numbers of an answer, each with what it is called in print."""
    yield "wax appears", answer.appearance
    for name, result in answer.measured:
        yield f"{name.replace('_', ' ')}, measured", result
    if answer.difference is not None:
        yield "cloud point less estimate", answer.difference
    for gel in answer.gel:
        yield f"{gel.share:g} % is solid at", gel.temperature
    if answer.at_storage is not None:
        yield f"solid in store at {plain(answer.at_storage.temperature_c, 3)} °C", answer.at_storage.solid
        yield "wax gone on warming at", answer.at_storage.warm_to


def most_of(by_carbon: tuple[tuple[int, float], ...]) -> str:
    """The carbon numbers that make up most of a solid: "C24 18 %, C25 17 %"."""
    largest = sorted(by_carbon, key=lambda pair: -pair[1])[:_MOST]
    return ", ".join(f"C{n} {share:.0f} %" for n, share in sorted(largest))


def _line(sheet: Sheet, of: str, name: str, result: Result) -> None:
    sheet.say("sample", of)
    sheet.say("what", name)
    sheet.number("value", result.value, digits_of(result))
    sheet.number("u", result.u, digits_of(result) + 1)
    if result.u is not None:
        sheet.number("wide", COVERAGE_FACTOR * result.u, digits_of(result))
    sheet.say("unit", result.unit)
    if result.value is None:
        sheet.say("reason", sheet.why(result), "quiet")
    sheet.say("step", result.step.id, "quiet")
