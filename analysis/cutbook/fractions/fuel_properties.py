"""Estimate the properties of a liquid from its boiling curve and its density."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import uncertainties

from cutbook.fractions import property_equations as equations
from cutbook.fractions.curve_conversions import convert_curve
from cutbook.fractions.method_ranges import ranges_of
from cutbook.model.amount import Amount, doubt, measured, nominal
from cutbook.model.boiling import BoilingCurve
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Source, Step
from cutbook.model.properties import Property
from cutbook.model.result import Result
from cutbook.model.run import Product

ONE_PLATE = (10.0, 30.0, 50.0, 70.0, 90.0)


@dataclass(frozen=True)
class PropertySettings:
    """How far the correlations are trusted, as standard uncertainties of the method.

    u_one_plate_c : of a one-plate temperature converted from a simulated one; 3 °C, since the measured pairs of
        curves that the procedure was tried on differ by up to twice that.
    u_density : of a density given without one, as a share; a hydrometer reads to half a unit of the third decimal.
    u_molar_mass, u_heat : as a share; u_flash_c in °C; u_cetane in cetane numbers. Pure compounds differ from the
        correlations by up to 5 %, 1.5 %, 10 °C, which is taken as twice the standard uncertainty.
    widest_c : °C between 10 and 90 % up to which the steps of the conversion were fitted, by and large; what is wider
        carries a caution (common practice, no source).
    """

    u_one_plate_c: float = 3.0
    u_density: float = 0.0005
    u_molar_mass: float = 0.025
    u_heat: float = 0.0075
    u_flash_c: float = 5.0
    u_cetane: float = 2.0
    widest_c: float = 150.0


def fuel_properties(
    of: str,
    curve: BoilingCurve,
    product: Product | None,
    sheet: Source,
    settings: PropertySettings = PropertySettings(),
) -> tuple[tuple[Property, ...], Step]:
    """What follows from the curve of a sample and the density of its product.

    Parameters
    ----------
    of : name of the sample. curve : its boiling curve.
    product : of the run sheet, with its density where it was measured; taken as at 15 °C. sheet : the run sheet.
    settings : see `PropertySettings`.

    Returns
    -------
    properties, step
        Each property with its uncertainty, or missing with the reason: no density, a curve that does not reach far
        enough, or a value outside the range of the correlation.

    Notes
    -----
    One-plate temperatures are converted from the simulated curve (API Technical Data Book, 3A3.2); mean boiling
    point, cetane index and flash point are made from them.
    """
    step = Step(
        "estimate properties/1", inputs=(curve.step,), settings={"settings": settings},
        source=Source(sheet.path, sheet.sha256, f"{product.place}, density" if product is not None else "density"),
    )  # fmt: skip
    known: dict[str, Amount] = {}
    if product is not None and product.density is not None:
        entered = product.density
        u = entered.u or settings.u_density * entered.value
        known["density"] = measured(entered.value, u, f"density of {product.fraction}")
    known |= _one_plate(curve, settings)
    make = _Maker(of, step, known)
    found = [make.given("density", "g/mL", "measured", estimate=False)]
    for point in ("10", "50", "90"):
        found.append(make.given(point, "°C", "converted from the simulated curve", name=f"one_plate_{point}"))
    make.derive("sg", equations.specific_gravity, "density")
    make.derive("api", equations.api_gravity, "sg")
    make.derive("mean", equations.mean_average_boiling_c, *(f"{p:g}" for p in ONE_PLATE))
    found += [
        make.given("api", "°API", "by definition, from the density", name="api_gravity"),
        make.given("mean", "°C", "ASTM MNL50", name="mean_average_boiling_point"),
        make.by("watson_k", equations.watson_k, ("mean", "sg"), "1", "by definition", 0.0, 0.0),
        make.by("molar_mass", equations.molar_mass, ("mean", "sg"), "g/mol", "API 2B2.1",
                settings.u_molar_mass, 0.0),
        make.by("cetane_index_four_variables", equations.cetane_index_four, ("density", "10", "50", "90"), "1",
                "ASTM D4737 A", 0.0, settings.u_cetane),
        make.by("cetane_index_two_variables", equations.cetane_index_two, ("density", "50"), "1", "ASTM D976",
                0.0, settings.u_cetane),
        make.by("flash_point", equations.flash_point_c, ("10",), "°C", "API 2B7.1, closed cup", 0.0,
                settings.u_flash_c),
        make.by("gross_heat_of_combustion", equations.gross_heat_mj_kg, ("api",), "MJ/kg", "API 14A1.3",
                settings.u_heat, 0.0),
        make.by("net_heat_of_combustion", equations.net_heat_mj_kg, ("api",), "MJ/kg", "API 14A1.3",
                settings.u_heat, 0.0),
    ]  # fmt: skip
    raised = _cautions(of, curve, known, found, settings)
    told = Step(step.operation, step.inputs, step.settings, step.source, tuple(raised))
    return tuple(found), told


def _one_plate(curve: BoilingCurve, settings: PropertySettings) -> dict[str, Amount]:
    """Temperatures of a one-plate curve, as far as the simulated one reaches."""
    points = {p.recovered: p.temperature.amount for p in curve.points if p.recovered in ONE_PLATE}
    there = {recovered: amount for recovered, amount in points.items() if amount is not None}
    if 50.0 not in there:
        return {}
    order = sorted(there)
    reached = sorted(convert_curve({p: nominal(there[p]) for p in order}, "SD to D86"))
    method = doubt("conversion to a one-plate curve")
    found = {}
    for at in reached:

        def converted(*values: float, at: float = at) -> float:
            return convert_curve(dict(zip(order, values, strict=True)), "SD to D86")[at]

        amount = uncertainties.wrap(converted)(*(there[p] for p in order))
        found[f"{at:g}"] = amount + settings.u_one_plate_c * method
    return found


class _Maker:
    """Makes properties from the quantities known so far."""

    def __init__(self, of: str, step: Step, known: dict[str, Amount]) -> None:
        self.of, self.step, self.known = of, step, known

    def derive(self, name: str, equation: Callable[..., float], *inputs: str) -> None:
        """A further quantity, where its inputs are known."""
        if all(key in self.known for key in inputs):
            self.known[name] = uncertainties.wrap(equation)(*(self.known[key] for key in inputs))

    def given(self, key: str, unit: str, method: str, name: str = "", estimate: bool = True) -> Property:
        """A known quantity as a property."""
        name = name or key
        return Property(name, self._result(name, unit, self.known.get(key), self._lacking((key,))), estimate, method)

    def by(
        self,
        name: str,
        equation: Callable[..., float],
        inputs: tuple[str, ...],
        unit: str,
        method: str,
        u_share: float,
        u_value: float,
    ) -> Property:
        """A property by a correlation, within its range, with the doubt of the correlation itself."""
        reason = self._lacking(inputs)
        amount: Amount | None = None
        if not reason and any(
            not low <= nominal(self.known[key]) <= high for key, (low, high) in ranges_of(name).items()
        ):
            reason = "properties.outside_range"
        if not reason:
            amount = uncertainties.wrap(equation)(*(self.known[key] for key in inputs))
            spread = u_value + u_share * abs(nominal(amount))
            if spread:
                amount = amount + spread * doubt(f"correlation {method}")
        return Property(name, self._result(name, unit, amount, reason), True, method)

    def _lacking(self, inputs: tuple[str, ...]) -> str:
        if any(key in ("density", "sg", "api") and key not in self.known for key in inputs):
            return "properties.no_density"
        return "" if all(key in self.known for key in inputs) else "properties.curve_too_short"

    def _result(self, name: str, unit: str, amount: Amount | None, reason: str) -> Result:
        measurand = name.replace("_", " ")
        if amount is None:
            return Result.missing(measurand, unit, self.of, self.step, reason)
        return Result(measurand, amount, unit, self.of, self.step)


def _cautions(
    of: str, curve: BoilingCurve, known: dict[str, Amount], found: list[Property], settings: PropertySettings
) -> list[Caution]:
    raised: list[Caution] = []
    reasons = {one.result.reason for one in found}
    if any(one.estimate and one.result.value is not None for one in found):
        raised.append(caution("properties.estimates", of))
    if "properties.no_density" in reasons:
        raised.append(caution("properties.no_density", of))
    if "properties.curve_too_short" in reasons:
        raised.append(caution("properties.curve_too_short", of))
    if outside := [one.name.replace("_", " ") for one in found if one.result.reason == "properties.outside_range"]:
        raised.append(caution("properties.outside_range", of, names=", ".join(outside)))
    if "10" in known and "90" in known and nominal(known["90"]) - nominal(known["10"]) > settings.widest_c:
        wide = round(nominal(known["90"]) - nominal(known["10"]))
        raised.append(caution("properties.wide_cut", of, wide=wide, limit=settings.widest_c))
    flash = next(one.result for one in found if one.name == "flash_point")
    if flash.value is not None and flash.value - 2.0 * (flash.u or 0.0) <= ranges_of("flammable_liquid")["flash"][1]:
        raised.append(caution("safety.flash_estimate", of, flash=round(flash.value)))
    elif curve.at(10.0).reason == "boiling.before_ladder" or (
        "10" in known and nominal(known["10"]) < ranges_of("flash_point")["10"][0]
    ):  # what boils lower flashes lower still
        raised.append(caution("safety.flash_below_range", of))
    return raised
