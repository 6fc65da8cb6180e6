"""Read traces and scans from an mzML file.

Spectra are read by a subclass of pyteomics' reader that asks of each only its time, kind, total and arrays; an array
packed in a way that is not met in this trade is left to pyteomics itself. The vocabulary that pyteomics otherwise
asks of a host on the network is the copy on this machine.

References
----------
HUPO Proteomics Standards Initiative, mzML 1.1.0 (Martens et al., Mol. Cell. Proteomics 10 (2011) R110.000133).
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cutbook.importers.binary_text import AGAIN, number, unpacked_numbers, whole_number
from cutbook.importers.mzml_packings import PACKINGS
from cutbook.importers.scan_checks import MOST_IONS, ReadScans, check_scans, left_out, trace_of_scans
from cutbook.importers.time_unit import units_in_a_minute
from cutbook.importers.trace_checks import agreed_detector, check_trace, detector_named
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.xml_prolog import refuse_unsafe, unreadable
from cutbook.model.errors import nearest
from cutbook.model.lineage import Source, Step
from cutbook.model.run import TraceEntry
from cutbook.model.scans import Ions, ScanKind, ScanSeries
from cutbook.model.trace import Trace

_ROOT = re.compile(rb"<(?:\w+:)?(?:indexed)?mzML[\s>]")
_WHOLE = (b"spectrum", b"chromatogram")
# terms of the PSI-MS and unit vocabularies
_LEVEL, _CENTROID, _PROFILE, _TOTAL, _TIME = "MS:1000511", "MS:1000127", "MS:1000128", "MS:1000285", "MS:1000016"
_MZ, _INTENSITY, _TIMES = "MS:1000514", "MS:1000515", "MS:1000595"
_TYPES = {
    term: np.dtype(kind)
    for term, kind in (("MS:1000521", "<f4"), ("MS:1000523", "<f8"), ("MS:1000519", "<i4"), ("MS:1000522", "<i8"))
}
_AHEAD = 2**18  # characters of packed arrays
_WHAT = {_MZ: "m/z", _INTENSITY: "intensity", _TIMES: "time"}
_ZLIB, _PLAIN, _TOTAL_TRACE = "MS:1000574", "MS:1000576", "MS:1000235"
_MINUTES = {"UO:0000010": 60.0, "UO:0000031": 1.0, "UO:0000028": 60_000.0, "UO:0000032": 1.0 / 60.0}
_ION_TRACES = frozenset({_TOTAL_TRACE, "MS:1000628", "MS:1000627", "MS:1000810"})  # total, base peak, selected ion, any
_ASKED = frozenset(
    {
        _LEVEL,
        _CENTROID,
        _PROFILE,
        _TOTAL,
        _TIME,
        _MZ,
        _INTENSITY,
        _TIMES,
        _ZLIB,
        _PLAIN,
        *_TYPES,
        *_ION_TRACES,
        *PACKINGS,
    }
)
_VALUED = frozenset({_LEVEL, _TOTAL, _TIME, _TIMES})  # of the others it counts that they are there
_FLAG = ("", "")


def recognises(head: bytes) -> bool:
    """Whether a file begins like mzML."""
    return head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<") and _ROOT.search(head) is not None


@dataclass(slots=True)
class _Array:
    """One binary array: its terms (accession to (value, unit)), its text, its declared length."""

    terms: dict[str, tuple[str, str]]
    length: int
    text: str = ""


@dataclass(slots=True)
class _Element:
    """A spectrum or chromatogram: its own terms and its arrays."""

    tag: str
    name: str
    number: int
    length: int
    terms: dict[str, tuple[str, str]]
    arrays: list[_Array]


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
    chromatograms: list[_Element] = []
    spectra = 0
    for element in _elements(file, counted="spectrum"):
        if element.tag == "chromatogram":
            chromatograms.append(element)
        else:
            spectra += 1
    named = [one.name for one in chromatograms]
    if wanted:
        chosen = _wanted(file, named, wanted)
    else:
        totals = [at for at, one in enumerate(chromatograms) if _TOTAL_TRACE in one.terms]
        only = totals or (list(range(len(named))) if not spectra else [])
        if not only and spectra:
            return trace_of_scans(file, entry, read_scans(file), "mzML")
        if len(only) != 1:
            found = f"{len(only)} chromatograms" if only else "neither spectra nor a chromatogram"
            raise file.fault("", found, _offered(named) or "a trace", 'Choose with columns = { signal = "…" }')
        chosen = only[0]
    one = chromatograms[chosen]
    place = f"chromatogram '{one.name}'"
    times, signal = _array(file, place, one, _TIMES, MOST_IONS), _array(file, place, one, _INTENSITY, MOST_IONS)
    if len(times) != len(signal) or not len(times):
        raise file.fault(place, f"{len(times)} times for {len(signal)} samples", "as many times as samples")
    per_minute = _per_minute(file, place, next(a.terms[_TIMES][1] for a in one.arrays if _TIMES in a.terms))
    checked = check_trace(
        entry, times.astype(np.float64) / per_minute, signal.astype(np.float64), lambda at: f"{place}, point {at + 1}"
    )
    ions = not _ION_TRACES.isdisjoint(one.terms)
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
    for element in _some_ahead(_elements(file)):
        if element.tag == "chromatogram":
            continue
        place = f"spectrum {element.number + 1}"
        if whole_number(file, place, element.terms.get(_LEVEL, ("1", ""))[0]) != 1:
            fragments += 1
            continue
        mz, intensity = _array(file, place, element, _MZ, room), _array(file, place, element, _INTENSITY, room)
        if len(mz) != len(intensity):
            raise file.fault(place, f"{len(mz)} m/z for {len(intensity)} intensities", "as many m/z as intensities")
        if _TIME not in element.terms:
            if len(mz):
                raise file.fault(place, "no scan start time", "a time for every scan", "Export the scans again")
            timeless += 1
            continue
        value, unit = element.terms[_TIME]
        times.append(number(file, place, value) / _per_minute(file, place, unit))
        totals.append(number(file, place, element.terms[_TOTAL][0]) if _TOTAL in element.terms else np.nan)
        counts.append(len(mz))
        room -= len(mz)
        pieces.append((mz, intensity))
        numbers.append(element.number)
        if len(mz):
            kinds.add("centroid" if _CENTROID in element.terms else "profile" if _PROFILE in element.terms else "")
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


def _some_ahead(elements: Iterator[_Element]) -> Iterator[_Element]:
    """The same elements, a few parsed before the first is unpacked: each kind of work then stays in the cache."""
    batch: list[_Element] = []
    characters = 0
    for element in elements:
        batch.append(element)
        characters += sum(len(array.text) for array in element.arrays)
        if characters > _AHEAD:
            yield from batch
            batch, characters = [], 0
    yield from batch


def _elements(file: TraceFile, counted: str = "") -> Iterator[_Element]:
    """Every spectrum and chromatogram of a file, arrays still packed; of the kind `counted` nothing but its place."""
    refuse_unsafe(file, _WHOLE)
    from lxml import etree

    from cutbook.importers.mzml_reader import open_reader

    try:
        yield from _walk(file, open_reader(io.BytesIO(file.content)), counted)
    except etree.XMLSyntaxError as error:
        raise unreadable(file, error, "mzML") from None


def _walk(file: TraceFile, reader: Any, counted: str) -> Iterator[_Element]:
    groups: dict[str, dict[str, tuple[str, str]]] = {}
    numbers = {"spectrum": 0, "chromatogram": 0}
    for node in reader.elements():
        tag = node.tag.rpartition("}")[2]
        if tag == "referenceableParamGroup":
            groups[node.get("id", "")] = {p.get("accession", ""): _valued(p) for p in node.iter("{*}cvParam")}
            continue
        default = whole_number(file, f"{tag} {numbers[tag] + 1}", node.get("defaultArrayLength", "0"))
        element = _Element(tag, node.get("id", ""), numbers[tag], default, {}, [])
        terms = element.terms
        for part in node.iter() if tag != counted else ():
            accession = part.get("accession")
            if accession is not None:  # most parts are terms, and most terms are not asked for
                if accession in _ASKED and accession not in terms:
                    terms[accession] = _valued(part) if accession in _VALUED else _FLAG
                continue
            name = part.tag.rpartition("}")[2]
            if name == "binaryDataArray":
                length = part.get("arrayLength")
                array = _Array({}, default if length is None else whole_number(file, element.name, length))
                element.arrays.append(array)
                terms = array.terms
            elif name == "binary":
                if element.arrays:
                    element.arrays[-1].text = part.text or ""
            elif name == "referenceableParamGroupRef":
                for accession, value in groups.get(part.get("ref", ""), {}).items():
                    terms.setdefault(accession, value)
            elif name == "precursorList":
                terms = {}  # what belongs to a precursor is not the spectrum's own
        numbers[tag] += 1
        yield element


def _valued(term: Any) -> tuple[str, str]:
    """Value and unit of a term."""
    return term.get("value", ""), term.get("unitAccession") or term.get("unitName") or ""


def _array(file: TraceFile, place: str, element: _Element, kind: str, most: int) -> Ions:
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
    types = [_TYPES[term] for term in array.terms if term in _TYPES]
    packed = _ZLIB in array.terms
    if len(types) != 1 or packed == (_PLAIN in array.terms) or not PACKINGS.keys().isdisjoint(array.terms):
        return _by_pyteomics(file, place, array, what)
    values = unpacked_numbers(file, place, text, types[0], array.length, packed, what)
    return values if types[0].kind == "f" else values.astype(np.float64)


def _by_pyteomics(file: TraceFile, place: str, array: _Array, what: str) -> NDArray[np.float64]:
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
