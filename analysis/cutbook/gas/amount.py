"""Turn gas that was metered at its temperature, pressure and humidity into moles, and into the mass of product gas."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from cutbook.gas.purge import purge_check
from cutbook.gas.substances import METERING_C, constant, molar_mass, substances
from cutbook.model.amount import Amount, applied, doubt, flat, nominal, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import InputError
from cutbook.model.gas import GasAmount, GasComposition, MeteredGas, ProductGas
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Product
from cutbook.model.units import GAS_CONSTANT, KELVIN, STANDARD_KPA

_EXPONENTS = (1.0, 1.5, 3.0, 3.5, 4.0, 7.5)
LOWEST_C, HIGHEST_C = -20.0, 100.0
"""Temperatures of a gas that is measured, in °C; the saturation equation holds from 0 °C, and below it is taken for
supercooled water."""
ACID = "hydrogen chloride"
_HELD_K = 5.0
"""How far outside its temperatures a summation factor is held without a word: it falls by 0.6 % a kelvin (methane,
0 to 20 °C), which comes to its own uncertainty of 3 % there."""


@dataclass(frozen=True)
class AmountSettings:
    """What is assumed of a measured volume.

    saturation_u : relative standard uncertainty of the water vapour in a wet gas that is taken as saturated (0.05,
        judged: gas over water in a holder that was left to settle).
    least_kpa, most_kpa : pressures outside are told, since a pressure over that of the room may be meant (60 and
        130 kPa: a room in the highest towns has 60, a bag or a meter hardly more than the room; judged).
    """

    saturation_u: float = 0.05
    least_kpa: float = 60.0
    most_kpa: float = 130.0


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


@dataclass(frozen=True, eq=False)
class GasBeside:
    """What passed the meter beside the gas that was analysed.

    purge : name and amount in mol of the purge gas that was let in, None where nobody says. acid : hydrogen chloride
    in mol that was caught after the meter and so was metered with the gas, None for none.
    """

    purge: tuple[str, Result] | None = None
    acid: Result | None = None


def gas_amount(
    product: Product,
    analysed: GasComposition,
    gas: ProductGas,
    sheet: Source,
    settings: AmountSettings = AmountSettings(),
    meter: MeteredGas | None = None,
    beside: GasBeside = GasBeside(),
) -> GasAmount:
    """How much product gas a measured volume holds.

    Parameters
    ----------
    product : entry of the run sheet, with volume, temperature and pressure, or `wet` alone beside a meter.
    analysed : the dry gas in that volume. gas : what of it is product. sheet : the run sheet, as the source of the
    entry. meter : what a series of meter readings counted, in place of the volume. beside : what else passed the meter.

    Returns
    -------
    GasAmount
        With the budget of volume, temperature, pressure, humidity, compression factor and composition. Not determined
        where more purge gas and acid were let in than passed the meter.

    Raises
    ------
    InputError
        When temperature or pressure is missing or impossible, or water would fill the gas.

    Notes
    -----
    n = p V/(Z R T); water vapour takes its saturation pressure in a wet gas. Where nobody says whether the gas is
    wet, the water is half of saturation, uncertain from none to all of it. Z as in ISO 6976:2016, in proportion to
    the pressure and with the summation factors interpolated to the temperature; outside 0 to 20 °C those of the nearer
    end are held ("gas.compression_held"). Of a meter series each part has its own temperature, pressure and water, and
    Z is that of their mean. Purge gas that the analysis does not see, and hydrogen chloride caught after the meter,
    are taken from the dry gas in mol before the composition is applied; hydrogen chloride that the analysis does see
    is taken from the product.
    """
    at = product.fraction
    parts, place, written = _measured_parts(product, meter, sheet)
    waters: list[Any] = []
    raised: list[Caution] = []
    # one doubt, however many parts the gas was measured in
    off = doubt(f"whether {at} was wet" if product.wet is None else f"saturation of {at} with water")
    for _, warm, pressed in parts:
        if not LOWEST_C <= nominal(warm) <= HIGHEST_C or nominal(pressed) <= 0:
            raise InputError.single(
                sheet.path, place, f"gas at {nominal(warm):g} °C and {nominal(pressed):g} kPa",
                f"{LOWEST_C:g} to {HIGHEST_C:g} °C and a pressure above 0",
            )  # fmt: skip
        water = _water(product.wet, warm, pressed, off, settings)
        if nominal(water) >= 1:
            raise InputError.single(
                sheet.path, place, f"wet gas at {nominal(warm):g} °C and {nominal(pressed):g} kPa: water would fill it",
                "a temperature below the boiling point of water at that pressure",
            )  # fmt: skip
        waters.append(water)
    whole: Any = total(volume for volume, _, _ in parts)
    weights = [nominal(volume) / nominal(whole) for volume, _, _ in parts]
    mean_c = sum(weight * nominal(warm) for weight, (_, warm, _) in zip(weights, parts, strict=True))
    mean_kpa: Any = total(weight * pressed for weight, (_, _, pressed) in zip(weights, parts, strict=True))
    mean_water: Any = total(weight * water for weight, water in zip(weights, waters, strict=True))
    if product.wet is None:
        saturated = 2 * nominal(mean_water)
        raised.append(caution("gas.humidity_not_stated", at, percent=round(100 * saturated, 2)))
    z = flat(_compression_factor(analysed, mean_c, mean_kpa, mean_water))
    odd = [one for _, _, pressed in parts if not settings.least_kpa <= (one := nominal(pressed)) <= settings.most_kpa]
    if odd:
        raised.append(caution("gas.pressure_unlikely", at, pressure=float(f"{odd[0]:.4g}")))
    coldest, warmest = min(METERING_C), max(METERING_C)
    if not coldest - _HELD_K <= mean_c <= warmest + _HELD_K:
        raised.append(caution("gas.compression_held", at, temperature=round(mean_c, 4), low=coldest, high=warmest))
    each = [pressed * volume / 1000 / (z * GAS_CONSTANT * (warm + KELVIN)) for volume, warm, pressed in parts]
    moles: Any = flat(total(each))
    vapour: Any = flat(total(n * water for n, water in zip(each, waters, strict=True)))
    dry = flat(moles - vapour)
    other, acid_mass, told = _beside(beside, analysed, at)
    raised += told
    check_of: Any = dry - other
    product_moles = check_of * gas.product_share - acid_mass / substances()[ACID].molar_mass
    inputs = [analysed.step, gas.step]
    inputs += [meter.step] if meter is not None else []
    inputs += [one.step for one in (beside.purge[1] if beside.purge else None, beside.acid) if one is not None]
    if nominal(check_of) <= 0:
        raised.append(
            caution("gas.less_than_let_in", at, metered=round(nominal(dry), 3), other=round(nominal(other), 3))
        )
    step = Step(
        "volume of gas to mass/3",
        inputs=tuple(inputs),
        settings={"settings": settings, **written, "wet": product.wet},
        source=Source(sheet.path, sheet.sha256, place),
        cautions=tuple(raised),
    )
    purge = None
    if beside.purge is not None:
        purge = purge_check(beside.purge[1], check_of, beside.purge[0], analysed, gas, at)
        step = Step("volume of gas, purge told/1", (step, purge.difference.step))
    total_of = Result(f"amount of {at} as measured", moles, "mol", "", step)
    water_of = Result(f"water vapour in {at}", 100 * vapour / moles, "%", "wet gas as measured", step)
    if nominal(check_of) <= 0:
        product_of = Result.missing(f"amount of product {at}", "mol", "", step, "gas.less_than_let_in")
        mass_of = Result.missing(f"mass of {at}", "g", "", step, "gas.less_than_let_in")
        return GasAmount(total_of, water_of, product_of, mass_of, purge)
    grams = check_of * gas.product_share * molar_mass(gas.shares) - acid_mass
    return GasAmount(
        total=total_of,
        water=water_of,
        product=Result(f"amount of product {at}", product_moles, "mol", "", step),
        mass=Result(f"mass of {at}", grams, "g", "", step),
        purge=purge,
    )


def _measured_parts(
    product: Product, meter: MeteredGas | None, sheet: Source
) -> tuple[list[tuple[Any, Any, Any]], str, dict[str, str]]:
    """(volume in mL, °C, kPa) of what was measured, where it stands, and as it was written."""
    at = product.fraction
    if meter is not None:
        return _alike(meter), meter.step.source.place if meter.step.source else product.place, {"meter": meter.log.file}
    volume, temperature, pressure = product.volume, product.temperature, product.pressure
    if volume is None or temperature is None or pressure is None:
        raise InputError.single(
            sheet.path, product.place, "a gas without volume, temperature and pressure", "all three of them"
        )
    if volume.value <= 0:
        raise InputError.single(sheet.path, f"{product.place}, volume", f'"{volume.text}"', "a volume above 0")
    one = (
        volume.amount(f"volume of {at}"),
        temperature.amount(f"temperature of {at}"),
        pressure.amount(f"pressure of {at}"),
    )
    written = {"volume": volume.text, "temperature": temperature.text, "pressure": pressure.text}
    return [one], product.place, written


def _alike(meter: MeteredGas) -> list[tuple[Any, Any, Any]]:
    """The parts of a meter series, those of one temperature and pressure together."""
    found: dict[tuple[float, float], list[Any]] = {}
    for part in meter.parts:
        state = round(nominal(part.temperature_c), 3), round(nominal(part.pressure_kpa), 4)
        known = found.setdefault(state, [0.0, part.temperature_c, part.pressure_kpa])
        known[0] = known[0] + part.volume_ml
    return [(volume, warm, pressed) for volume, warm, pressed in found.values()]


def _beside(beside: GasBeside, analysed: GasComposition, at: str) -> tuple[Any, Any, list[Caution]]:
    """Amount in mol that the analysis does not speak of, mass in g of acid that it does, and what is to be said."""
    other: Any = 0.0
    acid_mass: Any = 0.0
    raised: list[Caution] = []
    if beside.purge is not None:
        name, let_in = beside.purge
        if name not in analysed.shares and let_in.amount is not None:
            other = other + let_in.amount
            raised.append(caution("gas.purge_subtracted", at, gas=name, moles=round(nominal(let_in.amount), 3)))
    if beside.acid is not None and beside.acid.amount is not None:
        amount = beside.acid.amount
        grams = nominal(amount * substances()[ACID].molar_mass)
        if nominal(analysed.shares.get(ACID, 0.0)) > 0:
            acid_mass = amount * substances()[ACID].molar_mass
            raised.append(caution("gas.acid_analysed_too", at))
        else:
            other = other + amount
        raised.append(caution("gas.acid_subtracted", at, grams=round(grams, 2)))
    return other, acid_mass, raised


def _water(wet: bool | None, warm: Any, pressed: Any, off: Amount, settings: AmountSettings) -> Any:
    """Mole fraction of water vapour in the gas as measured."""
    if wet is False:
        return 0.0
    saturated = saturation_kpa(warm) / pressed
    if wet:
        return saturated * (1 + settings.saturation_u * off)
    return 0.5 * saturated + nominal(saturated) / 12**0.5 * off


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
