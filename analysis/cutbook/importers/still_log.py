"""Read a still log that was kept by hand, and list everything in it that was not taken as it stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cutbook.importers.headed_table import HeadedTable, TableKind, headed_table, is_ditto
from cutbook.importers.still_headings import FIELDS, assumed_unit, read_still_heading, still_columns
from cutbook.importers.still_numbers import Column, read_numbers, read_times, since_first
from cutbook.importers.still_receivers import collected, without_backward
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.written_numbers import decimal_mark
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import printable
from cutbook.model.lineage import Source, Step
from cutbook.model.run import DistillationEntry
from cutbook.model.still import Reading, Repair, StillLog
from cutbook.model.units import STANDARD_KPA, bench_unit, known_units

_POSSIBLE: Mapping[str, tuple[float, float]] = {
    "pot_temperature": (-80.0, 600.0),
    "head_temperature": (-80.0, 600.0),
    "pressure": (-150.0, 1000.0),
    "volume": (0.0, 1e6),
    "mass": (0.0, 1e6),
}
"""What a still in a laboratory can show, in °C, kPa, mL (or as a share of the charge) and g; limits included."""
_TEXT = ("receiver", "note")
_TOTALS = ("total", "sum", "summe", "gesamt")


STILL_LOG = TableKind(
    "still log",
    lambda text: read_still_heading(text).field,
    frozenset({"head_temperature", "pot_temperature", "volume", "mass"}),
    ", ".join(FIELDS),
    "Write them above the readings, with their units: head temperature (°C), volume (mL)",
    "[[distillation]]",
)


def read_still_log(file: TraceFile, entry: DistillationEntry) -> StillLog:
    """Read a log.

    Parameters
    ----------
    file : CSV, TSV or XLSX, read whole, never changed. entry : its entry of the run sheet.

    Returns
    -------
    StillLog
        Volumes and masses are of the distillate since the start, over all receivers; pressures are absolute.

    Raises
    ------
    TraceError
        When the file is no log, a cell can be read in two ways, or nothing is left to make a curve of.

    Notes
    -----
    Headings are told in English and German with their units; temperatures without a unit are °C, volumes mL, masses
    g, times min; a pressure without a unit is refused. Repairs: ditto marks, units and doubts written into cells,
    clock times past midnight, receivers changed, amounts that fall, readings no still can give. What a repair left
    out, `as_written` in the entry takes as it stands.
    """
    table = headed_table(file, entry.columns, STILL_LOG)
    wanted = {field: name for field, name in entry.columns.items() if field != "sheet"}
    columns = still_columns(table.file, table.headings, table.heading_place, wanted)
    repairs = [Repair(place, "", "above_headings", text, "") for place, text in table.above]
    repairs += [Repair(place, "", "headings_again", "", "") for place in table.repeated]
    raised: list[Caution] = []
    places, rows, notes = _readings(table, columns, repairs)
    as_written = frozenset(entry.as_written)
    if unknown := sorted(as_written - set(places)):
        raise file.fault("", f"no reading at {unknown[0]}", "a place of the log in as_written, such as line 7")
    numeric = {field: place for field, place in columns.items() if field not in _TEXT}
    decimal = decimal_mark([[row[at] for row in rows] for at, _ in numeric.values()])
    read: dict[str, Column] = {}
    for field, (at, unit) in numeric.items():
        heading = table.headings[at].strip() or str(at + 1)
        cells = [(place, row[at]) for place, row in zip(places, rows, strict=True)]
        if field == "time":
            read[field] = read_times(table.file, heading, "" if table.clocks else unit, cells, decimal, repairs)
            since_first(read[field], places, as_written, repairs)
            continue
        if not unit:
            unit = assumed_unit(field)
            if not unit:
                raise table.file.fault(
                    table.heading_place, f"'{heading}' without a unit", "a pressure with its unit: kPa, mbar, mmHg …",
                    "Write it in the heading; millimetres of mercury and millibar look alike and are not",
                )  # fmt: skip
            raised.append(caution("still.unit_assumed", entry.file, column=heading, unit=unit))
        read[field] = read_numbers(table.file, field, heading, unit, cells, decimal, repairs)
    for field in _POSSIBLE:
        if field in read:
            _leave_out_impossible(read[field], places, as_written, repairs)
    if "pressure" in read:
        _absolute(read["pressure"], table, places, entry, repairs)
    names = _receiver_names(columns, rows, places, table, repairs)
    by_percent = "volume" in read and known_units()[read["volume"].unit].dimension == "fraction"
    for field in ("volume", "mass"):
        if field in read:
            if not by_percent or field == "mass":
                read[field].values, names = collected(
                    read[field].values, names, notes, places, read[field].heading, as_written, repairs
                )
            times = read["time"].values if "time" in read else [None] * len(places)
            read[field].values = without_backward(
                read[field].values, times, places, read[field].heading, as_written, repairs
            )
    unused = [
        heading.strip() for at, heading in enumerate(table.headings)
        if at not in {at for at, _ in columns.values()} and any(row[at] for row in rows)
    ]  # fmt: skip
    if unused:
        raised.append(caution("still.column_unused", entry.file, columns=printable(", ".join(unused), 200)))
    readings = tuple(
        Reading(
            place=place,
            time_min=_value(read, "time", number),
            pot_c=_value(read, "pot_temperature", number),
            head_c=_value(read, "head_temperature", number),
            volume_ml=None if by_percent else _value(read, "volume", number),
            volume_percent=_percent(read, number) if by_percent else None,
            mass_g=_value(read, "mass", number),
            pressure_kpa=_value(read, "pressure", number),
            receiver=names[number],
            note=notes[number],
        )
        for number, place in enumerate(places)
    )
    _refuse_empty(table, readings)
    if repairs:
        dittos = sum(repair.kind == "ditto" for repair in repairs)
        raised.append(caution("still.repairs", entry.file, count=len(repairs), dittos=dittos))
    step = Step(
        "read still log/1",
        settings={
            "columns": {field: table.headings[at].strip() for field, (at, _) in columns.items()},
            "units": {field: column.unit for field, column in read.items()},
            "as_written": sorted(as_written),
        },
        source=Source(file.name, file.sha256),
        cautions=tuple(raised),
    )
    ordered = {place: number for number, place in enumerate(places)}
    listed = sorted(repairs, key=lambda repair: ordered.get(repair.place, -1))
    steps = {field: column.resolution * (100.0 if by_percent and field == "volume" else 1.0)
             for field, column in read.items()}  # fmt: skip
    return StillLog(entry.file, readings, tuple(listed), steps, step)


def _readings(
    table: HeadedTable, columns: dict[str, tuple[int, str]], repairs: list[Repair]
) -> tuple[list[str], list[tuple[str, ...]], list[str]]:
    """Places, cells and notes of the rows that hold a reading; words alone are a note to the reading above."""
    numbers = {at for field, (at, _) in columns.items() if field not in _TEXT}
    note = columns["note"][0] if "note" in columns else None
    places: list[str] = []
    rows: list[tuple[str, ...]] = []
    notes: list[str] = []
    for place, cells in table.rows:
        filled = [cell for cell in cells if cell]
        if not filled:
            repairs.append(Repair(place, "", "empty_row", "", ""))
            continue
        readable = any(any(c.isdigit() for c in cells[at]) or is_ditto(cells[at]) for at in numbers)
        if readable and cells[0].strip(" :.").casefold() in _TOTALS:
            repairs.append(Repair(place, "", "totals", "; ".join(filled), ""))
            continue
        if readable or any(field == "volume" and cells[at] for field, (at, _) in columns.items()):
            places.append(place)
            rows.append(cells)
            notes.append("" if note is None else cells[note])
            continue
        text = " ".join(filled)
        repairs.append(Repair(place, "", "words" if rows else "words_before", text, ""))
        if rows:
            notes[-1] = f"{notes[-1]}; {text}".strip("; ")
    return places, rows, notes


def _value(read: dict[str, Column], field: str, number: int) -> float | None:
    return read[field].values[number] if field in read else None


def _percent(read: dict[str, Column], number: int) -> float | None:
    share = _value(read, "volume", number)
    return None if share is None else 100.0 * share


def _leave_out_impossible(
    column: Column, places: Sequence[str], as_written: frozenset[str], repairs: list[Repair]
) -> None:
    low, high = _POSSIBLE[column.name]
    for at, value in enumerate(column.values):
        # an absurd pressure would make absurd temperatures of it, so it is not taken even as written
        if (
            value is not None
            and not low <= value <= high
            and (column.name == "pressure" or places[at] not in as_written)
        ):
            repairs.append(Repair(places[at], column.heading, "impossible", f"{value:g} {bench_unit_of(column)}", ""))
            column.values[at] = None


def bench_unit_of(column: Column) -> str:
    """The unit of the values of a column."""
    return bench_unit(known_units()[column.unit].dimension)


def _absolute(
    column: Column, table: HeadedTable, places: Sequence[str], entry: DistillationEntry, repairs: list[Repair]
) -> None:
    """Absolute pressures of a gauge that reads below the atmosphere as a negative number."""
    known = [value for value in column.values if value is not None]
    if not any(value < 0 for value in known):
        if any(value == 0 for value in known):
            at = column.values.index(0.0)
            raise table.file.fault(
                places[at], f"a pressure of 0 in column '{column.heading}'", "an absolute pressure above 0",
                "Write the absolute pressure; a gauge at 0 reads the atmosphere",
            )  # fmt: skip
        return
    if any(value > 0 for value in known):
        at = next(at for at, value in enumerate(column.values) if value is not None and value < 0)
        raise table.file.fault(
            places[at], f"a negative pressure in column '{column.heading}' among positive ones",
            "absolute pressures, or gauge readings throughout", "Write absolute pressures",
        )  # fmt: skip
    barometer = entry.pressure.value if entry.pressure is not None else STANDARD_KPA
    low = barometer + min(known)
    if low <= 0:
        raise table.file.fault(
            "", f"gauge readings down to {min(known):.1f} kPa below a barometer of {barometer:.1f} kPa",
            "a pressure above 0", "Give the barometer as pressure in the [[distillation]] entry",
        )  # fmt: skip
    kind = "gauge" if entry.pressure is not None else "gauge_assumed"
    repairs.append(Repair("", column.heading, kind, "", f"{barometer:.1f} {bench_unit('pressure')}"))
    column.values = [None if value is None else value + barometer for value in column.values]


def _receiver_names(
    columns: dict[str, tuple[int, str]], rows: Sequence[tuple[str, ...]], places: Sequence[str], table: HeadedTable,
    repairs: list[Repair],
) -> list[str]:  # fmt: skip
    """The receiver of each reading; a ditto mark or an empty cell says that it is still the one above."""
    if "receiver" not in columns:
        return [""] * len(rows)
    at = columns["receiver"][0]
    found: list[str] = []
    inherited = 0
    for row, place in zip(rows, places, strict=True):
        cell = row[at]
        above = found[-1] if found else ""
        if is_ditto(cell):
            repairs.append(Repair(place, table.headings[at].strip(), "ditto", cell, above))
        inherited += not cell and bool(above)
        found.append(above if is_ditto(cell) or not cell else cell)
    if inherited:
        repairs.append(Repair("", table.headings[at].strip(), "receiver_as_above", str(inherited), ""))
    return found


def _refuse_empty(table: HeadedTable, readings: Sequence[Reading]) -> None:
    """A curve needs two readings of a vapour temperature and an amount."""
    whole = [
        one for one in readings
        if one.head_c is not None and any(v is not None for v in (one.volume_ml, one.volume_percent, one.mass_g))
    ]  # fmt: skip
    if len(whole) < 2:
        raise table.file.fault(
            table.heading_place, f"{len(whole)} readings with a head temperature and an amount of distillate",
            "two at least", "Name the columns with columns = { head_temperature = \"…\", volume = \"…\" } in its "
            "[[distillation]] entry",
        )  # fmt: skip
