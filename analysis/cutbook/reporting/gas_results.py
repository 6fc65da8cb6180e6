"""The gas of a run as plain values for results.json."""

from __future__ import annotations

from typing import Any

from cutbook.model.gas import VolumetricValues
from cutbook.reporting.plain_values import bare, quantity
from cutbook.workup.findings import GasFindings, GasShare


def gas_result(gas: GasFindings | None) -> dict[str, Any] | None:
    """The gas as dictionaries and lists of plain values; None where no gas was analysed.

    Composition, mass and calorific values are of the dry product gas; `air_free` tells whether it is free of air and
    purge gas beyond doubt. Calorific values by mole and mass are for combustion at 15 °C.
    """
    if gas is None:
        return None
    found, amount, trapped = gas.properties, gas.amount, gas.trapped
    return {
        "of": gas.of,
        "composition": [_share(one) for one in gas.composition],
        "air_free": gas.gas.air_free,
        "raw_sum": None if gas.analysed.raw_sum is None else 100 * gas.analysed.raw_sum,
        "not_given": list(gas.analysed.not_given),
        "air": quantity(gas.gas.air),
        "purge": quantity(gas.gas.purge),
        "nitrogen_to_oxygen": quantity(gas.gas.nitrogen_to_oxygen),
        "mass": quantity(gas.mass),
        "energy": quantity(gas.energy),
        "amount": None
        if amount is None
        else {
            "total": quantity(amount.total),
            "water": quantity(amount.water),
            "product": quantity(amount.product),
        },
        "molar_mass": quantity(found.molar_mass),
        "gross_molar": quantity(found.gross_molar),
        "net_molar": quantity(found.net_molar),
        "gross_calorific_value": quantity(found.gross),
        "net_calorific_value": quantity(found.net),
        "hydrogen_to_carbon": quantity(found.hydrogen_to_carbon),
        "hydrogen": quantity(found.hydrogen),
        "volumetric": _volumetric(found.volumetric[0]),
        "volumetric_at": [_volumetric(one) for one in found.volumetric],
        "trapped_air": None
        if trapped is None
        else {
            "oxygen": quantity(trapped.oxygen),
            "water_at_most": quantity(trapped.water),
            "carbon_monoxide_at_most": quantity(trapped.carbon_monoxide),
            "carbon_dioxide_at_most": quantity(trapped.carbon_dioxide),
        },
    }


def _share(one: GasShare) -> dict[str, Any]:
    found: dict[str, Any] = {"component": one.component, "mole": quantity(one.mole), "mass": quantity(one.mass)}
    if one.mole.limit is not None:
        found["below"] = bare(one.mole.limit, "%")
    return found


def _volumetric(one: VolumetricValues) -> dict[str, Any]:
    return {
        "reference": one.reference,
        "combustion": bare(one.combustion_c, "°C"),
        "metering": bare(one.metering_c, "°C"),
        "gross": quantity(one.gross),
        "net": quantity(one.net),
        "wobbe": quantity(one.wobbe),
        "wobbe_net": quantity(one.wobbe_net),
        "density": quantity(one.density),
        "relative_density": quantity(one.relative_density),
        "compression_factor": quantity(one.compression_factor),
    }
