"""Read traces and scans from an mzML file.

Of each spectrum only time, kind, total and arrays are asked for (`mzml_elements.py`), since building a record of all
its terms, as pyteomics does, takes ten times as long. Pyteomics, whose look-up of the vocabulary on the network is
replaced by the copy on this machine, is asked where a file or an array is written in an unusual way.

References
----------
HUPO Proteomics Standards Initiative, mzML 1.1.0 (Martens et al., Mol. Cell. Proteomics 10 (2011) R110.000133).
"""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from cutbook.importers.binary_text import AGAIN, number, unpacked_numbers, whole_number
from cutbook.importers.mzml_elements import elements
from cutbook.importers.mzml_terms import (
    CENTROID,
    INTENSITY,
    ION_TRACES,
    LEVEL,
    MZ,
    PROFILE,
    TIME,
    TIMES,
    TOTAL,
    TOTAL_TRACE,
    Array,
    Element,
)
from cutbook.importers.scan_checks import MOST_IONS, ReadScans, check_scans, left_out, trace_of_scans
from cutbook.importers.time_unit import units_in_a_minute
from cutbook.importers.trace_checks import agreed_detector, check_trace, detector_named
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import nearest
from cutbook.model.lineage import Source, Step
from cutbook.model.run import TraceEntry
from cutbook.model.scans import Ions, ScanKind, ScanSeries
from cutbook.model.trace import Trace

_ROOT = re.compile(rb"<(?:\w+:)?(?:indexed)?mzML[\s>]")
_WHAT = {MZ: "m/z", INTENSITY: "intensity", TIMES: "time"}
_MINUTES = {"UO:0000010": 60.0, "UO:0000031": 1.0, "UO:0000028": 60_000.0, "UO:0000032": 1.0 / 60.0}


def recognises(head: bytes) -> bool:
    """Whether a file begins like mzML."""
    return head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<") and _ROOT.search(head) is not None


def read(file: TraceFile, entry: TraceEntry) -> Trace:
    """The trace in a file: the chromatogram that the entry names, else the total ion current.

    Parameters
    ----------
    file : the file, read whole.
    entry : its entry in the run sheet; ``columns = { signal = "…" }`` names a chromatogram by its id or number.

    Raises
    ------
    TraceError
        When the file is damaged, holds no trace, or several of which none is named.
    """
    wanted = str(entry.columns.get("signal", "")).strip()
    chromatograms: list[Element] = []
    spectra = 0
    for element in elements(file, counted="spectrum"):
        if element.tag == "chromatogram":
            chromatograms.append(element)
        else:
            spectra += 1
    named = [one.name for one in chromatograms]
    if wanted:
        chosen = _wanted(file, named, wanted)
    else:
        totals = [at for at, one in enumerate(chromatograms) if TOTAL_TRACE in one.terms]
        only = totals or (list(range(len(named))) if not spectra else [])
        if not only and spectra:
            return trace_of_scans(file, entry, read_scans(file), "mzML")
        if len(only) != 1:
            found = f"{len(only)} chromatograms" if only else "neither spectra nor a chromatogram"
            raise file.fault("", found, _offered(named) or "a trace", 'Choose with columns = { signal = "…" }')
        chosen = only[0]
    one = chromatograms[chosen]
    place = f"chromatogram '{one.name}'"
    times, signal = _array(file, place, one, TIMES, MOST_IONS), _array(file, place, one, INTENSITY, MOST_IONS)
    if len(times) != len(signal) or not len(times):
        raise file.fault(place, f"{len(times)} times for {len(signal)} samples", "as many times as samples")
    per_minute = _per_minute(file, place, next(a.terms[TIMES][1] for a in one.arrays if TIMES in a.terms))
    checked = check_trace(
        entry, times.astype(np.float64) / per_minute, signal.astype(np.float64), lambda at: f"{place}, point {at + 1}"
    )
    ions = not ION_TRACES.isdisjoint(one.terms)
    detector, differs = agreed_detector(entry, "MS" if ions else detector_named(one.name))
    step = Step(
        "read trace/1",
        settings={"format": "mzML", "chromatogram": one.name, "detector": detector},
        source=Source(file.name, file.sha256),
        cautions=differs + checked.cautions,
    )
    return Trace(file.name, checked.time_min, checked.signal, "", detector, step)


def read_scans(file: TraceFile) -> ScanSeries:
    """The full mass spectra in a file, in the order of the file.

    Raises
    ------
    TraceError
        When the file is damaged, holds no spectra, or its times do not rise. Spectra of fragments are left out and
        counted in a caution.
    """
    times: list[float] = []
    totals: list[float] = []
    counts: list[int] = []
    pieces: list[tuple[Ions, Ions]] = []
    kinds: set[ScanKind] = set()
    numbers: list[int] = []
    fragments = timeless = 0
    room = MOST_IONS
    for element in elements(file):
        if element.tag == "chromatogram":
            continue
        place = f"spectrum {element.number + 1}"
        if whole_number(file, place, element.terms.get(LEVEL, ("1", ""))[0]) != 1:
            fragments += 1
            continue
        mz, intensity = _array(file, place, element, MZ, room), _array(file, place, element, INTENSITY, room)
        if len(mz) != len(intensity):
            raise file.fault(place, f"{len(mz)} m/z for {len(intensity)} intensities", "as many m/z as intensities")
        if TIME not in element.terms:
            if len(mz):
                raise file.fault(place, "no scan start time", "a time for every scan", "Export the scans again")
            timeless += 1
            continue
        value, unit = element.terms[TIME]
        times.append(number(file, place, value) / _per_minute(file, place, unit))
        totals.append(number(file, place, element.terms[TOTAL][0]) if TOTAL in element.terms else np.nan)
        counts.append(len(mz))
        room -= len(mz)
        pieces.append((mz, intensity))
        numbers.append(element.number)
        if len(mz):
            kinds.add("centroid" if CENTROID in element.terms else "profile" if PROFILE in element.terms else "")
    return check_scans(
        file,
        ReadScans(
            np.array(times),
            np.concatenate([[0], np.cumsum(counts, dtype=np.int64)]).astype(np.int64),
            np.concatenate([mz for mz, _ in pieces]) if pieces else np.empty(0),
            np.concatenate([intensity for _, intensity in pieces]) if pieces else np.empty(0),
            np.array(totals),
            next(iter(kinds)) if len(kinds) == 1 else "",
            {"format": "mzML"},
            left_out(file, fragments, timeless, len(kinds) > 1),
        ),
        lambda scan: f"spectrum {numbers[scan] + 1}",
    )


def _array(file: TraceFile, place: str, element: Element, kind: str, most: int) -> Ions:
    """The array of a kind, unpacked; empty where an empty spectrum has none."""
    what = _WHAT[kind]
    array = next((array for array in element.arrays if kind in array.terms), None)
    if array is None:
        if not element.length and not any(array.length for array in element.arrays):
            return np.empty(0, np.float32)  # the narrower kind does not widen the others
        raise file.fault(place, f"no {what} array", f"{what} values")
    if array.length > most:
        raise file.fault(place, f"{array.length:,} values, more than {MOST_IONS:,} in all", "a run of mass spectra")
    text = array.text
    if not text or text.isspace():
        if array.length:
            raise file.fault(place, f"no {what} values where {array.length} are declared", "the values")
        return np.empty(0, np.float32)
    dtype = array.dtype
    if dtype is None:
        return _by_pyteomics(file, place, array, what)
    values = unpacked_numbers(file, place, text, dtype, array.length, array.zipped, what)
    return values if dtype.kind == "f" else values.astype(np.float64)


def _by_pyteomics(file: TraceFile, place: str, array: Array, what: str) -> NDArray[np.float64]:
    """An array packed in another way, unpacked by pyteomics."""
    from cutbook.importers.mzml_reader import decode

    try:
        values = decode(array.text, list(array.terms), array.length)
    except Exception as error:  # a library's decoders may fail in any way on what they did not expect
        raise file.fault(
            place, f"{what} values packed in a way that cannot be read ({type(error).__name__}: {error})",
            "32- or 64-bit numbers, zlib-compressed or not", "Export without other compression",
        ) from None  # fmt: skip
    if len(values) != array.length:
        raise file.fault(place, f"{len(values)} {what} values", f"{array.length}, as declared", AGAIN)
    return values


def _per_minute(file: TraceFile, place: str, unit: str) -> float:
    per_minute = _MINUTES.get(unit) or units_in_a_minute(unit)
    if per_minute is None:
        raise file.fault(place, f"times in '{unit}'" if unit else "times without a unit", "minutes or seconds")
    return per_minute


def _wanted(file: TraceFile, names: list[str], wanted: str) -> int:
    if names.count(wanted) == 1:
        return names.index(wanted)
    if wanted.isascii() and wanted.isdigit() and len(wanted) < 6 and 1 <= int(wanted) <= len(names):
        return int(wanted) - 1
    near = nearest(wanted, names)
    raise file.fault(
        "columns, signal", f"'{wanted}'", _offered(names) or "no name; the file has no chromatogram",
        f"Was '{near}' meant?" if near else "",
    )  # fmt: skip


def _offered(names: list[str]) -> str:
    shown = ", ".join(f"'{name}'" for name in names[:12]) + (", …" if len(names) > 12 else "")
    return f"one of {shown}" if names else ""
