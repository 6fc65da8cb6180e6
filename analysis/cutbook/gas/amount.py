"""Turn a volume of gas at its temperature, pressure and humidity into moles, and into the mass of product gas."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from cutbook.gas.substances import METERING_C, constant, molar_mass, substances
from cutbook.model.amount import Amount, applied, doubt, nominal, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import InputError
from cutbook.model.gas import GasAmount, GasComposition, ProductGas
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Product
from cutbook.model.units import GAS_CONSTANT, KELVIN, STANDARD_KPA

_EXPONENTS = (1.0, 1.5, 3.0, 3.5, 4.0, 7.5)
LOWEST_C, HIGHEST_C = -20.0, 100.0
"""Temperatures of a gas that is measured, in °C; the saturation equation holds from 0 °C, and below it is taken for
supercooled water."""
_HELD_K = 5.0
"""How far outside its temperatures a summation factor is held without a word: it falls by 0.6 % a kelvin (methane,
0 to 20 °C), which comes to its own uncertainty of 3 % there."""


@dataclass(frozen=True)
class AmountSettings:
    """What is assumed of a measured volume.

    saturation_u : relative standard uncertainty of the water vapour in a wet gas that is taken as saturated (0.05,
        judged: gas over water in a holder that was left to settle).
    """

    saturation_u: float = 0.05


def saturation_kpa(temperature_c: float | Amount) -> Any:
    """Saturation pressure of water in kPa.

    Parameters
    ----------
    temperature_c : °C, from 0 to 373; down to -20 it is that of supercooled water.

    Notes
    -----
    Wagner and Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783, equation 1 (IAPWS SR1-86).
    """
    kelvin = temperature_c + KELVIN
    critical = constant("critical temperature of water")
    tau = 1 - kelvin / critical
    terms = total(constant(f"saturation coefficient of water {e:g}") * tau**e for e in _EXPONENTS)
    return constant("critical pressure of water") * applied(math.exp, critical / kelvin * terms)


def gas_amount(
    product: Product,
    analysed: GasComposition,
    gas: ProductGas,
    sheet: Source,
    settings: AmountSettings = AmountSettings(),
) -> GasAmount:
    """How much product gas a measured volume holds.

    Parameters
    ----------
    product : entry of the run sheet, with volume, temperature and pressure. analysed : the dry gas in that volume.
    gas : what of it is product. sheet : the run sheet, as the source of the entry.

    Returns
    -------
    GasAmount
        With the budget of volume, temperature, pressure, humidity, compression factor and composition.

    Raises
    ------
    InputError
        When temperature or pressure is missing or impossible, or water would fill the gas.

    Notes
    -----
    n = p V/(Z R T); water vapour takes its saturation pressure in a wet gas. Where nobody says whether the gas is
    wet, the water is half of saturation, uncertain from none to all of it. Z as in ISO 6976:2016, in proportion to
    the pressure and with the summation factors interpolated to the temperature; outside 0 to 20 °C those of the nearer
    end are held ("gas.compression_held").
    """
    at = product.fraction
    volume, temperature, pressure = product.volume, product.temperature, product.pressure
    if volume is None or temperature is None or pressure is None:
        raise InputError.single(
            sheet.path, product.place, "a gas without volume, temperature and pressure", "all three of them"
        )
    if not LOWEST_C <= temperature.value <= HIGHEST_C or pressure.value <= 0:
        raise InputError.single(
            sheet.path, product.place, f"gas at {temperature.text} and {pressure.text}",
            f"{LOWEST_C:g} to {HIGHEST_C:g} °C and a pressure above 0",
        )  # fmt: skip
    warm, pressed = temperature.amount(f"temperature of {at}"), pressure.amount(f"pressure of {at}")
    water, raised = _water(product, warm, pressed, settings)
    if nominal(water) >= 1:
        raise InputError.single(
            sheet.path, product.place, f"wet gas at {temperature.text} and {pressure.text}: water would fill it",
            "a temperature below the boiling point of water at that pressure",
        )  # fmt: skip
    z = _compression_factor(analysed, nominal(warm), pressed, water)
    coldest, warmest = min(METERING_C), max(METERING_C)
    if not coldest - _HELD_K <= temperature.value <= warmest + _HELD_K:
        raised.append(caution("gas.compression_held", at, temperature=temperature.value, low=coldest, high=warmest))
    litres = volume.amount(f"volume of {at}") / 1000
    moles = pressed * litres / (z * GAS_CONSTANT * (warm + KELVIN))
    product_moles = moles * (1 - water) * gas.product_share
    step = Step(
        "volume of gas to mass/2",
        inputs=(analysed.step, gas.step),
        settings={
            "settings": settings,
            "volume": volume.text,
            "temperature": temperature.text,
            "pressure": pressure.text,
            "wet": product.wet,
        },
        source=Source(sheet.path, sheet.sha256, product.place),
        cautions=tuple(raised),
    )
    return GasAmount(
        total=Result(f"amount of {at} as measured", moles, "mol", "", step),
        water=Result(f"water vapour in {at}", 100 * water, "%", "wet gas as measured", step),
        product=Result(f"amount of product {at}", product_moles, "mol", "", step),
        mass=Result(f"mass of {at}", product_moles * molar_mass(gas.shares), "g", "", step),
    )


def _water(product: Product, warm: Amount, pressed: Amount, settings: AmountSettings) -> tuple[Any, list[Caution]]:
    """Mole fraction of water vapour in the gas as measured."""
    at = product.fraction
    if product.wet is False:
        return 0.0, []
    saturated = saturation_kpa(warm) / pressed
    if product.wet:
        return saturated * (1 + settings.saturation_u * doubt(f"saturation of {at} with water")), []
    spread = nominal(saturated) / 12**0.5
    unsaid = caution("gas.humidity_not_stated", at, percent=round(100 * nominal(saturated), 2))
    return 0.5 * saturated + spread * doubt(f"whether {at} was wet"), [unsaid]


def _compression_factor(analysed: GasComposition, celsius: float, pressed: Any, water: Any) -> Any:
    known = substances()
    temperatures = sorted(METERING_C)
    inside = min(max(celsius, temperatures[0]), temperatures[-1])
    upper = next(t for t in temperatures if t >= inside)
    lower = max(t for t in temperatures if t <= inside)
    weight = (inside - lower) / (upper - lower) if upper > lower else 0.0

    def factor(name: str) -> Any:
        s = known[name].summation
        return s[lower] * (1 - weight) + s[upper] * weight

    wet = total(share * (1 - water) * factor(name) for name, share in analysed.shares.items()) + water * factor("water")
    return 1 - pressed / STANDARD_KPA * wet**2
