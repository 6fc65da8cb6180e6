"""One table of a JCAMP-DX file with its labels: its numbers, its units, and where labels and numbers disagree.

References
----------
McDonald R. S., Wilks P. A., Appl. Spectrosc. 42 (1988) 151, JCAMP-DX 4.24: factors, ends, limits.
Davies A. N., Lampen P., Appl. Spectrosc. 47 (1993) 1093: NTUPLES, the quantities of a series and its pages.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from cutbook.importers.jcamp_labels import (
    CHECKED,
    Disagreement,
    check_labels,
    check_lines,
    leading_number,
    normal_label,
)
from cutbook.importers.jcamp_packed import Rows, unpack, unpack_groups
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import printable
from cutbook.model.trace import Floats, frozen_array

_PACKED_FORM = re.compile(r"\(([A-Z][0-9]?)\+\+\(([A-Z][0-9]?)\.{2,3}\2\)\)")
_GROUP_FORM = re.compile(r"\(((?:[A-Z][0-9]?){2,8})(?:\.{2,3}(?:[A-Z][0-9]?){0,8})?\)")
_LONGEST_TEXT = 400
_SYMBOL = re.compile(r"[A-Z][0-9]?")


class Record(NamedTuple):
    """A labelled record: its label normalised, the text behind it, its line, and the lines that follow."""

    label: str
    text: str
    line: int
    more: list[str]


@dataclass(frozen=True)
class Variable:
    """What a series says of one of its quantities, as written; "" where it says nothing."""

    name: str = ""
    units: str = ""
    points: str = ""
    first: str = ""
    last: str = ""
    factor: str = ""


@dataclass(frozen=True, eq=False)
class Block:
    """One table of numbers with what its file says of it.

    number : counted from 1 through the file. line : where its table begins.
    labels : by name in capitals, without blanks, dashes, slashes and underscores.
    table : the label of the table, normalised. form : as written, "(XY..XY), PEAKS".
    columns : by symbol, x first, y second, factors applied; in the order of the file, read-only.
    variables : the quantities of a series by symbol; empty outside of one.
    page : the assignments of the page ("T=10"), by name in capitals.
    even : whether x is counted on in even steps and not written for every point.
    disagreements : labels that say something else than the numbers.
    """

    number: int
    line: int
    labels: Mapping[str, str]
    table: str
    form: str
    columns: Mapping[str, Floats]
    variables: Mapping[str, Variable]
    page: Mapping[str, str]
    even: bool
    disagreements: tuple[Disagreement, ...]
    rows: Rows = field(repr=False)

    @property
    def title(self) -> str:
        """Its title, or that of its block."""
        return self.text("TITLE")

    @property
    def data_type(self) -> str:
        """What the block says that it is, in capitals."""
        return (self.text("DATATYPE") or self.text("NTUPLES")).upper()

    @property
    def x(self) -> Floats:
        """The first column."""
        return list(self.columns.values())[0]

    @property
    def y(self) -> Floats:
        """The second column."""
        return list(self.columns.values())[1]

    @property
    def x_units(self) -> str:
        """Unit of the first column, "" where none is stated."""
        return self._units(0, "XUNITS")

    @property
    def y_units(self) -> str:
        """Unit of the second column, "" where none is stated."""
        return self._units(1, "YUNITS")

    @property
    def x_name(self) -> str:
        """What a series calls its first column, "" outside of one."""
        return self._variable(0).name

    @property
    def y_name(self) -> str:
        """What a series calls its second column, "" outside of one."""
        return self._variable(1).name

    def _variable(self, column: int) -> Variable:
        return self.variables.get(list(self.columns)[column], Variable())

    def _units(self, column: int, label: str) -> str:
        return self._variable(column).units or self.text(label)

    def text(self, *names: str) -> str:
        """The first of several labels that is not empty, be it general, of one technique (.) or private ($).

        Cut at 400 characters: a label that is asked for in every table must not cost its whole length each time.
        """
        found = (self.labels.get(mark + name) for name in names for mark in ("", ".", "$"))
        return next((text for text in found if text), "")[:_LONGEST_TEXT]


@dataclass(frozen=True)
class _Form:
    """How a table is written, and its lines."""

    symbols: tuple[str, ...]
    packed: bool
    first: int
    lines: Sequence[str]


def _form(file: TraceFile, record: Record) -> tuple[str, _Form]:
    text, first, lines = record.text, record.line + 1, record.more
    if not text:  # it may stand on the next line
        at = next((at for at, line in enumerate(lines) if line.strip()), len(lines) - 1)
        text, first, lines = "".join(lines[at : at + 1]).strip(), first + at + 1, lines[at + 1 :]
    plain = re.sub(r"[ \t,]", "", text[:200].upper())
    packed, groups = _PACKED_FORM.match(plain), _GROUP_FORM.match(plain)
    found = packed or groups
    symbols = _SYMBOL.findall(found.group(1) + (found.group(2) if packed else "")) if found else []
    half = len(symbols) // 2
    if half > 1 and symbols[:half] == symbols[half:]:  # (XYXY..XY)
        symbols = symbols[:half]
    if not found or len(set(symbols)) < len(symbols):
        raise file.fault(
            f"line {record.line}", f"a table '{printable(text, 40)}'", "(X++(Y..Y)), (XY..XY) or another form of these"
        )
    if record.label != "DATATABLE" and plain[found.end() :]:
        raise file.fault(
            f"line {record.line}", f"'{printable(text, 40)}'", "the numbers on the lines below", "Export the file again"
        )
    if symbols[2:] == ["A"] and any("<" in line for line in lines):
        symbols = symbols[:2]  # the assignments are words
    return text, _Form(tuple(symbols), packed is not None, first, lines)


def read_table(file: TraceFile, record: Record, labels: Mapping[str, str], number: int, left: int) -> Block:
    """Read one table.

    Parameters
    ----------
    file : names the file in messages.
    record : the label of the table and the lines below it.
    labels : what holds for it. number : its place among the tables of the file, from 1.
    left : how many points the file may still have.

    Raises
    ------
    TraceError
        A form that is not known, damage, or fewer or more points than the file states.
    """
    place = f"line {record.line}"
    written, form = _form(file, record)
    variables = _variables(labels) if record.label == "DATATABLE" else {}
    of_x, of_y = (variables.get(symbol, Variable()) for symbol in form.symbols[:2])
    count = labels.get("NPOINTS") or (of_x.points if form.packed else "")
    stated = leading_number(count)
    if count and (stated is None or stated < 0 or stated % 1):
        raise file.fault(place, f"##NPOINTS= {printable(count, 20)}", "a whole number of points")
    most = left if stated is None else int(min(left, 10 * stated + 1000))
    if form.packed:
        rows = unpack(file, form.first, form.lines, most)
    else:
        rows = unpack_groups(file, form.first, form.lines, len(form.symbols), most)
    if stated is not None and len(rows.values) != stated:
        raise file.fault(
            place,
            f"{len(rows.values)} points",
            f"the {stated:.0f} that the file states",
            "Data were lost or added; copy or export the file again",
        )
    factors = [
        _factor(file, place, labels, axis, variables.get(symbol))
        for axis, symbol in zip("XY" + "Z" * len(form.symbols), form.symbols, strict=False)
    ]
    ends = {"FIRSTX": of_x.first, "LASTX": of_x.last} if form.packed else {}
    said = {name: labels[name] if labels.get(name) else ends.get(name, "") for name in CHECKED}
    doubts: list[Disagreement] = []
    if form.packed:
        x, step = _counted(file, place, rows, factors[0], said, stated is not None)
        columns = [x, rows.values * factors[1]]
        doubts += check_lines(rows, factors[0], x, step)
    else:
        step = 0.0
        columns = [rows.values[:, at] * factor for at, factor in enumerate(factors)]
    doubts += check_labels(record.line, said, columns[0], columns[1], step)
    return Block(
        number,
        record.line,
        labels,
        record.label,
        written,
        MappingProxyType({s: frozen_array(column) for s, column in zip(form.symbols, columns, strict=True)}),
        MappingProxyType(variables),
        MappingProxyType(_page(labels.get("PAGE", ""))),
        form.packed,
        tuple(doubts),
        rows,
    )


def _variables(labels: Mapping[str, str]) -> dict[str, Variable]:
    """The quantities of a series by symbol, from its lists."""
    lists = [
        [cell.strip() for cell in labels.get(name, "")[:_LONGEST_TEXT].replace("\n", " ").split(",")]
        for name in ("SYMBOL", "VARNAME", "UNITS", "VARDIM", "FIRST", "LAST", "FACTOR")
    ]
    padded = [cells[: len(lists[0])] + [""] * (len(lists[0]) - len(cells)) for cells in lists]
    return {symbol.upper(): Variable(*cells) for symbol, *cells in zip(*padded, strict=True) if symbol}


def _page(text: str) -> dict[str, str]:
    """The assignments of a page: "T=10", or several."""
    parts = (part.partition("=") for part in re.split(r"[,;\n]", text[:_LONGEST_TEXT]))
    return {normal_label(name): value.strip() for name, mark, value in parts if mark}


def _factor(file: TraceFile, place: str, labels: Mapping[str, str], axis: str, variable: Variable | None) -> float:
    text = variable.factor if variable else labels.get(f"{axis}FACTOR", "")
    value = leading_number(text) if text else 1.0
    if not value:
        raise file.fault(place, f"a factor '{printable(text, 20)}' for {axis}", "a number other than 0")
    return value


def _counted(
    file: TraceFile, place: str, rows: Rows, factor: float, said: Mapping[str, str], complete: bool
) -> tuple[Floats, float]:
    """The x of a packed table and their step: from its ends if it is known to be complete, else from its lines."""
    count = len(rows.values)
    if not count:
        return np.empty(0), 0.0
    stated = leading_number(said["FIRSTX"])
    first = float(rows.line_x[0] * factor) if stated is None else stated
    last, step = leading_number(said["LASTX"]), leading_number(said["DELTAX"])
    points = int(rows.x_at[-1] - rows.x_at[0])
    by_ends = None if last is None or count < 2 else (last - first) / (count - 1)
    by_lines = None if not points else float(rows.line_x[-1] - rows.line_x[0]) * factor / points
    steps = (by_ends, step, by_lines) if complete else (by_lines, step, by_ends)
    step = next((one for one in steps if one is not None), None)
    if step is None and count > 1:
        raise file.fault(place, "neither ##LASTX= nor ##DELTAX=", "an x for every point", "Export the file again")
    step = step or 0.0
    return first + step * np.arange(count, dtype=np.float64), step
