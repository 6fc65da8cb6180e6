"""Read the header and the arrays of a netCDF-3 file without trusting what its header declares.

The classic format is a short header (dimensions, attributes, variables with their place in the file) before plain
big-endian arrays. Every count, length and place is held against the size of the file before it is used, and the
names in the file are only ever keys of a dictionary.

References
----------
NetCDF Classic Format Specification, Unidata (versions CDF-1 and CDF-2).
"""

from __future__ import annotations

import math
import struct
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import TraceError

Attribute: TypeAlias = "str | NDArray[np.float64]"

MAGIC = (b"CDF\x01", b"CDF\x02")
# number codes of the format: byte, char, short, int, float, double
_TYPES = {1: ">i1", 2: "S1", 3: ">i2", 4: ">i4", 5: ">f4", 6: ">f8"}
_DIMENSIONS, _VARIABLES, _ATTRIBUTES = 10, 11, 12
_MOST_ITEMS = 10_000  # in one list of the header; chromatography needs about a hundred
_MOST_VALUES = 20_000_000  # a day at 200 Hz; bytes widened to doubles take eight times the file


@dataclass(frozen=True)
class Variable:
    """One array of the file: where it stands and what belongs to it.

    shape : lengths, outermost first; () for a single value.
    begin : offset of the first byte. stride : bytes from one record to the next, 0 when it lies in one piece.
    """

    name: str
    dimensions: tuple[str, ...]
    shape: tuple[int, ...]
    dtype: str
    begin: int
    stride: int
    attributes: Mapping[str, Attribute]


@dataclass(frozen=True, eq=False)
class Netcdf:
    """A netCDF-3 file whose header has been read and held against its size."""

    file: TraceFile
    attributes: Mapping[str, Attribute]
    variables: Mapping[str, Variable]

    def text(self, name: str) -> str:
        """A global attribute as text, "" when it is absent or no text."""
        value = self.attributes.get(name, "")
        return value if isinstance(value, str) else ""

    def numbers(self, name: str) -> NDArray[np.float64] | None:
        """A variable as a new array of doubles, exactly as stored; None when it is absent or holds text."""
        variable = self.variables.get(name)
        if variable is None or variable.dtype == "S1":
            return None
        if math.prod(variable.shape) > _MOST_VALUES:
            raise self.file.fault(name, f"{math.prod(variable.shape):,} values", f"at most {_MOST_VALUES:,}")
        with np.errstate(invalid="ignore"):  # a signalling NaN in a damaged file becomes a plain one
            return self._raw(variable).astype(np.float64)

    def native(self, name: str, most: int) -> NDArray[np.floating[Any]] | None:
        """A variable as floating point of its own precision (16-bit integers as 32 bits); None when absent or text."""
        variable = self.variables.get(name)
        if variable is None or variable.dtype == "S1":
            return None
        count = math.prod(variable.shape)
        if count > most:
            raise self.file.fault(name, f"{count:,} values", f"at most {most:,}")
        wide = variable.dtype in (">i4", ">f8")
        with np.errstate(invalid="ignore"):
            return self._raw(variable).astype(np.float64 if wide else np.float32)

    def texts(self, name: str) -> list[str] | None:
        """A variable of characters as texts, one a row; None when it is absent or holds numbers."""
        variable = self.variables.get(name)
        if variable is None or variable.dtype != "S1" or len(variable.shape) != 2:
            return None
        if 0 in variable.shape:
            return []
        rows, width = variable.shape
        content = self._raw(variable).tobytes()
        return [_as_text(content[row * width : (row + 1) * width]) for row in range(rows)]

    def _raw(self, variable: Variable) -> NDArray[np.generic]:
        dtype = np.dtype(variable.dtype)
        count = math.prod(variable.shape)
        if count == 0:
            return np.empty(0, dtype)
        if not variable.stride:
            flat = np.frombuffer(self.file.content, dtype, count, variable.begin)
            return flat.reshape(variable.shape)
        # records of several variables lie interleaved
        inner = variable.shape[1:]
        steps = [dtype.itemsize * math.prod(inner[axis + 1 :]) for axis in range(len(inner))]
        view: NDArray[np.generic] = np.ndarray(
            variable.shape, dtype, self.file.content, variable.begin, (variable.stride, *steps)
        )
        return view


def open_netcdf(file: TraceFile) -> Netcdf:
    """Read the header of a netCDF-3 file.

    Raises
    ------
    TraceError
        When the header contradicts itself or declares more than the file holds.
    """
    return _Header(file).read()


class _Header:
    """The header, read from front to back."""

    def __init__(self, file: TraceFile) -> None:
        self.file = file
        self.content = file.content
        self.at = 4
        if not self.content.startswith(MAGIC):
            raise self._damaged("no netCDF-3 signature")
        self.wide = self.content[3] == 2  # CDF-2 writes places in 64 bits

    def read(self) -> Netcdf:
        records = self._int()
        dimensions = [(self._name(), self._size()) for _ in range(self._count(_DIMENSIONS))]
        attributes = self._attribute_list()
        declared = [self._variable(dimensions) for _ in range(self._count(_VARIABLES))]
        return Netcdf(self.file, attributes, self._placed(declared, records))

    def _damaged(self, found: str) -> TraceError:
        return self.file.fault(
            "header", found, "a complete netCDF-3 file", "Was the file cut short or changed? Copy or export it again"
        )

    def _take(self, size: int) -> bytes:
        if not 0 <= size <= len(self.content) - self.at:
            raise self._damaged(f"an entry of {size} bytes at byte {self.at} of {len(self.content)}")
        self.at += size
        return self.content[self.at - size : self.at]

    def _int(self) -> int:
        return int(struct.unpack(">i", self._take(4))[0])

    def _size(self) -> int:
        size = self._int()
        if size < 0:
            raise self._damaged(f"a length of {size} at byte {self.at - 4}")
        return size

    def _padded(self, size: int) -> bytes:
        taken = self._take(size)
        self._take(-size % 4)
        return taken

    def _name(self) -> str:
        return self._padded(self._size()).decode("utf-8", "backslashreplace")

    def _count(self, tag: int) -> int:
        met, count = self._int(), self._size()
        if met != tag and (met, count) != (0, 0):
            raise self._damaged(f"a list marked {met} where {tag} belongs at byte {self.at - 8}")
        if count > _MOST_ITEMS:
            raise self._damaged(f"a list of {count} entries at byte {self.at - 4}")
        return count

    def _dtype(self) -> str:
        code = self._int()
        if code not in _TYPES:
            raise self._damaged(f"a number type {code} at byte {self.at - 4}")
        return _TYPES[code]

    def _attribute_list(self) -> dict[str, Attribute]:
        return dict(self._attribute() for _ in range(self._count(_ATTRIBUTES)))

    def _attribute(self) -> tuple[str, Attribute]:
        name, dtype, count = self._name(), self._dtype(), self._size()
        values = self._padded(count * np.dtype(dtype).itemsize)
        if dtype == "S1":
            return name, _as_text(values)
        with np.errstate(invalid="ignore"):
            return name, np.frombuffer(values, dtype).astype(np.float64)

    def _variable(self, dimensions: list[tuple[str, int]]) -> tuple[Variable, bool]:
        """The variable as declared and whether it grows by records (its first length is then still 0)."""
        name = self._name()
        used: list[tuple[str, int]] = []
        rank = self._size()
        if rank > 8:
            raise self._damaged(f"{rank} dimensions in '{name}'")
        for _ in range(rank):
            number = self._int()
            if not 0 <= number < len(dimensions):
                raise self._damaged(f"dimension {number} in '{name}', of {len(dimensions)} dimensions")
            used.append(dimensions[number])
        attributes = self._attribute_list()
        dtype = self._dtype()
        self._int()  # its size, which follows from the lengths and is often wrong in large files
        begin = int(struct.unpack(">q", self._take(8))[0]) if self.wide else self._size()
        names, shape = tuple(n for n, _ in used), tuple(length for _, length in used)
        return Variable(name, names, shape, dtype, begin, 0, attributes), bool(shape) and shape[0] == 0

    def _placed(self, declared: list[tuple[Variable, bool]], records: int) -> dict[str, Variable]:
        """The variables with their full shapes, each held against the size of the file."""
        growing = [variable for variable, grows in declared if grows]
        sizes = [math.prod(v.shape[1:]) * np.dtype(v.dtype).itemsize for v in growing]
        # a single growing variable is stored without padding
        stride = sizes[0] if len(sizes) == 1 else sum(size + -size % 4 for size in sizes)
        if records == -1 and stride:  # written as a stream: as many as there are
            records = (len(self.content) - min(v.begin for v in growing)) // stride
        if growing and records < 0:
            raise self._damaged(f"{records} records")
        placed: dict[str, Variable] = {}
        for variable, grows in declared:
            if grows:
                variable = replace(variable, shape=(records, *variable.shape[1:]), stride=stride)
            count = math.prod(variable.shape)
            piece = count * np.dtype(variable.dtype).itemsize // (records if grows and records else 1)
            end = variable.begin + piece + (stride * (records - 1) if grows else 0)
            if count and not 0 <= variable.begin <= end <= len(self.content):
                shape = " × ".join(map(str, variable.shape)) or "one"
                raise self._damaged(f"{shape} values of '{variable.name}' beyond the {len(self.content)} bytes present")
            placed[variable.name] = variable
        return placed


def _as_text(raw: bytes) -> str:
    return raw.split(b"\0", 1)[0].decode("latin-1").strip()
