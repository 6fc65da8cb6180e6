"""Amounts drawn at random instead of carried to first order: the same arithmetic on many values at once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

import numpy as np
from numpy.typing import NDArray
from uncertainties.core import AffineScalarFunc

Floats = NDArray[np.float64]


class Drawing:
    """Random draws of measured inputs, so many of each, reproducible by the seed."""

    def __init__(self, draws: int, seed: int) -> None:
        self.draws = draws
        self._random = np.random.default_rng(seed)
        self._of_variable: dict[Any, Floats] = {}

    def of(self, amount: Any, rectangular: bool = False) -> Drawn:
        """Draws of an amount that was made before, from its inputs; the same input draws alike wherever it enters.

        rectangular : whether its inputs are, √3 standard uncertainties to either side; normal otherwise.
        """
        if isinstance(amount, Drawn):
            return amount
        if not isinstance(amount, AffineScalarFunc):
            return Drawn(float(amount), np.full(self.draws, float(amount)), self)
        value = float(amount.nominal_value)
        drawn = np.full(self.draws, value)
        for variable, slope in amount.derivatives.items():
            if variable.std_dev > 0:
                if variable not in self._of_variable:
                    self._of_variable[variable] = self._standard(rectangular)
                drawn += float(slope) * float(variable.std_dev) * self._of_variable[variable]
        return Drawn(value, drawn, self)

    def _standard(self, rectangular: bool) -> Floats:
        """Draws about 0 of standard deviation 1."""
        if rectangular:
            return 3**0.5 * self._random.uniform(-1.0, 1.0, self.draws)
        return self._random.standard_normal(self.draws)


_IN_FORCE: ContextVar[Drawing | None] = ContextVar("drawing", default=None)


@contextmanager
def drawing(draws: int, seed: int) -> Iterator[Drawing]:
    """While it lasts, `measured` makes draws of its inputs, and what is calculated from them is drawn.

    draws : of each input, > 0. seed : of the random numbers.
    """
    made = Drawing(draws, seed)
    token = _IN_FORCE.set(made)
    try:
        yield made
    finally:
        _IN_FORCE.reset(token)


def in_force() -> Drawing | None:
    """The drawing that is going on, None when amounts are carried to first order."""
    return _IN_FORCE.get()


class Drawn:
    """An amount as many draws; `nominal_value` is what the same arithmetic gives at the estimates of the inputs."""

    __slots__ = ("drawing", "nominal_value", "values")
    __array_ufunc__ = None  # numbers of numpy leave the arithmetic to this class
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, nominal_value: float, values: Floats, drawing: Drawing) -> None:
        self.nominal_value, self.values, self.drawing = float(nominal_value), values, drawing

    @property
    def std_dev(self) -> float:
        """Standard deviation of the draws."""
        return float(np.std(self.values, ddof=1))

    def _with(self, other: Any, operation: Callable[[Any, Any], Any], turned: bool = False) -> Drawn:
        one, two = self, self.drawing.of(other)
        if turned:
            one, two = two, one
        return Drawn(
            operation(one.nominal_value, two.nominal_value), operation(one.values, two.values), self.drawing
        )  # fmt: skip

    def __add__(self, other: Any) -> Drawn:
        return self._with(other, lambda a, b: a + b)

    __radd__ = __add__

    def __sub__(self, other: Any) -> Drawn:
        return self._with(other, lambda a, b: a - b)

    def __rsub__(self, other: Any) -> Drawn:
        return self._with(other, lambda a, b: a - b, turned=True)

    def __mul__(self, other: Any) -> Drawn:
        return self._with(other, lambda a, b: a * b)

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Drawn:
        return self._with(other, lambda a, b: a / b)

    def __rtruediv__(self, other: Any) -> Drawn:
        return self._with(other, lambda a, b: a / b, turned=True)

    def __pow__(self, other: Any) -> Drawn:
        return self._with(other, lambda a, b: a**b)

    def __neg__(self) -> Drawn:
        return Drawn(-self.nominal_value, -self.values, self.drawing)

    def __pos__(self) -> Drawn:
        return self

    def __abs__(self) -> Drawn:
        return Drawn(abs(self.nominal_value), np.abs(self.values), self.drawing)
