"""Turn columns of printed numbers into values: decimal comma or point, thousands separators, bad cells by line."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import TraceError, printable
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class Marks:
    """How the numbers of a column are written. decimal : "." or ",". grouping : of thousands, "" when there is none."""

    decimal: str
    grouping: str = ""


@dataclass(frozen=True)
class _Signs:
    """What the cells of a column tell. sure : a decimal mark beyond doubt. open : a mark that may be either."""

    sure: str = ""
    grouping: str = ""
    open: str = ""
    whole: bool = False  # short whole numbers without any mark stand among them


def decide_marks(file: TraceFile, names: Sequence[str], time: list[str], signal: list[str]) -> tuple[Marks, Marks]:
    """Decide how the numbers of the time and of the signal column are written.

    Notes
    -----
    A mark is decimal where a cell cannot be read otherwise ("0,12", "1234.5"), a thousands separator where it stands
    twice or before the decimal mark. Cells like "1,234" alone leave it open; then the other column decides.

    Raises
    ------
    TraceError
        When both readings remain possible.
    """
    of_time, of_signal = _signs(time), _signs(signal)
    return (
        _settled(file, names[0], of_time, of_signal, time, may_group=False),
        _settled(file, names[1], of_signal, of_time, signal, may_group=True),
    )


def numbers(file: TraceFile, name: str, cells: list[str], marks: Marks, lines: Sequence[int]) -> Floats:
    """The values of a column.

    Parameters
    ----------
    name : its heading, for messages. lines : the line number of each cell.

    Raises
    ------
    TraceError
        With the first line whose cell is no number, and how many there are.
    """
    written = cells
    if marks.grouping:
        written = [cell.replace(marks.grouping, "") for cell in written]
    if marks.decimal == ",":
        written = [cell.replace(",", ".") for cell in written]
    try:
        values = np.array(list(map(float, written)), dtype=np.float64)
    except ValueError:
        raise _bad_cells(file, name, cells, marks, lines) from None
    # float() takes "1_000", and grouping that is taken out no longer shows whether it was in its place
    if marks.grouping or "_" in "".join(cells):
        shape = _shape(marks)
        if not all(map(shape.fullmatch, cells)):
            raise _bad_cells(file, name, cells, marks, lines)
    return values


def _signs(cells: Sequence[str]) -> _Signs:
    together = "\n".join(cells)
    has = [mark for mark in ".," if mark in together]
    if not has:
        return _Signs()
    if len(has) == 2:
        both = next((cell for cell in cells if "." in cell and "," in cell), "")
        if both:
            decimal = max(".,", key=both.rfind)
            return _Signs(sure=decimal, grouping="," if decimal == "." else ".")
        point, comma = (_signs([cell for cell in cells if mark in cell]) for mark in ".,")
        if point.sure and not comma.sure:
            return _Signs(sure=".", grouping=",")
        if comma.sure and not point.sure:
            return _Signs(sure=",", grouping=".")
        return _Signs(open=".,")
    mark = has[0]
    grouped = re.compile(rf"[+-]?[1-9]\d{{0,2}}(?:{re.escape(mark)}\d{{3}})+").fullmatch
    marked = [cell for cell in cells if mark in cell]
    if together.count(mark) > len(marked):
        return _Signs(grouping=mark)
    if not all(map(grouped, marked)):
        return _Signs(sure=mark)
    whole = [cell for cell in cells if mark not in cell and cell.strip("+-").isdigit()]
    if any(len(cell.strip("+-")) > 3 for cell in whole):
        return _Signs(sure=mark)  # who separates thousands separates them all
    return _Signs(open=mark, whole=bool(whole))


def _settled(file: TraceFile, name: str, own: _Signs, other: _Signs, cells: list[str], may_group: bool) -> Marks:
    if own.sure:
        return Marks(own.sure, own.grouping)
    if own.grouping:
        return Marks("." if own.grouping == "," else ",", own.grouping)
    if not own.open:
        return Marks(".")
    if len(own.open) == 1:
        if other.sure == own.open:
            return Marks(own.open)
        if other.sure and may_group:
            return Marks(other.sure, own.open)
        # a plain point is decimal the world over unless something in the file speaks against it
        if own.open == "." and not other.sure and not own.whole:
            return Marks(".")
    example = next(cell for cell in cells if own.open[0] in cell)
    raise file.fault(
        f"column '{name}'",
        f"numbers such as '{example}', whose '{own.open[0]}' may part thousands or decimals",
        "numbers that can be read in one way only",
        "Export without thousands separators, or with more decimals",
    )


def _shape(marks: Marks) -> re.Pattern[str]:
    whole = r"\d+"
    if marks.grouping:
        whole = rf"(?:\d{{1,3}}(?:{re.escape(marks.grouping)}\d{{3}})+|\d+)"
    decimal = re.escape(marks.decimal)
    return re.compile(
        rf"[+-]?(?:{whole}(?:{decimal}\d*)?|{decimal}\d+)(?:[eE][+-]?\d+)?|[+-]?(?:nan|inf)", re.IGNORECASE
    )


def _bad_cells(file: TraceFile, name: str, cells: list[str], marks: Marks, lines: Sequence[int]) -> TraceError:
    shape = _shape(marks)
    bad = [at for at, cell in enumerate(cells) if not shape.fullmatch(cell)]
    first = cells[bad[0]] if bad else ""
    found = f"'{printable(first, 40)}'" if first else "an empty cell"
    more = f", the first of {len(bad)} such cells" if len(bad) > 1 else ""
    clock = re.match(r"\d+:\d\d", first)
    return file.fault(
        f"line {lines[bad[0]]}" if bad else "",
        f"{found} in column '{name}'{more}",
        f"a number with '{marks.decimal}' as decimal mark",
        "Export the times in minutes or seconds" if clock else "",
    )
