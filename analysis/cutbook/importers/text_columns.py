"""Read a detector signal from columns of text, whatever the delimiter, the decimal mark and the headings."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from cutbook.importers.column_headings import Columns, choose_columns
from cutbook.importers.decimal_marks import Marks, decide_marks, numbers
from cutbook.importers.peak_list import peak_list_layout, read_peak_list
from cutbook.importers.text_table import TextTable, table_of_text, text_of
from cutbook.importers.time_unit import assumed_minutes, units_in_a_minute
from cutbook.importers.trace_checks import agreed_detector, check_trace, detector_named
from cutbook.importers.trace_file import TraceFile
from cutbook.model.cautions import Caution
from cutbook.model.errors import printable
from cutbook.model.lineage import Source, Step
from cutbook.model.run import TraceEntry
from cutbook.model.trace import Floats, ListedPeaks, Trace

_LIST_HEAD = 100_000  # characters in which the headings of a list of peaks are looked for
_MARKUP = re.compile(rb"\x89(?:HDF|PNG)|\s*(?:<[?!a-zA-Z]|##\s*[A-Za-z][\w .]*=|\{\\rtf|%PDF)")


def recognises(head: bytes) -> bool:
    """Whether a file begins like plain text: marked as such, or without control characters and without mark-up."""
    if head.startswith((b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff", b"\0\0\xfe\xff")):
        return True
    control = sum(head.count(code) for code in range(32) if code not in b"\t\n\r\f\x1a")
    return not control and not _MARKUP.match(head)


def read(file: TraceFile, entry: TraceEntry) -> Trace | ListedPeaks:
    """Read time and signal from the table in a text file, or the list of peaks in it.

    Parameters
    ----------
    file : the file, read whole.
    entry : its entry in the run sheet; `columns` chooses where the headings do not tell.

    Returns
    -------
    Trace or ListedPeaks
        Times in min, the signal as written, its unit from the heading. A heading for an area makes it a list.

    Raises
    ------
    TraceError
        When there is no table, its columns or numbers can be read in more than one way, or the signal does not stand
        the checks.

    Notes
    -----
    Where no unit stands with the times they are taken as minutes if they end within 240, with a caution.
    """
    text, encoding = text_of(file)
    head = text[:_LIST_HEAD].split("\n")
    if (layout := peak_list_layout(head)) is not None:
        told: dict[str, object] = {"format": "peak list", "encoding": encoding}
        return read_peak_list(file, text.split("\n"), layout, entry, told, lambda at: f"line {at + 1}")
    table = table_of_text(file, text, encoding)
    _refuse_doubtful_commas(file, table)
    shown = {"\t": "tab", " ": "blanks"}.get(table.delimiter, table.delimiter)
    how = {"format": "text columns", "encoding": table.encoding, "delimiter": shown}
    return trace_of_table(file, table, entry, how, lambda row: f"line {table.lines[row]}")


def trace_of_table(
    file: TraceFile,
    table: TextTable,
    entry: TraceEntry,
    how: Mapping[str, object],
    place: Callable[[int], str],
    noticed: tuple[Caution, ...] = (),
) -> Trace:
    """The trace in a table.

    Parameters
    ----------
    file, entry : as for `read`. table : with its headings.
    how : the settings that say how the table was come by. place : where a row stands, by index.
    noticed : cautions that arose on the way to the table.
    """
    chosen = choose_columns(file, table.headings, table.heading_line, table.width, entry.columns)
    names = [_name(table, at) for at in (chosen.time, chosen.signal)]
    if table.values is not None:
        marks = (Marks(table.decimal), Marks(table.decimal))
        times, signal = (table.values[:, at].copy() for at in (chosen.time, chosen.signal))
    else:
        cells = [[row[at].strip() for row in table.rows] for at in (chosen.time, chosen.signal)]
        marks = decide_marks(file, names, *cells)
        times, signal = (
            numbers(file, name, column, written, table.lines)
            for name, column, written in zip(names, cells, marks, strict=True)
        )
    time_min, doubts = _in_minutes(file, names[0], times, chosen)
    checked = check_trace(entry, time_min, signal, place)
    detector, differs = agreed_detector(entry, detector_named(names[1]))
    settings = {
        **how,
        "columns": {"time": names[0], "signal": names[1]},
        "time_unit": chosen.time_unit or "min, assumed",
        "decimal": {"time": marks[0].decimal, "signal": marks[1].decimal},
        "thousands": marks[1].grouping,
        "detector": detector,
    }
    step = Step(
        "read trace/1",
        settings=settings,
        source=Source(file.name, file.sha256),
        cautions=noticed + doubts + differs + checked.cautions,
    )
    return Trace(file.name, checked.time_min, checked.signal, chosen.signal_unit, detector, step)


def _name(table: TextTable, column: int) -> str:
    """A column as the user may name it: its heading, else its number."""
    heading = table.headings[column].strip() if table.headings else ""
    return heading or str(column + 1)


def _refuse_doubtful_commas(file: TraceFile, table: TextTable) -> None:
    """Refuse rows such as "12,345" or "0,5,12,3", where a comma may part cells or decimals."""
    if (
        table.values is not None
        or table.delimiter != ","
        or table.headings
        or any("." in cell for row in table.rows for cell in row)
    ):
        return
    seconds = [row[1] for row in table.rows if table.width == 2]
    # whole numbers in two columns are plain only when the first rises and none is written like decimals
    repeated = len({row[0] for row in table.rows}) < len(table.rows)
    if table.width > 2 or repeated or any(len(cell) > 1 and cell.startswith("0") for cell in seconds):
        row = printable(",".join(table.rows[0]), 40)
        raise file.fault(
            f"line {table.lines[0]}",
            f"'{row}', where a comma may part cells or decimals",
            "cells parted by something else than the decimal mark",
            "Export with semicolons or tabs",
        )


def _in_minutes(file: TraceFile, name: str, times: Floats, chosen: Columns) -> tuple[Floats, tuple[Caution, ...]]:
    per_minute = units_in_a_minute(chosen.time_unit)
    if per_minute is not None:
        return times / per_minute, ()
    return times, (assumed_minutes(file, f"column '{name}'", name, times, "in the heading, for instance 'time (s)'"),)
