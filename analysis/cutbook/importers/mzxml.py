"""Read scans and their total ion current from an mzXML file.

pyteomics' own reader stops at a scan without ions, which the schema allows, so that only the tests ask it.

References
----------
Pedrioli et al., Nature Biotechnology 22 (2004) 1459, and the schemas 2.0 to 3.2.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any

import numpy as np

from cutbook.importers.binary_text import AGAIN, number, unpacked_numbers, whole_number
from cutbook.importers.scan_checks import MOST_IONS, ReadScans, check_scans, left_out, trace_of_scans
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.xml_prolog import forget, refuse_unsafe, unreadable
from cutbook.model.run import TraceEntry
from cutbook.model.scans import Ions, ScanKind, ScanSeries
from cutbook.model.trace import Trace

_ROOT = re.compile(rb"<(?:\w+:)?mzXML[\s>]")
_WHOLE = (b"scan",)
# a duration of ISO 8601 as the schema writes it, hours and minutes included
_DURATION = re.compile(r"PT(?:(\d{1,6})H)?(?:(\d{1,8})M)?(?:(\d{1,9}(?:\.\d*)?)S)?")


def recognises(head: bytes) -> bool:
    """Whether a file begins like mzXML."""
    return head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<") and _ROOT.search(head) is not None


def read(file: TraceFile, entry: TraceEntry) -> Trace:
    """The total ion current of the scans.

    Raises
    ------
    TraceError
        See `read_scans`.
    """
    return trace_of_scans(file, entry, read_scans(file), "mzXML")


def read_scans(file: TraceFile) -> ScanSeries:
    """The full mass spectra in a file, by rising scan number.

    Raises
    ------
    TraceError
        When the file is damaged, holds no spectra, or its times do not rise.
    """
    times: list[float] = []
    totals: list[float] = []
    pieces: list[Ions] = []
    kinds: set[ScanKind] = set()
    names: list[str] = []
    fragments = timeless = 0
    room = MOST_IONS
    whole = ""
    for node in _elements(file):
        if node.tag.endswith("dataProcessing"):
            whole = node.get("centroided", "")
            continue
        name = str(node.get("num", len(times) + 1))[:20]
        place = f"scan {name}"
        if node.get("msLevel", "1").strip() not in ("1", ""):
            fragments += 1
            continue
        pairs = _pairs(file, place, node, room)
        time = node.get("retentionTime", "")
        if not time:
            if len(pairs):
                raise file.fault(place, "no retention time", "a time for every scan", "Export the scans again")
            timeless += 1
            continue
        times.append(_minutes(file, place, time))
        totals.append(number(file, place, node.get("totIonCurrent", "nan")))
        pieces.append(pairs)
        names.append(name)
        room -= len(pairs)
        if len(pairs):
            centroided = node.get("centroided", whole)
            kinds.add("centroid" if centroided == "1" else "profile" if centroided == "0" else "")
    counts = [len(pairs) for pairs in pieces]
    pairs = np.concatenate(pieces) if pieces else np.empty((0, 2))
    read = ReadScans(
        np.array(times), np.concatenate([[0], np.cumsum(counts, dtype=np.int64)]).astype(np.int64),
        np.ascontiguousarray(pairs[:, 0]), np.ascontiguousarray(pairs[:, 1]), np.array(totals),
        next(iter(kinds)) if len(kinds) == 1 else "", {"format": "mzXML"},
        left_out(file, fragments, timeless, len(kinds) > 1),
    )  # fmt: skip
    return check_scans(file, read, lambda scan: f"scan {names[scan]}")


def _elements(file: TraceFile) -> Iterator[Any]:
    """Every scan and dataProcessing element."""
    refuse_unsafe(file, _WHOLE)
    from lxml import etree

    try:
        for _, node in etree.iterparse(
            io.BytesIO(file.content), events=("end",), tag=("{*}scan", "{*}dataProcessing"),
            remove_comments=True, remove_pis=True, resolve_entities=False, no_network=True,
        ):  # fmt: skip
            yield node
            parent = node.getparent()
            if parent is not None and parent.tag.endswith("scan"):
                node.clear()  # the scan that holds this one has still to be read
            else:
                forget(node)
    except etree.XMLSyntaxError as error:
        raise unreadable(file, error, "mzXML") from None


def _pairs(file: TraceFile, place: str, scan: Any, most: int) -> Ions:
    """m/z and intensity of a scan, shape (n, 2)."""
    empty = np.empty((0, 2), dtype=np.float32)
    nodes = [node for node in scan if isinstance(node.tag, str) and node.tag.endswith("peaks")]
    count = whole_number(file, place, scan.get("peaksCount", "0"))
    if not nodes or not (nodes[0].text or "").strip():
        if count:
            raise file.fault(place, f"no ions where {count} are declared", "the ions", AGAIN)
        return empty
    peaks = nodes[0]
    content = peaks.get("contentType", peaks.get("pairOrder", "m/z-int"))
    if len(nodes) > 1 or content != "m/z-int":
        found = f"{len(nodes)} lists of ions" if len(nodes) > 1 else f"a list of '{content[:40]}'"
        raise file.fault(
            place, found, "one list of pairs of m/z and intensity", "Export with m/z and intensity in pairs"
        )
    if peaks.get("byteOrder", "network") != "network":
        raise file.fault(place, f"byte order '{peaks.get('byteOrder')[:40]}'", "network, the only one of the format")
    precision = peaks.get("precision", "32")
    if precision not in ("32", "64"):
        raise file.fault(place, f"precision '{precision[:40]}'", "32 or 64")
    packing = peaks.get("compressionType", "none")
    if packing not in ("none", "zlib"):
        raise file.fault(place, f"compression '{packing[:40]}'", "none or zlib")
    if count > most:
        raise file.fault(place, f"{count:,} ions, more than {MOST_IONS:,} in all", "a run of mass spectra")
    values = unpacked_numbers(
        file, place, peaks.text, np.dtype(f">f{int(precision) // 8}"), 2 * count, packing == "zlib", "ion"
    )
    # no ions is also written as one pair of zeros
    pairs = values.astype(values.dtype.newbyteorder("=")).reshape(-1, 2)
    return empty if count == 1 and not pairs.any() else pairs


def _minutes(file: TraceFile, place: str, text: str) -> float:
    written = _DURATION.fullmatch(text.strip())
    if not written or not any(written.groups()):
        raise file.fault(place, f"retention time '{text[:40]}'", "a duration such as PT125.2S")
    hours, minutes, seconds = (float(part or 0) for part in written.groups())
    return 60.0 * hours + minutes + seconds / 60.0
