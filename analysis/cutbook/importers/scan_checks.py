"""Check scans that were read, whatever the format, and join them into one series."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cutbook.importers.trace_checks import agreed_detector, check_trace
from cutbook.importers.trace_file import TraceFile
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Source, Step
from cutbook.model.run import TraceEntry
from cutbook.model.scans import Ions, ScanKind, ScanSeries
from cutbook.model.trace import Floats, Trace

MOST_IONS = 30_000_000  # ten hours of centroids; as doubles they take half a gigabyte
_LARGEST = 1e30  # no detector reaches it, and 32 bits still hold it
TOTAL_DIFFERS = 0.01  # of the scan's total; writers round, and some leave out the weakest ions


@dataclass(frozen=True, eq=False)
class ReadScans:
    """Scans as they stand in a file.

    time_min, total : of each scan, total NaN where the file states none. starts : see `ScanSeries`.
    kind : see `ScanSeries`. left_out : cautions about what the file holds besides.
    settings : of the step (format and so on).
    """

    time_min: Floats
    starts: NDArray[np.int64]
    mz: Ions
    intensity: Ions
    total: Floats
    kind: ScanKind
    settings: dict[str, object]
    left_out: tuple[Caution, ...] = ()


def check_scans(file: TraceFile, read: ReadScans, place: Callable[[int], str]) -> ScanSeries:
    """Refuse what is no run of scans; sort the ions of a scan by m/z where they are not; note doubts.

    Parameters
    ----------
    file : the file. read : its scans.
    place : where in the file a scan stands ("scan 12"), by index.

    Raises
    ------
    TraceError
        When there are no scans, times do not rise, or m/z or intensities are not finite or not positive.
    """
    count = len(read.time_min)
    if not count:
        raise file.without_scans("", "no scans of full mass spectra", "a run of mass spectra", "Export the scans again")
    _check_times(file, read.time_min, place)
    rises = rising(read.mz, read.starts)
    _refuse_bad_mz(file, read, rises, place)
    mz, intensity, sorted_scans = by_rising_mz(read.mz, read.intensity, read.starts, rises)
    sums = _sums(intensity, read.starts, np.float64 if np.isnan(read.total).any() else np.float32)
    # one look at the extremes finds what is not finite, too: a comparison with NaN is false
    low, high = (float(intensity.min()), float(intensity.max())) if len(mz) else (0.0, 0.0)
    if not (low > -_LARGEST and high < _LARGEST):
        bad = ~((intensity > -_LARGEST) & (intensity < _LARGEST))
        raise _bad_ion(file, read, bad, intensity, "intensity", "a finite intensity", place)
    doubts = list(read.left_out)
    if low < 0:
        doubts.append(caution("scans.negative", file.name, count=int((intensity < 0).sum())))
    differing = int((np.abs(read.total - sums) > TOTAL_DIFFERS * np.maximum(np.abs(sums), 1.0)).sum())
    if differing > count // 100:
        doubts.append(caution("scans.total_differs", file.name, count=differing, of=count))
    step = Step(
        "read scans/1",
        settings={**read.settings, "sorted scans": sorted_scans},
        source=Source(file.name, file.sha256),
        cautions=tuple(doubts),
    )
    total = np.where(np.isnan(read.total), sums, read.total)
    return ScanSeries(file.name, read.time_min, read.starts, mz, intensity, total, read.kind, step)


def refuse_falling(
    file: TraceFile,
    time_min: Floats,
    place: Callable[[int], str],
    found: str = "time {:.8g} min after {:.8g} min",
    do: str = "Was the file exported from two injections?",
) -> None:
    """Refuse scans of which one is no later than the one before it.

    Parameters
    ----------
    file : the file. time_min : of each scan. place : where a scan stands, by index.
    found : names the time of the scan and that before it, in this order. do : what to do about it.

    Raises
    ------
    TraceError
        For the first such scan.
    """
    falls = np.flatnonzero(np.diff(time_min) <= 0)
    if len(falls):
        at = int(falls[0]) + 1
        raise file.fault(place(at), found.format(time_min[at], time_min[at - 1]), "rising times", do)


def rising(mz: Ions, starts: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Of each ion but the last, whether the next in its scan has no lower m/z.

    Parameters
    ----------
    mz : of each ion, scan after scan, shape (n,); one that is not finite does not rise. starts : see `ScanSeries`.
    """
    level = mz[1:] >= mz[:-1]
    inner = starts[1:-1]
    level[inner[(inner > 0) & (inner < len(mz))] - 1] = True  # from one scan to the next m/z may fall
    return level


def by_rising_mz(
    mz: Ions, intensity: Ions, starts: NDArray[np.int64], rises: NDArray[np.bool_]
) -> tuple[Ions, Ions, int]:
    """Ions by rising m/z within each scan, and how many scans had to be sorted.

    Parameters
    ----------
    mz, intensity : of each ion; returned as they are where no scan has to be sorted. starts : see `ScanSeries`.
    rises : of `rising`.
    """
    if rises.all():
        return mz, intensity, 0
    scans = np.unique(scan_of(starts, np.flatnonzero(~rises)))
    mz, intensity = mz.copy(), intensity.copy()
    for scan in scans:
        part = slice(starts[scan], starts[scan + 1])
        order = np.argsort(mz[part], kind="stable")
        mz[part], intensity[part] = mz[part][order], intensity[part][order]
    return mz, intensity, len(scans)


def scan_of(starts: NDArray[np.int64], ions: NDArray[np.intp]) -> NDArray[np.intp]:
    """The scans that ions belong to, all by index."""
    return np.searchsorted(starts, ions, side="right") - 1


def left_out(file: TraceFile, fragments: int, timeless: int, mixed: bool) -> tuple[Caution, ...]:
    """What a series of full scans leaves out of its file, as cautions."""
    found = []
    if fragments:
        found.append(caution("scans.fragments_left_out", file.name, count=fragments))
    if timeless:
        found.append(caution("scans.empty_without_time", file.name, count=timeless))
    if mixed:
        found.append(caution("scans.mixed_kinds", file.name))
    return tuple(found)


def trace_of_scans(file: TraceFile, entry: TraceEntry, scans: ScanSeries, form: str) -> Trace:
    """The total ion current of a scan series as a trace."""
    checked = check_trace(entry, scans.time_min, scans.total, lambda scan: f"scan {scan + 1}")
    detector, differs = agreed_detector(entry, "MS")
    step = Step(
        "read trace/1",
        inputs=(scans.step,),
        settings={"format": form, "signal": "total ion current of the scans", "detector": detector},
        source=Source(file.name, file.sha256),
        cautions=differs + checked.cautions,
    )
    return Trace(file.name, checked.time_min, checked.signal, "", detector, step)


def _check_times(file: TraceFile, time_min: Floats, place: Callable[[int], str]) -> None:
    bad = np.flatnonzero(~(np.abs(time_min) < _LARGEST))
    if len(bad):
        raise file.fault(place(int(bad[0])), "no finite time", "a time for every scan", "Export the scans again")
    refuse_falling(file, time_min, place)


def _bad_ion(
    file: TraceFile,
    read: ReadScans,
    bad: NDArray[np.bool_],
    values: Ions,
    what: str,
    expected: str,
    place: Callable[[int], str],
) -> Exception:
    ions = np.flatnonzero(bad)
    scan = int(scan_of(read.starts, ions)[0])
    more = f", the first of {len(ions)}" if len(ions) > 1 else ""
    return file.fault(place(scan), f"{what} {values[ions[0]]:.6g}{more}", expected, "Export the scans again")


def _refuse_bad_mz(file: TraceFile, read: ReadScans, rises: NDArray[np.bool_], place: Callable[[int], str]) -> None:
    mz, starts = read.mz, read.starts
    if not len(mz):
        return
    # where all rise within their scan, the first and last of each scan bound the rest
    ends = np.concatenate([mz[starts[:-1][np.diff(starts) > 0]], mz[starts[1:] - 1]]) if rises.all() else mz
    if not (ends.min() > 0 and ends.max() < _LARGEST):
        bad = ~((mz > 0) & (mz < _LARGEST))
        raise _bad_ion(file, read, bad, mz, "m/z", "an m/z above 0", place)


def _sums(intensity: Ions, starts: NDArray[np.int64], precision: type[np.floating[Any]]) -> Floats:
    """The intensities of each scan added up, at a precision of its own: to compare, 32 bits are enough."""
    sums = np.zeros(len(starts) - 1)
    filled = np.diff(starts) > 0
    if filled.any():
        with np.errstate(over="ignore", invalid="ignore"):  # what is not finite is refused by the scan that holds it
            sums[filled] = np.add.reduceat(intensity, starts[:-1][filled], dtype=precision)
    return sums
