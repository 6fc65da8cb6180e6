"""Estimate the properties of each cut of a sample from its slice of the boiling curve."""

from __future__ import annotations

from collections.abc import Sequence

from cutbook.fractions.cut_curves import cut_curves
from cutbook.fractions.fuel_properties import (
    ONE_PLATE,
    PropertySettings,
    all_properties,
    density_of,
    flash_dangers,
    mean_average,
    one_plate,
    too_light,
    without_curve,
)
from cutbook.model.amount import doubt, nominal
from cutbook.model.boiling import BoilingCurve
from cutbook.model.cautions import Caution, caution
from cutbook.model.cuts import Cut
from cutbook.model.lineage import Step
from cutbook.model.properties import CutProperties, Property, WatsonFactor

OF_SAMPLE = "that of the whole sample"
_OUTSIDE, _ASSUMED = "properties.outside_range", "properties.watson_assumed"


def cut_properties(
    curve: BoilingCurve,
    cuts: Sequence[Cut],
    properties: Sequence[Property],
    watson: WatsonFactor,
    settings: PropertySettings,
) -> tuple[tuple[CutProperties, ...], Step]:
    """What follows from the slice of the curve that each cut is, and from the Watson factor of the sample.

    Parameters
    ----------
    curve : of the sample. cuts : of one boiling-range scheme, lightest first.
    properties : of the sample; its Watson factor is that of the cuts where it could be found.
    watson : the assumed factor that stands in its place elsewhere.
    settings : see `PropertySettings`.

    Returns
    -------
    properties, step
        One entry a cut, with the same names as those of the sample; cautions on the step.
    """
    factor = _of_sample(properties) or watson
    drift = settings.u_watson_cut * doubt("Watson factor of a cut")
    found, steps = [], []
    raised: list[Caution] = []
    lacking: dict[str, list[str]] = {}
    beyond: dict[str, list[str]] = {}
    for cut, own in zip(cuts, cut_curves(curve, cuts, ONE_PLATE), strict=True):
        of_cut = WatsonFactor(factor.amount + drift, factor.origin, factor.step)
        step = Step("estimate cut properties/1", (own.step, factor.step), {"cut": cut.cut, "settings": settings})
        steps.append(step)
        small = cut.mass.value is not None and cut.mass.value < settings.least_cut
        known = {} if small else one_plate(own, settings)
        mean = mean_average(known)
        if mean is not None:
            known["density"] = density_of(of_cut, mean)
        made = all_properties(own.of, step, known, of_cut if mean is not None else None, settings)
        if mean is None:
            made = tuple(without_curve(one, _why(own, cut, small)) for one in made)
        found.append(CutProperties(cut.scheme, cut.cut, cut.limits, made))
        for one in made:
            if one.result.reason and own.of not in lacking.setdefault(one.result.reason, []):
                lacking[one.result.reason].append(own.of)
        outside = ", ".join(one.name.replace("_", " ") for one in made if one.result.reason == _OUTSIDE)
        if outside:
            beyond.setdefault(outside, []).append(own.of)
        if not small and cut.mass.value is not None:
            raised += flash_dangers(own.of, own.at(10.0), known, made)
    some = any(one.result.value is not None for cut_found in found for one in cut_found.properties)
    if some:
        told = caution("properties.cuts", curve.of, factor=f"{nominal(factor.amount):.3g}", origin=factor.origin)
        raised.insert(0, told)
        if all(one.result.reason != _ASSUMED for one in properties):
            raised.append(caution("properties.watson_assumed", f"the cuts of {curve.of}", origin=factor.origin))
    raised += [caution("properties.outside_range", "; ".join(those), names=names) for names, those in beyond.items()]
    if short := lacking.get("properties.curve_too_short"):
        raised.append(caution("properties.curve_too_short", "; ".join(short)))
    if small_ones := lacking.get("properties.cut_too_small"):
        raised.append(caution("properties.cut_too_small", "; ".join(small_ones)))
    step = Step("estimate properties of cuts/1", tuple(steps), {"settings": settings}, cautions=tuple(raised))
    return tuple(found), step


def _of_sample(properties: Sequence[Property]) -> WatsonFactor | None:
    """The Watson factor that was found, not assumed."""
    for one in properties:
        if one.name == "watson_k" and one.result.amount is not None:
            return WatsonFactor(one.result.amount, OF_SAMPLE, one.result.step)
    return None


def _why(curve: BoilingCurve, cut: Cut, small: bool) -> str:
    """Why a cut has no mean boiling point."""
    if small:
        return "properties.cut_too_small"
    if too_light(curve):
        return _OUTSIDE
    return cut.mass.reason or next(p.temperature.reason for p in curve.points if p.temperature.reason)
