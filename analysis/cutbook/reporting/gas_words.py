"""The figures of a gas with their names, for sheet and page."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from cutbook.gas.substances import constant
from cutbook.model.amount import nominal
from cutbook.model.result import Result
from cutbook.workup.gas_findings import GasFindings


def gas_figures(gas: GasFindings) -> Iterator[tuple[str, str, Result]]:
    """(name, state, result) of every figure of a gas but its composition and the further reference states."""
    found = gas.properties
    at_15 = "combustion at 15 °C"
    in_air = nominal(constant("nitrogen in dry air") / constant("oxygen in dry air"))
    yield "mass", "dry, without air and purge", gas.mass
    if gas.meter is not None:
        yield "volume by the meter", f"{len(gas.meter.parts) + 1} readings, at the meter", gas.meter.passed
    if gas.amount is not None:
        yield "amount as measured", "wet" if gas.amount.water.value else "", gas.amount.total
        yield "water vapour in it", "by mole", gas.amount.water
        yield "amount of product gas", "dry", gas.amount.product
    yield "gross calorific value", at_15, found.gross
    yield "net calorific value", at_15, found.net
    yield "gross calorific value, molar", at_15, found.gross_molar
    yield "net calorific value, molar", at_15, found.net_molar
    yield "net calorific value of all of it", at_15, gas.energy
    first = found.volumetric[0]
    for name, result in (
        ("gross calorific value by volume", first.gross),
        ("net calorific value by volume", first.net),
        ("Wobbe index", first.wobbe),
        ("net Wobbe index", first.wobbe_net),
        ("density", first.density),
        ("relative density", first.relative_density),
        ("compression factor", first.compression_factor),
    ):
        yield name, first.reference, result
    yield "molar mass", "", found.molar_mass
    yield "hydrogen to carbon", "atoms", found.hydrogen_to_carbon
    yield "hydrogen", "by mass", found.hydrogen
    yield "air in the gas as analysed", "by mole, taken out", gas.gas.air
    yield "purge gas in the gas as analysed", "by mole, taken out", gas.gas.purge
    yield "nitrogen to oxygen in the gas as analysed", f"air {in_air:.3g}", gas.gas.nitrogen_to_oxygen
    if gas.amount is not None and gas.amount.purge is not None:
        purge = gas.amount.purge
        yield f"purge with {purge.gas}, let in", "by flow and time", purge.let_in
        yield f"purge with {purge.gas}, found", "in the metered gas", purge.found
        yield "found less let in", "", purge.difference
    if gas.trapped is not None:
        yield "oxygen of the air over the charge", "", gas.trapped.oxygen
        yield "water it can have become", "at most", gas.trapped.water
        yield "carbon monoxide it can have become", "at most", gas.trapped.carbon_monoxide
        yield "carbon dioxide it can have become", "at most", gas.trapped.carbon_dioxide


def gas_section(gas: GasFindings | None, why: Callable[[Result], str]) -> dict[str, Any] | None:
    """What the template of the page needs of a gas, None without one. why : tells why a result is missing."""
    if gas is None:
        return None
    rows = [
        {"name": name, "state": state, "result": result, "remark": why(result)}
        for name, state, result in gas_figures(gas)
    ]
    return {"found": gas, "figures": rows}
