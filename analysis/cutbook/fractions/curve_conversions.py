"""Turn one kind of boiling curve into another: simulated, one-plate, true boiling point."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Literal

from cutbook.model.tables import reference

Conversion = Literal["SD to D86", "SD to TBP", "D86 to TBP"]

_LEVEL_F = 0.01
"""°F by which a curve may fall and still be level: one compound over many per cent, as it is moved to and fro to learn
how its doubt carries over."""


def convert_curve(curve_c: Mapping[float, float], conversion: Conversion) -> dict[float, float]:
    """A boiling curve of another kind, outward from its middle step by step.

    Parameters
    ----------
    curve_c : recovered % -> temperature in °C; 50 % must be among them, and of the others those are used that the
        conversion has steps for (SD to D86: 0, 10, 30, 50, 70, 90, 100).
    conversion : from which kind to which.

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
    volume; the procedures take the one for the other.

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
    return {
        row["at"]: (float(row["factor"]), float(row["exponent"])) for row in rows if row["conversion"] == conversion
    }
