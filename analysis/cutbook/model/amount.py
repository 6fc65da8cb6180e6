"""Values with a standard uncertainty whose correlations survive until printing.

A thin cover over the `uncertainties` package: every measured input is a tagged variable,
so that the budget of a result can name what contributes ("weighing of oil", "blank").
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray
from uncertainties import UFloat, ufloat, wrap
from uncertainties.core import AffineScalarFunc

from cutbook.model.draws import Drawn, in_force

Amount: TypeAlias = UFloat
"""A value with its uncertainty; behaves like a number in arithmetic."""


def measured(value: float, u: float, tag: str, rectangular: bool = False) -> Amount:
    """A measured input: value, standard uncertainty (k = 1, same unit, >= 0), name for the budget.

    rectangular : whether its distribution is, which only `drawing` obeys; normal otherwise.
    """
    return drawn_or_not(measured_once(value, u, tag), rectangular)


def measured_once(value: float, u: float, tag: str) -> Amount:
    """A measured input to be kept, so that it is one variable wherever it enters; see `drawn_or_not`."""
    if not math.isfinite(value) or not math.isfinite(u) or u < 0:
        raise ValueError(f"{tag}: value {value!r} with uncertainty {u!r} is not a measurement")
    return tabulated(value, u, tag)


def drawn_or_not(variable: Amount, rectangular: bool = False) -> Amount:
    """Draws of a measured input while `drawing` lasts, alike however often it is asked for; else the input itself."""
    if (drawing := in_force()) is None or not variable.std_dev > 0:
        return variable
    drawn: Any = drawing.of(variable, rectangular)
    return drawn


def tabulated(value: float, u: float, tag: str) -> Amount:
    """A figure of a reference table with its uncertainty: one variable wherever it is used, and never drawn itself."""
    # an exact entry stays a (constant) amount: the library warns about variables without any spread
    return ufloat(value, u, tag) if u > 0 else value + 0.0 * ufloat(0.0, 1.0, tag)


def doubt(tag: str) -> Amount:
    """A correction of expectation 0 and standard uncertainty 1, to be scaled by a sensitivity."""
    return measured(0.0, 1.0, tag)


def applied(function: Callable[..., float], *amounts: Amount | float) -> Amount:
    """A function of plain numbers at amounts, with their uncertainties (first order, numerical derivatives)."""
    if (drawing := in_force()) is not None:
        drawn = [drawing.of(amount) for amount in amounts]
        value = function(*(one.nominal_value for one in drawn))
        found: Any = Drawn(
            value, np.array([function(*row) for row in zip(*(one.values for one in drawn), strict=True)]), drawing
        )
        return found
    wrapped: Amount = wrap(function)(*amounts)
    return wrapped


def nominal(amount: Amount | float) -> float:
    """The value alone."""
    return float(amount.nominal_value) if isinstance(amount, (AffineScalarFunc, Drawn)) else float(amount)


def standard_uncertainty(amount: Amount | float) -> float:
    """The standard uncertainty (k = 1); 0 for a plain number."""
    return float(amount.std_dev) if isinstance(amount, (AffineScalarFunc, Drawn)) else 0.0


def budget(amount: Amount | float) -> tuple[tuple[str, float], ...]:
    """Contribution of each named input to the standard uncertainty, largest first.

    Contributions are standard uncertainties in the unit of the result; their squares add up to
    the square of the total (inputs are independent; JCGM 100:2008, equation 10).
    """
    if not isinstance(amount, AffineScalarFunc):
        return ()
    squares: dict[str, float] = {}
    for variable, part in amount.error_components().items():
        tag = variable.tag or "unnamed"
        squares[tag] = squares.get(tag, 0.0) + float(part) ** 2
    ranked = sorted(squares.items(), key=lambda item: (-item[1], item[0]))
    # what cancels in exact arithmetic leaves a trace of rounding, which is no contribution
    least = 1e-24 * sum(squares.values())
    return tuple((tag, math.sqrt(square)) for tag, square in ranked if square > least)


def signed_parts(amount: Amount | float) -> dict[Any, float]:
    """What one standard uncertainty of each input does to an amount, with its sign; the inputs are the keys."""
    if not isinstance(amount, AffineScalarFunc):
        return {}
    return {variable: float(slope) * float(variable.std_dev) for variable, slope in amount.derivatives.items()}


def flat(amount: Any) -> Any:
    """The same amount, its inputs gathered, so that what is reckoned from it need not go through its making again."""
    if isinstance(amount, AffineScalarFunc):
        _ = amount.derivatives  # expands in place
    return amount


def total(amounts: Iterable[Any]) -> Any:
    """Sum that keeps correlations; 0.0 for nothing."""
    result: Any = 0.0
    for amount in amounts:
        result = result + amount
    return result


def covariance(amounts: Sequence[Amount | float]) -> NDArray[np.float64]:
    """Covariance of several amounts that may share inputs, shape (n, n); rows of plain numbers are 0."""
    parts = [signed_parts(amount) for amount in amounts]
    places = {variable: place for place, variable in enumerate(dict.fromkeys(v for one in parts for v in one))}
    slopes = np.zeros((len(parts), len(places)))
    for row, one in enumerate(parts):
        for variable, part in one.items():
            slopes[row, places[variable]] = part
    return slopes @ slopes.T
