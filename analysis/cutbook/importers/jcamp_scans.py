"""Find the mass spectra of a run among the tables of a JCAMP-DX file, with their times and total ion currents.

References
----------
Lampen P., Hillig H., Davies A. N., Linscheid M., Appl. Spectrosc. 48 (1994) 1545: JCAMP-DX 5.00, mass spectrometry.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.importers.jcamp_labels import leading_number, normal_label
from cutbook.importers.jcamp_tables import Block
from cutbook.importers.jcamp_time import in_minutes, is_time, per_minute
from cutbook.importers.scan_checks import TOTAL_DIFFERS, by_rising_mz, refuse_falling, rising, scan_of
from cutbook.importers.trace_file import TraceFile
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import printable
from cutbook.model.scans import Ions, ScanKind
from cutbook.model.trace import Floats

_TIME_LABELS = ("RETENTIONTIME", "RT", "SCANTIME")  # ##TIME= is the time of day
_TIME_NAMES = {"RETENTIONTIME", "RT", "SCANTIME", "TIME"}
_TOTAL_LABELS = ("TIC", "TOTALIONCURRENT")
_UNIT_LABELS = ("RETENTIONTIMEUNITS", "RTUNITS", "TIMEUNITS", "TUNITS")
_TIME = re.compile(r"([-+0-9.Ee]{1,40})[ \t]*([A-Za-z]*)\.?")
_MASS = re.compile(r"MASS|\b(?:GC|LC)?[-/]?MS\b")


@dataclass(frozen=True, eq=False)
class Scans:
    """The spectra of a run, in the terms of `cutbook.model.scans.ScanSeries`, and the tables they came from."""

    blocks: tuple[Block, ...]
    time_min: Floats
    starts: NDArray[np.int64]
    mz: Ions
    intensity: Ions
    total: Floats
    kind: ScanKind
    time_unit: str
    cautions: tuple[Caution, ...]


def scan_time(block: Block) -> str | None:
    """The retention time that stands with one spectrum, as written; None where the table is no scan."""
    if not _is_spectrum(block):
        return None
    return _on_page(block, _TIME_NAMES, ("T",)) or block.text(*_TIME_LABELS) or None


def _is_spectrum(block: Block) -> bool:
    """Whether a table may be a mass spectrum: not declared anything else, and its x are no times."""
    if block.data_type and not _MASS.search(block.data_type):
        return False
    return not (is_time(block.x_units) or is_time(block.x_name))


def find_scans(file: TraceFile, blocks: tuple[Block, ...]) -> Scans:
    """The spectra of a file in which at least one has a retention time.

    Raises
    ------
    TraceError
        Times that are no times or do not rise, m/z or intensities that are missing, spectra of which only some have
        a time.
    """
    scans = tuple(block for block in blocks if scan_time(block) is not None)
    without = next((block for block in blocks if _is_spectrum(block) and scan_time(block) is None), None)
    if without:
        raise file.fault(
            f"line {without.line}", "a spectrum without a retention time among others that have one", "a time for each"
        )
    time_min, unit, doubts = _times(file, scans)
    refuse_falling(
        file,
        time_min,
        lambda scan: f"line {scans[scan].line}",
        "a scan at {:.8g} min after one at {:.8g} min",
        "Does the file hold two injections?",
    )
    starts = np.concatenate(([0], np.cumsum([len(block.x) for block in scans]))).astype(np.int64)
    mz = np.concatenate([block.x for block in scans])
    intensity = np.concatenate([block.y for block in scans])
    mz, intensity, _ = by_rising_mz(mz, intensity, starts, rising(mz, starts))
    bad = np.flatnonzero(~(np.isfinite(mz) & np.isfinite(intensity) & (mz >= 0)))
    if len(bad):
        block = scans[scan_of(starts, bad)[0]]
        found = f"a value missing or below 0 among m/z and intensity (m/z {mz[bad[0]]:.6g})"
        raise file.fault(f"line {block.line}", found, "an intensity at every m/z", "Export the file again")
    sums = np.array([block.y.sum() for block in scans])
    total, differs = _totals(file, scans, time_min, sums)
    return Scans(scans, time_min, starts, mz, intensity, total, _kind(scans), unit, doubts + differs)


def _on_page(block: Block, names: set[str], symbols: tuple[str, ...] = ()) -> str:
    """What the page assigns to a quantity, known by its name in the series, by its own name or by its symbol."""
    for symbol, value in block.page.items():
        variable = block.variables.get(symbol)
        name = normal_label(variable.name) if variable else ""
        if value and (name in names or symbol in names or (not name and symbol in symbols)):
            return value
    return ""


def _times(file: TraceFile, scans: tuple[Block, ...]) -> tuple[Floats, str, tuple[Caution, ...]]:
    """The times in min, their unit in words, and a caution where it was not written with them."""
    parsed = []
    for block in scans:
        text = scan_time(block) or ""
        found = _TIME.fullmatch(text)
        value = leading_number(found.group(1)) if found else None
        if found is None or value is None:
            raise file.fault(f"line {block.line}", f"a retention time '{printable(text, 30)}'", "a number")
        parsed.append((value, found.group(2)))
    values = np.array([value for value, _ in parsed])
    words = {word or _stated_unit(block) for (_, word), block in zip(parsed, scans, strict=True)}
    if len(words) > 1:
        named = ", ".join(sorted(word or "no unit" for word in words))
        raise file.fault("", f"retention times in {named}", "one unit for all scans")
    word = words.pop()
    delay = scans[0].text("SCANDELAYUNITS")
    doubts: tuple[Caution, ...] = ()
    if not word and per_minute(delay) is not None:  # the delay before the first scan is counted on the same clock
        word = delay
        doubts = (caution("jcamp.time_unit_of_delay", file.name, unit=delay, last=float(values[-1])),)
    time_min, assumed = in_minutes(file, f"line {scans[0].line}", "RETENTION TIME", values, word)
    return time_min, word or "min, assumed", doubts + assumed


def _stated_unit(block: Block) -> str:
    """The unit of the retention time, as the series or a label of its own states it."""
    units = (one.units for one in block.variables.values() if normal_label(one.name) in _TIME_NAMES)
    return next((unit for unit in units if unit), "") or block.text(*_UNIT_LABELS)


def _totals(
    file: TraceFile, scans: tuple[Block, ...], time_min: Floats, sums: Floats
) -> tuple[Floats, tuple[Caution, ...]]:
    """The total ion currents as stated with every scan, else the sums; a caution where the two differ."""
    texts = [_on_page(block, set(_TOTAL_LABELS)) or block.text(*_TOTAL_LABELS) for block in scans]
    stated = [leading_number(text) for text in texts]
    if any(value is None for value in stated):
        return sums, ()
    total = np.array(stated, dtype=np.float64)
    off = np.abs(total - sums)
    wrong = off > TOTAL_DIFFERS * np.maximum(np.abs(total), np.abs(sums))
    if not wrong.any():
        return total, ()
    worst = int(np.argmax(np.where(wrong, off, -1.0)))
    told = caution(
        "jcamp.total_differs",
        file.name,
        count=int(wrong.sum()),
        scans=len(scans),
        time_min=float(time_min[worst]),
        stated=float(total[worst]),
        found=float(sums[worst]),
    )
    return total, (told,)


def _kind(scans: tuple[Block, ...]) -> ScanKind:
    """Whether the spectra are sticks or curves, by what the file says, else by the spacing of their m/z."""
    first = scans[0]
    words = f"{first.form} {first.text('DATAFORMAT')}".upper()
    if "PROFILE" in words or "CONTINU" in words or any(block.even for block in scans):
        return "profile"
    if "PEAK" in words or "CENTROID" in words or first.table == "PEAKTABLE":
        return "centroid"
    longest = max(scans, key=lambda block: len(block.x))
    steps = np.abs(np.diff(longest.x))
    if not len(steps):
        return ""
    # a curve has mostly one step, slowly growing; sticks jump
    low, middle, high = np.percentile(steps, [10, 50, 90])
    return "centroid" if middle >= 0.5 or high > 2 * low else "profile"
