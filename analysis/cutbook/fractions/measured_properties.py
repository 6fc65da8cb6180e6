"""Put what was measured on a product in the place of its estimate, and tell where the two do not fit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from cutbook.fractions import property_equations as equations
from cutbook.model.amount import Amount, applied, nominal, standard_uncertainty
from cutbook.model.cautions import Caution, caution
from cutbook.model.properties import Property
from cutbook.model.result import Result
from cutbook.model.run import Product

COVERAGE = 2.0
"""Standard uncertainties of the difference within which two figures for one thing fit."""


def with_measured(
    of: str, found: Sequence[Property], product: Product | None
) -> tuple[tuple[Property, ...], tuple[Caution, ...]]:
    """The properties with those that were measured in place of their estimates.

    Parameters
    ----------
    of : name of the sample. found : its properties as estimated. product : of the run sheet.

    Returns
    -------
    properties, cautions
        "properties.measured_gap" where a measured value and its estimate, or a stated API gravity and the density, are
        further apart than twice the uncertainty of their difference. An API gravity that was stated beside a density
        is held against it and does not take its place.

    Notes
    -----
    A wrong unit, a slip of the pen and water in the sample are what such a gap shows most often.
    """
    if product is None or not product.measured:
        return tuple(found), ()
    given = _amounts(product)
    kept, raised = [], []
    for one in found:
        amount = given.get(one.name)
        if amount is None:
            kept.append(one)
            continue
        raised += _gap(of, one, amount)
        if one.name == "api_gravity":
            kept.append(one)
            continue
        result = Result(one.result.measurand, amount, one.result.unit, one.result.basis, one.result.step)
        kept.append(replace(one, result=result, estimate=False, method="measured"))
    return tuple(kept), tuple(raised)


def _amounts(product: Product) -> Mapping[str, Amount]:
    """What was measured, by the property that it is, in the unit of the property."""
    found: dict[str, Amount] = {}
    for key, name in (("flash_point", "flash_point"), ("gross_calorific_value", "gross_heat_of_combustion")):
        if (entered := product.measured.get(key)) is not None:
            found[name] = entered.amount(f"{key.replace('_', ' ')} of {product.fraction}")
    if product.density is not None and (entered := product.measured.get("api_gravity")) is not None:
        found["api_gravity"] = entered.amount(f"API gravity of {product.fraction}")
    carbon, hydrogen = product.measured.get("carbon"), product.measured.get("hydrogen")
    if hydrogen is not None:
        share = hydrogen.amount(f"hydrogen in {product.fraction}")
        found["hydrogen"] = 100.0 * share
        if carbon is not None and carbon.value > 0:
            of_carbon = carbon.amount(f"carbon in {product.fraction}")
            found["hydrogen_carbon_ratio"] = applied(equations.atoms_of_hydrogen, share, of_carbon)
    return found


def _gap(of: str, estimate: Property, measured: Amount) -> list[Caution]:
    if estimate.result.amount is None:
        return []
    difference = measured - estimate.result.amount
    value, u = nominal(difference), standard_uncertainty(difference)
    if not math.isfinite(u) or abs(value) <= COVERAGE * u:
        return []
    unit = estimate.result.unit
    return [
        caution(
            "properties.measured_gap", of, name=estimate.name.replace("_", " "), measured=nominal(measured),
            expected=estimate.result.value or 0.0, unit="" if unit == "1" else unit, method=estimate.method,
        )
    ]  # fmt: skip
