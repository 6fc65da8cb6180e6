"""Find the one table of numbers in an exported text file, whatever stands above and below it."""

from __future__ import annotations

import codecs
import csv
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cutbook.importers.column_headings import is_unit, read_heading
from cutbook.importers.plain_numbers import plain_numbers
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import TraceError
from cutbook.model.trace import Floats

# a million rows of two columns are 20 MB; rows taken apart one by one take some twenty times the memory of the file
_MOST_MIB, _MOST_LINES = 64, 5_000_000
_MOST_MIB_BY_LINE, _MOST_LINES_BY_LINE = 16, 1_000_000
_LONGEST_LINE = 100_000  # characters
_SAMPLE = 400  # rows looked at to tell the delimiter
_LONGEST_HEADING = 5000  # characters in a line of headings
_PLAIN_HEAD = 40_000  # characters from which the delimiter of a clean table is told
_LARGE = 100  # rows from which a second table may be a second trace
_BYTE_ORDER_MARKS = (  # the longer before the shorter that begins alike
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_COMMENT = re.compile(r"\s*(?:[#%!]|//)")


@dataclass(frozen=True, eq=False)
class TextTable:
    """The table of a text file.

    delimiter : what separates cells; " " stands for runs of blanks.
    headings : one a column, () when it has none. heading_line : where they stand, 0 when nowhere.
    rows : cells as text, `width` in each; empty where `values` holds the numbers of all columns, shape (n, width),
        and `decimal` tells how they are written.
    lines : the line number of each row, from 1.
    """

    encoding: str
    delimiter: str
    headings: tuple[str, ...]
    heading_line: int
    width: int
    rows: list[list[str]]
    lines: Sequence[int]
    values: Floats | None = None
    decimal: str = "."


def table_of_text(file: TraceFile, text: str, encoding: str) -> TextTable:
    """Find the largest table of numbers, its delimiter and its headings.

    Parameters
    ----------
    file : for messages. text, encoding : of `text_of`.

    Raises
    ------
    TraceError
        When there is none, when there are two of the same kind, or when a line that is no row interrupts it.

    Notes
    -----
    A row is a line whose first cell is a number. Between rows that continue each other only blank lines, comments
    (#, %, !, //) and the headings again may stand; anything else is refused, so that no row is lost unnoticed.
    """
    head = text[:_PLAIN_HEAD].split("\n")
    delimiter = delimiter_of(head[:-1] or head)
    plain = plain_numbers(text, delimiter, _is_row(delimiter), _cells)
    if plain is not None:
        count, width = plain.values.shape
        headings, heading_line = _headings(head, plain.first, delimiter, width)
        lines = range(plain.first + 1, plain.first + 1 + count)
        return TextTable(encoding, delimiter, headings, heading_line, width, [], lines, plain.values, plain.decimal)
    file.hold_to(_MOST_MIB_BY_LINE, _MOST_LINES_BY_LINE, "Export time and one signal alone, with a decimal point")
    every = text.split("\n")
    longest = max(range(len(every)), key=lambda at: len(every[at]))
    if len(every[longest]) > _LONGEST_LINE:
        found = f"a line of {len(every[longest]):,} characters"
        raise file.fault(f"line {longest + 1}", found, "one row a line", "Export one row of time and signal a line")
    return table_of_lines(file, every, delimiter_of(every), encoding)


def text_of(file: TraceFile) -> tuple[str, str]:
    """The text of a file with "\\n" at the end of lines, and its encoding."""
    text, encoding = _decoded(file)
    # only what editors count as the end of a line: no form feeds and separators
    return text.replace("\r\n", "\n").replace("\r", "\n"), encoding


def table_of_lines(file: TraceFile, lines: Sequence[str], delimiter: str, encoding: str) -> TextTable:
    """The same line by line, where the delimiter is known."""
    blocks = _blocks(lines, delimiter)
    largest = max(range(len(blocks)), key=lambda number: len(blocks[number]), default=-1)
    if largest < 0 or len(blocks[largest]) < _LARGE:
        _refuse_clock_times(file, lines, len(blocks[largest]) if blocks else 0)
    if largest < 0:
        raise file.fault("", "no table of numbers", "columns of time and signal", "Export the trace as text columns")
    width = _width([lines[at] for at in blocks[largest]], delimiter)
    headings, heading_line = _headings(lines, blocks[largest][0], delimiter, width)
    indices = _joined(file, lines, blocks, largest, delimiter, width, lines[heading_line - 1] if headings else "")
    rows = _rows(file, lines, indices, delimiter, width)
    return TextTable(encoding, delimiter, headings, heading_line, width, rows, [at + 1 for at in indices])


def _decoded(file: TraceFile) -> tuple[str, str]:
    file.hold_to(_MOST_MIB, _MOST_LINES, "Export time and one signal alone")
    for mark, encoding in _BYTE_ORDER_MARKS:
        if file.content.startswith(mark):
            try:
                return file.content.decode(encoding), encoding
            except UnicodeDecodeError as error:
                raise file.fault(
                    f"byte {error.start}", f"no {encoding} text", "text throughout", "Was the file cut short?"
                ) from None
    if b"\0" in file.content:
        at = file.content.index(b"\0")
        raise file.fault(f"byte {at}", "a zero byte", "text throughout", "Save the text as UTF-8")
    for encoding in ("utf-8", "cp1252"):
        try:
            return file.content.decode(encoding), encoding
        except UnicodeDecodeError:
            continue
    return file.content.decode("latin-1"), "latin-1"  # has a character for every byte


def delimiter_of(lines: Sequence[str]) -> str:
    """What separates the cells of most lines that begin with a number; " " stands for runs of blanks."""
    begins = re.compile(r"[\s\",;|]*[+-]?[.,]?\d").match
    spread = lines[:: max(1, len(lines) // (10 * _SAMPLE))]
    candidates = [line for line in spread if begins(line)] or [line for line in lines if begins(line)]
    sample = candidates[:: max(1, len(candidates) // _SAMPLE)]
    half = len(sample) / 2
    for mark in "\t;|":
        if sum(mark in line.strip() for line in sample) > half:
            return mark
    # a comma that ends a token parts cells; one inside a token that blanks part from others is decimal
    number = re.compile(r"[+-]?\d[\d.,]*(?<!,)(?:[eE][+-]?\d+)?").fullmatch
    spaced = sum(len(tokens) > 1 and all(map(number, tokens)) for tokens in map(str.split, sample))
    return "," if sum("," in line for line in sample) > half and spaced <= half else " "


def _is_row(delimiter: str) -> Callable[[str], object]:
    """A test whether the first cell of a line is a number."""
    # possessive (*+) throughout, so that a hostile line costs no more than its length
    mark = re.escape(delimiter)
    comma = "" if delimiter == "," else ","
    number = rf"[+-]?(?:\d[\d.{comma}']*+|[.{comma}]\d++)(?:[eE][+-]?\d++)?"
    if delimiter == " ":
        return re.compile(rf"\s*+\"?{number}\"?(?:\s|$)").match
    blanks = rf"[^\S{delimiter}]*+"  # a tab that delimits is no blank
    return re.compile(rf"{blanks}(?:{mark}{blanks})?+\"?{blanks}{number}{blanks}\"?{blanks}(?:{mark}|$)").match


def _blocks(lines: Sequence[str], delimiter: str) -> list[list[int]]:
    """Runs of rows with nothing but blank lines and comments between; a change of width there parts them, too."""
    is_row, comment = _is_row(delimiter), _COMMENT.match
    blocks: list[list[int]] = []
    current: list[int] = []
    apart = False
    for at, line in enumerate(lines):
        if is_row(line):
            if not current or (apart and _count(line, delimiter) != _count(lines[current[-1]], delimiter)):
                current = []
                blocks.append(current)
            current.append(at)
            apart = False
        elif not line.strip() or comment(line):
            apart = True
        else:
            current = []
    return blocks


def _refuse_clock_times(file: TraceFile, lines: Sequence[str], rows: int) -> None:
    clock = [at for at, line in enumerate(lines) if re.match(r"[\s\"]*\d{1,2}:\d\d", line)]
    if len(clock) > max(rows, 1):
        raise file.fault(
            f"line {clock[0] + 1}",
            "a time of the clock form hh:mm:ss",
            "times as plain numbers",
            "Export the times in minutes or seconds",
        )


def _cells(line: str, delimiter: str) -> list[str]:
    if delimiter == " ":
        return [cell.strip('"') for cell in line.split()]
    if '"' in line:
        try:
            return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]
        except csv.Error:  # a cell of more than 128 kB; it will not pass as a number
            return [line.strip()]
    return [cell.strip() for cell in line.split(delimiter)]


def _count(line: str, delimiter: str) -> int:
    """Number of cells, empty ones at the end of the line not counted."""
    cells = _cells(line, delimiter)
    while cells and not cells[-1]:
        cells.pop()
    return len(cells)


def _width(rows: Sequence[str], delimiter: str) -> int:
    sample = rows[:: max(1, len(rows) // _SAMPLE)]
    return Counter(_count(row, delimiter) for row in sample).most_common(1)[0][0]


def _headings(lines: Sequence[str], first: int, delimiter: str, width: int) -> tuple[tuple[str, ...], int]:
    """The headings above a table and the line number in which they stand; a row of units is joined to its names."""
    is_row = _is_row(delimiter)
    above: list[tuple[int, list[str]]] = []
    looked_at = 0
    for at in range(first - 1, -1, -1):
        body = _COMMENT.sub("", lines[at], count=1) if _COMMENT.match(lines[at]) else lines[at]
        if is_row(lines[at]) or looked_at == 4:
            break
        if not any(character.isalnum() or character in "#%" for character in body):
            continue  # blank, or a ruler
        looked_at += 1
        cells = _heading_cells(body, delimiter, width) if len(body) <= _LONGEST_HEADING else []
        if cells and (looked_at == 1 or any(read_heading(cell).kind for cell in cells)):
            above.append((at, cells))
    if not above:
        return (), 0
    at, cells = above[0]
    if len(above) > 1 and all(is_unit(cell) for cell in cells if cell) and above[1][0] >= at - 2:
        at, names = above[1]
        cells = [f"{name} ({unit.strip('()[]')})" if unit else name for name, unit in zip(names, cells, strict=True)]
    else:
        at, cells = next(((a, c) for a, c in above if any(read_heading(cell).kind for cell in c)), above[0])
    return tuple(cells), at + 1


def _heading_cells(body: str, delimiter: str, width: int) -> list[str]:
    """A heading line in as many cells as the table has, [] when it cannot be divided so."""
    for mark in dict.fromkeys((delimiter, "\t", ";", "|", ",")):
        if mark != " ":
            cells = _cells(body, mark)
            while len(cells) > width and not cells[-1]:
                cells.pop()
            if len(cells) == width:
                return cells
    if delimiter == " ":
        for parts in (
            re.split(r"\s{2,}|\t", body.strip()),
            body.split(),
            re.findall(r"\S+(?:\s+[(\[][^)\]]*[)\]])?", body),
        ):
            if len(parts) == width:
                return [part.strip('"') for part in parts]
    return []


def _joined(
    file: TraceFile,
    lines: Sequence[str],
    blocks: Sequence[list[int]],
    largest: int,
    delimiter: str,
    width: int,
    heading: str,
) -> list[int]:
    """The rows of the largest block and of those that only repeated headings part from it."""
    first = last = largest
    heading = heading.strip()
    # what stands above the first headings is not of the table
    top = next((at for at, line in enumerate(lines) if line.strip() == heading), 0) if heading else 0
    while last + 1 < len(blocks) and _belongs(file, lines, blocks[last], blocks[last + 1], delimiter, heading, top):
        last += 1
    while first > 0 and _belongs(file, lines, blocks[first - 1], blocks[first], delimiter, heading, top):
        first -= 1
    for number, block in enumerate(blocks):
        if not first <= number <= last and len(block) >= _LARGE and _count(lines[block[0]], delimiter) == width:
            raise file.fault(
                f"line {block[0] + 1}",
                f"a second table of {len(block)} rows",
                "one trace in a file",
                "Export each signal and each injection to its own file",
            )
    return [at for block in blocks[first : last + 1] for at in block]


def _belongs(
    file: TraceFile, lines: Sequence[str], before: list[int], after: list[int], delimiter: str, heading: str, top: int
) -> bool:
    """Whether two blocks are one table; refuses a line between rows that continue each other."""
    between = [at for at in range(before[-1] + 1, after[0]) if lines[at].strip() and not _COMMENT.match(lines[at])]
    if heading and any(lines[at].strip() == heading for at in range(max(before[-1], top) + 1, after[0])):
        return True
    longer = max(before, after, key=len)
    ends = [_first_number(lines[at], delimiter) for at in (longer[0], longer[-1], before[-1], after[0])]
    if len(longer) < 3 or None in ends:
        return False
    start, end, low, high = (end for end in ends if end is not None)
    step = (end - start) / (len(longer) - 1)
    if 0 < high - low <= 20 * step:
        at = between[0] if between else after[0] if longer is before else before[-1]
        raise file.fault(
            f"line {at + 1}",
            f"'{lines[at].strip()[:60]}' between rows",
            "a row like the others",
            "Mend or remove the line",
        )
    return False


def _first_number(line: str, delimiter: str) -> float | None:
    cell = next((cell for cell in _cells(line, delimiter) if cell), "")
    try:
        return float(cell.replace(",", "."))
    except ValueError:
        return None


def _rows(file: TraceFile, lines: Sequence[str], indices: Sequence[int], delimiter: str, width: int) -> list[list[str]]:
    """Every row in cells, `width` of them."""
    if delimiter != " " and '"' not in "".join([lines[at] for at in indices]):
        rows = [lines[at].split(delimiter) for at in indices]  # the blanks in cells cost time and do no harm yet
    else:
        rows = [_cells(lines[at], delimiter) for at in indices]
    if set(map(len, rows)) == {width}:
        return rows
    for at, row in zip(indices, rows, strict=True):
        while len(row) > width and not row[-1].strip():
            row.pop()
        row.extend([""] * (width - len(row)))  # an empty cell is told where its column is read
        if len(row) > width:
            raise _too_wide(file, at + 1, len(row), width, delimiter)
    return rows


def _too_wide(file: TraceFile, line: int, count: int, width: int, delimiter: str) -> TraceError:
    hint = "Is the comma a decimal mark or parts thousands? Export with semicolons or tabs" if delimiter == "," else ""
    return file.fault(f"line {line}", f"{count} cells", f"{width} as in the other rows", hint)
