"""Read a list of peaks (retention time, area, name) that another program wrote, in place of a trace."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from cutbook.importers.column_headings import read_heading
from cutbook.importers.decimal_marks import decide_marks, numbers
from cutbook.importers.time_unit import assumed_minutes, units_in_a_minute
from cutbook.importers.trace_checks import agreed_detector, detector_named
from cutbook.importers.trace_file import TraceFile
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import printable
from cutbook.model.lineage import Source, Step
from cutbook.model.run import TraceEntry
from cutbook.model.trace import ListedPeaks, StoredPeak

_SEARCHED = 200  # lines in which the headings are looked for
_AREA = re.compile(r"(?:peak ?)?(?:area|fl(?:ä|ae)che|integral)s?", re.IGNORECASE)
_SHARE = re.compile(
    r".*(?:area|fl(?:ä|ae)chen?).{0,12}(?:%|pct|percent|prozent|anteil|sum|norm).*|%.*area.*", re.IGNORECASE
)
_NAME = re.compile(
    r"(?:peak|compound|component|substance|analyte)?[ _]?(?:name|id|compound|substanz|komponente|verbindung)",
    re.IGNORECASE,
)
_INJECTION = re.compile(r"(?:sample|probe|injection|run|vial|file|datei)[ _]?(?:name|id|no|nr)?\.?", re.IGNORECASE)
_START = re.compile(r".*(?:start|begin|anfang).*", re.IGNORECASE)
_END = re.compile(r".*(?:end|stop).*", re.IGNORECASE)
_NUMBER = re.compile(r"[+-]?[\d.,]*\d[\d.,]*(?:[eE][+-]?\d{1,3})?")


@dataclass(frozen=True, eq=False)
class PeakListLayout:
    """Where a list stands: line of its headings (from 0), delimiter, columns by position."""

    line: int
    delimiter: str
    headings: tuple[str, ...]
    time: int
    area: int
    name: int | None
    start: int | None
    end: int | None


def peak_list_layout(lines: Sequence[str], delimiter: str = "") -> PeakListLayout | None:
    """Where the headings of a list of peaks stand, None when the lines hold no such list.

    Parameters
    ----------
    lines : of the file. delimiter : "" when not known.

    Notes
    -----
    A list is told from a trace by a heading for an area beside one for the retention time.
    """
    for at, line in enumerate(lines[:_SEARCHED]):
        if len(line) > 2000 or not re.search(r"area|fl(?:ä|ae)che|integral", line, re.IGNORECASE):
            continue
        for mark in (delimiter,) if delimiter else ("\t", ";", "|", ",", "  "):
            headings = _cells(re.sub(r"^\s*[#%!]+ ?(?=[A-Za-z])", "", line), mark)
            if (found := _columns(headings)) is not None:
                return PeakListLayout(at, mark, tuple(headings), *found)
    return None


def read_peak_list(
    file: TraceFile,
    lines: Sequence[str],
    layout: PeakListLayout,
    entry: TraceEntry,
    how: dict[str, object],
    place: Callable[[int], str],
    noticed: tuple[Caution, ...] = (),
) -> ListedPeaks:
    """The peaks of a list.

    Parameters
    ----------
    file, entry : as for a trace. lines : of the file. layout : of `peak_list_layout`.
    how : settings that say how the lines were come by. place : what a line is called, by index.
    noticed : cautions that arose on the way to the lines.

    Raises
    ------
    TraceError
        When no peak has both a time and an area, a cell is no number, or times have no unit and exceed 240.
    """
    rows: list[tuple[int, list[str]]] = []
    without: list[int] = []
    ended = 0
    for at in range(layout.line + 1, len(lines)):
        cells = _cells(lines[at], layout.delimiter)
        cells += [""] * (len(layout.headings) - len(cells))
        time, area = cells[layout.time], cells[layout.area]
        if not any(cells) or set("".join(cells)) <= set("-=_ "):
            continue
        if not _NUMBER.fullmatch(time):
            ended = ended or at  # a line of sums, or what follows the list
            continue
        if ended:
            if _cells(lines[ended], layout.delimiter) == list(layout.headings) or ended == layout.line + 1:
                ended = 0  # headings again, or a line of units
            else:
                found = f"'{lines[ended].strip()[:60]}' between peaks"
                raise file.fault(place(ended), found, "a peak like the others", "Mend or remove the line")
        if not _NUMBER.fullmatch(area):
            without.append(at)
            continue
        rows.append((at, cells))
    if not rows:
        raise file.fault(
            place(layout.line), "headings of a peak list without a peak", "a time and an area for each peak"
        )
    time_head, area_head = (read_heading(layout.headings[at]) for at in (layout.time, layout.area))
    names = (layout.headings[layout.time], layout.headings[layout.area])
    at_lines = [at + 1 for at, _ in rows]
    columns = [[cells[at] for _, cells in rows] for at in (layout.time, layout.area)]
    marks = decide_marks(file, names, *columns)
    times, areas = (
        numbers(file, name, column, mark, at_lines) for name, column, mark in zip(names, columns, marks, strict=True)
    )
    _refuse_several(file, layout, rows, place)
    raised = list(noticed)
    per_minute = units_in_a_minute(time_head.unit)
    if per_minute is None:
        per_minute = 1.0
        example = "in the heading, for instance 'RT (min)'"
        raised.append(assumed_minutes(file, f"column '{names[0]}'", names[0], np.sort(times), example, sampled=False))
    if without:
        raised.append(caution("peaks.listed_without_area", file.name, count=len(without), first=without[0] + 1))
    if _SHARE.fullmatch(names[1]):
        raised.append(caution("peaks.listed_shares", file.name, column=names[1]))
    if not (abs(areas) < 1e100).all() or not (abs(times) < 1e100).all() or (times < 0).any():
        raise file.fault("", "a time or an area that is no finite number", "finite numbers, times from 0")

    def limit(column: int | None, cells: list[str]) -> float | None:
        if column is None or not _NUMBER.fullmatch(cells[column]):
            return None
        return float(numbers(file, layout.headings[column], [cells[column]], marks[0], [0])[0]) / per_minute

    peaks = [
        StoredPeak(
            "" if layout.name is None else cells[layout.name],
            float(time) / per_minute,
            limit(layout.start, cells),
            limit(layout.end, cells),
            float(area),
        )
        for (_, cells), time, area in zip(rows, times, areas, strict=True)
    ]
    peaks.sort(key=lambda peak: peak.apex_min or 0.0)
    sound = [_with_sound_limits(peak) for peak in peaks]
    if odd := [
        one
        for one, kept in zip(peaks, sound, strict=True)
        if (one.start_min, one.end_min) != (kept.start_min, kept.end_min)
    ]:
        raised.append(caution("peaks.listed_odd_limits", file.name, count=len(odd), first=f"{odd[0].apex_min:.3f}"))
    if ended:
        raised.append(
            caution(
                "peaks.listed_line_after", file.name, line=ended + 1, text=printable(" ".join(lines[ended].split()), 60)
            )
        )
    detector, differs = agreed_detector(entry, detector_named(" ".join(lines[: layout.line + 1])[:5000]))
    step = Step(
        "read peak list/1",
        settings={
            **how, "columns": {"time": names[0], "area": names[1]}, "time_unit": time_head.unit or "min, assumed",
            "detector": detector,
        },
        source=Source(file.name, file.sha256),
        cautions=(*raised, *differs),
    )  # fmt: skip
    return ListedPeaks(file.name, tuple(sound), area_head.unit, detector, step)


def _refuse_several(
    file: TraceFile, layout: PeakListLayout, rows: list[tuple[int, list[str]]], place: Callable[[int], str]
) -> None:
    """Refuse the peaks of several injections in one list; they would be taken for one sample."""
    for column, heading in enumerate(layout.headings):
        if not _INJECTION.fullmatch(heading):
            continue
        named = list(dict.fromkeys(cells[column] for _, cells in rows))
        if len(named) > 1:
            at = next(at for at, cells in rows if cells[column] == named[1])
            found = f"peaks of {len(named)} samples ('{printable(named[0], 40)}', '{printable(named[1], 40)}' …)"
            raise file.fault(place(at), found, "the peaks of one injection", "Give each a file of its own")


def _with_sound_limits(peak: StoredPeak) -> StoredPeak:
    """Limits that do not enclose the apex are none."""
    apex = peak.apex_min or 0.0
    start = peak.start_min if peak.start_min is not None and peak.start_min <= apex else None
    end = peak.end_min if peak.end_min is not None and peak.end_min >= apex else None
    return StoredPeak(peak.name, peak.apex_min, start, end, peak.area)


def _cells(line: str, delimiter: str) -> list[str]:
    if delimiter == "  ":
        return [cell.strip().strip('"') for cell in re.split(r"\s{2,}|\t", line.strip())]
    return [cell.strip().strip('"').strip() for cell in line.split(delimiter)]


def _columns(headings: Sequence[str]) -> tuple[int, int, int | None, int | None, int | None] | None:
    """Positions of time, area, name, start and end; None when these are no headings of a list."""
    if len(headings) < 2 or sum(bool(_NUMBER.fullmatch(heading)) for heading in headings):
        return None
    times = [at for at, heading in enumerate(headings) if read_heading(heading).kind == "time"]
    starts = [at for at in times if _START.fullmatch(headings[at])]
    ends = [at for at in times if _END.fullmatch(headings[at]) and at not in starts]
    apexes = [
        at for at in times if at not in starts and at not in ends and not re.search("width|breite", headings[at], re.I)
    ]
    plain = [at for at, heading in enumerate(headings) if _AREA.fullmatch(_plain(heading))]
    shares = [at for at, heading in enumerate(headings) if _SHARE.fullmatch(heading)]
    if not apexes or not (plain or shares):
        return None
    area = next((at for at in plain if at not in shares), (plain + shares)[0])
    named = [at for at, heading in enumerate(headings) if at not in times and _NAME.fullmatch(heading)]
    first = [found[0] if found else None for found in (named, starts, ends)]
    return apexes[0], area, first[0], first[1], first[2]


def _plain(heading: str) -> str:
    """A heading without its unit."""
    return re.sub(r"\s*(?:[(\[].*|/.*|\bin\b.*)$", "", heading).replace("_", " ").strip()
