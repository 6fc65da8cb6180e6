"""Turn one kind of boiling curve into another: simulated, one-plate, true boiling point."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Literal, get_args

from cutbook.model.tables import reference
from cutbook.model.units import KELVIN

Conversion = Literal["SD to D86", "SD to TBP", "D86 to TBP", "TBP to D86"]
PowerLaw = Literal["SD to D86", "D86 to TBP", "TBP to D86"]

_LEVEL_F = 0.01
"""°F by which a curve may fall and still be level: one compound over many per cent, as it is moved to and fro to learn
how its doubt carries over."""


def convert_curve(curve_c: Mapping[float, float], conversion: Conversion) -> dict[float, float]:
    """A boiling curve of another kind, outward from its middle step by step.

    Parameters
    ----------
    curve_c : recovered % -> temperature in °C; 50 % must be among them, and of the others those are used that the
        conversion has steps for (SD to D86: 0, 10, 30, 50, 70, 90, 100).
    conversion : from which kind to which; "TBP to D86" is "D86 to TBP" backwards.

    Returns
    -------
    dict
        Recovered % -> °C, as far outward as the given points reach without a gap.

    Raises
    ------
    ValueError
        Without a temperature at 50 %, or where a curve falls.

    Notes
    -----
    ``T50' = a T50^b`` and ``ΔT' = a ΔT^b`` for each step, all in °F. Simulated curves are by mass, the others by
    volume; the procedures take the one for the other. Where they hold: `beyond_steps`.

    References
    ----------
    Daubert, Hydrocarbon Processing 73 (September 1994) 75; API Technical Data Book, procedures 3A1.1, 3A3.1, 3A3.2.
    """
    if 50.0 not in curve_c:
        raise ValueError("a boiling curve without its 50 % point cannot be converted")
    steps = dict(_steps(conversion))
    factor, exponent = steps.pop("50")
    fahrenheit = {recovered: 1.8 * value + 32.0 for recovered, value in curve_c.items()}
    found = {50.0: factor * fahrenheit[50.0] ** exponent}
    spans = sorted(tuple(float(end) for end in reversed(at.split("-"))) for at in steps)
    upward = [span for span in spans if span[0] >= 50.0]
    downward = [span for span in reversed(spans) if span[1] <= 50.0]
    for pieces, sign in ((upward, 1.0), (downward, -1.0)):
        for low, high in pieces:
            near, far = (low, high) if sign > 0 else (high, low)
            if near not in found or low not in fahrenheit or high not in fahrenheit:
                break
            rise = fahrenheit[high] - fahrenheit[low]
            if rise < -_LEVEL_F:
                raise ValueError(f"the curve falls between {low:g} and {high:g} %")
            rise = max(rise, 0.0)
            factor, exponent = steps[f"{high:g}-{low:g}"]
            found[far] = found[near] + sign * factor * rise**exponent
    return {recovered: (value - 32.0) / 1.8 for recovered, value in sorted(found.items())}


@cache
def _steps(conversion: Conversion) -> dict[str, tuple[float, float]]:
    """Place -> factor and exponent."""
    rows = reference("curve_conversions").rows
    if conversion == "TBP to D86":
        # T' = a T^b backwards is T = (1/a)^(1/b) T'^(1/b)
        there = _steps("D86 to TBP").items()
        return {at: ((1.0 / factor) ** (1.0 / exponent), 1.0 / exponent) for at, (factor, exponent) in there}
    return {
        row["at"]: (float(row["factor"]), float(row["exponent"])) for row in rows if row["conversion"] == conversion
    }


def beyond_steps(curve_c: Mapping[float, float], conversion: Conversion) -> tuple[str, ...]:
    """The steps of a curve ("30-10") that are wider than the conversion by steps was fitted on.

    Beyond them the steps grow faster than the curve: the 5 % point of a wide gas oil comes out 95 °C too low as a true
    boiling point. "TBP to D86" is held against its own result, since the limits are of one-plate steps.
    """
    if conversion == "TBP to D86":
        return beyond_steps(convert_curve(curve_c, conversion), "D86 to TBP")
    found = []
    for row in reference("curve_conversions").rows:
        if row["conversion"] == conversion and row["widest_c"]:
            high, low = (float(end) for end in row["at"].split("-"))
            if high in curve_c and low in curve_c and curve_c[high] - curve_c[low] > float(row["widest_c"]):
                found.append(row["at"])
    return tuple(found)


def convert_by_power_law(curve_c: Mapping[float, float], conversion: PowerLaw) -> dict[float, float]:
    """A boiling curve of another kind, each point by itself.

    Parameters
    ----------
    curve_c : recovered % -> temperature in °C; points that the conversion has no constants for are left out. "SD to
        D86" needs 10 and 50 % for the breadth of the curve.
    conversion : from which kind to which. There is none for "SD to TBP".

    Returns
    -------
    dict
        Recovered % -> °C.

    Raises
    ------
    ValueError
        For "SD to D86" without 10 or 50 %, or a conversion that has no power law.

    Notes
    -----
    ``T' = a T^b``, and for "SD to D86" ``T' = a T^b F^c`` with ``F = 0.01411 T10^0.05434 T50^0.6147``, all in K.
    Where they hold: `beyond_power_law`.

    References
    ----------
    Riazi and Daubert, Oil and Gas Journal (25 August 1986) 50; Wauquier, Petroleum Refining vol. 1, 98-104.
    """
    if conversion not in get_args(PowerLaw):
        raise ValueError(f"there is no power law from {conversion}")
    rows = {row["at"]: row for row in reference("curve_power_laws").rows if row["conversion"] == conversion}
    breadth = 1.0
    if of_breadth := rows.pop("F", None):
        if not {10.0, 50.0} <= set(curve_c):
            raise ValueError("a simulated curve without its 10 and 50 % points cannot be converted by the power law")
        light, middle = (curve_c[at] + KELVIN for at in (10.0, 50.0))
        breadth = float(of_breadth["factor"])
        breadth *= light ** float(of_breadth["exponent"]) * middle ** float(of_breadth["width_exponent"])
    found = {}
    for at, row in rows.items():
        if (recovered := float(at)) in curve_c:
            value = float(row["factor"]) * (curve_c[recovered] + KELVIN) ** float(row["exponent"])
            found[recovered] = value * breadth ** float(row["width_exponent"] or 0.0) - KELVIN
    return dict(sorted(found.items()))


def beyond_power_law(curve_c: Mapping[float, float], conversion: PowerLaw) -> tuple[float, ...]:
    """The recovered % at which a curve lies outside the temperatures that the power law was fitted on.

    "TBP to D86" has no limits of its own and is held against those of "D86 to TBP" with its own result.
    """
    if conversion == "TBP to D86":
        return beyond_power_law(convert_by_power_law(curve_c, conversion), "D86 to TBP")
    found = []
    for row in reference("curve_power_laws").rows:
        if row["conversion"] == conversion and row["low_c"] and (recovered := float(row["at"])) in curve_c:
            if not float(row["low_c"]) <= curve_c[recovered] <= float(row["high_c"]):
                found.append(recovered)
    return tuple(found)


def convert_under_vacuum(curve_c: Mapping[float, float]) -> dict[float, float]:
    """A true boiling curve from a one-plate curve, both at 10 mmHg (1.333 kPa).

    Parameters
    ----------
    curve_c : recovered % -> °C at 10 mmHg; of the points below 50 % only 10 and 30 % are used.

    Returns
    -------
    dict
        Recovered % -> °C at 10 mmHg; from 50 % on the same as given.

    References
    ----------
    Edmister and Okamoto, as in Riazi, ASTM MNL50 (2005), example 3.6, whose both steps start from the one-plate curve.
    """
    row = reference("curve_low_pressure").by("conversion")["D1160 to TBP"]
    terms = [float(row[name]) for name in ("constant", "linear", "square", "cube")]
    found = {recovered: value for recovered, value in curve_c.items() if recovered >= 50.0}
    for low, high in ((10.0, 30.0), (30.0, 50.0)):
        if low in curve_c and high in curve_c:
            step = curve_c[high] - curve_c[low]
            found[low] = curve_c[high] - sum(term * step**power for power, term in enumerate(terms))
    return dict(sorted(found.items()))
