"""Read what a run sheet says of the gas: composition tables, meter, reactor and purge, when components elute."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cutbook.importers.burner_keys import KEYS as BURNER_KEYS
from cutbook.importers.burner_keys import read_burner
from cutbook.importers.gas_meter import FIELDS
from cutbook.importers.run_files import FileFinder
from cutbook.importers.sheet_table import Sheet
from cutbook.model.entered import Entered

PURGE_GASES = ("nitrogen", "argon", "carbon dioxide", "helium", "none")
CARRIERS = ("helium", "hydrogen", "nitrogen", "argon")


def read_reactor(sheet: Sheet, table: Mapping[str, Any]) -> dict[str, Any]:
    """The section [reactor]."""
    at = "[reactor]"
    sheet.only(
        table, at,
        ("free_volume", "purge_gas", "swept_before_heating", "purge_flow", "purge_time", "purge_flow_temperature",
         "purge_flow_pressure", *BURNER_KEYS),
    )  # fmt: skip
    found: dict[str, Any] = {
        "free_volume": sheet.quantity(table, at, "free_volume", "volume"),
        "purge_gas": sheet.text(table, at, "purge_gas", choices=PURGE_GASES),
        "swept_before_heating": sheet.flag(table, at, "swept_before_heating"),
        "purge_flow": sheet.quantity(table, at, "purge_flow", "flow"),
        "purge_time": sheet.quantity(table, at, "purge_time", "time"),
        "purge_flow_temperature": sheet.quantity(table, at, "purge_flow_temperature", "temperature"),
        "purge_flow_pressure": sheet.quantity(table, at, "purge_flow_pressure", "pressure"),
        **read_burner(sheet, table),
    }
    if ("purge_flow" in table) != ("purge_time" in table):
        given, lacking = ("purge_flow", "purge_time")[:: 1 if "purge_flow" in table else -1]
        sheet.fault(f"{at}, {lacking}", "nothing", f"a value beside {given}", "The purge is its flow times its time.")
    if "purge_flow" in table and found["purge_gas"] in ("", "none"):
        sheet.fault(f"{at}, purge_gas", f"'{found['purge_gas']}'", "the gas of purge_flow: nitrogen, argon …")
    if (entry := found["purge_flow_pressure"]) is not None and entry.value <= 0:
        sheet.fault(f"{at}, purge_flow_pressure", f'"{entry.text}"', "a pressure above 0")
    return found


def read_gas_meter(
    sheet: Sheet, row: Mapping[str, Any], place: str, files: FileFinder, fractions: Sequence[str]
) -> dict[str, Any]:
    """One [[gas_meter]]."""
    sheet.only(row, place, ("file", "of", "temperature", "pressure", "factor", "counter_top", "columns"))
    given = row.get("factor")
    bare = isinstance(given, (int, float)) and not isinstance(given, bool)
    factor = sheet.quantity({"factor": str(given)} if bare else row, place, "factor", "ratio")
    top = sheet.quantity(row, place, "counter_top", "volume")
    pressure = sheet.quantity(row, place, "pressure", "pressure")
    for key, entry in (("factor", factor), ("counter_top", top), ("pressure", pressure)):
        if entry is not None and entry.value <= 0:
            sheet.fault(f"{place}, {key}", f'"{entry.text}"', f"a {key.replace('_', ' ')} above 0")
    return {
        "place": place,
        "file": files.file(row, place, "file", required=True),
        "of": _of(sheet, row, place, fractions),
        "temperature": sheet.quantity(row, place, "temperature", "temperature"),
        "pressure": pressure,
        "factor": factor,
        "counter_top": top,
        "columns": sheet.columns(row, place, ("sheet", *FIELDS), 'headings, such as { reading = "Stand" }'),
    }


def read_elutes(sheet: Sheet, row: Mapping[str, Any], place: str) -> dict[str, float]:
    """When components of a gas elute that no standard holds, in min by name."""
    found: dict[str, float] = {}
    for one, at in sheet.tables(row, place, "elutes", '[{ name = "propene", retention_time = "4.12 min" }]'):
        sheet.only(one, at, ("name", "retention_time"))
        name = sheet.text(one, at, "name", required=True)
        time = sheet.quantity(one, at, "retention_time", "time", required=True)
        if name in found:
            sheet.fault(f"{at}, name", f"'{name}' again", "each component once")
        if name and time is not None:
            found[name] = time.value
    return found


def read_bag_volume(sheet: Sheet, row: Mapping[str, Any], place: str) -> Entered | None:
    """The volume of a bag of gas in mL; a bag of nothing weighs nothing in the mean of several."""
    volume = sheet.quantity(row, place, "volume", "volume")
    if volume is not None and volume.value <= 0:
        sheet.fault(f"{place}, volume", f'"{volume.text}"', "a volume above 0")
    return volume


def _of(sheet: Sheet, row: Mapping[str, Any], place: str, fractions: Sequence[str]) -> str:
    return sheet.text(row, place, "of", choices=tuple(fractions))


def read_gas_analysis(
    sheet: Sheet, row: Mapping[str, Any], place: str, files: FileFinder, fractions: Sequence[str]
) -> dict[str, Any]:
    """One [[gas_analysis]]."""
    sheet.only(row, place, ("file", "of", "basis", "volume", "taken_at", "columns"))
    return {
        "place": place,
        "file": files.file(row, place, "file", required=True),
        "of": _of(sheet, row, place, fractions),
        "basis": sheet.text(row, place, "basis", choices=("wet", "dry")),
        "volume": read_bag_volume(sheet, row, place),
        "taken_at": sheet.quantity(row, place, "taken_at", "time"),
        "columns": _gas_columns(sheet, row, place),
    }


def _gas_columns(sheet: Sheet, row: Mapping[str, Any], place: str) -> dict[str, str]:
    value = row.get("columns")
    known = ("component", "share", "area", "response", "correction", "u", "sheet")
    if value is None:
        return {}
    if not isinstance(value, Mapping) or not all(isinstance(v, str) for v in value.values()):
        sheet.fault(f"{place}, columns", f"{value!r}", 'headings, such as { component = "Name", share = "mol %" }')
        return {}
    sheet.only(value, f"{place}, columns", known)
    return {str(key): str(text) for key, text in value.items() if key in known}
