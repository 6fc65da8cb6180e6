"""Read what heated a reactor, by [reactor] of a run sheet."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from cutbook.importers.sheet_table import Sheet
from cutbook.model.entered import Entered
from cutbook.model.errors import nearest
from cutbook.model.tables import reference
from cutbook.model.units import parse_factor

PLACE = "[reactor]"
KEYS = ("burner_fuel", "burner_fuel_used", "heater_energy")


def read_burner(sheet: Sheet, reactor: Mapping[str, Any]) -> dict[str, Any]:
    """What heated the reactor, validated; None, "" where it is not given.

    `burner_fuel` is the name in `reference/burner_fuels.csv`; `burner_fuel_used` in g, or in mL for a fuel whose
    density the table has; `heater_energy` in MJ.
    """
    fuel, used = _fuel(sheet, reactor)
    electricity = sheet.quantity(reactor, PLACE, "heater_energy", "energy")
    if electricity is not None and electricity.value == 0:
        sheet.fault(f"{PLACE}, heater_energy", f'"{electricity.text}"', "an energy above 0")
    return {"burner_fuel": fuel, "burner_fuel_used": used, "heater_energy": electricity}


def _fuel(sheet: Sheet, reactor: Mapping[str, Any]) -> tuple[str, Entered | None]:
    named = sheet.text(reactor, PLACE, "burner_fuel")
    fuel = _fuels().get(named.strip().casefold(), "")
    if named and not fuel:
        known = [row["name"] for row in reference("burner_fuels").rows]
        near = nearest(named, known)
        sheet.fault(
            f"{PLACE}, burner_fuel",
            f"'{named}'",
            "one of " + ", ".join(known),
            f"Did you mean '{near}'?" if near else "",
        )
    if "burner_fuel_used" in reactor and "burner_fuel" not in reactor:
        sheet.fault(
            f"{PLACE}, burner_fuel", "nothing beside burner_fuel_used", 'the fuel, such as burner_fuel = "propane"'
        )
    text = reactor.get("burner_fuel_used")
    read = parse_factor(text) if isinstance(text, str) else None
    by_volume = read is not None and read.unit == "mL"
    if by_volume and fuel and not reference("burner_fuels").by("name")[fuel]["density_low"]:
        sheet.fault(
            f"{PLACE}, burner_fuel_used", f'"{text}" of {fuel}, a volume', f"a mass of {fuel}, such as \"0.42 kg\"",
            "Weigh the bottle before and after.",
        )  # fmt: skip
        return fuel, None
    used = sheet.quantity(reactor, PLACE, "burner_fuel_used", "volume" if by_volume else "mass")
    if used is not None and used.value == 0:
        sheet.fault(f"{PLACE}, burner_fuel_used", f'"{used.text}"', "an amount above 0")
        return fuel, None
    return fuel, used


@cache
def _fuels() -> Mapping[str, str]:
    """Fuels by every known name."""
    found = {}
    for row in reference("burner_fuels").rows:
        for name in (row["name"], *row["aliases"].split("|")):
            if name:
                found[name.casefold()] = row["name"]
    return found
