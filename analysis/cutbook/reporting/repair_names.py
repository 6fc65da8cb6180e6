"""Name the repairs of a still log as they are printed, from `reports/repairs.toml`, ditto marks taken together."""

from __future__ import annotations

import itertools
import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from cutbook.model.still import Repair


@cache
def repair_names() -> dict[str, str]:
    """Kind of repair -> words."""
    return tomllib.loads(files("cutbook.reports").joinpath("repairs.toml").read_text(encoding="utf-8"))


def together(repairs: Sequence[Repair]) -> list[Repair]:
    """Repairs for a reader: the same thing done to one column in many places is one line with all its places.

    Lines keep the order in which each first arose.
    """
    groups: dict[tuple[str, str, str, str], list[Repair]] = {}
    for repair in repairs:
        groups.setdefault((repair.column, repair.kind, repair.found, repair.read_as), []).append(repair)
    return [
        Repair(_places([one.place for one in group]), column, kind, found, read_as)
        for (column, kind, found, read_as), group in groups.items()
    ]


def _places(places: Sequence[str]) -> str:
    """ "line 3 to 20, 22" of "line 3", "line 4" …; as they are where they are no numbers."""
    words = {place.rpartition(" ")[0] for place in places}
    numbers = [int(place.rpartition(" ")[2]) for place in places if place.rpartition(" ")[2].isdigit()]
    if len(words) != 1 or len(numbers) != len(places) or len(places) == 1:
        return ", ".join(places)
    runs = []
    for _, run in itertools.groupby(enumerate(sorted(numbers)), key=lambda pair: pair[1] - pair[0]):
        span = [number for _, number in run]
        runs.append(f"{span[0]}" if len(span) == 1 else f"{span[0]} to {span[-1]}")
    return f"{words.pop()} {', '.join(runs)}"
