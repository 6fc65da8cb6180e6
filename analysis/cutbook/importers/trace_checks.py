"""Check a signal that was read, whatever the format, and say what its reader should know."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import Fault, TraceError
from cutbook.model.flat_tops import FEWEST_POINTS, flat_tops
from cutbook.model.run import TraceEntry
from cutbook.model.trace import Floats

_LARGEST = 1e100  # no detector reaches it, and the squares of what is larger overflow


@dataclass(frozen=True)
class TraceLimits:
    """What is still taken as a signal.

    shortest_min, longest_min : 0.1 and 2880 (two days); beyond them the unit of time is wrong.
    fewest_points : 100; a carbon range of twenty alkanes needs at least a few points each.
    gap_intervals : 5 median intervals; a narrow peak can hide in anything wider.
    gap_share : 0.05 of the run in gaps, the solvent window not counted; more would invent whole carbon numbers,
        since every area across a gap rests on a straight line.
    uneven_intervals : 1; times that are merely rounded stay within half a digit of an even grid, times that drift
        by a whole interval do not.
    flat_points : equal samples at a maximum that show a cut-off peak.
    """

    shortest_min: float = 0.1
    longest_min: float = 2880.0
    fewest_points: int = 100
    gap_intervals: float = 5.0
    gap_share: float = 0.05
    uneven_intervals: float = 1.0
    flat_points: int = FEWEST_POINTS


@dataclass(frozen=True)
class Checked:
    """Times in min and signal that stood the checks, repeated rows left out, with what was noticed."""

    time_min: Floats
    signal: Floats
    cautions: tuple[Caution, ...]


def check_trace(
    entry: TraceEntry,
    time_min: Floats,
    signal: Floats,
    place: Callable[[int], str],
    limits: TraceLimits = TraceLimits(),
) -> Checked:
    """Refuse what is no detector signal, drop rows that stand twice, and note doubts.

    Parameters
    ----------
    entry : names the file; its solvent window may lie in a gap.
    time_min : times in min as read, shape (n,).
    signal : shape (n,); NaN where the file has no value.
    place : where in the file a point stands ("line 812"), by index.
    limits : see `TraceLimits`.

    Raises
    ------
    TraceError
        Values missing or not finite, times that fall or repeat with different signals, too few points, a constant
        signal, or gaps over too much of the run. Nothing is filled in or sorted.
    """
    file = entry.file
    _refuse_not_finite(file, time_min, signal, place)
    kept = _kept_rows(file, time_min, signal, place)
    cautions: list[Caution] = []
    if not kept.all():
        dropped = np.flatnonzero(~kept)
        cautions.append(caution("trace.repeated_rows", file, count=len(dropped), first=place(int(dropped[0]))))
        time_min, signal = time_min[kept], signal[kept]
    if len(time_min) < limits.fewest_points:
        raise TraceError(
            Fault(file, "", f"{len(time_min)} points", f"at least {limits.fewest_points}", "Is this the whole trace?")
        )
    lasts = float(time_min[-1] - time_min[0])
    if not limits.shortest_min <= lasts <= limits.longest_min:
        raise TraceError(
            Fault(
                file,
                "",
                f"a run of {lasts:.6g} min",
                f"{limits.shortest_min:g} to {limits.longest_min:g} min",
                "Is the unit of time right?",
            )
        )
    if np.ptp(signal) == 0.0:
        raise TraceError(
            Fault(file, "", f"a signal of {signal[0]:.6g} throughout", "a signal that varies", "Was the detector lit?")
        )
    cautions.extend(_gaps(entry, time_min, limits))
    cautions.extend(_uneven(file, time_min, limits))
    cautions.extend(_saturated(file, time_min, signal, limits))
    return Checked(time_min, signal, tuple(cautions))


def _refuse_not_finite(file: str, time_min: Floats, signal: Floats, place: Callable[[int], str]) -> None:
    for what, values in (("time", time_min), ("signal", signal)):
        bad = np.flatnonzero(~(np.abs(values) < _LARGEST))
        if len(bad):
            more = f", the first of {len(bad)} such points" if len(bad) > 1 else ""
            raise TraceError(
                Fault(
                    file,
                    place(int(bad[0])),
                    f"no finite {what}{more}",
                    f"a finite {what} at every point",
                    "Export the file again; missing values are not filled in",
                )
            )


def _kept_rows(file: str, time_min: Floats, signal: Floats, place: Callable[[int], str]) -> np.typing.NDArray[np.bool_]:
    """False where a row only repeats the one before it."""
    rise = np.diff(time_min)
    falls = np.flatnonzero(rise < 0)
    if len(falls):
        at = int(falls[0]) + 1
        raise TraceError(
            Fault(
                file,
                place(at),
                f"time {time_min[at]:.8g} min after {time_min[at - 1]:.8g} min",
                "rising times",
                "Was the file exported from two injections?",
            )
        )
    same = rise == 0
    conflicting = np.flatnonzero(same & (np.diff(signal) != 0))
    if len(conflicting):
        at = int(conflicting[0]) + 1
        # a tenth of all rows is no accident: the export has cut the digits off
        rounded = np.count_nonzero(same) > len(same) / 10
        raise TraceError(
            Fault(
                file,
                place(at),
                f"time {time_min[at]:.8g} min twice with signals {signal[at - 1]:.6g} and {signal[at]:.6g}",
                "one signal at each time",
                "Export the times with more digits" if rounded else "Remove the row that is wrong",
            )
        )
    return np.concatenate(([True], ~same))


def _gaps(entry: TraceEntry, time_min: Floats, limits: TraceLimits) -> list[Caution]:
    rise = np.diff(time_min)
    wide = np.flatnonzero(rise > limits.gap_intervals * np.median(rise))
    if not len(wide):
        return []
    starts, ends = time_min[wide], time_min[wide + 1]
    unknown = ends - starts
    if entry.solvent_window_min is not None:
        low, high = entry.solvent_window_min
        unknown = unknown - np.clip(np.minimum(ends, high) - np.maximum(starts, low), 0.0, None)
    share = float(unknown.sum() / (time_min[-1] - time_min[0]))
    widest = int(np.argmax(ends - starts))
    start, end = float(starts[widest]), float(ends[widest])
    if share > limits.gap_share:
        raise TraceError(
            Fault(
                entry.file,
                f"{start:.6g} to {end:.6g} min",
                f"gaps over {100 * share:.1f} % of the run ({len(wide)} in all, this is the widest)",
                f"at most {100 * limits.gap_share:.0f} % outside the solvent window",
                "Export the whole trace; areas across a gap are not known",
            )
        )
    return [
        caution("trace.gap", entry.file, count=len(wide), start_min=start, end_min=end, share=100 * share),
    ]


def _uneven(file: str, time_min: Floats, limits: TraceLimits) -> list[Caution]:
    rise = np.diff(time_min)
    interval = np.median(rise)
    if (rise > limits.gap_intervals * interval).any():
        return []  # the gap is told already
    even = np.linspace(time_min[0], time_min[-1], len(time_min))
    departure = float(np.abs(time_min - even).max() / interval)
    if departure <= limits.uneven_intervals:
        return []
    low, high = np.percentile(rise, [5, 95])
    return [caution("trace.uneven_sampling", file, low_s=float(low) * 60.0, high_s=float(high) * 60.0)]


def _saturated(file: str, time_min: Floats, signal: Floats, limits: TraceLimits) -> list[Caution]:
    tops = flat_tops(signal, limits.flat_points)
    if not tops:
        return []
    times = ", ".join(f"{(time_min[first] + time_min[last]) / 2:.2f}" for first, last in tops[:5])
    return [
        caution(
            "trace.saturated",
            file,
            count=len(tops),
            times=times + (" …" if len(tops) > 5 else ""),
            value=float(max(signal[first] for first, _ in tops)),
        )
    ]


def detector_named(text: str) -> str:
    """The detector that a heading or a detector name speaks of: "FID", "TCD", "MS" or ""."""
    found = re.search(r"(?<![A-Za-z])((?i:FID|TCD)|MS)D?(?![A-Za-z]{2})", text.replace("_", " "))
    return found.group(1).upper() if found else ""


def agreed_detector(entry: TraceEntry, named: str) -> tuple[str, tuple[Caution, ...]]:
    """The detector of the entry, else of the file; a caution where the two differ."""
    if entry.detector and named and entry.detector != named:
        told = caution("trace.detector_differs", entry.file, entry=entry.detector, file=named)
        return entry.detector, (told,)
    return entry.detector or named, ()
