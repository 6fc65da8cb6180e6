"""Write cells safely: text that stays text, inputs in blue, formulas with the value they give."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from cutbook.model.entered import Entered
from cutbook.model.result import Result
from cutbook.reporting.cautions import Shown, reason_text
from cutbook.reporting.numbers import COVERAGE_FACTOR, places, unit_name

FONT = "Arial"
AGREES = 1e-9  # relative; a formula stands in a cell only where it gives the number that was found
LONGEST = 32_000  # characters; a cell holds 32,767


@cache
def definitions() -> dict[str, Any]:
    """Sheet definitions as read from `reports/sheets.toml`."""
    return tomllib.loads(files("cutbook.reports").joinpath("sheets.toml").read_text(encoding="utf-8"))


def cell_text(text: str) -> str:
    """Text as a cell can hold it: control characters shown as escapes, length bounded."""
    if text.isprintable():
        return text[:LONGEST]
    shown = (
        c if c.isprintable() or c in "\n\N{NO-BREAK SPACE}" else c.encode("unicode_escape").decode("ascii")
        for c in text
    )
    return "".join(shown)[:LONGEST]


def column(number: int) -> str:
    """Letters of a column, 0 is A."""
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def at(row: int, col: int, sheet: str = "") -> str:
    """Absolute address of a cell, rows and columns from 0: "$C$5", "'Carbon numbers'!$C$5"."""
    where = f"${column(col)}${row + 1}"
    return f"'{sheet}'!{where}" if sheet else where


class Formats:
    """The cell formats of a workbook, each made once."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._made: dict[tuple[tuple[str, Any], ...], Any] = {}
        self.colours: dict[str, str] = definitions()["colours"]

    def get(self, ink: str = "text", **more: Any) -> Any:
        """A format in one of the named inks, with further properties of the writer."""
        wanted = {
            "font_name": FONT,
            "font_size": 10,
            "font_color": self.colours[ink],
            "valign": "vcenter",
            **more,
        }
        key = tuple(sorted(wanted.items()))
        if key not in self._made:
            self._made[key] = self._book.add_format(wanted)
        return self._made[key]

    def number(self, ink: str, digits: int, **more: Any) -> Any:
        """A format for numbers with so many decimals (none for tens and hundreds)."""
        return self.get(ink, num_format="0." + "0" * digits if digits > 0 else "0", align="right", **more)


class Sheet:
    """One sheet: title, explanation, tables; keeps the places of columns by their keys."""

    def __init__(self, book: Any, formats: Formats, key: str, worded: Sequence[Shown]) -> None:
        self.about: dict[str, Any] = definitions()[key]
        self.name: str = self.about["title"]
        self.formats = formats
        self.worded = worded
        self.page = book.add_worksheet(self.name)
        self.page.hide_gridlines(2)
        self.page.set_landscape()
        self.page.set_paper(9)
        self.page.fit_to_pages(1, 0)
        self.page.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.6)
        self.page.set_footer("&L&A&RPage &P of &N")
        self.page.set_default_row(15)
        self.columns: dict[str, int] = {}
        self.width: dict[str, float] = {}
        self.row = 0
        self.page.set_row(0, 24)
        self.text(0, 0, self.name, size=16, bold=True)
        if self.about.get("explain"):
            self.text(1, 0, self.about["explain"], ink="quiet")
        self.row = 3

    def head(self, columns: Sequence[dict[str, Any]], freeze: bool = False, widths: bool = True) -> None:
        """Write the heads of a table at the current row and go below them."""
        self.columns = {one["key"]: place for place, one in enumerate(columns)}
        self.width = {one["key"]: float(one["width"]) for one in columns}
        words = frozenset(definitions()["text_columns"]["keys"])
        deep = 1
        for place, one in enumerate(columns):
            layout = {"align": "left", "indent": 1 if place else 0} if one["key"] in words else {"align": "right"}
            form = self.formats.get(
                bold=True,
                text_wrap=True,
                bg_color=self.formats.colours["head"],
                bottom=1,
                valign="bottom",
                quote_prefix=True,
                **layout,
            )
            self.page.write_string(self.row, place, cell_text(one["head"]), form)
            width = one["width"]
            deep = max(deep, math.ceil(len(one["head"]) / max(width, 1)))
            if widths:
                self.page.set_column(place, place, width)
        self.page.set_row(self.row, 15.0 * min(deep, 5) + 3)
        if freeze:
            self.page.freeze_panes(self.row + 1, 0)
            self.page.repeat_rows(self.row)
        self.row += 1

    def widths(self, columns: Sequence[dict[str, Any]]) -> None:
        """Set the widths of columns without writing heads."""
        for place, one in enumerate(columns):
            self.page.set_column(place, place, one["width"])

    def caption(self, text: str) -> None:
        """A heading over a further table, after an empty row."""
        self.row += 1
        self.text(self.row, 0, text, size=12, bold=True)
        self.page.set_row(self.row, 20)
        self.row += 1

    def place(self, key: str, row: int | None = None) -> tuple[int, int]:
        """Row and column of a key in the current (or a given) row."""
        return (self.row if row is None else row), self.columns[key]

    def ref(self, key: str, row: int | None = None, sheet: bool = False) -> str:
        """Address of that cell, with the sheet's name when it is used elsewhere."""
        where, col = self.place(key, row)
        return at(where, col, self.name if sheet else "")

    def text(
        self, row: int, col: int, text: str, ink: str = "text", size: int = 10, bold: bool = False, wrap: bool = False,
        indent: int = 0,
    ) -> None:  # fmt: skip
        """Text that is never run as a formula, number or link."""
        if text:
            form = self.formats.get(
                ink,
                font_size=size,
                bold=bold,
                text_wrap=wrap,
                quote_prefix=True,
                num_format="@",
                indent=indent,
                align="left",
            )
            self.page.write_string(row, col, cell_text(text), form)

    def say(self, key: str, text: str, ink: str = "text", bold: bool = False, wrap: bool = False) -> None:
        """Text in a column of the current row."""
        row, col = self.place(key)
        long = key == "reason" and len(text) > self.width[key]
        if long:
            self.page.set_row(row, 13.0 * math.ceil(len(text) * 1.1 / self.width[key]) + 3)
        self.text(row, col, text, ink, bold=bold, wrap=wrap or long, indent=1 if col else 0)

    def number(self, key: str, value: float | None, digits: int, ink: str = "quiet", bold: bool = False) -> None:
        """A number that comes from numerical work; nothing when there is none."""
        if value is None or not math.isfinite(value):
            return
        row, col = self.place(key)
        self.page.write_number(row, col, value, self.formats.number(ink, digits, bold=bold))

    def entered(self, key: str, quantity: Entered | None, factor: float = 1.0) -> None:
        """An input and, in column u_<key>, its standard uncertainty; both in blue."""
        if quantity is None:
            return
        digits = max(0, places(quantity.value * factor, 2 * quantity.u * factor))
        self.number(key, quantity.value * factor, digits, "input")
        self.number(f"u_{key}", quantity.u * factor, digits + 1, "input")

    def worked(
        self, key: str, formula: str, value: float | None, found: float | None, digits: int, bold: bool = False
    ) -> bool:
        """A formula with the value it gives, or the number as found where the two differ.

        Parameters
        ----------
        key : column.
        formula : with absolute addresses.
        value : what the formula gives, computed from the numbers in the cells it names; None when it cannot be.
        found : what the work-up found; None when there is nothing to compare with.
        digits : decimals shown.

        Returns
        -------
        bool
            Whether the formula was written.
        """
        row, col = self.place(key)
        target = value if found is None else found
        if target is None or not math.isfinite(target):
            return False
        if value is not None and math.isfinite(value) and math.isclose(value, target, rel_tol=AGREES, abs_tol=1e-12):
            self.page.write_formula(row, col, "=" + formula, self.formats.number("text", digits, bold=bold), value)
            return True
        self.page.write_number(row, col, target, self.formats.number("quiet", digits, bold=bold))
        return False

    def stated(self, result: Result, unit: str = "", formula: str = "", worked: float | None = None) -> None:
        """A result in the columns value, u, wide (U with k = 2) and unit.

        unit : where another is to be named. formula : that gives the value, and `worked`, what it gives.
        """
        digits = digits_of(result)
        if formula and result.value is not None:
            self.worked("value", formula, worked, result.value, digits)
        else:
            self.number("value", result.value, digits)
        self.number("u", result.u, digits + 1)
        if result.u is not None:
            self.number("wide", COVERAGE_FACTOR * result.u, digits)
        self.say("unit", unit_name(unit or result.unit))

    def figure(self, name: str, state: str, result: Result, formula: str = "", worked: float | None = None) -> None:
        """A row of a table of figures: what it is, the result, the state it holds at, why there is none, its step."""
        self.say("name", name)
        self.stated(result, "", formula, worked)
        self.say("limits", state)
        self.say("reason", self.why(result), "quiet")
        self.say("step", result.step.id, "quiet")
        self.row += 1

    def why(self, result: Result | None) -> str:
        """Why a result is missing, in words; "" when it is there."""
        if result is None or result.value is not None:
            return ""
        return reason_text(result.reason, self.worded) or result.status


def digits_of(result: Result | None) -> int:
    """Decimals at which a result is shown in a cell."""
    if result is None or result.value is None:
        return 1
    return max(0, places(result.value, None if result.u is None else 2 * result.u, result.unit))
