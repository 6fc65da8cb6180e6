"""The words and letters by which instruments state a unit of time, in English and German; minutes where none stands."""

from __future__ import annotations

import re

import numpy as np

from cutbook.importers.trace_file import TraceFile
from cutbook.model.cautions import Caution, caution
from cutbook.model.trace import Floats

# without a unit, times are taken as minutes only up to four hours and with at most 6 s between samples
_LONGEST_MIN = 240.0
_COARSEST_MIN = 0.1

# how many of the unit make a minute; dividing by it is exact where the quotient is
_PER_MINUTE = {
    "min": 1.0,
    "mins": 1.0,
    "minute": 1.0,
    "minutes": 1.0,
    "minuten": 1.0,
    "s": 60.0,
    "sec": 60.0,
    "secs": 60.0,
    "second": 60.0,
    "seconds": 60.0,
    "sek": 60.0,
    "sekunde": 60.0,
    "sekunden": 60.0,
    "ms": 60_000.0,
    "msec": 60_000.0,
    "millisecond": 60_000.0,
    "milliseconds": 60_000.0,
    "millisekunden": 60_000.0,
    "h": 1.0 / 60.0,
    "hr": 1.0 / 60.0,
    "hour": 1.0 / 60.0,
    "hours": 1.0 / 60.0,
    "std": 1.0 / 60.0,
    "stunden": 1.0 / 60.0,
}


def units_in_a_minute(text: str) -> float | None:
    """How many of a unit of time make a minute ("s" 60), None when the text is no unit of time.

    Examples
    --------
    >>> units_in_a_minute("Time in seconds")
    60.0
    """
    word = re.sub(r"^(time|zeit) in ", "", text.strip().casefold()).rstrip(".")
    return _PER_MINUTE.get(word)


def assumed_minutes(
    file: TraceFile, place: str, column: str, times: Floats, example: str, sampled: bool = True
) -> Caution:
    """The caution that times without a unit were taken as minutes.

    Parameters
    ----------
    file, place, column : name them in messages.
    times : as read, shape (n,); what is not finite is left to later checks.
    example : where a unit would stand, and how. sampled : whether they are the times of samples, not of peaks.

    Raises
    ------
    TraceError
        When they can hardly be minutes.
    """
    sensible = len(times) > 0 and bool(np.isfinite(times).all())
    last = float(times[-1]) if sensible else 0.0
    interval = float(np.median(np.diff(times))) if sensible and sampled and len(times) > 1 else 0.0
    if last > _LONGEST_MIN or interval > _COARSEST_MIN:
        raise file.fault(
            place,
            f"times up to {last:.6g} without a unit",
            f"a unit {example}",
            "Minutes are assumed only up to 240 and for samples up to 6 s apart",
        )
    return caution("trace.time_unit_assumed", file.name, column=column, last=last)
