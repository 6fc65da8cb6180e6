"""Add up what was collected over changes of receiver, and leave out amounts that fall back without one."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence

from cutbook.model.still import Repair

_CHANGED = re.compile(
    r"\b(receiver|flask|bottle|vorlage|fraction|fraktion|cut|flasche)\b.*\b(chang|new|next|wechsel|gewechselt|neu)"
    r"|\b(chang\w*|new|next|neue\w*|wechsel)\b.*\b(receiver|flask|bottle|vorlage|fraction|fraktion|cut|flasche)"
    r"|vorlagenwechsel|(receiver|vorlage|fraction|fraktion)\s*\d",
    re.IGNORECASE,
)
EMPTIED = 0.3
"""A reading below this share of the one before is a new receiver even where nothing says so; a slip of the pen or of
the eye is smaller."""


def collected(
    values: Sequence[float | None],
    names: Sequence[str],
    notes: Sequence[str],
    places: Sequence[str],
    heading: str,
    as_written: frozenset[str],
    repairs: list[Repair],
) -> tuple[list[float | None], list[str]]:
    """Amounts since the start, from amounts in each receiver.

    Parameters
    ----------
    values : as read, counted from zero in each receiver or all along. names, notes : of each reading.
    places, heading : where they stand. as_written : places not to be touched. repairs : takes each change.

    Returns
    -------
    amounts, names
        The names are numbers from 1 where the log has none and a receiver was changed.

    Notes
    -----
    A receiver was changed where the amount falls and its name changes or a note says so, or where it falls to less than
    three tenths and goes on from there.
    """
    found: list[float | None] = []
    renamed = list(names)
    before, last, number = 0.0, None, 1
    named = any(names)
    name = names[0] if names else ""
    told_above = False
    for at, value in enumerate(values):
        renaming = named and names[at] != name
        name = names[at]
        told = bool(_CHANGED.search(notes[at]))
        says_so = renaming or told or told_above
        falls = value is not None and last is not None and value < last and places[at] not in as_written
        begins_again = says_so or (
            value is not None and last is not None and value < EMPTIED * last and _goes_on(values, at, last)
        )
        if falls and begins_again and value is not None and last is not None:
            before += last
            number += 1
            kind = "receiver" if says_so else "receiver_assumed"
            repairs.append(Repair(places[at], heading, kind, f"{value:g}", f"{before + value:g}"))
            told = False
        elif told_above:
            number += 1
        told_above = told  # a note may stand beside the last reading of a receiver or the first of the next
        last = last if value is None else value
        found.append(None if value is None else before + value)
        if not named:
            renamed[at] = str(number)
    if not named and number == 1:
        renamed = [""] * len(renamed)
    return found, renamed


def _goes_on(values: Sequence[float | None], at: int, last: float) -> bool:
    """Whether the amounts after a fall go on from there, not from where they were before it."""
    after = next((value for value in values[at + 1 :] if value is not None), None)
    return after is None or after < last


def without_backward(
    values: Sequence[float | None],
    times_min: Sequence[float | None],
    places: Sequence[str],
    heading: str,
    as_written: frozenset[str],
    repairs: list[Repair],
) -> list[float | None]:
    """Amounts without those that break the rise, as few as can be left out.

    Parameters
    ----------
    values : as collected. times_min : of each, None where not known. places, heading : where they stand.
    as_written : places whose readings are kept whatever they are. repairs : takes what was left out.

    Notes
    -----
    What remains is a longest run of readings that never fall. Of two neighbours of which either may be left out, the
    one farther from the straight line between those around it goes.
    """
    there = [at for at, value in enumerate(values) if value is not None and places[at] not in as_written]
    amounts = [float(values[at] or 0.0) for at in there]
    kept = _longest_rise(amounts)
    timed = all(times_min[at] is not None for at in there)
    along = [float(times_min[at] or 0.0) if timed else float(order) for order, at in enumerate(there)]
    for at in [at for at in range(len(there)) if at not in kept]:
        for other in (at - 1, at + 1):
            if other not in kept:
                continue
            low = max((one for one in kept if one < min(at, other)), default=None)
            high = min((one for one in kept if one > max(at, other)), default=None)
            if low is None or high is None or not amounts[low] <= amounts[at] <= amounts[high]:
                continue

            def off(one: int, low: int = low, high: int = high) -> float:
                share = (along[one] - along[low]) / max(along[high] - along[low], 1e-9)
                return abs(amounts[one] - amounts[low] - share * (amounts[high] - amounts[low]))

            if off(at) < off(other):
                kept = (kept - {other}) | {at}
            break
    found = list(values)
    for at, row in enumerate(there):
        if at not in kept:
            repairs.append(Repair(places[row], heading, "backward", f"{values[row]:g}", ""))
            found[row] = None
    return found


def _longest_rise(amounts: Sequence[float]) -> set[int]:
    """Positions of a longest run that never falls."""
    ends: list[float] = []
    end_at: list[int] = []
    before: list[int] = []
    for at, value in enumerate(amounts):
        length = bisect_right(ends, value)
        before.append(end_at[length - 1] if length else -1)
        if length == len(ends):
            ends.append(value)
            end_at.append(at)
        else:
            ends[length], end_at[length] = value, at
    kept: set[int] = set()
    at_last = end_at[-1] if end_at else -1
    while at_last >= 0:
        kept.add(at_last)
        at_last = before[at_last]
    return kept
