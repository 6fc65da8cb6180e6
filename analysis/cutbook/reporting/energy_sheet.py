"""Lay out the sheet Energy."""

from __future__ import annotations

from cutbook.model.energy import EnergyLedger, EnergyRow
from cutbook.model.result import Result
from cutbook.reporting.energy_words import energy_figures, energy_sentences, energy_words
from cutbook.reporting.sheet_writer import Sheet, definitions, digits_of
from cutbook.workup.findings import Findings


def write_energy(sheet: Sheet, findings: Findings) -> None:
    """Every stream with energy and share as formulas, then the figures, the process part by part, the sentences."""
    sheet.head(sheet.about["columns"], freeze=True)
    ledger = findings.energy
    if ledger is None:
        sheet.say("name", "no ledger was made", "quiet")
        sheet.row += 1
        return
    first, fed = sheet.row, sum(row.feed for row in ledger.rows)
    whole = f"SUM({sheet.ref('energy', first)}:{sheet.ref('energy', first + fed - 1)})"
    for row in ledger.rows:
        _stream(sheet, row, whole, ledger.feed.value)
    made = f"SUM({sheet.ref('energy', first + fed)}:{sheet.ref('energy', max(first + fed, sheet.row - 1))})"
    sums = {
        id(ledger.feed): whole,
        id(ledger.products): made,
        id(ledger.unaccounted): f"{whole}-{made}",
        id(ledger.closure): f"100*{made}/{whole}",
    }
    sheet.caption("Sums and what they are held against")
    sheet.head(definitions()["energy_figures"]["columns"], widths=False)
    for name, state, result in energy_figures(ledger):
        sheet.figure(name, state, result, sums.get(id(result), ""), _as_summed(ledger, result))
    if ledger.process is not None:
        sheet.caption("Heat of the process in MJ for each kg of polyolefin, from the literature, without losses")
        sheet.head(definitions()["energy_process"]["columns"], widths=False)
        for part in ledger.process.parts:
            sheet.say("name", part.name)
            sheet.number("low", part.low, 2)
            sheet.number("high", part.high, 2)
            sheet.row += 1
    sheet.caption("In words")
    for told in (*energy_sentences(findings), energy_words()["references"]):
        sheet.text(sheet.row, 0, told)
        sheet.row += 1


def _as_summed(ledger: EnergyLedger, result: Result) -> float | None:
    """What the formula of a sum gives, from the numbers in the cells; None of what is no sum."""
    fed = sum(row.energy.value or 0.0 for row in ledger.rows if row.feed)
    made = sum(row.energy.value or 0.0 for row in ledger.rows if not row.feed)
    given = ((ledger.feed, fed), (ledger.products, made), (ledger.unaccounted, fed - made))
    if result is ledger.closure:
        return 100 * made / fed if fed else None
    return next((value for one, value in given if one is result), None)


def _stream(sheet: Sheet, row: EnergyRow, whole: str, fed: float | None) -> None:
    sheet.say("name", row.name)
    sheet.say("kind", "feed" if row.feed else "product")
    for key, result in (("mass", row.mass), ("gross", row.gross)):
        sheet.number(key, result.value, digits_of(result))
        sheet.number(f"u_{key}", result.u, digits_of(result) + 1)
    value = None
    if row.mass.value is not None and row.gross.value is not None:
        value = row.mass.value * row.gross.value / 1000.0
        product = f"{sheet.ref('mass')}*{sheet.ref('gross')}/1000"
        sheet.worked("energy", product, value, row.energy.value, digits_of(row.energy))
        sheet.number("u_energy", row.energy.u, digits_of(row.energy) + 1)
    if value is not None and fed and row.share.value is not None:
        sheet.worked(
            "share", f"100*{sheet.ref('energy')}/{whole}", 100 * value / fed, row.share.value, digits_of(row.share)
        )
        sheet.number("u_share", row.share.u, digits_of(row.share) + 1)
    sheet.say("how", energy_words()["how"][row.how])
    sheet.say("text", row.method)
    sheet.say("reason", sheet.why(row.energy), "quiet")
    sheet.say("step", row.energy.step.id, "quiet")
    sheet.row += 1
