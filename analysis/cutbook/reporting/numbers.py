"""Write a value and its uncertainty as they may be printed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from cutbook.model.result import Result

NOT_DETERMINED = "not determined"
MINUS = "\N{MINUS SIGN}"
COVERAGE_FACTOR = 2.0


@dataclass(frozen=True)
class OutputSettings:
    """How results are written.

    decimal : "point" or "comma", in figures, page and peaks.csv; point because it is what scripts read.
        results.json always has points (JSON knows nothing else); a spreadsheet shows its owner's own sign.
    pdf : also write report.pdf; off because it needs the extra `pdf`.
    """

    decimal: Literal["point", "comma"] = "point"
    pdf: bool = False


AS_WRITTEN = OutputSettings()
"""The default: decimal point, no PDF."""


def decimals(u: float) -> int:
    """Decimal places to which a number with uncertainty u may be printed; negative for tens, hundreds.

    Two significant digits of u are kept where they read 10 to 24, else one, so that rounding never changes
    u by more than a fifth (JCGM 100:2008, 7.2.6: at most two digits).

    Examples
    --------
    >>> decimals(0.018), decimals(0.31), decimals(2.6), decimals(140.0)
    (3, 1, 0, -1)
    """
    if not (math.isfinite(u) and u > 0):
        raise ValueError(f"uncertainty {u!r} is not a positive number")
    exponent = math.floor(math.log10(u))
    leading = round(u / 10.0 ** (exponent - 1), 6)
    if leading >= 99.5:  # 0.996 is printed as 1.0
        exponent, leading = exponent + 1, 10.0
    return (1 if leading < 24.5 else 0) - exponent


def places(value: float, u: float | None, unit: str = "") -> int:
    """Decimal places for a value: those of its u; percentages no finer than hundredths unless u is smaller still.

    A value without an uncertainty is given to three significant digits.
    """
    if u is None or u <= 0:
        if value == 0 or not math.isfinite(value):
            return 1
        return max(0, min(6, 2 - math.floor(math.log10(abs(value)))))
    fine = decimals(u)
    if unit == "%" and fine > 2 and round(u, 2) > 0:
        return 2
    return fine


def figure(value: float, digits: int, settings: OutputSettings = AS_WRITTEN) -> str:
    """A number at a given number of decimal places, true minus sign, decimal sign as selected."""
    rounded = round(value, digits)
    text = f"{rounded if rounded != 0 else 0.0:.{max(digits, 0)}f}".replace("-", MINUS)
    return text.replace(".", ",") if settings.decimal == "comma" else text


def value_text(result: Result, settings: OutputSettings = AS_WRITTEN) -> str:
    """The value alone, without unit, no finer than its expanded uncertainty."""
    if result.value is None:
        if result.status == "below limit" and result.limit is not None:
            return f"< {figure(result.limit, places(result.limit, None), settings)}"
        return NOT_DETERMINED
    return figure(result.value, places(result.value, expanded(result), result.unit), settings)


def expanded(result: Result) -> float | None:
    """Expanded uncertainty U = k u with k = 2; None where there is none."""
    return None if result.u is None else COVERAGE_FACTOR * result.u


def expanded_text(result: Result, settings: OutputSettings = AS_WRITTEN) -> str:
    """U (k = 2) alone, "" where none can be given."""
    wide = expanded(result)
    if result.value is None or not wide:
        return ""
    return figure(wide, places(result.value, wide, result.unit), settings)


def unit_name(unit: str) -> str:
    """A unit as printed: "" for a pure number, which results call "1"; m³ for their m3."""
    return "" if unit == "1" else unit.replace("m3", "m³")


def unit_text(unit: str) -> str:
    """A unit after its number: a no-break space before it, nothing for a pure number."""
    name = unit_name(unit)
    return f"\N{NO-BREAK SPACE}{name}" if name else ""


def with_uncertainty(result: Result, settings: OutputSettings = AS_WRITTEN) -> str:
    """Value ± U with unit as printed: "49.5 ± 0.6 %" (k = 2); "not determined" where there is none."""
    value, wide = value_text(result, settings), expanded_text(result, settings)
    if result.value is None and result.status == "not determined":
        return value
    if not wide:
        return value + unit_text(result.unit)
    gap = "\N{NO-BREAK SPACE}"
    return f"{value}{gap}±{gap}{wide}{unit_text(result.unit)}"


def plain(value: float, digits: int = 4, settings: OutputSettings = AS_WRITTEN) -> str:
    """A number that has no uncertainty of its own, to so many significant digits: settings, limits, facts."""
    if not math.isfinite(value):
        return str(value)
    if value == 0:
        return "0"
    fine = digits - 1 - math.floor(math.log10(abs(value)))
    text = figure(value, fine, settings)
    sign = "," if settings.decimal == "comma" else "."
    return text.rstrip("0").rstrip(sign) if sign in text else text
