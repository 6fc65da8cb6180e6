"""Pack a trace for the page: whole, rounded to a stated step, small enough to lie inside one file."""

from __future__ import annotations

import base64
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.model.trace import Floats, frozen_array


@dataclass(frozen=True)
class Packed:
    """A row of numbers as multiples of `step`: `text` is base64 of the packed differences, `count` how many."""

    text: str
    step: float
    count: int


def quantum(values: Floats, levels: int = 50_000) -> float:
    """A step of 1, 2 or 5 × 10^k that divides the span of the values into so many levels at least."""
    span = float(np.ptp(values))
    if span <= 0 or not math.isfinite(span):
        return 1.0
    rough = span / levels
    ten = 10.0 ** math.floor(math.log10(rough))
    return max(ten * factor for factor in (1.0, 2.0, 5.0) if ten * factor <= rough * (1 + 1e-12))


def packed(values: Floats, step: float) -> Packed:
    """Pack values, shape (n,), as whole multiples of `step`.

    Differences of neighbours are written as zigzag numbers of seven bits a byte, low bits first; a run of
    zeros as 0 and its length. The rounding error is at most step / 2 and does not add up.
    """
    levels = np.rint(values / step).astype(np.int64)
    differences = np.diff(levels, prepend=0)
    return Packed(base64.b64encode(_bytes(differences)).decode("ascii"), step, len(levels))


def unpacked(text: str, step: float) -> Floats:
    """The values again; what the page does in its own language."""
    data = base64.b64decode(text)
    numbers: list[int] = []
    value = shift = 0
    for byte in data:
        value |= (byte & 127) << shift
        shift += 7
        if byte < 128:
            numbers.append(value)
            value = shift = 0
    differences: list[int] = []
    place = 0
    while place < len(numbers):
        number = numbers[place]
        if number == 0:
            differences.extend([0] * numbers[place + 1])
            place += 1
        else:
            differences.append((number >> 1) ^ -(number & 1))
        place += 1
    return frozen_array(np.cumsum(np.array(differences, dtype=np.int64)) * step)


def _bytes(differences: NDArray[np.int64]) -> bytes:
    out = bytearray()
    run = 0
    for difference in differences.tolist():
        if difference == 0:
            run += 1
            continue
        if run:
            _append(out, 0)
            _append(out, run)
            run = 0
        _append(out, (difference << 1) ^ (difference >> 63))
    if run:
        _append(out, 0)
        _append(out, run)
    return bytes(out)


def _append(out: bytearray, number: int) -> None:
    while number >= 128:
        out.append((number & 127) | 128)
        number >>= 7
    out.append(number)
