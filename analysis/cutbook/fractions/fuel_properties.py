"""Estimate the properties of a liquid from its boiling curve and its density."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cutbook.fractions import property_equations as equations
from cutbook.fractions.curve_conversions import convert_curve
from cutbook.fractions.measured_properties import with_measured
from cutbook.fractions.method_ranges import ranges_of
from cutbook.fractions.property_maker import PropertyMaker
from cutbook.model.amount import Amount, applied, doubt, measured, nominal, standard_uncertainty
from cutbook.model.boiling import BoilingCurve
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Source, Step
from cutbook.model.properties import Property, WatsonFactor
from cutbook.model.result import Result
from cutbook.model.run import Product

ONE_PLATE = (10.0, 30.0, 50.0, 70.0, 90.0)


@dataclass(frozen=True)
class PropertySettings:
    """How far the correlations are trusted, as standard uncertainties of the method.

    u_one_plate_c : of a one-plate temperature converted from a simulated one; 3 °C, since the measured pairs of
        curves that the procedure was tried on differ by up to twice that.
    u_density : of a density written without one, as a share; a hydrometer reads to half a unit of the third decimal,
        however many are written down.
    u_average_c : °C, of an average boiling point by weight, by moles or cubic, from the curves behind its correlation.
    u_molar_mass, u_heat : as a share; u_flash_c in °C; u_cetane in cetane numbers. Pure compounds differ from the
        correlations by up to 5 %, 1.5 %, 10 °C, which is taken as twice the standard uncertainty.
    u_hydrogen_carbon : of the atoms of hydrogen an atom of carbon; the correlation lies within 0.1 of pure alkanes and
        alkylbenzenes, 0.2 below cycloalkanes and up to 0.3 above light alkenes, of which cracked plastic holds many.
    u_watson_cut : of the Watson factor of a cut, which is taken for that of the whole sample; the n-alkanes alone drift
        by 0.4 from n-C10 to n-C20.
    widest_c : °C between 10 and 90 % up to which the steps of the conversion were fitted, by and large; what is wider
        carries a caution (common practice, no source).
    least_cut : % of the sample that a cut must hold for its properties to be given; the curve has a point every 1 %.
    """

    u_one_plate_c: float = 3.0
    u_density: float = 0.0005
    u_average_c: float = 2.0
    u_molar_mass: float = 0.025
    u_heat: float = 0.0075
    u_flash_c: float = 5.0
    u_cetane: float = 2.0
    u_hydrogen_carbon: float = 0.15
    u_watson_cut: float = 0.3
    widest_c: float = 150.0
    least_cut: float = 3.0


def fuel_properties(
    of: str,
    curve: BoilingCurve,
    product: Product | None,
    sheet: Source,
    watson: WatsonFactor | None,
    settings: PropertySettings = PropertySettings(),
) -> tuple[tuple[Property, ...], Step]:
    """What follows from the curve of a sample and the density of its product.

    Parameters
    ----------
    of : name of the sample. curve : its boiling curve.
    product : of the run sheet, with its density where it was measured; taken as at 15 °C. sheet : the run sheet.
    watson : from which the density is estimated where none was measured; None leaves it, and what hangs on it, open.
    settings : see `PropertySettings`.

    Returns
    -------
    properties, step
        Each property with its uncertainty, or missing with the reason: no density, a curve that does not reach far
        enough, a value outside the range of the correlation, or a Watson factor that was put in.

    Notes
    -----
    One-plate temperatures are converted from the simulated curve (API Technical Data Book, 3A3.2); average boiling
    points, cetane index and flash point are made from them. A density that was not measured is that of the Watson
    factor at the mean average boiling point.
    """
    place = Source(sheet.path, sheet.sha256, f"{product.place}, density" if product is not None else "density")
    density = measured_density(product, settings)
    known = one_plate(curve, settings)
    mean = mean_average(known)
    used = watson if density is None and mean is not None else None
    step = Step(
        "estimate properties/2", inputs=(curve.step, *([used.step] if used is not None else [])),
        settings={"settings": settings}, source=place,
    )  # fmt: skip
    if density is not None:
        known["density"] = density
    elif used is not None and mean is not None:
        known["density"] = density_of(used, mean)
    found = all_properties(of, step, known, used, settings)
    if too_light(curve):
        found = tuple(without_curve(one, "properties.outside_range") for one in found)
    found, gaps = with_measured(of, found, product)
    raised = [*_cautions(of, curve, known, found, used, settings), *gaps]
    told = Step(step.operation, step.inputs, step.settings, step.source, tuple(raised))
    return found, told


def all_properties(
    of: str, step: Step, known: dict[str, Amount], watson: WatsonFactor | None, settings: PropertySettings
) -> tuple[Property, ...]:
    """Every property that follows from what is known.

    of : what they are of. step : their lineage.
    known : one-plate temperatures by recovered % and "density", as far as there are any; what follows is added.
    watson : the factor from which the density was estimated, None for a density that was measured.
    """
    make = PropertyMaker(of, step, known, watson is not None)
    points = tuple(f"{p:g}" for p in ONE_PLATE)
    factor = f"Watson factor {nominal(watson.amount):.3g}, {watson.origin}" if watson is not None else "measured"
    if (mean := mean_average(known)) is not None:
        known["mean"] = mean
    make.derive("sg", equations.specific_gravity, "density")
    make.derive("api", equations.api_gravity, "sg")
    make.derive("watson", equations.watson_k, "mean", "sg")
    found = [make.given("density", "g/mL", factor, estimate=watson is not None)]
    for point in ("10", "50", "90"):
        found.append(make.given(point, "°C", "converted from the simulated curve", name=f"one_plate_{point}"))
    ratio = make.by("hydrogen_carbon_ratio", equations.hydrogen_carbon_ratio, ("mean", "sg"), "1", "ASTM MNL50, 2.6.3",
                    u_value=settings.u_hydrogen_carbon)  # fmt: skip
    of_ratio = "from the atoms of hydrogen and carbon"
    if ratio.result.amount is None:
        hydrogen = make.missing("hydrogen", "%", of_ratio, ratio.result.reason)
    else:
        make.known["ratio"] = ratio.result.amount
        hydrogen = make.by("hydrogen", equations.hydrogen_percent, ("ratio",), "%", of_ratio)
    return tuple(found) + (
        make.given("api", "°API", "by definition, from the density", name="api_gravity"),
        make.by("volume_average_boiling_point", equations.volume_average_boiling_c, points, "°C", "by definition"),
        make.by("weight_average_boiling_point", equations.weight_average_boiling_c, points, "°C", "ASTM MNL50",
                u_value=settings.u_average_c),
        make.by("molar_average_boiling_point", equations.molar_average_boiling_c, points, "°C", "ASTM MNL50",
                u_value=settings.u_average_c),
        make.by("cubic_average_boiling_point", equations.cubic_average_boiling_c, points, "°C", "ASTM MNL50",
                u_value=settings.u_average_c),
        make.given("mean", "°C", "ASTM MNL50", name="mean_average_boiling_point"),
        make.by("watson_k", equations.watson_k, ("mean", "sg"), "1", "by definition") if watson is None else
        make.missing("watson_k", "1", f"{watson.origin}", "properties.watson_assumed"),
        make.by("molar_mass", equations.molar_mass, ("mean", "sg"), "g/mol", "API 2B2.1",
                u_share=settings.u_molar_mass),
        ratio,
        hydrogen,
        make.by("cetane_index_four_variables", equations.cetane_index_four, ("density", "10", "50", "90"), "1",
                "ASTM D4737 A", u_value=settings.u_cetane),
        make.by("cetane_index_two_variables", equations.cetane_index_two, ("density", "50"), "1", "ASTM D976",
                u_value=settings.u_cetane),
        make.by("flash_point", equations.flash_point_c, ("10",), "°C", "API 2B7.1, closed cup",
                u_value=settings.u_flash_c),
        make.by("gross_heat_of_combustion", equations.gross_heat_mj_kg, ("api",), "MJ/kg", "API 14A1.3",
                u_share=settings.u_heat),
        make.by("net_heat_of_combustion", equations.net_heat_mj_kg, ("api",), "MJ/kg", "API 14A1.3",
                u_share=settings.u_heat),
    )  # fmt: skip


def without_curve(one: Property, reason: str) -> Property:
    """A property that is missing for want of a one-plate curve, with the reason why there is none."""
    result = one.result
    if result.reason not in ("properties.no_density", "properties.curve_too_short"):
        return one
    lacking = result.missing(result.measurand, result.unit, result.basis, result.step, reason)
    return replace(one, result=lacking)


def measured_density(product: Product | None, settings: PropertySettings) -> Amount | None:
    """Density of a product in g/mL as entered; by a stated API gravity where that alone was measured."""
    if product is None:
        return None
    if (entered := product.density) is not None:
        u = entered.u if entered.u_stated else max(entered.u, settings.u_density * entered.value)
        return measured(entered.value, u, f"density of {product.fraction}")
    if (gravity := product.measured.get("api_gravity")) is not None:
        amount: Amount = applied(_density_by_api, gravity.amount(f"API gravity of {product.fraction}"))
        return amount
    return None


def _density_by_api(api: float) -> float:
    return equations.density_15_g_ml(equations.gravity_of_api(api))


def mean_average(known: dict[str, Amount]) -> Amount | None:
    """Mean average boiling point in °C from one-plate temperatures by their recovered %, None where one is missing."""
    points = [known[f"{p:g}"] for p in ONE_PLATE if f"{p:g}" in known]
    if len(points) < len(ONE_PLATE):
        return None
    amount: Amount = applied(equations.mean_average_boiling_c, *points)
    return amount


def density_of(watson: WatsonFactor, mean: Amount) -> Amount:
    """Density at 15 °C in g/mL of a liquid of known mean boiling point in °C and Watson factor."""
    amount: Amount = applied(_density_by_watson, mean, watson.amount)
    return amount


def _density_by_watson(mean_c: float, k: float) -> float:
    return equations.density_15_g_ml(equations.gravity_of_watson_k(mean_c, k))


def too_light(curve: BoilingCurve) -> bool:
    """Whether half of a liquid boils below what the conversion to a one-plate curve is made for."""
    half = next((p.temperature.value for p in curve.points if p.recovered == 50.0), None)
    return half is not None and half < ranges_of("one_plate")["50"][0]


def one_plate(curve: BoilingCurve, settings: PropertySettings) -> dict[str, Amount]:
    """Temperatures of a one-plate curve by their recovered % ("10"), as far as the simulated one reaches."""
    points = {p.recovered: p.temperature.amount for p in curve.points if p.recovered in ONE_PLATE}
    there = {recovered: amount for recovered, amount in points.items() if amount is not None}
    if 50.0 not in there or too_light(curve):
        return {}
    order = sorted(there)
    reached = sorted(convert_curve({p: nominal(there[p]) for p in order}, "SD to D86"))
    method = doubt("conversion to a one-plate curve")
    found = {}
    for at in reached:

        def converted(*values: float, at: float = at) -> float:
            return convert_curve(dict(zip(order, values, strict=True)), "SD to D86")[at]

        amount = applied(converted, *(there[p] for p in order))
        found[f"{at:g}"] = amount + settings.u_one_plate_c * method
    return found


def _cautions(
    of: str,
    curve: BoilingCurve,
    known: dict[str, Amount],
    found: Sequence[Property],
    watson: WatsonFactor | None,
    settings: PropertySettings,
) -> list[Caution]:
    raised: list[Caution] = []
    reasons = {one.result.reason for one in found}
    if any(one.estimate and one.result.value is not None for one in found):
        raised.append(caution("properties.estimates", of))
    if watson is not None and "density" in known:
        raised.append(
            caution(
                "properties.density_estimated", of, density=f"{nominal(known['density']):.3f}",
                wide=f"{2.0 * standard_uncertainty(known['density']):.3f}", factor=f"{nominal(watson.amount):.3g}",
                origin=watson.origin,
            )
        )  # fmt: skip
        raised.append(caution("properties.watson_assumed", of, origin=watson.origin))
    if "properties.no_density" in reasons:
        raised.append(caution("properties.no_density", of))
    if "properties.curve_too_short" in reasons:
        raised.append(caution("properties.curve_too_short", of))
    if outside := [one.name.replace("_", " ") for one in found if one.result.reason == "properties.outside_range"]:
        raised.append(caution("properties.outside_range", of, names=", ".join(outside)))
    if "10" in known and "90" in known and nominal(known["90"]) - nominal(known["10"]) > settings.widest_c:
        wide = round(nominal(known["90"]) - nominal(known["10"]))
        raised.append(caution("properties.wide_cut", of, wide=wide, limit=settings.widest_c))
    return raised + flash_dangers(of, curve.at(10.0), known, found)


def flash_dangers(of: str, ten: Result, known: dict[str, Amount], found: Sequence[Property]) -> list[Caution]:
    """Whether a liquid may be lit at the temperatures of a workshop, by its flash point as far as it is known.

    of : the liquid. ten : temperature of its own curve at 10 %. known, found : as for `all_properties`.
    """
    point = next(one for one in found if one.name == "flash_point")
    start = nominal(known["10"]) if "10" in known else ten.value
    flash, limit = point.result, ranges_of("flammable_liquid")["flash"][1]
    if flash.value is not None and flash.value - 2.0 * (flash.u or 0.0) <= limit:
        if not point.estimate:
            return [caution("safety.flash_measured", of, flash=round(flash.value, 1), limit=limit)]
        return [caution("safety.flash_estimate", of, flash=round(flash.value))]
    if flash.value is None and (
        ten.reason in ("boiling.before_ladder", "still.no_first_drop")
        or (start is not None and start < ranges_of("flash_point")["10"][0])
    ):  # what boils lower flashes lower still
        return [caution("safety.flash_below_range", of)]
    return []
