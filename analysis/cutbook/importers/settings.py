"""Fill a settings record from a table of a settings file."""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Mapping
from typing import Any, TypeVar

from cutbook.importers.sheet_table import Sheet
from cutbook.model.errors import InputError

Record = TypeVar("Record")


def fill_settings(kind: type[Record], table: Mapping[str, Any], file: str) -> Record:
    """A record with the values of a table; what the table does not name keeps its default.

    Parameters
    ----------
    kind : a dataclass, nested ones included; every field has a default.
    table : as read from TOML. file : for messages.

    Returns
    -------
    an instance of `kind`

    Raises
    ------
    RunSheetError
        With every unknown key (and the nearest known one) and every value of a wrong type or outside its choices.
    """
    sheet = Sheet(file)
    filled = _record(kind, table, "", sheet)
    sheet.stop_at_faults()
    return typing.cast(Record, filled)


def _record(kind: Any, table: Mapping[str, Any], place: str, sheet: Sheet) -> Any:
    names = tuple(field.name for field in dataclasses.fields(kind))
    sheet.only(table, f"[{place}]" if place else "", names)
    hints = typing.get_type_hints(kind)
    given = {}
    before = len(sheet.faults)
    for name in names:
        if name in table:
            given[name] = _value(hints[name], table[name], f"{place}.{name}" if place else name, sheet)
    if len(sheet.faults) > before:
        return kind()
    try:
        return kind(**given)
    except InputError as refused:
        sheet.faults += refused.faults
    except ValueError as refused:
        sheet.fault(f"[{place}]" if place else "", str(refused), "settings that belong together")
    return kind()


def _value(hint: Any, value: Any, place: str, sheet: Sheet) -> Any:
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin in (typing.Union, types.UnionType):  # float | None: TOML has no null, so a value is never None
        return _value(next(a for a in arguments if a is not type(None)), value, place, sheet)
    if dataclasses.is_dataclass(hint):
        if isinstance(value, Mapping):
            return _record(hint, value, place, sheet)
        return _fault(sheet, place, value, "a table of settings")
    if origin is typing.Literal:
        if value in arguments:
            return value
        return _fault(sheet, place, value, "one of " + ", ".join(map(str, arguments)))
    if origin is tuple:
        if not isinstance(value, list):
            return _fault(sheet, place, value, "a list")
        kinds = [arguments[0]] * len(value) if len(arguments) == 2 and arguments[1] is ... else list(arguments)
        if len(kinds) != len(value):
            return _fault(sheet, place, value, f"a list of {len(kinds)}")
        return tuple(
            _value(kind, one, f"{place} {i}", sheet) for i, (kind, one) in enumerate(zip(kinds, value, strict=True), 1)
        )
    if hint is float and isinstance(value, (int, float)) and not isinstance(value, bool) and value == value:
        return float(value)
    if hint is int and isinstance(value, int) and not isinstance(value, bool):
        return value
    if (hint is bool and isinstance(value, bool)) or (hint is str and isinstance(value, str)):
        return value
    words = {float: "a number", int: "a whole number", bool: "true or false", str: "a text in quotes"}
    return _fault(sheet, place, value, words.get(hint, "another value"))


def _fault(sheet: Sheet, place: str, value: Any, expected: str) -> Any:
    sheet.fault(place, f"{value!r}", expected)
    return value
