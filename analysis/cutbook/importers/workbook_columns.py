"""Read a detector signal from the columns of an XLSX workbook."""

from __future__ import annotations

import re

from cutbook.importers.column_headings import read_heading
from cutbook.importers.peak_list import peak_list_layout, read_peak_list
from cutbook.importers.text_columns import trace_of_table
from cutbook.importers.text_table import TextTable, table_of_lines
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.workbook import SheetFile, SheetText, Workbook, open_workbook
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import TraceError, nearest
from cutbook.model.run import TraceEntry
from cutbook.model.trace import ListedPeaks, Trace

_FEWEST_ROWS = 100  # of a trace, as in `trace_checks`
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:[.,]\d{3})+")


def recognises(head: bytes) -> bool:
    """Whether a file begins like a ZIP archive, which a workbook is."""
    return head.startswith(b"PK\x03\x04")


def read(file: TraceFile, entry: TraceEntry) -> Trace | ListedPeaks:
    """Read time and signal from the sheet that holds them, or the list of peaks in it.

    Parameters
    ----------
    file : the file, read whole.
    entry : its entry in the run sheet; ``columns = { sheet = "…", time = "…", signal = "…" }`` chooses where the
        workbook does not tell.

    Raises
    ------
    TraceError
        When the workbook cannot be read, no sheet or several hold a trace, or its columns do not stand the checks.

    Notes
    -----
    A cell that Excel shows as a time of day is a part of a day; it is read in minutes, with a caution. A date in a
    column is refused: it is what a spreadsheet program makes of numbers such as 12.05.
    """
    book = open_workbook(file)
    listed = _peak_list(file, book, entry)
    if listed is not None:
        return listed
    sheet, table = _the_sheet(file, book, entry.columns.get("sheet", ""))
    place = SheetFile(file.name, file.content, file.sha256, sheet.name)
    _refuse_dates(place, sheet, table)
    _refuse_doubtful_text(place, table)
    noticed = _noticed(file, book, sheet)
    how = {"format": "XLSX columns", "sheet": sheet.name}
    try:
        return trace_of_table(
            place, table, entry, how, lambda row: f"sheet '{sheet.name}', row {table.lines[row]}", noticed
        )
    except TraceError as error:
        fault = error.faults[0]
        if book.formulas and "an empty cell" in fault.found:
            do = "Formulas without stored values read as empty; open and save the workbook in a spreadsheet program"
            raise TraceError.single(fault.file, fault.place, fault.found, fault.expected, do) from None
        raise


def _noticed(file: TraceFile, book: Workbook, sheet: SheetText) -> tuple[Caution, ...]:
    """What the workbook did to the numbers of a sheet."""
    noticed: list[Caution] = []
    if book.formulas:
        noticed.append(caution("workbook.formulas", file.name, count=book.formulas))
    if sheet.texts:
        noticed.append(caution("workbook.numbers_as_text", file.name, count=sheet.texts))
    if sheet.durations:
        noticed.append(caution("workbook.clock_times", file.name, count=sheet.durations))
    return tuple(noticed)


def _peak_list(file: TraceFile, book: Workbook, entry: TraceEntry) -> ListedPeaks | None:
    """The list of peaks in a workbook; None when no sheet holds one, or another sheet is asked for."""
    wanted = entry.columns.get("sheet", "")
    layouts = [(sheet, peak_list_layout(sheet.lines, "\t")) for sheet in book.sheets if wanted in ("", sheet.name)]
    found = [(sheet, layout) for sheet, layout in layouts if layout is not None]
    if len(found) != 1:
        return None
    sheet, layout = found[0]
    place = SheetFile(file.name, file.content, file.sha256, sheet.name)
    how: dict[str, object] = {"format": "XLSX peak list", "sheet": sheet.name}
    return read_peak_list(
        place, sheet.lines, layout, entry, how, lambda at: f"line {at + 1}", _noticed(file, book, sheet)
    )


def _the_sheet(file: TraceFile, book: Workbook, wanted: str) -> tuple[SheetText, TextTable]:
    """The sheet to read with its table."""
    names = [sheet.name for sheet in book.sheets]
    shown = ", ".join(f"'{name}'" for name in names[:12])
    if wanted:
        if wanted not in names:
            near = nearest(wanted, names)
            raise file.fault("columns, sheet", f"'{wanted}'", f"one of {shown}", f"Was '{near}' meant?" if near else "")
        sheet = book.sheets[names.index(wanted)]
        return sheet, _table(file, sheet)
    found: list[tuple[SheetText, TextTable]] = []
    first: TraceError | None = None
    for sheet in book.sheets:
        try:
            table = _table(file, sheet)
        except TraceError as error:
            first = first or error
            continue
        if len(table.rows) >= _FEWEST_ROWS or len(book.sheets) == 1:
            found.append((sheet, table))
    if len(found) == 1:
        return found[0]
    if not found and first is not None and len(book.sheets) == 1:
        raise first
    count = f"{len(found)} sheets that may hold the trace" if found else "no sheet with a table of numbers"
    shown = ", ".join(f"'{sheet.name}'" for sheet, _ in found[:12]) or shown
    do = 'Choose with columns = { sheet = "…" } in its [[trace]] entry' if found else "Export the trace as columns"
    raise file.fault("", count, f"one of {shown}" if found else "columns of time and signal", do)


def _table(file: TraceFile, sheet: SheetText) -> TextTable:
    place = SheetFile(file.name, file.content, file.sha256, sheet.name)
    return table_of_lines(place, sheet.lines, "\t", "XLSX")


def _refuse_dates(file: SheetFile, sheet: SheetText, table: TextTable) -> None:
    of_table = set(table.lines)
    between = [row for row in sheet.dates if row in of_table or table.lines[0] < row < table.lines[-1]]
    if between and not any(read_heading(text).kind == "" and "date" in text.casefold() for text in table.headings):
        raise file.fault(
            f"line {between[0]}",
            "a date" + (f", the first of {len(between)}" if len(between) > 1 else ""),
            "a number",
            "Spreadsheet programs make dates of numbers such as 12.05; import the text with these columns as text",
        )


def _refuse_doubtful_text(file: SheetFile, table: TextTable) -> None:
    """Refuse text such as "1,234" in a workbook, whose own numbers do not tell how its texts are written."""
    for at in range(table.width):
        marked = [row[at] for row in table.rows if "," in row[at]]
        if marked and all(_GROUPED.fullmatch(cell) for cell in marked):
            raise file.fault(
                f"column {at + 1}", f"text such as '{marked[0]}', whose comma may part thousands or decimals",
                "numbers stored as numbers", "Turn the column into numbers in a spreadsheet program",
            )  # fmt: skip
