"""Read what a run sheet says of chlorine that no product holds: walls, a reference oil, a sorbent."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cutbook.importers.sheet_table import Sheet
from cutbook.model.tables import reference

KEYS = ("walls", "reference_oil", "reference_name", "sorbent", "sorbent_mass")
WASHED = "washed naphtha"
METHODS = (
    "combustion ion chromatography", "combustion microcoulometry", "x-ray fluorescence", WASHED, "other",
)  # fmt: skip
"""How chlorine of a product may have been measured."""


def read_chlorine(sheet: Sheet, table: Mapping[str, Any]) -> dict[str, Any]:
    """The section [chlorine].

    Returns
    -------
    dict
        walls in g, reference_oil as a mass fraction, reference_name, sorbent, sorbent_mass in g; None or "" where the
        sheet is silent.
    """
    at = "[chlorine]"
    sheet.only(table, at, KEYS)
    known = [row["name"] for row in reference("sorbents").rows]
    found: dict[str, Any] = {
        "walls": sheet.quantity(table, at, "walls", "mass"),
        "reference_oil": sheet.quantity(table, at, "reference_oil", "fraction"),
        "reference_name": sheet.text(table, at, "reference_name"),
        "sorbent": sheet.text(table, at, "sorbent", choices=known),
        "sorbent_mass": sheet.quantity(table, at, "sorbent_mass", "mass"),
    }
    if ("sorbent" in table) != ("sorbent_mass" in table):
        given, lacking = ("sorbent", "sorbent_mass")[:: 1 if "sorbent" in table else -1]
        sheet.fault(f"{at}, {lacking}", "nothing", f"a value beside {given}")
    for key in ("reference_oil", "sorbent_mass"):
        if (entry := found[key]) is not None and entry.value <= 0:
            sheet.fault(f"{at}, {key}", f'"{entry.text}"', "more than nothing")
    if "reference_name" in table and "reference_oil" not in table:
        sheet.fault(f"{at}, reference_oil", "nothing", "the chlorine of the oil that reference_name tells")
    return found


def read_chlorine_method(sheet: Sheet, row: Mapping[str, Any], place: str) -> str:
    """How the chlorine of a product was measured, "" where nobody says."""
    method = sheet.text(row, place, "chlorine_method", choices=METHODS)
    if "chlorine_method" in row and "chlorine" not in row:
        sheet.fault(f"{place}, chlorine", "nothing", "the chlorine that chlorine_method is about")
    return method
