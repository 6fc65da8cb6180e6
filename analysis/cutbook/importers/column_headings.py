"""Tell from the headings of a text table which column is time, which is the signal, and in what units."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from cutbook.importers.time_unit import units_in_a_minute
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import TraceError, nearest

Kind = Literal["time", "signal", "index", ""]

# folded, because the micro sign then becomes the Greek letter that others write
_SIGNAL_UNITS = frozenset("fa pa na µa ua ma nv µv uv mv v count counts cts mau au a.u. hz".casefold().split())
_LONGEST = 200  # characters; what is longer is a paragraph and no heading
# English and German, as exports head their columns
_TIME = re.compile(
    r"t|t ?r|r\.? ?t\.?|ret(ention)?\.?( ?(time|zeit))?|.*\btime\b.*|.*zeit|min(utes?|uten)?|sec(onds?)?|sekunden"
)
_SIGNAL = re.compile(
    r"y|.*(signal|intensit|respon[sc]e|det[ek]c?tor|detektor|spannung|voltage|potential|strom\b|current|abundance"
    r"|counts?\b|absor[bp]|amplitude|height|value|wert|kanal|channel|\b(fid|tcd|tic)(?![a-z]{2})).*"
)
_INDEX = re.compile(r"#|no\.?|nr\.?|index|idx|n|points?|data ?points?|pts?|(daten)?punkt|scan|row|zeile")


@dataclass(frozen=True)
class Heading:
    """A column heading: as written, what kind of column it heads, the unit in it ("" when none)."""

    text: str
    kind: Kind
    unit: str


@dataclass(frozen=True)
class Columns:
    """Which columns to read, by position from 0; the units their headings state ("" when they do not)."""

    time: int
    signal: int
    time_unit: str
    signal_unit: str


def read_heading(text: str) -> Heading:
    """Take a heading apart.

    Examples
    --------
    >>> read_heading("Retentionszeit [min]")
    Heading(text='Retentionszeit [min]', kind='time', unit='min')
    >>> read_heading("FID_A / pA").kind
    'signal'
    """
    if len(text) > _LONGEST:
        return Heading(text, "", "")
    name, unit = _unit_apart(text.strip())
    plain = re.sub(r"[\s_]+", " ", name).strip(" :.").casefold()
    kind: Kind = ""
    if units_in_a_minute(unit) is not None or _TIME.fullmatch(plain):
        kind = "time"
    elif _INDEX.fullmatch(plain):
        kind = "index"
    elif _is_signal_unit(unit) or _SIGNAL.fullmatch(plain):
        kind = "signal"
    return Heading(text, kind, unit)


def is_unit(text: str) -> bool:
    """Whether a cell holds nothing but a unit, bracketed or bare."""
    inside = text.strip().strip("()[]").strip()
    return _is_unit(inside)


def choose_columns(
    file: TraceFile, headings: Sequence[str], heading_line: int, width: int, wanted: Mapping[str, str]
) -> Columns:
    """Choose the time and the signal column.

    Parameters
    ----------
    file : the file, for messages.
    headings : as in the file, () when it has none. heading_line : where they stand.
    width : number of columns.
    wanted : "time" and "signal" as the run sheet names them, each a heading or a column number from 1.

    Raises
    ------
    TraceError
        When the choice is not evident; the message lists the headings.
    """
    read = [read_heading(text) for text in headings] or [Heading("", "", "")] * width
    place = f"line {heading_line}" if headings else ""
    if width < 2:
        raise file.fault(
            place, "one column of numbers", "two columns, time and signal", "Export the signal with its times"
        )
    texts = [heading.text for heading in read]
    time = column_named(file, texts, str(wanted["time"]), "time") if "time" in wanted else None
    signal = column_named(file, texts, str(wanted["signal"]), "signal") if "signal" in wanted else None
    if time is not None and time == signal:
        raise file.fault("columns", f"column {time + 1} for time and for signal", "two different columns")
    if time is None:
        time = _the_time(file, read, place, signal)
    if signal is None:
        signal = _the_signal(file, read, place, time)
    return Columns(time, signal, read[time].unit, read[signal].unit)


def column_named(file: TraceFile, headings: Sequence[str], name: str, field: str) -> int:
    """The column that the run sheet chose by its heading or by its number.

    Parameters
    ----------
    file : for messages. headings : as written, "" where a column has none.
    name : as the run sheet has it. field : what is looked for there, for messages.

    Returns
    -------
    int
        Position from 0.

    Raises
    ------
    TraceError
        When no heading or more than one heading is this one, and it is no column number either.
    """
    name = name.strip()
    for same in (str.strip, lambda text: text.strip().casefold()):
        found = [at for at, heading in enumerate(headings) if heading and same(heading) == same(name)]
        if len(found) == 1:
            return found[0]
    if name.isascii() and name.isdigit() and len(name) < 6 and 1 <= int(name) <= len(headings):
        return int(name) - 1
    near = nearest(name, [heading.strip() for heading in headings])
    raise file.fault(
        f"columns, {field}",
        f"'{name}'" + (" for several headings" if len(found) > 1 else ""),
        _offered(headings),
        f"Was '{near}' meant?" if near and len(found) < 2 else "",
    )


def _the_time(file: TraceFile, read: Sequence[Heading], place: str, signal: int | None) -> int:
    times = [at for at, heading in enumerate(read) if heading.kind == "time" and at != signal]
    if len(times) == 1:
        return times[0]
    if len(read) == 2 and not times:
        return 0 if signal is None and read[0].kind != "signal" else 1 - (signal or 0)
    raise _undecided(file, read, place, "time", len(times))


def _the_signal(file: TraceFile, read: Sequence[Heading], place: str, time: int) -> int:
    others = [at for at, heading in enumerate(read) if at != time and heading.kind not in ("time", "index")]
    named = [at for at in others if read[at].kind == "signal"]
    if len(named or others) == 1:
        return (named or others)[0]
    raise _undecided(file, read, place, "signal", len(named or others))


def _undecided(file: TraceFile, read: Sequence[Heading], place: str, what: str, count: int) -> TraceError:
    found = f"{count} columns that may be the {what}" if count else f"no heading that tells which column is the {what}"
    example = 'columns = { time = "…", signal = "…" }'
    return file.fault(
        place, found, _offered([heading.text for heading in read]), f"Choose with {example} in its [[trace]] entry"
    )


def _offered(headings: Sequence[str]) -> str:
    numbers = f"a column number from 1 to {len(headings)}"
    if not any(heading.strip() for heading in headings):
        return numbers
    shown = ", ".join(f"'{heading.strip()}'" for heading in headings[:12]) + (", …" if len(headings) > 12 else "")
    return f"{shown}, or {numbers}"


def _unit_apart(text: str) -> tuple[str, str]:
    """Name and unit of a heading: "t (min)", "t [min]", "t / min", "t_min", "t, min", "t in min", "min"."""
    bracketed = re.fullmatch(r"([^()\[\]]*)[(\[]([^()\[\]]*)[)\]]\s*", text)
    if bracketed:
        name, inside = bracketed.group(1).strip(), bracketed.group(2).strip()
        # what else stands in brackets is a remark ("FID A"), a part of the name
        return (name, inside) if _is_unit(inside) else (f"{name} {inside}", "")
    tail = re.fullmatch(r"(.*?)(?:\s*[/,;:_]\s*|\s+in\s+|\s+)([^\s/,;:_]+)", text)
    if tail and tail.group(1) and _is_unit(tail.group(2)):
        return tail.group(1), tail.group(2)
    if len(text) > 1 and _is_unit(text):
        return "", text
    return text, ""


def _is_unit(text: str) -> bool:
    return units_in_a_minute(text) is not None or _is_signal_unit(text)


def _is_signal_unit(text: str) -> bool:
    scaled = re.sub(r"^\d+([.,]\d+)?\s*", "", text.strip())  # "25 µV": the step of a converter
    return scaled.casefold() in _SIGNAL_UNITS
