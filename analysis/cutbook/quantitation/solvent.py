"""Find the solvent peak of a trace, so that it can be left out of every percentage."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.end_levels import head_level
from cutbook.chromatogram.noise import estimate_noise
from cutbook.identification.numbering import find_by_name
from cutbook.model.cautions import Caution, caution
from cutbook.model.ladder import Ladder
from cutbook.model.lineage import Step
from cutbook.model.peaks import LISTED_HALF_BASE_MIN
from cutbook.model.run import TraceEntry
from cutbook.model.trace import Floats, ListedPeaks, Trace


@dataclass(frozen=True)
class SolventSettings:
    """How a named solvent is found when the run sheet gives no window.

    early_share : it is looked for in this first share of the run, unless the ladder places it.
    index_window : index units on either side of its place on the ladder.
    dominant : its height against the tallest other peak of the stretch searched, at least; what is less may be
        product, and then the run sheet must say where the solvent is.
    edge_share : its window ends where the signal has fallen to this share of its height, or where another peak
        rises from its tail.
    """

    early_share: float = 0.3
    index_window: float = 60.0
    dominant: float = 2.0
    edge_share: float = 0.001


@dataclass(frozen=True, eq=False)
class SolventWindows:
    """(start, end) of what is solvent, in min, rising; empty when there is none. step : how they were found."""

    windows_min: tuple[tuple[float, float], ...]
    step: Step


def solvent_windows(
    trace: Trace, entry: TraceEntry, ladder: Ladder | None, settings: SolventSettings = SolventSettings()
) -> SolventWindows:
    """The solvent's place in a trace.

    Parameters
    ----------
    trace : the signal. entry : its entry, with `solvent` or `solvent_window_min`.
    ladder : run under the same method, None when there is none (or the trace is the ladder).
    settings : see `SolventSettings`.

    Returns
    -------
    SolventWindows
        With the caution `solvent.not_seen` when a solvent is named and no peak stands out where it should be.
    """
    told = {"solvent": entry.solvent, "window": entry.solvent_window_min, "settings": settings}
    if entry.solvent_window_min is not None or not entry.solvent:
        windows = (entry.solvent_window_min,) if entry.solvent_window_min is not None else ()
        return SolventWindows(windows, Step("place solvent/1", inputs=(trace.step,), settings=told))
    first, last = _stretch(trace, entry.solvent, ladder, settings)
    window = _window(trace, first, last, settings)
    if window is not None and ladder is not None and _is_alkane_peak(window, entry.solvent, ladder):
        window = None
    raised: tuple[Caution, ...] = ()
    if window is None:
        raised = (
            caution(
                "solvent.not_seen",
                trace.file,
                solvent=entry.solvent,
                start=round(float(trace.time_min[first]), 1),
                end=round(float(trace.time_min[last]), 1),
            ),
        )
    inputs = (trace.step,) if ladder is None else (trace.step, ladder.step)
    step = Step("place solvent/1", inputs=inputs, settings=told, cautions=raised)
    return SolventWindows(() if window is None else (window,), step)


def listed_solvent(
    listed: ListedPeaks, entry: TraceEntry, ladder: Ladder | None, settings: SolventSettings = SolventSettings()
) -> SolventWindows:
    """The solvent's place in a list of peaks: as declared, else the peak of its name, else the largest near its index.

    Parameters
    ----------
    listed : the list. entry, ladder, settings : as for `solvent_windows`.

    Returns
    -------
    SolventWindows
        With the caution `solvent.not_listed` when a solvent is named and no such peak is in the list.
    """
    told = {"solvent": entry.solvent, "window": entry.solvent_window_min, "settings": settings}
    inputs = (listed.step,) if ladder is None else (listed.step, ladder.step)
    windows: tuple[tuple[float, float], ...] = ()
    if entry.solvent_window_min is not None or not entry.solvent:
        windows = (entry.solvent_window_min,) if entry.solvent_window_min is not None else ()
        return SolventWindows(windows, Step("place solvent/1", inputs=(listed.step,), settings=told))
    row = find_by_name("solvents", entry.solvent) or find_by_name("compounds", entry.solvent)
    called = [peak for peak in listed.peaks if _same_compound(peak.name, entry.solvent, row)]
    if not called and row and row["retention_index"] and ladder is not None:
        at, half = float(row["retention_index"]) / 100, settings.index_window / 100
        if ladder.carbons[0] < at - half and at + half < ladder.carbons[-1]:
            low, high = np.interp([at - half, at + half], ladder.carbons, ladder.times_min)
            near = [peak for peak in listed.peaks if peak.apex_min is not None and low <= peak.apex_min <= high]
            called = sorted(near, key=lambda peak: -(peak.area or 0.0))[:1]
    if not called:
        raised = (caution("solvent.not_listed", listed.file, solvent=entry.solvent),)
        return SolventWindows((), Step("place solvent/1", inputs=inputs, settings=told, cautions=raised))
    half = LISTED_HALF_BASE_MIN
    windows = tuple(
        (peak.apex_min - half if peak.start_min is None else peak.start_min,
         peak.apex_min + half if peak.end_min is None else peak.end_min)
        for peak in called if peak.apex_min is not None
    )  # fmt: skip
    return SolventWindows(windows, Step("place solvent/1", inputs=inputs, settings=told))


def _same_compound(listed: str, wanted: str, row: dict[str, str] | None) -> bool:
    """Whether a name in a list means a compound."""
    if not listed:
        return False
    if listed.casefold() == wanted.casefold():
        return True
    return row is not None and (find_by_name("solvents", listed) or find_by_name("compounds", listed)) == row


def _stretch(trace: Trace, name: str, ladder: Ladder | None, settings: SolventSettings) -> tuple[int, int]:
    """First and last index of where to look."""
    time = trace.time_min
    row = find_by_name("solvents", name) or find_by_name("compounds", name)
    if ladder is not None:
        carbons, times = np.array(ladder.carbons, dtype=np.float64), ladder.times_min
        index = float(row["retention_index"]) / 100 if row and row["retention_index"] else carbons[0] - 1
        half = settings.index_window / 100
        if carbons[0] + half < index < carbons[-1] - half:
            low, high = np.interp([index - half, index + half], carbons, times)
        else:  # before the ladder, whose first rung it may touch
            low, high = float(time[0]), float(np.interp(max(index + half, carbons[0]), carbons, times))
    else:
        low, high = float(time[0]), float(time[0] + settings.early_share * (time[-1] - time[0]))
    first, last = np.searchsorted(time, [low, high])
    return int(first), int(min(max(last, first + 10), len(time) - 1))


def _is_alkane_peak(window: tuple[float, float], name: str, ladder: Ladder) -> bool:
    """Whether what was found is an n-alkane of the sample: it is as narrow as the rung at whose time it stands."""
    row = find_by_name("solvents", name)
    if row and float(row["retention_index"]) % 100 == 0:
        return False
    middle = 0.5 * (window[0] + window[1])
    return any(
        abs(rung.peak.apex_min - middle)
        < (rung.peak.half_width_min or 0.5 * (rung.peak.back_min - rung.peak.front_min))
        and window[1] - window[0] < 1.5 * (rung.peak.back_min - rung.peak.front_min)
        for rung in ladder.rungs
    )


def _window(trace: Trace, first: int, last: int, settings: SolventSettings) -> tuple[float, float] | None:
    from scipy.ndimage import uniform_filter1d

    noise = estimate_noise(trace.signal)
    smooth = uniform_filter1d(trace.signal, 3)
    head = head_level(trace.time_min, trace.signal, noise)
    level = head.level if head else float(np.min(smooth[first : last + 1]))
    apex = first + int(np.argmax(smooth[first : last + 1]))
    height = float(smooth[apex]) - level
    if height < 50.0 * noise.sd:
        return None
    floor = level + max(settings.edge_share * height, 5.0 * noise.sd)
    rise = max(5.0 * noise.sd, 0.5 * settings.edge_share * height)
    start, end = _foot(smooth, apex, -1, floor, rise), _foot(smooth, apex, 1, floor, rise)
    others = np.concatenate([smooth[first:start], smooth[end + 1 : last + 1]])
    if len(others) and float(others.max()) - level > height / settings.dominant:
        return None
    return float(trace.time_min[start]), float(trace.time_min[end])


def _foot(smooth: Floats, apex: int, direction: int, floor: float, rise: float) -> int:
    """Index where a flank has come down to the floor, or where another peak begins to rise."""
    flank = smooth[apex:] if direction > 0 else smooth[: apex + 1][::-1]
    lowest = np.minimum.accumulate(flank)
    stop = np.flatnonzero((flank <= floor) | (flank > lowest + rise))
    reach = int(stop[0]) if len(stop) else len(flank) - 1
    if flank[reach] > floor:
        reach = int(np.argmin(flank[: reach + 1]))
    return apex + direction * reach
