"""Turn the sheets of an XLSX workbook into lines of text, within limits that no exported trace exceeds."""

from __future__ import annotations

import datetime
import io
import re
import warnings
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from cutbook.importers.trace_file import TraceFile
from cutbook.importers.xml_prolog import unsafe_prolog
from cutbook.model.errors import Fault, TraceError

MAX_UNPACKED_MIB = 128  # a sheet of a million cells is some 40 MB of XML
_MOST_PARTS = 2_000
_MOST_ROWS = 1_048_576  # of the format
_MOST_CELLS = 400_000  # two columns of an hour at 50 Hz; a library takes twenty microseconds for each
_MARKS = re.compile(rb"<(?:\w+:)?(?:(f)|c|si)[\s>/]")  # formulas, cells, shared texts


@dataclass(frozen=True)
class SheetFile(TraceFile):
    """A sheet of a workbook as a file of its own: what is wrong in "line 12" of it is named "sheet 'x', row 12"."""

    sheet: str = ""

    def fault(self, place: str, found: str, expected: str, do: str = "") -> TraceError:
        """An error about this sheet."""
        where = f"sheet '{self.sheet}'"
        row = re.match(r"line (\d+)$", place)
        at = f"{where}, row {row.group(1)}" if row else ", ".join(part for part in (where, place) if part)
        return TraceError(Fault(self.name, at, found, expected, do))


@dataclass(frozen=True, eq=False)
class SheetText:
    """One sheet as text.

    lines : one a row, cells parted by tabs. texts : numbers that are stored as text. durations : cells with a time
    of day or a duration, written in minutes. dates : rows in which a cell holds a date.
    """

    name: str
    lines: list[str]
    texts: int = 0
    durations: int = 0
    dates: list[int] = field(default_factory=list)


@dataclass(frozen=True, eq=False)
class Workbook:
    """The sheets of a workbook with cells in them, and the number of formulas in all of it."""

    sheets: tuple[SheetText, ...]
    formulas: int


def open_workbook(file: TraceFile) -> Workbook:
    """Read every sheet of a workbook; where a cell holds a formula, the value stored beside it.

    Raises
    ------
    TraceError
        When the archive is damaged, unpacks beyond the limits, holds XML with a document type, or is no workbook.
    """
    formulas = _checked_archive(file)
    import openpyxl

    room = _MOST_CELLS
    sheets: list[SheetText] = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about styles and extensions, which are of no concern here
            book = openpyxl.load_workbook(io.BytesIO(file.content), read_only=True, data_only=True, keep_links=False)
            for sheet in book.worksheets:
                sheet.reset_dimensions()  # what the sheet says of its size may be wrong
                text, cells = _as_text(file, sheet.title, sheet.iter_rows(values_only=True), room)
                room -= cells
                if text.lines:
                    sheets.append(text)
            book.close()
    except TraceError:  # a ValueError, too
        raise
    except Exception as error:  # the library may fail in any way on a workbook that it did not expect
        raise file.fault(
            "", f"a workbook that cannot be read ({type(error).__name__}: {error})", "an XLSX workbook",
            "Save it again in a spreadsheet program, or export as text",
        ) from None  # fmt: skip
    if not sheets:
        raise file.fault("", "a workbook without a filled cell", "columns of time and signal")
    return Workbook(tuple(sheets), formulas)


def _checked_archive(file: TraceFile) -> int:
    """Hold the archive to its limits before anything is unpacked whole; the number of formulas in it."""
    formulas = 0
    try:
        with zipfile.ZipFile(io.BytesIO(file.content)) as archive:
            parts = archive.infolist()
            if "xl/workbook.xml" not in archive.namelist():
                kind = "an OpenDocument file" if "mimetype" in archive.namelist() else "a ZIP archive, not a workbook"
                raise file.fault("", kind, "an XLSX workbook", "Save it as XLSX, or export as text")
            if len(parts) > _MOST_PARTS:
                raise file.fault("", f"a workbook of {len(parts)} parts", f"at most {_MOST_PARTS}")
            total = sum(part.file_size for part in parts)
            if total > MAX_UNPACKED_MIB * 2**20:
                size = f"{total / 2**20:,.0f} MiB when unpacked"
                raise file.fault("", size, f"at most {MAX_UNPACKED_MIB} MiB", "Export time and one signal alone")
            for part in parts:
                if not part.filename.endswith((".xml", ".rels")):
                    continue
                content = archive.read(part)
                if unsafe := unsafe_prolog(content):
                    raise file.fault(part.filename, unsafe, "plain XML in UTF-8", "Save it in a spreadsheet program")
                marks = cells = 0
                for mark in _MARKS.finditer(content):
                    marks += mark.group(1) is not None
                    cells += mark.group(1) is None
                formulas += marks
                if cells > _MOST_CELLS:
                    do = "Export time and one signal alone"
                    raise file.fault(part.filename, f"{cells:,} cells", f"at most {_MOST_CELLS:,}", do)
    except TraceError:
        raise
    except Exception as error:  # a damaged archive makes zipfile, zlib, bz2 and lzma fail in ways of their own
        raise file.fault(
            "", f"a damaged workbook ({error})", "an XLSX workbook", "Was the file cut short? Copy or export it again"
        ) from None
    return formulas


def _as_text(file: TraceFile, name: str, rows: Iterable[tuple[Any, ...]], room: int) -> tuple[SheetText, int]:
    lines: list[str] = []
    dates: list[int] = []
    counts = {"texts": 0, "durations": 0}
    cells = 0
    for number, row in enumerate(rows, 1):
        cells += max(len(row), 1)
        if number > _MOST_ROWS or cells > room:
            raise file.fault(
                f"sheet '{name}'", f"more than {_MOST_CELLS:,} cells or {_MOST_ROWS:,} rows", "one trace", "Export "
                "time and one signal alone",
            )  # fmt: skip
        lines.append("\t".join(_cell(value, number, counts, dates) for value in row).rstrip("\t"))
    while lines and not lines[-1]:
        lines.pop()
    return SheetText(name, lines, counts["texts"], counts["durations"], dates), cells


def _cell(value: Any, row: int, counts: dict[str, int], dates: list[int]) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, (bool, int)):
        return str(value)
    if isinstance(value, (datetime.datetime, datetime.date)):
        dates.append(row)
        return str(value)
    if isinstance(value, datetime.time):
        counts["durations"] += 1
        return repr(value.hour * 60 + value.minute + value.second / 60 + value.microsecond / 60e6)
    if isinstance(value, datetime.timedelta):
        counts["durations"] += 1
        return repr(value.total_seconds() / 60)
    text = " ".join(str(value).split())
    if text[:1].isdigit() or text[:2].strip("+-.,").isdigit():
        counts["texts"] += 1
    return text
