"""Read a quantity as somebody wrote it, in bench units."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache

from cutbook.model.entered import Entered
from cutbook.model.errors import UnitError, nearest
from cutbook.model.tables import reference

_NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(
    rf"^\s*(?P<value>{_NUMBER})\s*(?P<unit>[^\d\s±+].*?)??\s*(?:(?:±|\+/-|\+-)\s*(?P<u>{_NUMBER})\s*(?P<u_unit>\D.*?)?)?\s*$"
)
_EXAMPLES = {
    "mass": "812.4 g",
    "volume": "212 L",
    "temperature": "19 °C",
    "pressure": "100.9 kPa",
    "time": "12.5 min",
    "density": "0.792 g/mL",
    "fraction": "1.2 %",
    "heating value": "45.2 MJ/kg",
    "energy": "5.1 kWh",
    "API gravity": "46.9 °API",
    "amount concentration": "0.1000 mol/L",
    "mass concentration": "35 mg/L",
    "flow": "0.5 L/min",
    "ratio": "0.985 ± 0.005",
}
_NEVER_NEGATIVE = {
    "mass", "volume", "pressure", "density", "heating value", "energy", "amount concentration",
    "mass concentration", "time", "flow", "ratio",
}  # fmt: skip
KELVIN = 273.15
"""0 °C in K, by definition (SI Brochure, 9th edition, 2.3.1)."""
ABSOLUTE_ZERO_C = -KELVIN
STANDARD_KPA = 101.325
"""The standard atmosphere, by definition; boiling points without a pressure are at it."""
MMHG_PER_KPA = 760.0 / STANDARD_KPA
GAS_CONSTANT = 8.314462618
"""J/(mol K), exact since 2019 (CODATA 2018)."""


@dataclass(frozen=True)
class Unit:
    """A unit: how it is printed, its dimension, and value in the bench unit = factor × value + offset."""

    name: str
    dimension: str
    factor: float
    offset: float


@cache
def known_units() -> dict[str, Unit]:
    """Every unit by each of its spellings."""
    found = {}
    for row in reference("units").rows:
        unit = Unit(row["unit"], row["dimension"], float(row["factor"]), float(row["offset"]))
        for name in (row["unit"], *row["aliases"].split("|")):
            if name:
                found[name] = unit
    return found


def bench_unit(dimension: str) -> str:
    """The unit in which a dimension is kept inside the program."""
    return next(u.name for u in known_units().values() if u.dimension == dimension and (u.factor, u.offset) == (1, 0))


def parse_quantity(text: object, dimension: str, file: str, place: str) -> Entered:
    """A quantity with its unit.

    Parameters
    ----------
    text : "812.4 ± 0.5 g", "812.4 g", "455 °C"; `+/-` for ±, a comma for the decimal point.
    dimension : "mass", "volume", "temperature", "pressure", "time", "density", "fraction", "heating value",
        "energy", "API gravity", "amount concentration", "mass concentration", "flow" or
        "ratio" (a fraction that may be above 1).
    file, place : where it stands, for messages.

    Returns
    -------
    Entered
        In the bench unit. Without ± the standard uncertainty is that of the last digit written, one step of it over
        √12, and `u_stated` is False.

    Raises
    ------
    UnitError
        When it is no quantity of that dimension, or outside what is possible (negative mass, below absolute zero, a
        fraction outside 0 to 1). The message shows how to write it.
    """
    example = _EXAMPLES.get(dimension, "")
    wanted = f'{_one(dimension)} with its unit, such as "{example}"'
    if not isinstance(text, str):
        shown = (
            "a number without a unit" if isinstance(text, (int, float)) and not isinstance(text, bool) else "no text"
        )
        bare = f"{text:g}" if shown.startswith("a number") and isinstance(text, (int, float)) else ""
        do = f'Write "{bare} {bench_unit(dimension)}" if that is the unit.' if bare else ""
        raise UnitError.single(file, place, f"{text!r}, {shown}", wanted, do)
    entered = _read(text, file, place, wanted)
    if entered is None:
        raise UnitError.single(file, place, f'"{text}"', wanted)
    number, u, decimals_step, unit_text = entered
    unit = _unit(unit_text, "fraction" if dimension == "ratio" else dimension, text, file, place, wanted)
    value = unit.factor * number + unit.offset
    stated = u is not None
    spread = unit.factor * (u if u is not None else decimals_step / math.sqrt(12.0))
    _possible(value, spread, dimension, text, file, place)
    return Entered(value, spread, bench_unit(unit.dimension), text.strip(), stated)


def parse_factor(text: str) -> Entered | None:
    """A condition of a run as a quantity of whatever dimension its unit has; None when it is not one (a text level)."""
    try:
        entered = _read(text, "", "", "")
    except UnitError:
        return None
    if entered is None:
        return None
    number, u, step, unit_text = entered
    unit = known_units().get(unit_text)
    if unit is None:
        return None
    spread = unit.factor * (u if u is not None else step / math.sqrt(12.0))
    return Entered(unit.factor * number + unit.offset, spread, bench_unit(unit.dimension), text.strip(), u is not None)


def _read(text: str, file: str, place: str, wanted: str) -> tuple[float, float | None, float, str] | None:
    """Number, its stated uncertainty, one step of its last digit, and the unit as written."""
    found = _QUANTITY.match(text)
    if found is None or len(text) > 200:
        return None
    written = found["value"]
    unit, u_unit = (found["unit"] or "").strip(), (found["u_unit"] or "").strip()
    if unit and u_unit and unit != u_unit:
        raise UnitError.single(
            file, place, f'"{text}", two units', "one unit for the value and its uncertainty", "Write both in one unit."
        )
    for part in (written, found["u"] or ""):
        if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", part):
            raise UnitError.single(
                file, place, f'"{part}", which may be a decimal comma or a thousands separator', wanted,
                f'Write "{part.replace(",", ".")}" or "{part.replace(",", "")}".',
            )  # fmt: skip
    number = float(written.replace(",", "."))
    mantissa = re.split("[eE]", written.replace(",", "."))
    decimals = len(mantissa[0].split(".")[1]) if "." in mantissa[0] else 0
    if len(mantissa) > 1 and abs(int(mantissa[1])) > 100:
        return None
    step = 10.0 ** (-decimals + (int(mantissa[1]) if len(mantissa) > 1 else 0))
    u = None if found["u"] is None else float(found["u"].replace(",", "."))
    if not math.isfinite(number) or (u is not None and not math.isfinite(u)) or not math.isfinite(step):
        return None
    return number, u, step, unit or u_unit


def _unit(written: str, dimension: str, text: str, file: str, place: str, wanted: str) -> Unit:
    units = known_units()
    if not written:
        if dimension == "fraction":
            return units["1"]
        number = text.strip()
        raise UnitError.single(
            file,
            place,
            f'"{number}", no unit',
            wanted,
            f'Write "{number} {bench_unit(dimension)}" if that is the unit.',
        )
    unit = units.get(written)
    if unit is None:
        known = sorted({u.name for u in units.values() if u.dimension == dimension})
        near = nearest(written, sorted(units))
        raise UnitError.single(
            file, place, f'"{text}", unknown unit "{written}"', f"one of {', '.join(known)}",
            f'Did you mean "{near}"?' if near else "",
        )  # fmt: skip
    if unit.dimension != dimension:
        do = {
            ("mass", "volume"): "Give the volume as volume, with a density (or, for a gas, temperature and pressure).",
            ("volume", "mass"): "Give the mass as mass.",
            ("fraction", "mass concentration"): "Divide by the density to get mg/kg.",
        }.get((dimension, unit.dimension), "")
        raise UnitError.single(file, place, f'"{text}", {_one(unit.dimension)}', wanted, do)
    return unit


def _one(dimension: str) -> str:
    """A dimension with its article: "a mass", "an energy"."""
    return f"{'an' if dimension[0] in 'aeiouA' else 'a'} {dimension}"


def _possible(value: float, u: float, dimension: str, text: str, file: str, place: str) -> None:
    if u < 0:
        raise UnitError.single(file, place, f'"{text}", a negative uncertainty', "an uncertainty of 0 or more")
    if dimension in _NEVER_NEGATIVE and value < 0:
        raise UnitError.single(file, place, f'"{text}", a negative {dimension}', f"{_one(dimension)} of 0 or more")
    if dimension == "temperature" and value < ABSOLUTE_ZERO_C:
        raise UnitError.single(
            file, place, f'"{text}", below absolute zero', f"a temperature above {ABSOLUTE_ZERO_C} °C"
        )
    if dimension == "fraction" and not 0 <= value <= 1:
        raise UnitError.single(file, place, f'"{text}", outside 0 to 100 %', "a share between 0 and 100 %")
