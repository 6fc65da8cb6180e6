"""The unit of retention times in a JCAMP-DX file, in the several places and words in which it is stated."""

from __future__ import annotations

import re

from cutbook.importers.time_unit import assumed_minutes, units_in_a_minute
from cutbook.importers.trace_file import TraceFile
from cutbook.model.cautions import Caution
from cutbook.model.errors import printable
from cutbook.model.trace import Floats

_TIME_WORD = re.compile(r"(?i)\b(?:time|zeit|retentionszeit)\b")


def per_minute(text: str) -> float | None:
    """How many of the unit make a minute, also where "time" stands before it; None where no unit of time is named.

    Examples
    --------
    >>> per_minute("Retention time / s")
    60.0
    """
    found = units_in_a_minute(text)
    if found is None and _TIME_WORD.search(text):
        found = units_in_a_minute(re.findall(r"[A-Za-z]+", text)[-1])
    return found


def is_time(text: str) -> bool:
    """Whether a unit, or a word in its place, speaks of time."""
    return per_minute(text) is not None or _TIME_WORD.search(text) is not None


def in_minutes(
    file: TraceFile, place: str, column: str, times: Floats, unit: str
) -> tuple[Floats, tuple[Caution, ...]]:
    """Times in min, with a caution where no unit stands with them and minutes were assumed.

    Parameters
    ----------
    file, place, column : name them in messages.
    times : as read; what is not finite is left to later checks.
    unit : as stated, "" where none is.

    Raises
    ------
    TraceError
        A unit that is none of time, or times without a unit that can hardly be minutes.
    """
    known = per_minute(unit)
    if known is not None:
        return times / known, ()
    if unit and not is_time(unit):
        raise file.fault(place, f"{column} in '{printable(unit, 30)}'", "seconds, minutes, milliseconds or hours")
    return times, (assumed_minutes(file, place, column, times, "of time, for instance ##XUNITS= SECONDS"),)
