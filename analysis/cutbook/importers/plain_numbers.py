"""Parse a text file that is nothing but headings and a clean table of numbers, at the speed of numpy's own parser.

Most exports are so, with a decimal point or a decimal comma. Whatever is not (remarks between rows, thousands, empty
cells, a number that can be read in two ways) is left to `text_table`, which takes it apart line by line; both give
the same numbers.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cutbook.model.trace import Floats

_HEAD = 60  # lines in which the headings must end
_NUMERIC = b"0123456789.+-eE\n"
# a decimal mark beyond doubt: behind a leading zero, or with other than three digits after it
_SURE = re.compile(r"[+-]?(?:0?[.,]\d+|\d+[.,](?:\d{1,2}|\d{4,}))(?:[eE][+-]?\d+)?")


@dataclass(frozen=True, eq=False)
class PlainNumbers:
    """The numbers of a clean table, shape (rows, columns), the index of its first line, its decimal mark."""

    first: int
    values: Floats
    decimal: str


def plain_numbers(
    text: str, delimiter: str, is_row: Callable[[str], object], cells: Callable[[str, str], list[str]]
) -> PlainNumbers | None:
    """The numbers of a clean table, None when the text is anything but one.

    Parameters
    ----------
    text : with "\\n" at the end of lines. delimiter : " " stands for runs of blanks.
    is_row : whether a line begins with a number. cells : a line in cells.
    """
    head = text[: 200 * _HEAD].split("\n")[:_HEAD]
    first = next((at for at, line in enumerate(head) if is_row(line)), -1)
    if first < 0 or not all(is_row(line) for line in head[first:-1]):
        return None
    sure = [cell for cell in map(str.strip, cells(head[first], delimiter)) if _SURE.fullmatch(cell)]
    if not sure:
        return None
    decimal = "," if "," in sure[0] else "."
    body = text[sum(len(line) + 1 for line in head[:first]) :].rstrip()
    if not body.isascii() or "\n\n" in body:
        return None
    raw = body.encode("ascii")
    if decimal == ",":
        if b"." in raw:
            return None  # thousands, or another mark in another column
        raw = raw.replace(b",", b".")
    # taking out all that belongs to numbers must leave nothing: much faster than looking at each
    if raw.translate(None, _NUMERIC + delimiter.encode("ascii") + (b"\t" if delimiter == " " else b" ")):
        return None
    try:
        values = np.loadtxt(io.BytesIO(raw), delimiter=None if delimiter == " " else delimiter, ndmin=2, comments=None)
    except ValueError:
        return None
    return PlainNumbers(first, values, decimal) if len(values) == raw.count(b"\n") + 1 else None
