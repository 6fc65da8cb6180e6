"""Estimate the properties of a liquid from the curve of its own one-plate distillation and its density."""

from __future__ import annotations

from collections.abc import Sequence

from cutbook.fractions.fuel_properties import (
    ONE_PLATE,
    PropertySettings,
    all_properties,
    density_of,
    flash_dangers,
    mean_average,
    measured_density,
)
from cutbook.fractions.measured_properties import with_measured
from cutbook.model.amount import Amount
from cutbook.model.lineage import Source, Step
from cutbook.model.properties import Property, WatsonFactor
from cutbook.model.result import Result
from cutbook.model.run import Product
from cutbook.model.still import StillCurve

ONE_PLATE_KINDS = ("simple", "standard-test", "vacuum")
"""Kinds of distillation whose curve is that of one plate; a packed column parts more sharply."""


def still_fuel_properties(
    curve: StillCurve,
    temperatures: Sequence[Property],
    product: Product | None,
    sheet: Source,
    watson: WatsonFactor,
    settings: PropertySettings,
) -> tuple[tuple[Property, ...], Step | None]:
    """What follows from a distillation at hand, without conversion from a simulated curve.

    Parameters
    ----------
    curve : of the distillation. temperatures : read off it (`still_properties`).
    product : that was charged. sheet : the run sheet. watson : assumed, for a density that was not measured.
    settings : see `PropertySettings`; the uncertainty of a conversion is not among what counts here.

    Returns
    -------
    properties, step
        Named as those of a sample, without the one-plate temperatures, which stand among `temperatures`; none for a
        packed column.
    """
    if curve.kind not in ONE_PLATE_KINDS:
        return (), None
    by_name = {one.name: one.result for one in temperatures}
    known: dict[str, Amount] = {}
    for percent in ONE_PLATE:
        amount = by_name[f"recovered_{percent:g}"].amount
        if amount is not None:
            known[f"{percent:g}"] = amount + 0.0  # an amount also where it is a bare number
    density, mean = measured_density(product, settings), mean_average(known)
    used = watson if density is None and mean is not None else None
    step = Step(
        "estimate properties of a distillation/1",
        inputs=(curve.step, *([used.step] if used is not None else [])),
        settings={"settings": settings},
        source=Source(sheet.path, sheet.sha256, f"{product.place}, density" if product is not None else "density"),
    )
    if density is not None:
        known["density"] = density
    elif used is not None and mean is not None:
        known["density"] = density_of(used, mean)
    made = all_properties(curve.of, step, known, used, settings)
    found, gaps = with_measured(curve.of, made, product)
    found = tuple(one for one in found if not one.name.startswith("one_plate_"))
    ten: Result = by_name["recovered_10"]
    told = Step(step.operation, step.inputs, step.settings, step.source,
                (*flash_dangers(f"{curve.of}, by its distillation", ten, known, found), *gaps))  # fmt: skip
    return found, told
