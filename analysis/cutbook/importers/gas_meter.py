"""Read the log of a gas meter that was kept by hand: counter, time, temperature, pressure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from cutbook.importers.headed_table import HeadedTable, TableKind, headed_table, is_ditto
from cutbook.importers.still_headings import StillHeading, read_still_heading, still_columns
from cutbook.importers.still_numbers import Column, read_numbers, read_times, since_first
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.written_numbers import decimal_mark
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import printable
from cutbook.model.gas import MeterLog, MeterReading
from cutbook.model.lineage import Source, Step
from cutbook.model.still import Repair
from cutbook.model.units import known_units

FIELDS: Mapping[str, tuple[str, ...]] = {
    "time": ("time",),
    "reading": ("volume",),
    "temperature": ("temperature",),
    "pressure": ("pressure",),
    "note": (),
}
"""What a meter log may hold, as the run sheet names it -> dimension of its unit; none for text."""
_COUNTER = re.compile(
    r"(.*\b(reading|counter|meter|index|count|register|gas)\b.*|.*(zähler|zaehler|stand|ablesung|gasuhr).*)"
)
_CLOCK = re.compile(r"\d\s*[:h]\s*\d")
_MOST_C, _LEAST_C, _MOST_KPA = 100.0, -20.0, 1000.0


def read_meter_heading(text: str) -> StillHeading:
    """Take a heading of a meter log apart.

    Examples
    --------
    >>> read_meter_heading("Zählerstand [L]")
    StillHeading(text='Zählerstand [L]', field='reading', unit='L')
    >>> read_meter_heading("T (°C)").field, read_meter_heading("meter reading").field
    ('temperature', 'reading')
    """
    read = read_still_heading(text)
    plain = " ".join(re.sub(r"[_/()\[\]]", " ", text).split()).casefold()
    field = {"volume": "reading", "head_temperature": "temperature", "pot_temperature": "temperature"}.get(
        read.field, read.field
    )
    if field in ("", "mass", "receiver") and _COUNTER.fullmatch(plain):
        field = "reading"
    if not field and read.unit and known_units()[read.unit].dimension == "temperature":
        field = "temperature"
    return StillHeading(text, field if field in FIELDS else "", read.unit)


METER_LOG = TableKind(
    "meter log",
    lambda text: read_meter_heading(text).field,
    frozenset({"reading"}),
    "time, reading (L)",
    "Write them above the readings, with their units: time (min), reading (L)",
    "[[gas_meter]]",
)


def read_meter_log(file: TraceFile, columns: Mapping[str, str]) -> MeterLog:
    """Read a meter log.

    Parameters
    ----------
    file : CSV, TSV or XLSX, read whole, never changed. columns : field -> heading, as the run sheet chooses; "sheet"
        names the sheet of a workbook.

    Returns
    -------
    MeterLog
        Readings in the order of the log; what the counter did between them is not judged here. Rows without a reading
        are listed, not filled. Times of a clock are min since the first reading, plain times as they stand.

    Raises
    ------
    TraceError
        When the file is no meter log, a cell can be read in two ways, the counter has no unit, or there are fewer than
        two readings.

    Notes
    -----
    Cells are read as those of a still log (`still_numbers`): decimal commas, ditto marks, units and doubts in cells,
    clock times past midnight.
    """
    table = headed_table(file, columns, METER_LOG)
    wanted = {field: name for field, name in columns.items() if field != "sheet"}
    found = still_columns(
        table.file, table.headings, table.heading_place, wanted, read_meter_heading, FIELDS, "[[gas_meter]]"
    )
    if "reading" not in found:
        raise table.file.fault(
            table.heading_place, "no column of readings", "a heading such as reading (L)",
            'Choose with columns = { reading = "…" } in its [[gas_meter]] entry',
        )  # fmt: skip
    repairs = [Repair(place, "", "above_headings", text, "") for place, text in table.above]
    repairs += [Repair(place, "", "headings_again", "", "") for place in table.repeated]
    raised: list[Caution] = []
    read, places, notes, clocks = _columns(table, found, repairs, raised)
    for field, low, high in (("temperature", _LEAST_C, _MOST_C), ("pressure", 1e-9, _MOST_KPA)):
        if field in read:
            _leave_out_impossible(read[field], places, low, high, repairs)
    readings = []
    for at, place in enumerate(places):
        volume = read["reading"].values[at]
        if volume is None:
            repairs.append(Repair(place, read["reading"].heading, "no_reading", "", ""))
            continue
        time, warm, pressed = (
            read[field].values[at] if field in read else None for field in ("time", "temperature", "pressure")
        )
        readings.append(MeterReading(place, time, volume, warm, pressed, notes[at]))
    if len(readings) < 2:
        raise table.file.fault(
            table.heading_place, f"{len(readings)} readings of the counter", "two at least, before the run and after it"
        )
    unused = [
        heading.strip() for at, heading in enumerate(table.headings)
        if at not in {at for at, _ in found.values()} and any(cells[at] for _, cells in table.rows)
    ]  # fmt: skip
    if unused:
        raised.append(caution("gas.meter_column_unused", file.name, columns=printable(", ".join(unused), 200)))
    step = Step(
        "read meter log/1",
        settings={
            "columns": {field: table.headings[at].strip() for field, (at, _) in found.items()},
            "units": {field: column.unit for field, column in read.items()},
        },
        source=Source(file.name, file.sha256),
        cautions=tuple(raised),
    )
    steps = {field: column.resolution for field, column in read.items()}
    return MeterLog(file.name, tuple(readings), tuple(repairs), steps, clocks, step)


def _columns(
    table: HeadedTable, found: Mapping[str, tuple[int, str]], repairs: list[Repair], raised: list[Caution]
) -> tuple[dict[str, Column], list[str], list[str], bool]:
    """Numbers by field, with the places and notes of the rows that hold any."""
    numeric = {field: place for field, place in found.items() if field != "note"}
    note = found["note"][0] if "note" in found else None
    places: list[str] = []
    rows: list[Sequence[str]] = []
    for place, cells in table.rows:
        if not any(cells):
            repairs.append(Repair(place, "", "empty_row", "", ""))
        elif any(any(c.isdigit() for c in cells[at]) or is_ditto(cells[at]) for at, _ in numeric.values()):
            places.append(place)
            rows.append(cells)
        else:
            repairs.append(Repair(place, "", "words" if rows else "words_before", " ".join(filter(None, cells)), ""))
    decimal = decimal_mark([[row[at] for row in rows] for at, _ in numeric.values()])
    read: dict[str, Column] = {}
    clocks = False
    for field, (at, unit) in numeric.items():
        heading = table.headings[at].strip() or str(at + 1)
        column = [(place, row[at]) for place, row in zip(places, rows, strict=True)]
        if field == "time":
            clocks = table.clocks or any(_CLOCK.search(text) for _, text in column)
            read[field] = read_times(table.file, heading, "" if table.clocks else unit, column, decimal, repairs)
            start = next((value for value in read[field].values if value is not None), 0.0)
            since_first(read[field], places, frozenset(), repairs)
            if not clocks:
                read[field].values = [None if value is None else value + start for value in read[field].values]
            continue
        if not unit and field != "temperature":
            raise table.file.fault(
                table.heading_place, f"'{heading}' without a unit",
                "a volume with its unit: L, m³ …" if field == "reading" else "a pressure with its unit: kPa, mbar …",
                "Write it in the heading; a counter shows litres or cubic metres",
            )  # fmt: skip
        if not unit:
            raised.append(caution("still.unit_assumed", table.file.name, column=heading, unit="°C"))
        read[field] = read_numbers(table.file, field, heading, unit or "°C", column, decimal, repairs)
    return read, places, ["" if note is None else row[note] for row in rows], clocks


def _leave_out_impossible(
    column: Column, places: Sequence[str], low: float, high: float, repairs: list[Repair]
) -> None:
    for at, value in enumerate(column.values):
        if value is not None and not low <= value <= high:
            repairs.append(Repair(places[at], column.heading, "meter_impossible", f"{value:g}", ""))
            column.values[at] = None
