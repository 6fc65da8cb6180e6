"""The correlations of petroleum fractions: density, boiling points, molar mass, hydrogen, cetane index, flash, heat.

Plain arithmetic on floats; where a correlation may be used and how far it is good is in `fuel_properties`.
"""

from __future__ import annotations

import math
from functools import cache

from cutbook.model.amount import nominal
from cutbook.model.atoms import atomic_mass
from cutbook.model.tables import reference
from cutbook.model.units import KELVIN

_MJ_KG_PER_BTU_LB = 2.326e-3


@cache
def water_g_ml() -> float:
    """Density of water at 60 °F, to which relative densities refer."""
    return float(reference("oil_constants").by("name")["density of water at 60 °F"]["value"]) / 1000.0


@cache
def carbon_to_hydrogen() -> float:
    """How many times as much an atom of carbon weighs as one of hydrogen."""
    return nominal(atomic_mass("C")) / nominal(atomic_mass("H"))


def specific_gravity(density_15_g_ml: float) -> float:
    """Relative density at 60/60 °F from the density at 15 °C (60 °F is 15.56 °C: the difference is below 0.05 %)."""
    return density_15_g_ml / water_g_ml()


def api_gravity(sg: float) -> float:
    """Degrees API from the relative density at 60/60 °F.

    Examples
    --------
    >>> round(api_gravity(0.75), 3)
    57.167
    """
    return 141.5 / sg - 131.5


def gravity_of_api(api: float) -> float:
    """Relative density at 60/60 °F from degrees API: the inverse of `api_gravity`."""
    return 141.5 / (api + 131.5)


def density_15_g_ml(sg: float) -> float:
    """Density at 15 °C in g/mL from the relative density at 60/60 °F: the inverse of `specific_gravity`."""
    return sg * water_g_ml()


def volume_average_boiling_c(t10: float, t30: float, t50: float, t70: float, t90: float) -> float:
    """Volume average boiling point in °C: the mean of five points of a one-plate curve in °C."""
    return (t10 + t30 + t50 + t70 + t90) / 5.0


def weight_average_boiling_c(t10: float, t30: float, t50: float, t70: float, t90: float) -> float:
    """Weight average boiling point in °C, likewise.

    References
    ----------
    Riazi, ASTM MNL50 (2005), equations 3.7 to 3.11 (from memory, as are the molar and the cubic average). The form in
    °C of their mean average agrees with the one in °F, which was seen, within 0.01 °C.
    """
    volume, slope = volume_average_boiling_c(t10, t30, t50, t70, t90), _slope_c(t10, t90)
    return volume + math.exp(-3.64991 - 0.02706 * max(volume, 0.0) ** 0.6667 + 5.163875 * slope**0.25)


def molar_average_boiling_c(t10: float, t30: float, t50: float, t70: float, t90: float) -> float:
    """Molar average boiling point in °C, likewise."""
    volume, slope = volume_average_boiling_c(t10, t30, t50, t70, t90), _slope_c(t10, t90)
    return volume - math.exp(-1.15158 - 0.01181 * max(volume, 0.0) ** 0.6667 + 3.70612 * slope**0.333)


def cubic_average_boiling_c(t10: float, t30: float, t50: float, t70: float, t90: float) -> float:
    """Cubic average boiling point in °C, likewise."""
    volume, slope = volume_average_boiling_c(t10, t30, t50, t70, t90), _slope_c(t10, t90)
    return volume - math.exp(-0.82368 - 0.08997 * max(volume, 0.0) ** 0.45 + 2.45679 * slope**0.45)


def _slope_c(t10: float, t90: float) -> float:
    """°C a %, never below a level curve."""
    return max((t90 - t10) / 80.0, 0.0)


def mean_average_boiling_c(t10: float, t30: float, t50: float, t70: float, t90: float) -> float:
    """Mean average boiling point in °C from five points of a one-plate curve in °C.

    References
    ----------
    Riazi, Characterization and Properties of Petroleum Fractions, ASTM MNL50 (2005), example 3-1.
    """
    points = [1.8 * t + 32.0 for t in (t10, t30, t50, t70, t90)]
    volume_average = sum(points) / 5.0
    slope = max((points[4] - points[0]) / 80.0, 0.0)
    lower = math.exp(-0.94402 - 0.00865 * max(volume_average - 32.0, 0.0) ** 0.6667 + 2.99791 * slope**0.333)
    return (volume_average - lower - 32.0) / 1.8


def watson_k(boiling_c: float, sg: float) -> float:
    """Watson characterisation factor, ``(1.8 T)^(1/3) / SG`` with T in K."""
    return float((1.8 * (boiling_c + KELVIN)) ** (1.0 / 3.0) / sg)


def gravity_of_watson_k(boiling_c: float, k: float) -> float:
    """Relative density at 60/60 °F from mean boiling point and Watson factor: the inverse of `watson_k`."""
    return watson_k(boiling_c, 1.0) / k


def hydrogen_carbon_ratio(boiling_c: float, sg: float) -> float:
    """Atoms of hydrogen an atom of carbon, from mean boiling point and relative density.

    References
    ----------
    Riazi and Daubert, Ind. Eng. Chem. Process Des. Dev. 25 (1986) 1009, as extended to C6 to C50 in Riazi, ASTM MNL50
    (2005), section 2.6.3, whose example (n-tetradecylbenzene) gives 1.70.

    Examples
    --------
    >>> round(hydrogen_carbon_ratio(627.0 - 273.15, 0.8587), 2)
    1.7
    """
    t = boiling_c + KELVIN
    by_mass = 8.7743e-10 * math.exp(7.176e-3 * t + 30.06242 * sg - 7.35e-3 * t * sg) * t**-0.98445 * sg**-18.2753
    return float(carbon_to_hydrogen() / by_mass)


def atoms_of_hydrogen(hydrogen: float, carbon: float) -> float:
    """Atoms of hydrogen an atom of carbon, from the shares of both by mass."""
    return hydrogen / carbon * carbon_to_hydrogen()


def hydrogen_percent(ratio: float) -> float:
    """Hydrogen in % by mass of a hydrocarbon, from its atoms of hydrogen an atom of carbon.

    Examples
    --------
    >>> round(hydrogen_percent(2.0), 2)
    14.37
    """
    return 100.0 * ratio / (carbon_to_hydrogen() + ratio)


def molar_mass(boiling_c: float, sg: float) -> float:
    """Molar mass in g/mol from mean boiling point and relative density (API Technical Data Book, 2B2.1)."""
    t = boiling_c + KELVIN
    return float(42.965 * math.exp(2.097e-4 * t - 7.78712 * sg + 2.08476e-3 * t * sg) * t**1.26007 * sg**4.98308)


def cetane_index_four(density_15_g_ml: float, t10: float, t50: float, t90: float) -> float:
    """Cetane index by four variables (ASTM D4737 A, ISO 4264); temperatures of a one-plate curve in °C."""
    dense = 1000.0 * density_15_g_ml - 850.0
    b = math.exp(-0.0035 * dense) - 1.0
    n10, n50, n90 = t10 - 215.0, t50 - 260.0, t90 - 310.0
    return (
        45.2 + 0.0892 * n10 + (0.131 + 0.901 * b) * n50 + (0.0523 - 0.42 * b) * n90
        + 0.00049 * (n10**2 - n90**2) + 107.0 * b + 60.0 * b**2
    )  # fmt: skip


def cetane_index_two(density_15_g_ml: float, t50: float) -> float:
    """Cetane index by two variables (ASTM D976)."""
    d = density_15_g_ml
    return 454.74 - 1641.416 * d + 774.74 * d**2 - 0.554 * t50 + 97.803 * math.log10(t50) ** 2


def flash_point_c(t10: float) -> float:
    """Closed-cup flash point in °C from the 10 % point of a one-plate curve (API Technical Data Book, 2B7.1)."""
    return (0.69 * (1.8 * t10 + 32.0) - 118.2 - 32.0) / 1.8


def gross_heat_mj_kg(api: float) -> float:
    """Gross heat of combustion in MJ/kg from degrees API (API Technical Data Book, 14A1.3)."""
    return _MJ_KG_PER_BTU_LB * (17672.0 + 66.6 * api - 0.316 * api**2 - 0.0014 * api**3)


def net_heat_mj_kg(api: float) -> float:
    """Net heat of combustion in MJ/kg, likewise."""
    return _MJ_KG_PER_BTU_LB * (16796.0 + 54.5 * api - 0.217 * api**2 - 0.0019 * api**3)
