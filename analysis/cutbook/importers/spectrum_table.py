"""Read one mass spectrum that stands as two columns, m/z and intensity."""

from __future__ import annotations

import re

import numpy as np

from cutbook.importers.headed_table import HeadedTable, TableKind, headed_table
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.written_numbers import NUMBER, decimal_mark, written_number
from cutbook.model.errors import InputError, printable
from cutbook.model.scans import Spectrum

_MZ = frozenset({"mz", "me", "mass", "masstocharge", "masse"})
_INTENSITY = frozenset({
    "intensity", "int", "abundance", "relativeintensity", "relativeabundance", "relint", "height", "counts",
    "intensität", "relativeintensität",
})  # fmt: skip


def read_spectrum_heading(text: str) -> str:
    """Field that a heading heads: "mz", "intensity", "" for none; what stands in brackets is a unit."""
    plain = re.sub(r"[^a-zäöü]", "", re.sub(r"[(\[].*", "", text[:80].casefold()))
    return "mz" if plain in _MZ else "intensity" if plain in _INTENSITY else ""


SPECTRUM = TableKind(
    "mass spectrum",
    read_spectrum_heading,
    frozenset({"mz"}),
    "m/z, intensity",
    "Write them above the figures: m/z, intensity",
    "[[trace]]",
)


def read_spectrum_table(file: TraceFile) -> Spectrum | None:
    """The spectrum in a file, None where no line of it heads m/z and intensity, or where times stand beside them.

    Raises
    ------
    TraceError
        When it is headed like one and a cell holds no number, or one below zero.
    """
    try:
        table = headed_table(file, {}, SPECTRUM)
    except InputError:
        return None
    fields = [read_spectrum_heading(text) for text in table.headings]
    timed = any(re.search(r"time|zeit|\brt\b|scan", text.casefold()) for text in table.headings)
    if timed or fields.count("mz") != 1 or fields.count("intensity") != 1:
        return None
    columns = [fields.index("mz"), fields.index("intensity")]
    rows = [(place, [cells[at] for at in columns]) for place, cells in table.rows if any(cells)]
    mark = decimal_mark([[cells[at] for _, cells in rows] for at in (0, 1)])
    values = np.array([[_number(table, place, columns[at], cells[at], mark) for at in (0, 1)] for place, cells in rows])
    return Spectrum(None, values[:, 0], values[:, 1], format="table of one spectrum")


def _number(table: HeadedTable, place: str, column: int, cell: str, mark: str) -> float:
    heading = printable(table.headings[column], 40)
    found = NUMBER.fullmatch(cell)
    if found is None or found["unit"] or found["bound"]:
        raise table.file.fault(place, f"'{printable(cell, 40)}' in column '{heading}'", "a number")
    value, _ = written_number(table.file, place, heading, found["number"], mark)
    if not value >= 0:
        raise table.file.fault(place, f"{value:g} in column '{heading}'", "a number of 0 or more")
    return value
