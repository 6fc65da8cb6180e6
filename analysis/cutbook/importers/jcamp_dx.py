"""Read a detector signal or a series of mass spectra from a JCAMP-DX file.

References
----------
McDonald R. S., Wilks P. A., Appl. Spectrosc. 42 (1988) 151: JCAMP-DX 4.24.
Lampen P., Hillig H., Davies A. N., Linscheid M., Appl. Spectrosc. 48 (1994) 1545: JCAMP-DX 5.00, mass spectrometry.
Lampen P., Lambert J., Lancashire R. J. et al., Pure Appl. Chem. 71 (1999) 1549: JCAMP-DX 6.00.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cutbook.importers.jcamp_blocks import read_blocks
from cutbook.importers.jcamp_labels import X_CHECK
from cutbook.importers.jcamp_scans import find_scans, scan_time
from cutbook.importers.jcamp_tables import Block
from cutbook.importers.jcamp_time import in_minutes, is_time, per_minute
from cutbook.importers.trace_checks import agreed_detector, check_trace, detector_named
from cutbook.importers.trace_file import TraceFile
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import TraceError, printable
from cutbook.model.lineage import Source, Step
from cutbook.model.run import TraceEntry
from cutbook.model.scans import ScanSeries, Spectrum
from cutbook.model.trace import Floats, Trace

_LONG_RUN = 200  # points on an even grid of fractions; where no unit stands with it, that is rather a time than m/z
_HEAD = re.compile(rb"(?i)(?:\xef\xbb\xbf)?\s*(?:\$\$[^\r\n]*[\r\n]\s*)*##")
_MARK = re.compile(rb"(?im)^[ \t]*##[ \t]*(?:TITLE|JCAMP[-_/ \t]?DX)[ \t]*=")
_TOTAL = re.compile(r"(?i)total ion|\bTIC\b")


def recognises(head: bytes) -> bool:
    """Whether a file begins with a labelled record and names its title or its standard in one."""
    return _HEAD.match(head) is not None and _MARK.search(head.replace(b"\r", b"\n")) is not None


def read(file: TraceFile, entry: TraceEntry) -> Trace:
    """Read the chromatogram, or the total ion current of a series of mass spectra.

    Parameters
    ----------
    file : the file, read whole.
    entry : its entry in the run sheet; where the file holds several signals, ``columns["signal"]`` names one by its
        title or by its number among the tables of the file, from 1.

    Returns
    -------
    Trace
        Times in min, rising; the signal after the file's own factors.

    Raises
    ------
    TraceError
        No chromatogram, several of them and none chosen, damage, or a signal that does not stand the checks.

    Notes
    -----
    A table that is declared a mass spectrum but has times for its x is taken only when the entry names it. Where no
    unit stands with the times they are taken as minutes if they end within 240, with a caution.
    """
    blocks = read_blocks(file)
    signal = _chosen(file, blocks, entry.columns.get("signal", "").strip())
    found = _total_current(file, blocks) if signal.series else _samples(file, signal.block)
    checked = check_trace(entry, found.time_min, found.signal, found.place)
    detector, differs = agreed_detector(entry, found.detector)
    step = Step(
        "read trace/1",
        settings={
            "format": "JCAMP-DX",
            "signal": {"number": signal.number, "title": signal.title},
            "time_unit": found.time_unit,
            "detector": detector,
        },
        source=Source(file.name, file.sha256),
        cautions=(*found.cautions, *differs, *checked.cautions),
    )
    return Trace(file.name, checked.time_min, checked.signal, found.unit, detector, step)


def read_scans(file: TraceFile) -> ScanSeries:
    """Read the mass spectra of a run, one after another.

    Parameters
    ----------
    file : the file, read whole: a series with a page for each scan, or one table a scan with its retention time.

    Returns
    -------
    ScanSeries
        Times in min, m/z rising within each scan.

    Raises
    ------
    TraceError
        No spectra, spectra without retention times, times that do not rise, or damage.
    """
    blocks = read_blocks(file)
    if all(scan_time(block) is None for block in blocks):
        raise _no_scans(file, blocks)
    scans = find_scans(file, blocks)
    step = Step(
        "read scans/1",
        settings={"format": "JCAMP-DX", "time_unit": scans.time_unit, "kind": scans.kind},
        source=Source(file.name, file.sha256),
        cautions=(*scans.cautions, *_label_cautions(file, scans.blocks)),
    )
    return ScanSeries(file.name, scans.time_min, scans.starts, scans.mz, scans.intensity, scans.total, scans.kind, step)


def lone_spectrum(file: TraceFile) -> Spectrum | None:
    """The one mass spectrum of a file that holds no other table and no time, None where it is not so.

    Raises
    ------
    TraceError
        When m/z or intensities are missing or below zero.
    """
    blocks = read_blocks(file)
    if len(blocks) != 1 or "MASS SPECTR" not in blocks[0].data_type or _x_is_time(blocks[0]):
        return None
    (block,) = blocks
    bad = ~(np.isfinite(block.x) & np.isfinite(block.y) & (block.x >= 0) & (block.y >= 0))
    if len(block.x) == 0 or bad.any():
        found = "a value missing or below 0 among m/z and intensity" if len(block.x) else "no ion"
        raise file.fault(f"line {block.line}", found, "an intensity at every m/z", "Export the file again")
    return Spectrum(None, block.x, block.y, "".join(block.text("MOLFORM").split()), "JCAMP-DX")


@dataclass(frozen=True)
class _Signal:
    """What can be read as a trace: a table, or the total ion current of all scans."""

    number: int
    title: str
    what: str
    block: Block
    series: bool = False

    def listed(self) -> str:
        title = f" '{printable(self.title, 40)}'" if self.title else ""
        return f"{self.number}{title} ({self.what})"


@dataclass(frozen=True, eq=False)
class _Found:
    """A signal before it is checked."""

    time_min: Floats
    signal: Floats
    place: Callable[[int], str]
    unit: str
    time_unit: str
    detector: str
    cautions: tuple[Caution, ...]


def _samples(file: TraceFile, block: Block) -> _Found:
    """A table of a signal over time, turned round where its times fall."""
    turned = len(block.x) > 1 and bool(block.x[0] > block.x[-1])
    times, values = (block.x[::-1], block.y[::-1]) if turned else (block.x, block.y)
    time_min, doubts = in_minutes(file, f"line {block.line}", block.x_name or "x", times, block.x_units)

    def place(point: int) -> str:
        return f"line {block.rows.line(len(times) - 1 - point if turned else point)}"

    unit = block.x_units if per_minute(block.x_units) else "min, assumed"
    doubts += _label_cautions(file, (block,))
    return _Found(time_min, values, place, block.y_units, unit, _detector(block), doubts)


def _total_current(file: TraceFile, blocks: tuple[Block, ...]) -> _Found:
    """The total ion current of a series of mass spectra."""
    scans = find_scans(file, blocks)

    def place(point: int) -> str:
        return f"line {scans.blocks[point].line}"

    doubts = (*scans.cautions, *_label_cautions(file, scans.blocks))
    return _Found(scans.time_min, scans.total, place, "", scans.time_unit, "MS", doubts)


def _x_is_time(block: Block) -> bool:
    """Whether the x of a table are times, by their unit or their name."""
    return is_time(block.x_units) or is_time(block.x_name)


def _is_chromatogram(block: Block) -> bool:
    if scan_time(block) is not None:
        return False
    declared = re.search("CHROMATOGRA|DETECTOR", block.data_type)
    return bool(declared) or (_x_is_time(block) and (not block.data_type or bool(_TOTAL.search(block.y_name))))


def _contradicts(block: Block) -> bool:
    """Whether a table is declared a mass spectrum, but its x are times."""
    if "MASS SPECTR" not in block.data_type or _is_chromatogram(block):
        return False
    if block.x_units or scan_time(block) is not None or len(block.x) < _LONG_RUN:
        return _x_is_time(block)
    steps = np.diff(block.x)
    step = float(np.median(steps))
    even = step != 0.0 and bool((np.abs(steps - step) < 0.01 * abs(step)).all())
    return even and abs(step - round(step)) > 0.001


def _chosen(file: TraceFile, blocks: tuple[Block, ...], wanted: str) -> _Signal:
    """The one signal of a file, or the one that is wanted."""
    traces = [block for block in blocks if _is_chromatogram(block)]
    # beside the samples themselves, a peak table is a list of what was found in them
    traces = [block for block in traces if block.table != "PEAKTABLE"] or traces
    plain = [_Signal(b.number, b.title, b.data_type or "x is a time", b) for b in traces]
    doubtful = [_Signal(b.number, b.title, "declared a mass spectrum", b) for b in blocks if _contradicts(b)]
    scans = [block for block in blocks if scan_time(block) is not None]
    if len(scans) > 1:
        what = f"total ion current of {len(scans)} scans"
        plain.append(_Signal(scans[0].number, scans[0].title, what, scans[0], series=True))
    if wanted:
        known = plain + doubtful
        named = [s for s in known if s.title.casefold() == wanted.casefold()]
        named = named or [s for s in known if str(s.number) == wanted]
        if len(named) == 1:
            return named[0]
        found = f"{len(named)} signals '{wanted}'" if named else f"no signal '{wanted}'"
        raise file.fault("", found, f"one of {_listed(known)}", "Name it in columns by its number or title")
    if len(plain) == 1:
        return plain[0]
    if plain:
        raise file.fault(
            "", f"{len(plain)} signals: {_listed(plain)}", "one, or a choice", "Choose with columns = { signal = … }"
        )
    if doubtful:
        block = doubtful[0].block
        raise file.fault(
            f"line {block.line}",
            f"a table declared a mass spectrum, but its x are times ({_span(block)})",
            "a chromatogram declared as one",
            f"If it is the trace, say so with columns = {{ signal = '{block.number}' }}",
        )
    raise _no_trace(file, blocks)


def _listed(signals: list[_Signal]) -> str:
    shown = ", ".join(signal.listed() for signal in signals[:6])
    return (shown + (" …" if len(signals) > 6 else "")) or "none in this file"


def _span(block: Block) -> str:
    known = block.x[~np.isnan(block.x)]
    ends = f"{known.min():.6g} to {known.max():.6g}" if len(known) else "none"
    return f"{ends} {printable(block.x_units, 20)}".strip()


def _no_trace(file: TraceFile, blocks: tuple[Block, ...]) -> TraceError:
    expected = "a chromatogram, or a series of mass spectra with their retention times"
    if not blocks:
        return file.fault("", "JCAMP-DX without a table of numbers", expected, "Was the file cut short?")
    mass = [block for block in blocks if "MASS SPECTR" in block.data_type]
    if len(blocks) == 1 and mass:
        peaks = f"one mass spectrum ({len(mass[0].x)} values of m/z)"
        return file.fault(f"line {blocks[0].line}", peaks, expected, "A single spectrum is no trace")
    types = ", ".join(dict.fromkeys(printable(block.data_type or "no data type", 40) for block in blocks[:20]))
    return file.fault("", f"{len(blocks)} tables without times ({types})", expected)


def _no_scans(file: TraceFile, blocks: tuple[Block, ...]) -> TraceError:
    expected = "mass spectra with their retention times"
    for block in blocks:
        if _contradicts(block):
            found = f"a table declared a mass spectrum, but its x are times ({_span(block)})"
            return file.without_scans(f"line {block.line}", found, expected, "Read it as a trace")
    if any(_is_chromatogram(block) for block in blocks):
        return file.without_scans("", "a chromatogram", expected, "Read it as a trace")
    if any("MASS SPECTR" in block.data_type for block in blocks):
        count = "one mass spectrum" if len(blocks) == 1 else f"{len(blocks)} tables"
        return file.without_scans("", f"{count} without a retention time", expected)
    return file.without_scans("", "JCAMP-DX without mass spectra", expected)


def _detector(block: Block) -> str:
    """The detector that the labels speak of."""
    words = (block.text("DETECTOR"), block.text("DETECTORTYPE"), block.data_type, block.title, block.y_name)
    if any(_TOTAL.search(word) for word in words):
        return "MS"
    return next((named for word in words if (named := detector_named(word))), "")


def _label_cautions(file: TraceFile, blocks: tuple[Block, ...]) -> tuple[Caution, ...]:
    """One caution for each label that says something else than the numbers, in however many tables."""
    doubts = [doubt for block in blocks for doubt in block.disagreements]
    told = []
    for label in dict.fromkeys(doubt.label for doubt in doubts):
        same = [doubt for doubt in doubts if doubt.label == label]
        facts = {"stated": same[0].stated, "found": same[0].found, "line": same[0].line, "count": len(same)}
        if label == X_CHECK:
            told.append(caution("jcamp.line_x_differs", file.name, **facts))
        else:
            told.append(caution("jcamp.label_differs", file.name, label=label, **facts))
    return tuple(told)
