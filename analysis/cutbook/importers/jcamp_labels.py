"""What the labels of a JCAMP-DX file state, and whether the numbers of its tables bear it out."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from cutbook.importers.jcamp_packed import LARGEST, Rows
from cutbook.model.trace import Floats

X_CHECK = "X of a line"  # in place of a label, where the x at the beginning of a line disagrees
CHECKED = ("FIRSTX", "LASTX", "DELTAX", "MINX", "MAXX", "FIRSTY", "LASTY", "MINY", "MAXY")
_DROPPED = str.maketrans("", "", " \t-/_")
_NUMBER = re.compile(r"[+-]?[0-9]{0,30}(?:\.([0-9]{0,30}))?(?:[Ee]([+-]?[0-9]{1,3}))?(?![0-9.,])")


class Disagreement(NamedTuple):
    """What a label states and what the numbers say; `line` is where the table, or the line of an x, begins."""

    label: str
    stated: float
    found: float
    line: int


def normal_label(text: str) -> str:
    """A label as it is compared: in capitals, without blanks, dashes, slashes and underscores."""
    return text.upper().translate(_DROPPED)


def leading_number(text: str | None) -> float | None:
    """The number with which a text begins, None where it begins with none that is sensible."""
    found = _NUMBER.match((text or "")[:100].strip())
    try:
        value = float(found.group()) if found else None
    except ValueError:
        return None
    return value if value is None or abs(value) <= LARGEST else None


def _digit(text: str) -> float:
    """One unit of the last digit of a number as written."""
    found = _NUMBER.match(text[:100].strip())
    return 10.0 ** min(int(found.group(2) or 0) - len(found.group(1) or ""), 100) if found else 0.0


def check_lines(rows: Rows, factor: float, x: Floats, step: float) -> list[Disagreement]:
    """The first line whose x is not that of its point."""
    if not len(x):
        return []
    written = rows.line_x
    digits = next((d for d in range(9) if np.allclose(written, np.round(written, d), rtol=0, atol=1e-12)), 9)
    room = 0.75 * abs(step) + 0.5 * 10.0**-digits * abs(factor) + 1e-9 * float(np.abs(x).max())
    expected = x[rows.x_at]
    off = np.abs(written * factor - expected)
    # where a line repeats the last ordinate, some writers give the x of the point behind it
    repeats = rows.x_at < rows.starts
    off[repeats] = np.minimum(off, np.abs(written * factor - expected - step))[repeats]
    wrong = np.flatnonzero(off > room)
    return [
        Disagreement(X_CHECK, float(written[at] * factor), float(expected[at]), int(rows.lines[at])) for at in wrong[:1]
    ]


def check_labels(line: int, said: Mapping[str, str], x: Floats, y: Floats, step: float) -> list[Disagreement]:
    """What the labels say of ends, step and limits, against the numbers."""
    known_x, known_y = x[~np.isnan(x)], y[~np.isnan(y)]
    if not (len(known_x) and len(known_y)):
        return []
    room_x = 0.5 * abs(step) if step else 1e-6 * float(np.abs(known_x).max())
    room_y = 1e-3 * float(np.abs(known_y).max())  # some writers look for the limits before they round
    found = {
        "FIRSTX": (x[0], room_x),
        "LASTX": (x[-1], room_x),
        "MINX": (known_x.min(), room_x),
        "MAXX": (known_x.max(), room_x),
        "FIRSTY": (y[0], room_y),
        "LASTY": (y[-1], room_y),
        "MINY": (known_y.min(), room_y),
        "MAXY": (known_y.max(), room_y),
    }
    if step:
        found["DELTAX"] = (abs(step), 1e-6 * abs(step))
    doubts = []
    for name, (value, room) in found.items():
        stated = leading_number(said[name])
        if stated is None:
            continue
        # a step is sometimes stated without its sign
        compared = abs(stated) if name == "DELTAX" else stated
        if abs(compared - value) > room + 0.5 * _digit(said[name]):
            doubts.append(Disagreement(name, stated, float(value), line))
    return doubts
