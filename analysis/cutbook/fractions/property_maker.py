"""Make properties out of known quantities, each within the range of its correlation."""

from __future__ import annotations

from collections.abc import Callable

from cutbook.fractions.method_ranges import ranges_of
from cutbook.model.amount import Amount, applied, doubt, nominal
from cutbook.model.lineage import Step
from cutbook.model.properties import Property
from cutbook.model.result import Result

OF_DENSITY = ("density", "sg", "api")
"""Quantities that rest on the density."""
DENSITY_ESTIMATED = "density estimated"
"""What a method adds when the density that went into it was an estimate."""


class PropertyMaker:
    """Makes properties from the quantities known so far.

    of : what they are of. step : their lineage. known : quantity -> amount, in the units of `property_equations`.
    density_estimated : whether the density among them is an estimate.
    """

    def __init__(self, of: str, step: Step, known: dict[str, Amount], density_estimated: bool = False) -> None:
        self.of, self.step, self.known, self.density_estimated = of, step, known, density_estimated

    def derive(self, name: str, equation: Callable[..., float], *inputs: str) -> None:
        """A further quantity, where its inputs are known."""
        if all(key in self.known for key in inputs):
            self.known[name] = applied(equation, *(self.known[key] for key in inputs))

    def given(self, key: str, unit: str, method: str, name: str = "", estimate: bool = True) -> Property:
        """A known quantity as a property."""
        name, inputs = name or key, (key,)
        result = self._result(name, unit, self.known.get(key), self._lacking(inputs))
        return Property(name, result, estimate, self._told(method, inputs))

    def by(
        self,
        name: str,
        equation: Callable[..., float],
        inputs: tuple[str, ...],
        unit: str,
        method: str,
        u_share: float = 0.0,
        u_value: float = 0.0,
    ) -> Property:
        """A property by a correlation, within its range, with the doubt of the correlation itself.

        u_share, u_value : standard uncertainty of the correlation, as a share of the value and in its unit.
        """
        reason = self._lacking(inputs)
        amount: Amount | None = None
        if not reason and not self._within(name):
            reason = "properties.outside_range"
        if not reason:
            amount = applied(equation, *(self.known[key] for key in inputs))
            spread = u_value + u_share * abs(nominal(amount))
            if spread:
                amount = amount + spread * doubt(f"correlation {method}")
        return Property(name, self._result(name, unit, amount, reason), True, self._told(method, inputs))

    def missing(self, name: str, unit: str, method: str, reason: str) -> Property:
        """A property that cannot be had, and why."""
        return Property(name, self._result(name, unit, None, reason), True, method)

    def _within(self, name: str) -> bool:
        """Whether all that is known lies in the range of a correlation; what is not known restricts nothing."""
        limits = ranges_of(name).items()
        return all(low <= nominal(self.known[key]) <= high for key, (low, high) in limits if key in self.known)

    def _lacking(self, inputs: tuple[str, ...]) -> str:
        if any(key in OF_DENSITY and key not in self.known for key in inputs):
            return "properties.no_density"
        return "" if all(key in self.known for key in inputs) else "properties.curve_too_short"

    def _told(self, method: str, inputs: tuple[str, ...]) -> str:
        rests = self.density_estimated and any(key in OF_DENSITY for key in inputs) and inputs != ("density",)
        return f"{method}; {DENSITY_ESTIMATED}" if rests else method

    def _result(self, name: str, unit: str, amount: Amount | None, reason: str) -> Result:
        measurand = name.replace("_", " ")
        if amount is None:
            return Result.missing(measurand, unit, self.of, self.step, reason)
        return Result(measurand, amount, unit, self.of, self.step)
