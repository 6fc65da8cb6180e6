"""Correct a boiling temperature to atmospheric pressure, from a barometer's reading or from a vacuum."""

from __future__ import annotations

import math
from typing import TypeVar

from cutbook.fractions.vapour_pressure import equation_constants
from cutbook.model.tables import reference
from cutbook.model.trace import Floats
from cutbook.model.units import KELVIN, MMHG_PER_KPA

Temperature = TypeVar("Temperature", float, Floats)


def barometric_correction_c(temperature_c: Temperature, pressure_kpa: float) -> Temperature:
    """°C to add to a boiling temperature read near atmospheric pressure.

    Parameters
    ----------
    temperature_c : as read, one or many. pressure_kpa : of the barometer, above 0; meant for 70 to 110 kPa.

    Returns
    -------
    float or array, as given
        ``C = 0.0009 (101.3 - P)(273 + t)``.

    References
    ----------
    Sydney Young's equation as in ASTM D86 and ISO 3405.

    Examples
    --------
    >>> round(barometric_correction_c(200.0, 84.0), 3)
    7.365
    """
    known = {row["constant"]: float(row["value"]) for row in reference("barometric_correction").rows}
    return (known["zero"] + temperature_c) * (known["factor"] * (known["standard"] - pressure_kpa))


def neutral_watson() -> float:
    """The Watson factor at which its term of the equation vanishes."""
    return equation_constants().watson["neutral"]


def equivalent_temperature_c(temperature_c: float, pressure_kpa: float, watson_k: float | None = None) -> float:
    """The boiling temperature at 101.325 kPa of a vapour that condenses at a lower or higher pressure.

    Parameters
    ----------
    temperature_c : of the vapour. pressure_kpa : absolute, above 0; meant for 0.01 to 500 kPa.
    watson_k : Watson characterisation factor; None leaves its term out, as for a factor of 12.

    Raises
    ------
    ValueError
        Where the equation has no answer: a pressure of 0 or less, or a temperature far beyond its range.

    Notes
    -----
    ``AET = slope A / (1/T + offset A - shift)`` in K with ``A = (a - b log P)/(c - d log P)``, P in mmHg, in branches
    below 2, below 760 and from 760 mmHg. The Watson term ``1.3889 F (K - 12) log(P/760)`` is added, with F rising from
    0 at 366.5 K to 1 at 477.6 K; pure liquids settle its sign.

    References
    ----------
    Maxwell and Bonnell, Ind. Eng. Chem. 49 (1957) 1187, as in ASTM D1160 and D2892 and the API Technical Data Book,
    5A1.19; constants in ``reference/equivalent_temperature.csv``.

    Examples
    --------
    >>> round(equivalent_temperature_c(150.0, 10.0 / 760.0 * 101.325), 2)
    289.13
    """
    if pressure_kpa <= 0:
        raise ValueError(f"a pressure of {pressure_kpa:g} kPa has no equivalent temperature")
    known = equation_constants()
    pressure = pressure_kpa * MMHG_PER_KPA
    log_p = math.log10(pressure)
    branch = [one for one in known.branches if pressure >= one.lowest_mmhg][-1]
    big_a = branch.at(log_p)
    below = 1.0 / (temperature_c + KELVIN) + known.offset * big_a - known.shift
    if below <= 0 or big_a <= 0:
        raise ValueError(f"{temperature_c:g} °C at {pressure_kpa:g} kPa lies beyond the equation")
    equivalent = known.slope * big_a / below
    if watson_k is not None:
        watson = known.watson
        share = min(max(watson["intercept"] + watson["rise"] * equivalent, 0.0), 1.0)
        equivalent += watson["factor"] * share * (watson_k - watson["neutral"]) * (
            log_p - math.log10(watson["reference"])
        )  # fmt: skip
    return equivalent - KELVIN
