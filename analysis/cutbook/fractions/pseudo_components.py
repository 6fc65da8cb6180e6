"""Cut a boiling curve into pseudo-components, each with boiling point, density and molar mass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutbook.fractions.compound_boiling import CompoundBoiling
from cutbook.fractions.property_equations import (
    density_15_g_ml,
    gravity_of_watson_k,
    molar_mass,
    specific_gravity,
    watson_k,
)
from cutbook.model.amount import nominal
from cutbook.model.boiling import FINAL, INITIAL, BoilingCurve
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import InputError
from cutbook.model.lineage import Step
from cutbook.model.plan import ChargeComposition, PseudoComponent
from cutbook.model.properties import WatsonFactor
from cutbook.model.trace import Floats

HEAVY_END = "heavy end"


@dataclass(frozen=True)
class PseudoComponentSettings:
    """How a curve is cut.

    most : pseudo-components; 60 keeps a stretch within a few °C for an oil from 30 to 500 °C.
    heavy_boiling_c : what does not boil on the curve counts as so heavy when its mass is turned into moles; it does not
        come over at all.
    compound_window_c : how far from its boiling point a compound's mass is taken out of the curve; on usual columns
        condensed aromatics elute up to 15 °C early.
    """

    most: int = 60
    heavy_boiling_c: float = 600.0
    compound_window_c: float = 15.0

    def __post_init__(self) -> None:
        if not 4 <= self.most <= 200:
            raise InputError.single("", "pseudo-components", f"{self.most}", "4 to 200")


@dataclass(frozen=True)
class ChargedCompound:
    """A compound looked for. mass_share : of the charge, 0–1; None when not known."""

    boiling: CompoundBoiling
    mass_share: float | None = None


@dataclass
class _Stretch:
    """Part of the curve: share of the mass and limits in °C; `of` numbers the cut that it belongs to."""

    share: float
    lower: float
    upper: float
    middle: float
    of: int


def pseudo_components(
    curve: BoilingCurve,
    density: float | WatsonFactor,
    limits_c: Sequence[float],
    compounds: Sequence[ChargedCompound] = (),
    settings: PseudoComponentSettings = PseudoComponentSettings(),
    moved: float = 0.0,
) -> ChargeComposition:
    """The composition of a charge.

    Parameters
    ----------
    curve : boiling curve of its sample; may end early.
    density : in g/mL at 15 °C, or the Watson factor assumed where it was not measured.
    limits_c : of cuts; no stretch reaches over one.
    compounds : looked for; a known amount is taken out of the curve around the boiling point.
    settings : see there. moved : the curve is moved by so many of its standard uncertainties, all points together.

    Returns
    -------
    ChargeComposition
        Shares add up to one. What boils before the first point of the curve is taken to boil there; what has not
        boiled at the last, or did not elute, is a heavy end that does not come over. Cautions say how much either is.

    Raises
    ------
    InputError
        When fewer than two points of the curve are known.

    Notes
    -----
    All pseudo-components have one Watson factor ``K = (1.8 T)^(1/3)/SG``: that for which their volumes add up to the
    volume of the charge. Molar masses from boiling point and density (API Technical Data Book, 2B2.1).
    """
    known = [
        (point.recovered, point.temperature.value + moved * (point.temperature.u or 0.0))
        for point in curve.points
        if point.temperature.value is not None
    ]
    if len(known) < 2:
        raise InputError.single(
            "", f"boiling curve of {curve.of}", f"{len(known)} points of it", "two at least",
            "A plan needs the sample and a ladder that reaches over it.",
        )  # fmt: skip
    recovered, temperature = (np.array(column) for column in zip(*known, strict=True))
    temperature = np.maximum.accumulate(temperature)
    raised: list[Caution] = []
    stretches = _stretches(recovered, temperature, limits_c)
    heavy = 1.0 - recovered[-1] / 100.0 if recovered[-1] < FINAL else 0.0
    light = recovered[0] / 100.0 if recovered[0] > INITIAL else 0.0
    charged, taken = _take_out(curve.of, stretches, compounds, settings, raised)
    merged = _merge(stretches, settings.most)
    assumed = density if isinstance(density, WatsonFactor) else None
    if isinstance(density, WatsonFactor):
        factor = nominal(density.amount)
        raised.append(caution("plan.assumed_watson", curve.of, factor=round(factor, 2), origin=density.origin))
    else:
        factor = _watson(density, merged, heavy, charged, settings)
    components = [_component(_name(part), part, factor) for part in merged]
    if heavy > 0:
        end = _Stretch(heavy, float(temperature[-1]), settings.heavy_boiling_c, settings.heavy_boiling_c, -1)
        components.append(_component(HEAVY_END, end, factor, volatile=False))
        raised.append(caution("plan.heavy_end", curve.of, share=round(100.0 * heavy, 1), last=round(temperature[-1])))
    if light > 0:
        raised.append(caution("plan.light_end", curve.of, share=round(100.0 * light, 1), first=round(temperature[0])))
    if not curve.whole:
        raised.append(caution("plan.residue_unknown", curve.of))
    for compound in compounds:
        components.append(_compound(compound.boiling, taken.get(compound.boiling.name, 0.0), factor))
    step = Step(
        "cut boiling curve into pseudo-components/2",
        inputs=(curve.step, *([assumed.step] if assumed is not None else [])),
        settings={
            "settings": settings, "limits": [round(limit, 6) for limit in limits_c],
            "density": None if assumed is not None else density,
            "compounds": [[one.boiling.name, one.mass_share] for one in compounds], "moved": moved,
        },
        cautions=tuple(raised),
    )  # fmt: skip
    return ChargeComposition(curve.of, tuple(components), factor, assumed is None, light, heavy, curve.whole, step)


def _stretches(recovered: Floats, temperature: Floats, limits_c: Sequence[float]) -> list[_Stretch]:
    """Between every two points of the curve and every limit."""
    inside = [limit for limit in limits_c if temperature[0] < limit < temperature[-1]]
    at = [float(np.interp(limit, temperature, recovered)) for limit in inside]
    order = np.argsort(np.concatenate([recovered, at]), kind="stable")
    edges = np.concatenate([recovered, at])[order]
    degrees = np.maximum.accumulate(np.concatenate([temperature, inside])[order])
    found = []
    if recovered[0] > 0:
        found.append(_Stretch(float(recovered[0]) / 100.0, float(degrees[0]), float(degrees[0]), float(degrees[0]), 0))
    for first, last, low, high in zip(edges, edges[1:], degrees, degrees[1:], strict=False):
        if last > first:
            found.append(_Stretch((last - first) / 100.0, float(low), float(high), 0.5 * float(low + high), 0))
    if recovered[-1] >= FINAL:
        found.append(
            _Stretch(1.0 - float(recovered[-1]) / 100.0, float(degrees[-1]), float(degrees[-1]), float(degrees[-1]), 0)
        )
    for part in found:
        part.of = sum(part.middle >= limit for limit in limits_c)
    return found


def _take_out(
    of: str,
    stretches: list[_Stretch],
    compounds: Sequence[ChargedCompound],
    settings: PseudoComponentSettings,
    raised: list[Caution],
) -> tuple[list[tuple[CompoundBoiling, float]], dict[str, float]]:
    """Take the mass of known compounds out of the stretches nearest to their boiling points."""
    taken: dict[str, float] = {}
    for compound in compounds:
        share = compound.mass_share
        if not share:
            continue
        near = [
            part for part in stretches
            if abs(part.middle - compound.boiling.boiling_c) <= settings.compound_window_c
        ]  # fmt: skip
        if sum(part.share for part in near) < share:
            there = 100.0 * sum(part.share for part in near)
            raised.append(
                caution(
                    "plan.compound_not_in_curve",
                    of,
                    name=compound.boiling.name,
                    given=100.0 * share,
                    there=round(there, 2),
                    window=settings.compound_window_c,
                )  # fmt: skip
            )
            continue
        rest = share
        for part in sorted(near, key=lambda one: abs(one.middle - compound.boiling.boiling_c)):
            out = min(rest, part.share)
            part.share -= out
            rest -= out
        taken[compound.boiling.name] = share
    return [(one.boiling, taken[one.boiling.name]) for one in compounds if one.boiling.name in taken], taken


def _merge(stretches: list[_Stretch], most: int) -> list[_Stretch]:
    """Join the neighbours that differ least, within one cut, until there are few enough."""
    parts = [part for part in stretches if part.share > 0]
    while len(parts) > most:
        costs = [
            one.share * two.share / (one.share + two.share) * (two.middle - one.middle) ** 2
            if one.of == two.of else np.inf
            for one, two in zip(parts, parts[1:], strict=False)
        ]  # fmt: skip
        at = int(np.argmin(costs))
        if not np.isfinite(costs[at]):
            break
        one, two = parts[at], parts[at + 1]
        share = one.share + two.share
        middle = (one.share * one.middle + two.share * two.middle) / share
        parts[at : at + 2] = [_Stretch(share, one.lower, two.upper, middle, one.of)]
    return parts


def _watson(
    density_g_ml: float,
    parts: Sequence[_Stretch],
    heavy: float,
    compounds: Sequence[tuple[CompoundBoiling, float]],
    settings: PseudoComponentSettings,
) -> float:
    """The factor for which the volumes add up; compounds of known amount count as if they were of the same kind."""
    shares = [(part.share, part.middle) for part in parts]
    shares += [(heavy, settings.heavy_boiling_c)] + [(share, one.boiling_c) for one, share in compounds]
    per_factor = sum(share / watson_k(boiling, 1.0) for share, boiling in shares)
    return 1.0 / (specific_gravity(density_g_ml) * per_factor)


def _name(part: _Stretch) -> str:
    low, high = round(part.lower), round(part.upper)
    return f"{low}–{high} °C" if high > low else f"{low} °C"


def _component(name: str, part: _Stretch, factor: float, volatile: bool = True) -> PseudoComponent:
    gravity = gravity_of_watson_k(part.middle, factor)
    return PseudoComponent(
        name, part.middle, part.lower, part.upper, part.share, density_15_g_ml(gravity),
        molar_mass(part.middle, gravity), volatile=volatile,
    )  # fmt: skip


def _compound(one: CompoundBoiling, share: float, factor: float) -> PseudoComponent:
    own = one.watson_k if one.watson_k is not None else factor
    density = density_15_g_ml(gravity_of_watson_k(one.boiling_c, own))
    return PseudoComponent(
        one.name, one.boiling_c, one.boiling_c, one.boiling_c, share, density, one.molar_mass, compound=True
    )
