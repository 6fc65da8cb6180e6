"""The words and letters by which instruments state a unit of time, in English and German."""

from __future__ import annotations

import re

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
