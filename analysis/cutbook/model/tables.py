"""The one opener of `reference/`: a CSV table with its TOML twin that tells the source."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from cutbook.model.errors import InputError, nearest


@dataclass(frozen=True, eq=False)
class ReferenceTable:
    """A table of known facts.

    name : file name without ending. about : the twin (title, source, read_on, checked, columns …).
    rows : one mapping a row, text as in the file.
    """

    name: str
    about: Mapping[str, Any]
    rows: tuple[Mapping[str, str], ...]

    def by(self, key: str) -> dict[str, Mapping[str, str]]:
        """The rows by the text in one column."""
        return {row[key]: row for row in self.rows}

    def numbers(self, key: str, value: str) -> dict[int, float]:
        """A numeric column against a whole-number key; rows without a value are left out."""
        return {int(row[key]): float(row[value]) for row in self.rows if row[value] != ""}


def table_names() -> tuple[str, ...]:
    """Names of all reference tables, sorted."""
    names = (entry.name for entry in files("cutbook.reference").iterdir())
    return tuple(sorted(name[:-4] for name in names if name.endswith(".csv")))


@cache
def reference(name: str) -> ReferenceTable:
    """Open a reference table by name.

    Raises
    ------
    InputError
        When there is no such table; the nearest known name is offered.
    """
    known = table_names()
    if name not in known:
        near = nearest(name, known)
        raise InputError.single(
            "", "reference table", f"'{name}'", "one of " + ", ".join(known), f"Did you mean '{near}'?" if near else ""
        )
    folder = files("cutbook.reference")
    text = folder.joinpath(f"{name}.csv").read_text(encoding="utf-8")
    about = tomllib.loads(folder.joinpath(f"{name}.toml").read_text(encoding="utf-8"))
    rows = tuple(dict(row) for row in csv.DictReader(io.StringIO(text)))
    return ReferenceTable(name, about, rows)
