"""Take a table under known headings out of a file as rows of cells, whatever the delimiter."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from cutbook.importers.text_columns import recognises as is_text
from cutbook.importers.text_table import text_of
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.workbook import SheetFile, open_workbook
from cutbook.importers.workbook_columns import recognises as is_workbook

DITTO = "〃"
_DITTO_CELL = re.compile(r"[\"″”“„〃]|''|do\.?|dto\.?|id\.?|idem|-\s?[\"″”''〃]{1,2}\s?-", re.IGNORECASE)
_MOST_MIB, _MOST_ROWS, _MOST_COLUMNS = 2, 20_000, 100
_HEAD_ROWS = 60  # in which the headings are looked for


@dataclass(frozen=True, eq=False)
class HeadedTable:
    """A table as cells, under its headings.

    file : for messages, the sheet where it is a workbook. headings : as written, at `heading_place`.
    rows : (place, cells), as many cells as headings; what is empty is "". above : (place, text) of what stands over the
    headings. repeated : places of headings again.
    clocks : whether times of day were stored as such and are minutes now. delimiter : what parts cells.
    """

    file: TraceFile
    headings: tuple[str, ...]
    heading_place: str
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    above: tuple[tuple[str, str], ...]
    repeated: tuple[str, ...]
    clocks: bool
    delimiter: str


@dataclass(frozen=True)
class TableKind:
    """What kind of table is looked for.

    name : for messages. field_of : field that a heading heads, "" for none. telling : fields of which a line of
    headings has one at least, beside another. headings : examples, for messages. entry : of the run sheet, too.
    """

    name: str
    field_of: Callable[[str], str]
    telling: frozenset[str]
    headings: str
    advice: str
    entry: str


def headed_table(file: TraceFile, wanted: Mapping[str, str], kind: TableKind) -> HeadedTable:
    """The one table under known headings in a file that a hand may have kept: a still log, a gas analysis.

    Parameters
    ----------
    file : read whole. wanted : field -> heading, as the run sheet chooses; "sheet" names the sheet of a workbook.
    kind : what tells its headings.

    Raises
    ------
    TraceError
        When the file is no text and no workbook, is far larger than such a table, or has no such headings.
    """
    if is_workbook(file.content[:4096]):
        return _of_workbook(file, wanted, kind)
    if not is_text(file.content[:4096]):
        raise file.fault("", "no text and no workbook", f"a {kind.name} as CSV, TSV or XLSX", "Export it as CSV")
    file.hold_to(_MOST_MIB, _MOST_ROWS, f"A {kind.name} is a few pages at most")
    text, _ = text_of(file)
    lines = text.split("\n")
    known, at, delimiter = max(
        (_heading(lines, delimiter, wanted, kind) for delimiter in "\t;|, "), key=lambda found: found[0]
    )
    if not known:
        raise _no_headings(file, kind)
    return _table(file, "line", [_cells(line, delimiter) for line in lines], at, False, delimiter, kind)


def is_ditto(cell: str) -> bool:
    """Whether a cell says "as above"."""
    return bool(_DITTO_CELL.fullmatch(cell.strip()))


def _of_workbook(file: TraceFile, wanted: Mapping[str, str], kind: TableKind) -> HeadedTable:
    book = open_workbook(file)
    names = [sheet.name for sheet in book.sheets]
    shown = ", ".join(f"'{name}'" for name in names[:12])
    if (only := wanted.get("sheet", "")) and only not in names:
        raise file.fault("columns, sheet", f"'{only}'", f"one of {shown}")
    found = []
    for sheet in book.sheets:
        known, at, _ = _heading(sheet.lines, "\t", wanted, kind)
        if known and only in ("", sheet.name):
            found.append((sheet, at))
    if not found:
        raise _no_headings(file, kind)
    if len(found) > 1:
        logs = ", ".join(f"'{sheet.name}'" for sheet, _ in found[:12])
        do = 'Choose with columns = { sheet = "…" } in its ' + f"{kind.entry} entry"
        raise file.fault("", f"{len(found)} sheets that may hold the {kind.name}: {logs}", "one", do)
    sheet, at = found[0]
    if len(sheet.lines) > _MOST_ROWS:
        raise file.fault(f"sheet '{sheet.name}'", f"{len(sheet.lines)} rows", f"at most {_MOST_ROWS}")
    place = SheetFile(file.name, file.content, file.sha256, sheet.name)
    return _table(place, "row", [line.split("\t") for line in sheet.lines], at, sheet.durations > 0, "\t", kind)


def _no_headings(file: TraceFile, kind: TableKind) -> Exception:
    return file.fault(
        "", f"no line of headings among the first {_HEAD_ROWS}", f"headings of a {kind.name}, such as {kind.headings}",
        kind.advice,
    )  # fmt: skip


def _heading(lines: Sequence[str], delimiter: str, wanted: Mapping[str, str], kind: TableKind) -> tuple[int, int, str]:
    """How many known headings the best line has, its number from 1, and the delimiter; two of them at least."""
    best = (0, 0, delimiter)
    named = {text.strip().casefold() for text in wanted.values()}
    for number, line in enumerate(lines[:_HEAD_ROWS], 1):
        if len(line) > 5000:
            continue
        cells = _cells(line, delimiter)
        fields = {kind.field_of(cell) or (cell if cell.strip().casefold() in named else "") for cell in cells}
        known = len(fields - {""})
        measured = fields & kind.telling or named
        if known >= (1 if named else 2) and measured and known > best[0] and len(cells) <= _MOST_COLUMNS:
            best = (known, number, delimiter)
    return best


def _table(
    file: TraceFile, word: str, lines: Sequence[list[str]], at: int, clocks: bool, delimiter: str, kind: TableKind
) -> HeadedTable:
    """The table under the headings in line `at`; `word` names a line."""
    headings = lines[at - 1]
    mark = f"{delimiter} " if delimiter in ",;|" else " "
    above = [(f"{word} {number}", mark.join(filter(None, cells))) for number, cells in enumerate(lines[: at - 1], 1)]
    width = len(headings)
    plain = [heading.strip() for heading in headings]
    notes_last = kind.field_of(headings[-1]) == "note"
    kept: list[tuple[str, tuple[str, ...]]] = []
    repeated: list[str] = []
    for number, read in enumerate(lines[at:], at + 1):
        place = f"{word} {number}"
        cells = [cell.strip() for cell in read]
        while len(cells) > width and not cells[-1]:
            cells.pop()
        if len(cells) > width and notes_last:  # a note with the delimiter in it
            cells[width - 1 :] = [f"{delimiter} ".join(cells[width - 1 :])]
        if len(cells) > width or (delimiter == " " and 0 < len(cells) < width):
            raise file.fault(
                f"line {number}", f"{len(cells)} cells", f"{width} as the headings have",
                "Does a comma stand in a number or a note? Put it in quotes, or part cells with semicolons"
                if delimiter != " " else "Part cells with tabs or semicolons, so that empty ones can be told",
            )  # fmt: skip
        cells += [""] * (width - len(cells))
        if cells == plain:
            repeated.append(place)
        else:
            kept.append((place, tuple(cells)))
    while kept and not any(kept[-1][1]):
        kept.pop()
    if not kept:
        raise file.fault("", "headings without a reading", "one row a reading")
    written = tuple((place, text) for place, text in above if text.strip())
    return HeadedTable(file, tuple(headings), f"{word} {at}", tuple(kept), written, tuple(repeated), clocks, delimiter)


def _cells(line: str, delimiter: str) -> list[str]:
    if delimiter == " ":
        return [cell.strip() for cell in re.split(r"\s{2,}", line.strip())] if line.strip() else []
    if '"' not in line:
        return [cell.strip() for cell in line.split(delimiter)]
    mark = re.escape(delimiter)
    # a quotation mark alone in a cell is a ditto, no quoting
    told = re.sub(rf"(^|{mark})[^\S\t]*\"[^\S\t]*(?={mark}|$)", rf"\g<1>{DITTO}", line)
    if told.count('"') % 2:
        return [cell.strip().replace(DITTO, '"') for cell in told.split(delimiter)]
    try:
        cells = next(csv.reader([told], delimiter=delimiter, skipinitialspace=True))
    except (csv.Error, StopIteration):
        cells = told.split(delimiter)
    return [cell.strip().replace(DITTO, '"') for cell in cells]
