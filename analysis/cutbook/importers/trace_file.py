"""Bring a trace file into memory once, with the hash of exactly the bytes that are then read."""

from __future__ import annotations

import hashlib
import os
import stat
from dataclasses import dataclass, field
from pathlib import Path

from cutbook.importers.packed_file import MAGIC, DamagedError, unpacked
from cutbook.model.errors import Fault, NoScansError, TraceError, nearest

MAX_MIB = 512  # an hour at 200 Hz is 6 MB in doubles; what is this large is no single detector signal


@dataclass(frozen=True)
class TraceFile:
    """A file as it lay on the disk: name relative to the run folder, bytes (unpacked), hash of what lay there."""

    name: str
    content: bytes = field(repr=False)
    sha256: str

    def hold_to(self, mebibytes: int, lines: int, do: str) -> None:
        """Refuse more text than any trace needs, before it is taken apart into objects many times its size.

        Raises
        ------
        TraceError
            When the file holds more than so many MiB or lines.
        """
        if len(self.content) > mebibytes * 2**20:
            raise self.fault("", f"{len(self.content) / 2**20:.0f} MiB of text", f"at most {mebibytes} MiB", do)
        found = max(self.content.count(b"\n"), self.content.count(b"\r"))
        if found > lines:
            raise self.fault("", f"{found:,} lines", f"at most {lines:,}", do)

    def fault(self, place: str, found: str, expected: str, do: str = "") -> TraceError:
        """An error about this file."""
        return TraceError(Fault(self.name, place, found, expected, do))

    def without_scans(self, place: str, found: str, expected: str, do: str = "") -> NoScansError:
        """An error that says that this file holds no run of mass spectra."""
        return NoScansError(Fault(self.name, place, found, expected, do))


def open_trace_file(folder: Path, name: str) -> TraceFile:
    """Read a file whole.

    Parameters
    ----------
    folder : the run folder.
    name : path of the file relative to it.

    Raises
    ------
    TraceError
        When it is missing, no ordinary file, empty, larger than 512 MiB, unreadable, or written to meanwhile; or
        compressed with gzip and damaged or larger than 256 MiB when unpacked.
    """
    path = folder / name
    try:
        # asked before opening: opening a pipe would wait for a writer for ever
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise _fault(name, "a folder", "a file", "Name the file in the folder")
        if not stat.S_ISREG(mode):
            raise _fault(name, "a pipe or a device", "an ordinary file")
        with path.open("rb") as handle:
            before = os.fstat(handle.fileno())
            if before.st_size > MAX_MIB * 2**20:
                size = f"{before.st_size / 2**20:,.0f} MiB"
                raise _fault(name, size, f"at most {MAX_MIB} MiB", "Export this one signal alone")
            content = handle.read()
            after = os.fstat(handle.fileno())
    except TraceError:  # a ValueError, too
        raise
    except FileNotFoundError:
        near = _near(path)
        raise _fault(
            name, "no such file", "a trace file in the run folder", f"Was {near} meant?" if near else ""
        ) from None
    except PermissionError:
        raise _fault(name, "a file that may not be read", "a file you have the right to read") from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise _fault(name, f"a file that cannot be read ({reason})", "a trace file in the run folder") from None
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns) or len(content) != after.st_size:
        raise _fault(name, "a file that changed while it was read", "a finished file", "Wait for the export to end")
    if not content:
        raise _fault(name, "an empty file", "a trace", "Export it again")
    sha256 = hashlib.sha256(content).hexdigest()
    if content.startswith(MAGIC):
        try:
            content = unpacked(content)
        except DamagedError as error:
            raise _fault(name, str(error), "a whole file compressed with gzip", "Copy or export it again") from None
        if not content:
            raise _fault(name, "an empty file, compressed", "a trace", "Export it again")
    return TraceFile(name, content, sha256)


def _fault(name: str, found: str, expected: str, do: str = "") -> TraceError:
    return TraceError(Fault(name, "", found, expected, do))


def _near(path: Path) -> str:
    try:
        return nearest(path.name, [other.name for other in path.parent.iterdir()])
    except (OSError, ValueError):
        return ""
