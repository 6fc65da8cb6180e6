"""The gas of a run as plain values for results.json."""

from __future__ import annotations

from typing import Any

from cutbook.model.amount import nominal, standard_uncertainty
from cutbook.model.gas import DetectorReading, GasSignal, MeteredGas, TracedGas, VolumetricValues
from cutbook.reporting.plain_values import bare, quantity
from cutbook.workup.gas_findings import GasFindings, GasShare


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
        "purge_check": None
        if amount is None or amount.purge is None
        else {
            "gas": amount.purge.gas,
            "let_in": quantity(amount.purge.let_in),
            "found": quantity(amount.purge.found),
            "difference": quantity(amount.purge.difference),
        },
        "meter": _meter(gas.meter),
        "detectors": [_detector(traced, one) for traced in gas.traced for one in traced.readings],
        "peaks": [_peak(one) for one in gas.signals()],
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


def _meter(meter: MeteredGas | None) -> dict[str, Any] | None:
    if meter is None:
        return None
    return {
        "file": meter.log.file,
        "volume": quantity(meter.passed),
        "duration": None if meter.duration_min is None else bare(meter.duration_min, "min"),
        "parts": [
            {
                "place": part.place,
                "start": None if part.start_min is None else bare(part.start_min, "min"),
                "end": None if part.end_min is None else bare(part.end_min, "min"),
                "volume": _of(part.volume_ml / 1000, "L"),
                "temperature": _of(part.temperature_c, "°C"),
                "pressure": _of(part.pressure_kpa, "kPa"),
            }
            for part in meter.parts
        ],
        "repairs": [
            {"place": one.place, "column": one.column, "kind": one.kind, "found": one.found, "read_as": one.read_as}
            for one in meter.repairs
        ],
    }


def _detector(traced: TracedGas, one: DetectorReading) -> dict[str, Any]:
    return {
        "detector": one.detector,
        "samples": list(one.samples),
        "standards": list(one.standards),
        "bridge": traced.bridge,
        "repeat": bare(100 * one.repeat_u, "%"),
        "responses": [
            {"component": name, "response": _of(known.amount, "area a mole fraction"), "how": known.how,
             "reference": known.reference}
            for name, known in one.responses.items()
        ],
    }  # fmt: skip


def _peak(one: GasSignal) -> dict[str, Any]:
    return {
        "detector": one.detector,
        "file": one.file,
        "component": one.component,
        "retention_time": bare(one.apex_min, "min"),
        "area": {"value": one.area, "u": one.u_area, "unit": "signal × min"},
        "how": one.how,
        "share": quantity(one.share),
        "taken": one.taken,
    }


def _of(amount: Any, unit: str) -> dict[str, Any]:
    return {"value": nominal(amount), "u": standard_uncertainty(amount), "unit": unit}


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
