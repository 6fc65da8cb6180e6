"""Unpack numbers that stand in XML as base64 text, held to the size that is declared."""

from __future__ import annotations

import binascii
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cutbook.importers.trace_file import TraceFile

AGAIN = "Was the file cut short or changed? Copy or export it again"


def unpacked_numbers(
    file: TraceFile, place: str, text: str | bytes, dtype: np.dtype[Any], count: int, zipped: bool, what: str
) -> NDArray[Any]:
    """The numbers in a text.

    Parameters
    ----------
    file, place, what : for messages. text : base64. dtype : of one number. count : how many are declared.
    zipped : whether they are zlib-compressed.

    Raises
    ------
    TraceError
        When the text is damaged or holds more or fewer numbers than declared.
    """
    size = count * dtype.itemsize
    try:
        raw = binascii.a2b_base64(text)
        if zipped:
            stream = zlib.decompressobj()  # held to the size that is declared, so that no bomb goes off
            raw = stream.decompress(raw, size + 1)
            if not stream.eof and len(raw) <= size:
                raise zlib.error("compressed data that end too early")
    except (binascii.Error, zlib.error, ValueError) as error:
        raise file.fault(place, f"{what} values that cannot be unpacked ({error})", "whole data", AGAIN) from None
    if len(raw) != size:
        found = f"more than {count}" if len(raw) > size else f"{len(raw) // dtype.itemsize}"
        raise file.fault(place, f"{found} {what} values", f"{count}, as declared", AGAIN)
    return np.frombuffer(raw, dtype)


def whole_number(file: TraceFile, place: str, text: str) -> int:
    """A count that stands in an attribute."""
    if not (text.isascii() and text.strip().isdigit() and len(text) <= 12):
        raise file.fault(place, f"'{text[:40]}'", "a whole number")
    return int(text)


def number(file: TraceFile, place: str, text: str) -> float:
    """A number that stands in an attribute."""
    try:
        return float(text)
    except ValueError:
        raise file.fault(place, f"'{text[:40]}'", "a number") from None
