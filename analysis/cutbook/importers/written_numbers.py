"""Read a number as a hand wrote it: decimal comma or point, thousands marks, a unit or a doubt beside it."""

from __future__ import annotations

import re
from collections.abc import Sequence

from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import printable

NUMBER = re.compile(
    r"(?P<about>~|≈|±|ca\.?|about|approx\.?|etwa|circa)?\s*(?P<bound>[<>≤≥])?\s*"
    r"(?P<number>[+\-−]?\d[\d.,' ]*|[+\-−]?[.,]\d+)\s*(?P<doubt>\(?\?+\)?)?\s*"
    r"(?P<unit>[^\d\s?][^\d?]{0,14})?\s*(?P<after>\?*)",
    re.IGNORECASE,
)
"""What may stand in a cell for a number: about, bound, number, doubt and unit by name."""
_LONGEST = 20  # characters of a number
GROUPED = re.compile(r"[+\-−]?[1-9]\d{0,2}(?P<mark>[.,' ])\d{3}(?:(?P=mark)\d{3})*")
"""Digits in threes, whose mark may part thousands or decimals."""


def decimal_mark(columns: Sequence[Sequence[str]]) -> str:
    """The mark that must be decimal somewhere in the log ("12,5"); "" when none must be, or both are."""
    marks = set()
    for text in (cell for column in columns for cell in column):
        found = NUMBER.fullmatch(text)
        number = (found["number"] if found else "").strip()
        used = {mark for mark in ".," if mark in number}
        if len(used) == 1 and not GROUPED.fullmatch(number) and number.count(next(iter(used))) == 1:
            marks |= used
    return marks.pop() if len(marks) == 1 else ""


def written_number(file: TraceFile, place: str, heading: str, written: str, decimal: str) -> tuple[float, float]:
    """A number and the step of its last digit.

    Parameters
    ----------
    file, place, heading : for messages. written : digits with marks. decimal : the mark that parts decimals elsewhere
        in the table, "" when that is not known.

    Raises
    ------
    TraceError
        When it is no number, or may be read in two ways.
    """
    text = written.strip().replace("−", "-").replace("'", "").replace(" ", "")
    if len(text) > _LONGEST:
        raise file.fault(place, f"a number of {len(text)} digits in column '{heading}'", "a number")
    points, commas = text.count("."), text.count(",")
    if points and commas:
        last = max(".,", key=text.rfind)
        text = text.replace("," if last == "." else ".", "")
        mark = last
    elif points + commas == 0:
        return float(text), 1.0
    else:
        mark = "." if points else ","
        if points + commas > 1:
            text, mark = text.replace(mark, ""), ""
        elif GROUPED.fullmatch(text) and decimal != mark:
            if decimal:
                text, mark = text.replace(mark, ""), ""
            elif mark == ",":
                raise file.fault(
                    place, f"'{written.strip()}' in column '{heading}', whose comma may part thousands or decimals",
                    "numbers that can be read in one way only", "Write it without a thousands separator",
                )  # fmt: skip
    text = text.replace(",", ".")
    try:
        return float(text), 10.0 ** -len(text.split(".")[1]) if mark else 1.0
    except ValueError:
        raise file.fault(place, f"'{printable(written.strip(), 40)}' in column '{heading}'", "a number") from None
