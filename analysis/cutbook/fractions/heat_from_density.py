"""Estimate the heat of combustion of a liquid of which nothing but the density was measured."""

from __future__ import annotations

from cutbook.fractions import property_equations as equations
from cutbook.fractions.fuel_properties import PropertySettings, measured_density
from cutbook.fractions.measured_properties import with_measured
from cutbook.fractions.property_maker import PropertyMaker
from cutbook.model.cautions import Caution
from cutbook.model.lineage import Source, Step
from cutbook.model.properties import Property
from cutbook.model.run import Product


def heat_from_density(
    product: Product, sheet: Source, settings: PropertySettings
) -> tuple[Property | None, tuple[Caution, ...]]:
    """Gross heat of combustion of a product from its density.

    Parameters
    ----------
    product : of the run sheet, a liquid. sheet : the run sheet. settings : of the properties.

    Returns
    -------
    property, cautions
        The estimate in MJ/kg, or what was measured in its place; None without a density, or where it lies outside the
        range of the correlation. "properties.measured_gap" where the two do not fit.

    References
    ----------
    API Technical Data Book, 14A1.3.
    """
    density = measured_density(product, settings)
    if density is None:
        return None, ()
    place = Source(sheet.path, sheet.sha256, f"{product.place}, density")
    step = Step("estimate heat of combustion/1", settings={"settings": settings}, source=place)
    make = PropertyMaker(product.fraction, step, {"density": density})
    make.derive("sg", equations.specific_gravity, "density")
    make.derive("api", equations.api_gravity, "sg")
    estimate = make.by(
        "gross_heat_of_combustion", equations.gross_heat_mj_kg, ("api",), "MJ/kg", "API 14A1.3", u_share=settings.u_heat
    )
    if estimate.result.amount is None:
        return None, ()
    (found,), raised = with_measured(product.fraction, (estimate,), product)
    return found, raised
