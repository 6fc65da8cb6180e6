"""Look into the tables of a TOML file and keep every fault that is found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cutbook.model.entered import Entered
from cutbook.model.errors import Fault, RunSheetError, UnitError, nearest
from cutbook.model.units import parse_quantity


class Sheet:
    """A sheet under inspection: reads values, collects faults, raises them all at once.

    Parameters
    ----------
    file : name of the sheet, for messages.
    """

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []

    def fault(self, place: str, found: str, expected: str, do: str = "") -> None:
        """Note one fault."""
        self.faults.append(Fault(self.file, place, found, expected, do))

    def stop_at_faults(self) -> None:
        """Raise every fault found so far.

        Raises
        ------
        RunSheetError
            When there is any.
        """
        if self.faults:
            raise RunSheetError(*dict.fromkeys(self.faults))

    def only(self, table: Mapping[str, Any], place: str, known: Sequence[str]) -> None:
        """Note every key that is not known, with the nearest one that is."""
        for key in table:
            if key not in known:
                near = nearest(str(key), known)
                kind = "section" if not place else "key"
                self.fault(
                    place or "top level", f"unknown {kind} '{key}'", f"one of {', '.join(known)}",
                    f"Did you mean '{near}'?" if near else "",
                )  # fmt: skip

    def table(self, data: Mapping[str, Any], name: str, required: bool = False) -> Mapping[str, Any]:
        """A section [name]; empty when it is missing."""
        value = data.get(name)
        if value is None:
            if required:
                self.fault(f"[{name}]", "nothing", f"a section [{name}]")
            return {}
        if not isinstance(value, Mapping):
            self.fault(f"[{name}]", f"{value!r}", f"a section [{name}]", f"Write [{name}] on a line of its own.")
            return {}
        return value

    def rows(self, data: Mapping[str, Any], name: str, required: bool = False) -> list[tuple[Mapping[str, Any], str]]:
        """The entries [[name]] with their places, counted from 1."""
        value = data.get(name)
        if value is None:
            if required:
                self.fault(f"[[{name}]]", "nothing", f"one [[{name}]] at least")
            return []
        if isinstance(value, Mapping):
            self.fault(f"[{name}]", f"[{name}]", f"[[{name}]]", "There may be several; write double brackets.")
            return []
        if not isinstance(value, list) or not value or not all(isinstance(row, Mapping) for row in value):
            self.fault(f"[[{name}]]", f"{value!r}", f"entries, each headed [[{name}]]")
            return []
        return [(row, f"[[{name}]] {number}") for number, row in enumerate(value, 1)]

    def tables(
        self, table: Mapping[str, Any], place: str, key: str, example: str
    ) -> list[tuple[Mapping[str, Any], str]]:
        """The tables in a list `key` with their places, counted from 1; empty when it is missing or faulty."""
        value = table.get(key)
        if value is None:
            return []
        at = f"{place}, {key}"
        if not isinstance(value, list) or not all(isinstance(one, Mapping) for one in value):
            self.fault(at, f"{value!r}", f"a list such as {example}")
            return []
        return [(one, f"{at} {number}") for number, one in enumerate(value, 1)]

    def columns(self, table: Mapping[str, Any], place: str, known: Sequence[str], expected: str) -> dict[str, str]:
        """The columns that an entry chooses, by what is read from them; empty when none are or they are faulty."""
        value = table.get("columns")
        if value is None:
            return {}
        if not isinstance(value, Mapping) or not all(isinstance(v, (str, int)) for v in value.values()):
            self.fault(f"{place}, columns", f"{value!r}", expected)
            return {}
        self.only(value, f"{place}, columns", known)
        return {str(key): str(text) for key, text in value.items() if key in known}

    def text(
        self, table: Mapping[str, Any], place: str, key: str, required: bool = False, choices: Sequence[str] = ()
    ) -> str:
        """A text, "" when missing."""
        value = table.get(key)
        if value is None:
            if required:
                self.fault(f"{place}, {key}", "nothing", "one of " + ", ".join(choices) if choices else "a text")
            return ""
        if not isinstance(value, str) or (required and not value.strip()):
            self.fault(f"{place}, {key}", f"{value!r}", "a text in quotes")
            return ""
        if choices and value not in choices:
            near = nearest(value, choices) or nearest(value.casefold(), [c.casefold() for c in choices])
            near = next((c for c in choices if c.casefold() == near.casefold()), near)
            self.fault(
                f"{place}, {key}",
                f"'{value}'",
                "one of " + ", ".join(choices),
                f"Did you mean '{near}'?" if near else "",
            )
            return ""
        return value.strip()

    def quantity(
        self, table: Mapping[str, Any], place: str, key: str, dimension: str, required: bool = False
    ) -> Entered | None:
        """A quantity of a dimension, None when missing or faulty."""
        value = table.get(key)
        if value is None:
            if required:
                self.fault(f"{place}, {key}", "nothing", f"a {dimension}")
            return None
        try:
            return parse_quantity(value, dimension, self.file, f"{place}, {key}")
        except UnitError as refused:
            self.faults += refused.faults
            return None

    def flag(self, table: Mapping[str, Any], place: str, key: str) -> bool | None:
        """true or false, None when missing."""
        value = table.get(key)
        if value is not None and not isinstance(value, bool):
            self.fault(f"{place}, {key}", f"{value!r}", "true or false, without quotes")
            return None
        return value

    def number(self, table: Mapping[str, Any], place: str, key: str) -> float | None:
        """A bare number, None when missing."""
        value = table.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, (int, float)) or value != value:
            self.fault(f"{place}, {key}", f"{value!r}", "a number without quotes")
            return None
        return float(value)
