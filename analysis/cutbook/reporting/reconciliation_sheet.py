"""Lay out reconciled masses and shares below the balance, raw beside reconciled."""

from __future__ import annotations

from cutbook.balance.run_reconciliation import value_name
from cutbook.model.balance import Reconciliation
from cutbook.reporting.numbers import places
from cutbook.reporting.reconciliation_words import (
    reconciliation_sentences,
    reconciliation_words,
    worth_showing,
)
from cutbook.reporting.sheet_writer import Sheet, definitions, digits_of


def write_reconciliation(sheet: Sheet, found: Reconciliation) -> None:
    """A table of every value that the balances check or find, and in words what is not believed."""
    about = definitions()["reconciled"]
    sheet.row += 1
    sheet.caption(about["title"])
    sheet.head(about["columns"], widths=False)
    for one in worth_showing(found):
        sheet.say("name", value_name(one.stream, one.element))
        sheet.say("standing", reconciliation_words()["standing"][one.standing], "quiet")
        raw, told = one.raw, one.reconciled
        if raw.value is not None:
            sheet.number("raw", raw.value, digits_of(raw))
            sheet.number("u_raw", raw.u, digits_of(raw) + 1)
        if told.value is not None:
            sheet.number("reconciled", told.value, digits_of(told))
            sheet.number("u_reconciled", told.u, digits_of(told) + 1)
        if raw.value is not None and told.value is not None:
            shift = f"{sheet.ref('reconciled')}-{sheet.ref('raw')}"
            sheet.worked("shift", shift, told.value - raw.value, None, digits_of(raw))
        sheet.number("test", one.test, 2)
        if one.detectable is not None:
            sheet.number("noticed", one.detectable, places(one.detectable, None))
        sheet.say("unit", raw.unit)
        sheet.row += 1
    for sentence in reconciliation_sentences(found):
        sheet.say("name", sentence, "quiet")
        sheet.row += 1
