"""Unpack a gzip-compressed file, up to a size that no trace exceeds."""

from __future__ import annotations

import zlib

MAGIC = b"\x1f\x8b"
MAX_UNPACKED_MIB = 256  # an hour of mass spectra as mzML is 30 to 100 MB; a bomb unpacks to a thousand times its size


class DamagedError(ValueError):
    """The compressed file is cut short, damaged, or unpacks beyond the limit; the text says which."""


def unpacked(content: bytes, limit: int = MAX_UNPACKED_MIB * 2**20) -> bytes:
    """The bytes in a gzip file, all of its members one after another.

    Raises
    ------
    DamagedError
        When it is damaged, cut short, or holds more than `limit` bytes.
    """
    pieces: list[bytes] = []
    room = limit
    rest = content
    while rest.startswith(MAGIC):
        stream = zlib.decompressobj(wbits=31)
        try:
            piece = stream.decompress(rest, room + 1)
        except zlib.error as error:
            raise DamagedError(f"damaged compressed data ({error})") from None
        if len(piece) > room:
            raise DamagedError(f"more than {limit // 2**20} MiB after unpacking")
        if not stream.eof:
            raise DamagedError("compressed data that end too early")
        pieces.append(piece)
        room -= len(piece)
        if len(pieces) > 10_000:
            raise DamagedError("more than 10,000 compressed members")
        rest = stream.unused_data
    return b"".join(pieces)
