"""Read the cells of a still log as a hand wrote them: decimal commas, ditto marks, units, doubts, clock times."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from cutbook.importers.headed_table import is_ditto
from cutbook.importers.still_headings import unit_of
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.written_numbers import GROUPED, NUMBER, written_number
from cutbook.model.errors import printable
from cutbook.model.still import Repair
from cutbook.model.units import known_units

_NOTHING = re.compile(r"|[-–—./]+|\?+|n\.?/?a\.?|n\.?d\.?|none|nil|x", re.IGNORECASE)
_CLOCK = re.compile(
    r"(?:\d{4}-\d\d-\d\d |\d{1,2}\.\d{1,2}\.\d{2,4},? )?(\d{1,3})\s*[:h]\s*(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*"
    r"(uhr|h|[ap]\.?m\.?)?",
    re.IGNORECASE,
)
INITIAL = re.compile(r"i\.?b\.?p\.?|siedebeginn|first drop|erster tropfen|sb", re.IGNORECASE)
FINAL = re.compile(r"f\.?b\.?p\.?|e\.?p\.?|end ?point|siedeende|se|dry( point)?|trocken(punkt)?", re.IGNORECASE)


@dataclass
class Column:
    """One column of a log on its way from text to numbers.

    name : the field. heading : as written. unit : of the numbers. values : in the bench unit, None where there is
    none. resolution : the finest step written, in the bench unit; 0 for no number at all.
    """

    name: str
    heading: str
    unit: str
    values: list[float | None] = field(default_factory=list)
    resolution: float = 0.0


def read_numbers(
    file: TraceFile, name: str, heading: str, unit: str, cells: Sequence[tuple[str, str]], decimal: str,
    repairs: list[Repair],
) -> Column:  # fmt: skip
    """The numbers of a column.

    Parameters
    ----------
    file : for messages. name, heading, unit : of the column; values are brought to the bench unit of its dimension.
    cells : (place, text). decimal : the mark that parts decimals elsewhere in this log, "" when that is not known.
    repairs : takes what was not read as it stands.

    Raises
    ------
    TraceError
        When a cell is no number and nothing that a log would hold in its place, or may be read in two ways.
    """
    of_column = known_units()[unit]
    column = Column(name, heading, unit)
    finest: float | None = None
    above: float | None = None
    for place, text in cells:
        value: float | None = None
        if is_ditto(text):
            value = above
            shown = "" if above is None else f"{(above - of_column.offset) / of_column.factor:g} {unit}"
            repairs.append(Repair(place, heading, "ditto", text, shown))
        elif name == "volume" and (INITIAL.fullmatch(text) or FINAL.fullmatch(text)):
            value = 0.0 if INITIAL.fullmatch(text) else None
            repairs.append(Repair(place, heading, "named_point", text, "" if value is None else f"0 {unit}"))
        elif not _NOTHING.fullmatch(text):
            found = NUMBER.fullmatch(text)
            if found is None:
                raise file.fault(
                    place, f"'{printable(text, 40)}' in column '{heading}'", "a number, a ditto mark or nothing",
                    "Put remarks into a column of notes",
                )  # fmt: skip
            number, step = written_number(file, place, heading, found["number"], decimal)
            here = of_column
            if found["unit"]:
                written = unit_of(found["unit"])
                if not written or known_units()[written].dimension != of_column.dimension:
                    raise file.fault(
                        place, f"'{printable(text, 40)}' in column '{heading}'", f"a number in {unit}",
                        "Put remarks into a column of notes",
                    )  # fmt: skip
                here = known_units()[written]
            value = here.factor * number + here.offset
            kind = (
                "bound" if found["bound"] else "approximate" if found["about"] or found["doubt"] or found["after"] else
                "other_unit" if here.name != of_column.name else ""
            )  # fmt: skip
            if kind == "bound":  # "> 340" tells where it is not, and no more
                value = None
            if not kind and step == 1.0 and GROUPED.fullmatch(found["number"].strip()):
                kind = "thousands"
            if kind:
                repairs.append(Repair(place, heading, kind, text, "" if value is None else f"{number:g} {here.name}"))
            finest = min(step * here.factor, finest) if finest is not None else step * here.factor
        column.values.append(value)
        above = value if value is not None else above
    column.resolution = finest or 0.0
    return column


def read_times(
    file: TraceFile, heading: str, unit: str, cells: Sequence[tuple[str, str]], decimal: str, repairs: list[Repair]
) -> Column:
    """The times of a log in min since its first one, from clock times ("14:35") or plain numbers.

    Parameters and errors as for `read_numbers`. Two numbers parted by a colon are hours and minutes, unless the
    heading says minutes: then they are minutes and seconds.
    """
    clock = sum(bool(_CLOCK.fullmatch(text)) for _, text in cells)
    if not clock:
        column = read_numbers(file, "time", heading, unit or "min", cells, decimal, repairs)
    else:
        column = Column("time", heading, "min", resolution=1.0)
        above: float | None = None
        for place, text in cells:
            found = _CLOCK.fullmatch(text)
            if is_ditto(text):
                repairs.append(Repair(place, heading, "ditto", text, "" if above is None else f"{above:g} min"))
                column.values.append(above)
            elif found is not None:
                above = _minutes(found, unit)
                column.values.append(above)
            elif _NOTHING.fullmatch(text):
                column.values.append(None)
            else:
                raise file.fault(
                    place, f"'{printable(text, 40)}' in column '{heading}'", "a time of the clock such as 14:35",
                )  # fmt: skip
        if unit == "min":
            repairs.append(Repair("", heading, "minutes_seconds", "", ""))
    return column


def _minutes(found: re.Match[str], unit: str) -> float:
    first, second = float(found[1]), float(found[2])
    third = float((found[3] or "0").replace(",", "."))
    if unit == "min" and found[3] is None:
        return first + second / 60.0
    half = (found[4] or "").replace(".", "").casefold()
    if half == "pm" and first < 12:
        first += 12
    elif half == "am" and first == 12:
        first = 0
    return 60.0 * first + second + third / 60.0


def since_first(column: Column, places: Sequence[str], as_written: frozenset[str], repairs: list[Repair]) -> None:
    """Make the times of a column minutes since the first, over midnight where the clock passes it, in place."""
    day, last, start = 0.0, -1e9, None
    for at, value in enumerate(column.values):
        if value is None:
            continue
        now = value + day
        if now < last - 720.0 and places[at] not in as_written:
            day += 1440.0
            now += 1440.0
            repairs.append(Repair(places[at], column.heading, "midnight", f"{value:g} min", f"{now:g} min"))
        if now < last and places[at] not in as_written:
            repairs.append(Repair(places[at], column.heading, "time_backward", f"{value:g} min", ""))
            column.values[at] = None
            continue
        last = now
        start = now if start is None else start
        column.values[at] = now - start
