"""Read a trace from a file of any known format, recognised by its content."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Protocol, runtime_checkable

from cutbook.importers import andi, jcamp_dx, mzml, mzxml, text_columns, workbook_columns
from cutbook.importers.trace_file import TraceFile, open_trace_file
from cutbook.model.errors import NoScansError, TraceError
from cutbook.model.run import TraceEntry
from cutbook.model.scans import ScanSeries
from cutbook.model.trace import ListedPeaks, Trace


class Importer(Protocol):
    """What a module of this floor offers for one format."""

    def recognises(self, head: bytes) -> bool:
        """Whether a file that begins so is of the format."""
        ...

    def read(self, file: TraceFile, entry: TraceEntry) -> Trace | ListedPeaks:
        """The trace in it, or its list of peaks; `InputError` where there is none that can be defended."""
        ...


@runtime_checkable
class ScanImporter(Importer, Protocol):
    """An importer of a format that may hold mass spectra."""

    def read_scans(self, file: TraceFile) -> ScanSeries:
        """The scans in it; `InputError` where there are none."""
        ...


# in the order in which they are asked: what any file may look like comes last
IMPORTERS: tuple[Importer, ...] = (andi, mzml, mzxml, jcamp_dx, workbook_columns, text_columns)

FORMATS = "ANDI/netCDF-3, mzML, mzXML, JCAMP-DX, XLSX or text columns"
_HEAD = 4096
# what else a file may turn out to be, so that the message can name it
_OTHERS = (
    (rb"\x89HDF\r\n", "HDF5 or netCDF-4"),
    (rb"CDF\x05", "netCDF with 64-bit data"),
    (rb"%PDF", "a PDF document"),
    (rb"\xd0\xcf\x11\xe0", "an old Office file (XLS or DOC)"),
    (rb"BZh|7z\xbc\xaf|\xfd7zXZ", "a compressed file, not gzip"),
    (rb"\x89PNG|\xff\xd8\xff|GIF8|BM|II\*\0|MM\0\*", "a picture"),
    (rb"\{\\rtf", "a word-processor text (RTF)"),
    (rb"\s*<(?i:!doctype html|html)", "a web page (HTML)"),
    (rb"\s*<", "XML"),
    (rb"(?s:[^\0]\0){8}|(?s:\0[^\0]){8}", "UTF-16 text without a byte-order mark"),
)


def read_signal(folder: Path, entry: TraceEntry) -> Trace | ListedPeaks:
    """Read the trace that an entry of the run sheet names, or the list of peaks that stands in its place.

    Parameters
    ----------
    folder : the run folder.
    entry : the entry; its file is recognised by its content, never by its name.

    Returns
    -------
    Trace or ListedPeaks
        With the step "read trace/1" or "read peak list/1": format and columns as settings, the hash of the file,
        and what was noticed.

    Raises
    ------
    TraceError
        When the file cannot be read, is of no known format, or holds no signal that can be defended.
    """
    file = open_trace_file(folder, entry.file)
    return importer_of(file).read(file, entry)


def read_trace(folder: Path, entry: TraceEntry) -> Trace:
    """Read a trace where a list of peaks will not do.

    Raises
    ------
    TraceError
        As `read_signal`, and when the file holds a list of peaks.
    """
    found = read_signal(folder, entry)
    if isinstance(found, Trace):
        return found
    raise TraceError.single(
        entry.file, "", f"a list of {len(found.peaks)} peaks", "a trace, signal against time", "Export the trace itself"
    )


def read_scans(folder: Path, name: str) -> ScanSeries:
    """Read the mass spectra of a file of the run folder.

    Raises
    ------
    TraceError
        When the file cannot be read, is of no known format, or its format or the file itself holds no scans.
    """
    file = open_trace_file(folder, name)
    importer = importer_of(file)
    if not isinstance(importer, ScanImporter):
        expected = "ANDI mass spectrometry, mzML, mzXML or JCAMP-DX"
        raise file.without_scans("", "a format without mass spectra", expected, "Export the scans")
    return importer.read_scans(file)


def scans_of(folder: Path, name: str) -> ScanSeries | None:
    """The mass spectra of a file of the run folder; None where it holds none, such as the total ion current alone.

    Raises
    ------
    TraceError
        When the file cannot be read, or its mass spectra are damaged.
    """
    try:
        return read_scans(folder, name)
    except NoScansError:
        return None


def importer_of(file: TraceFile) -> Importer:
    """The importer of a file, by its content.

    Raises
    ------
    TraceError
        When no importer knows the format; the message names what the file looks like.
    """
    head = file.content[:_HEAD]
    for importer in IMPORTERS:
        if importer.recognises(head):
            return importer
    raise file.fault("", _likeness(head), FORMATS, "Export the signal as text columns (time, signal) or as ANDI/netCDF")


def _likeness(head: bytes) -> str:
    for pattern, name in _OTHERS:
        if re.match(pattern, head):
            return name
    return f"binary data of an unknown kind (it begins {head[:8].hex(' ')})"
