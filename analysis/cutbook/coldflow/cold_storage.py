"""Answer whether an oil sets at its storage temperature, and to what it must be warmed, from its wax formers."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from cutbook.coldflow.cold_doubts import ColdDoubt, ColdReading, ColdSettings, cold_doubts, shared_doubts, with_doubts
from cutbook.coldflow.gelling import gelling, hardly_enough_wax, thick_oil
from cutbook.coldflow.mixtures import components_of
from cutbook.coldflow.solid_liquid import appearance_k, solid_curve
from cutbook.coldflow.solid_properties import constant
from cutbook.model.amount import Amount, measured, nominal, standard_uncertainty
from cutbook.model.cautions import Caution, caution
from cutbook.model.cold import (
    AtStorage,
    ColdStorage,
    Components,
    GelPoint,
    SolidCurve,
    SolidPoint,
    StorageState,
    WaxFormers,
)
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.trace import Floats
from cutbook.model.units import KELVIN

DEFAULTS = ColdSettings()
COVERAGE = 2.0
"""Standard uncertainties of a band of about 95 %."""
STATES: tuple[StorageState, ...] = ("liquid", "hazy", "likely to block a narrow line", "likely to set")
_CODES: Mapping[StorageState, str] = {
    "hazy": "cold.hazy",
    "likely to block a narrow line": "cold.blocks",
    "likely to set": "cold.sets",
}
_CLOUD, _POUR = "cloud_point", "pour_point"
_TRIED_TO = 44
"""The longest chain in the oils on which the equilibrium was tried."""
_BEYOND = 4
"""°C below the last point listed to which the curve is followed, so that its band holds there too."""
_ALKENES_TOLD, _TOLD = 1.0, 0.05
"""% of an oil from which its alkenes, and its chains longer than were tried, are spoken of."""


@dataclass(frozen=True, eq=False)
class _Found:
    """What all answers are made from."""

    formers: WaxFormers
    components: Components
    curve: SolidCurve
    degrees: Floats
    base: ColdReading
    doubts: tuple[ColdDoubt, ...]
    shared: Mapping[str, Amount]
    settings: ColdSettings

    def step(self, name: str, **what: object) -> Step:
        return Step(name, inputs=(self.formers.step,), settings={"cold": self.settings, **what})

    def solid_at(self, temperature_c: float) -> Amount:
        """Solid in %, never below nothing."""
        value = float(np.interp(-temperature_c, -self.degrees, self.base.solid))
        changes = {d.tag: float(np.interp(-temperature_c, -self.degrees, d.solid)) for d in self.doubts}
        return with_doubts(value, changes, self.shared)


def cold_storage(
    formers: WaxFormers,
    product: Mapping[str, Entered],
    lowest: Entered | None,
    sheet: Source,
    settings: ColdSettings = DEFAULTS,
) -> ColdStorage:
    """The answers for one liquid.

    Parameters
    ----------
    formers : its chains and rest. product : what was measured on it; "cloud_point" and "pour_point" in °C count here.
    lowest : the lowest temperature in store in °C, None where not declared. sheet : where they were entered.
    settings : see there.

    Returns
    -------
    ColdStorage
        A measured cloud point takes the place of the estimated appearance of wax and shifts the curve that the state in
        store is read from; the two are held against each other ("cold.cloud_point_differs"). A measured pour point
        decides from where on the oil is likely to set.
    """
    components = components_of(formers)
    appears = appearance_k(components, settings.equilibrium)
    top = math.ceil((KELVIN if appears is None else appears) - KELVIN) + 1
    last = settings.lowest_c - _BEYOND
    degrees = np.arange(max(top, settings.lowest_c + 1), last - 1, -1, dtype=np.float64)
    curve = solid_curve(components, degrees + KELVIN, settings.equilibrium)
    base = ColdReading((0.0 if appears is None else appears) - KELVIN, 100.0 * np.asarray(curve.solid))
    doubts = cold_doubts(formers, base, curve.form, degrees, settings) if appears is not None else ()
    found = _Found(formers, components, curve, degrees, base, doubts, shared_doubts(doubts), settings)
    estimated = _appearance(found, appears)
    known = {key: _measured(formers, key, product[key], sheet) for key in (_CLOUD, _POUR) if key in product}
    shown = known.get(_CLOUD, estimated)
    difference, raised = _compared(formers, estimated, known)
    gels = gelling(formers.of, curve, settings.lowest_c + KELVIN)
    at_storage = _at_storage(found, estimated, known, lowest) if lowest is not None else None
    gel = tuple(_gel(found, share, t) for share, t in zip(gels.shares, gels.temperatures_k, strict=True))
    little = (*gels.cautions, *hardly_enough_wax(formers.of, gels, COVERAGE * (gel[0].temperature.u or 0.0)))
    raised = [*formers.step.cautions, *little, *raised, *_of_storage(formers, at_storage, shown)]
    raised += _scope(found)
    step = Step(
        "answer for cold storage/1", inputs=(formers.step,), settings=settings, cautions=tuple(dict.fromkeys(raised))
    )
    return ColdStorage(
        formers.of,
        estimated,
        shown,
        tuple(known.items()),
        difference,
        _points(found),
        gel,
        at_storage,
        curve.form,
        step,
    )


def state_of(solid: float, liquid: bool) -> StorageState:
    """What a share of solid in % does; liquid : whether it is warmer than where wax appears."""
    if liquid or solid <= 0:
        return "liquid"
    if solid < constant("line_share"):
        return "hazy"
    return "likely to block a narrow line" if solid < constant("gel_low") else "likely to set"


def warm_to_c(answer: ColdStorage) -> int | None:
    """Whole degrees to which the oil is warmed before it is drawn off: where wax has gone, upper end of the band."""
    return None if answer.at_storage is None else _whole_upper(answer.at_storage.warm_to)


def _whole_upper(result: Result) -> int | None:
    return None if result.value is None else math.ceil(result.value + COVERAGE * (result.u or 0.0))


def _appearance(found: _Found, appears: float | None) -> Result:
    step = found.step("find where wax appears/1")
    of = found.formers.of
    if appears is None:
        return Result.missing("wax appearance temperature", "°C", of, step, "cold.no_wax")
    amount = with_doubts(found.base.appearance_c, {d.tag: d.appearance for d in found.doubts}, found.shared)
    return Result("wax appearance temperature", amount, "°C", of, step)


def _measured(formers: WaxFormers, key: str, entered: Entered, sheet: Source) -> Result:
    name = f"{key.replace('_', ' ')} of {formers.of}"
    step = Step("enter/1", settings={key: entered.text}, source=Source(sheet.path, sheet.sha256, name))
    return Result(name, entered.amount(name), entered.unit, formers.of, step)


def _compared(
    formers: WaxFormers, estimated: Result, known: Mapping[str, Result]
) -> tuple[Result | None, list[Caution]]:
    """Measured cloud point less estimate, and where the two do not fit."""
    cloud, raised = known.get(_CLOUD), []
    pour = known.get(_POUR)
    if cloud is not None and pour is not None and (pour.value or 0.0) > (cloud.value or 0.0):
        raised.append(caution("cold.pour_above_cloud", formers.of, pour=pour.value or 0.0, cloud=cloud.value or 0.0))
    if cloud is None or cloud.amount is None or estimated.amount is None:
        return None, raised
    step = Step("compare cloud points/1", inputs=(cloud.step, estimated.step))
    # a cloud point is seen on cooling, the equilibrium on warming
    lag = constant("cooling_lag")
    amount = cloud.amount - estimated.amount
    if abs(nominal(amount) + lag) > COVERAGE * math.hypot(standard_uncertainty(amount), constant("cooling_lag_u")):
        raised.append(
            caution(
                "cold.cloud_point_differs",
                formers.of,
                measured=cloud.value or 0.0,
                estimated=round(estimated.value or 0.0, 1),
                u=round(estimated.u or 0.0, 1),
                lag=lag,
            )  # fmt: skip
        )
    return Result("cloud point less estimate", amount, "°C", formers.of, step), raised


def _points(found: _Found) -> tuple[SolidPoint, ...]:
    carbons = np.asarray(found.components.carbons)
    points = []
    for at, temperature in enumerate(found.degrees.tolist()):
        if temperature < found.settings.lowest_c:
            break
        step = found.step("find solid wax/1", temperature=temperature)
        result = Result(f"solid at {temperature:g} °C", found.solid_at(temperature), "%", found.formers.of, step)
        solid = np.asarray(found.curve.solid_by_component)[at]
        whole = float(solid.sum())
        numbers = sorted({int(n) for n, mass in zip(carbons, solid, strict=True) if mass > 0})
        shares = tuple((n, 100.0 * float(solid[carbons == n].sum()) / whole) for n in numbers)
        points.append(SolidPoint(temperature, result, shares))
    return tuple(points)


def _gel(found: _Found, share: float, temperature_k: float | None) -> GelPoint:
    """Where a share is solid; a doubt of the solid becomes one of the temperature by the slope of the curve there."""
    percent = 100.0 * share
    measurand, of = f"temperature of {percent:g} % solid", found.formers.of
    step = found.step("find where a share is solid/1", share=percent)
    if temperature_k is None:
        return GelPoint(percent, Result.missing(measurand, "°C", of, step, "cold.share_not_reached"))
    at = temperature_k - KELVIN
    slope = np.gradient(found.base.solid, found.degrees)
    per_degree = min(float(np.interp(-at, -found.degrees, slope)), -1e-6)
    changes = {d.tag: -float(np.interp(-at, -found.degrees, d.solid)) / per_degree for d in found.doubts}
    return GelPoint(percent, Result(measurand, with_doubts(at, changes, found.shared), "°C", of, step))


def _at_storage(
    found: _Found, estimated: Result, known: Mapping[str, Result], lowest: Entered
) -> AtStorage:  # fmt: skip
    of, cloud, pour = found.formers.of, known.get(_CLOUD), known.get(_POUR)
    shift = 0.0
    if cloud is not None and cloud.value is not None and estimated.value is not None:
        shift = cloud.value - estimated.value
    step = found.step("find solid wax in store/1", temperature=lowest.text)
    there = found.solid_at(lowest.value - shift)
    below_range = lowest.value - shift < found.settings.lowest_c
    if below_range:
        solid = Result.missing("solid in store", "%", of, step, "cold.below_range")
    else:
        solid = Result("solid in store", there, "%", of, step)
    first = cloud if cloud is not None else estimated
    states = []
    for more in (0.0, COVERAGE):
        appears = -math.inf if first.value is None else first.value + more * (first.u or 0.0)
        state = state_of(nominal(there) + more * standard_uncertainty(there), lowest.value >= appears)
        if first.value is not None and lowest.value < appears and state == "liquid":
            state = "hazy"
        if below_range and more and first.value is not None:
            state = "likely to set"  # how much more is solid than at the end of the curve is not known
        states.append(_by_pour_point(state, lowest.value, pour))
    warm_step = found.step("find to what to warm/2")
    warm = Result.missing("warm to", "°C", of, warm_step, "cold.no_wax")
    if first.amount is not None:
        amount = first.amount
        if cloud is not None:  # what has come out on cooling goes only above that on warming
            lag, u = constant("cooling_lag"), constant("cooling_lag_u")
            amount = amount + measured(lag, u, "lag of a cloud point on cooling")
        warm = Result("warm to", amount, "°C", of, warm_step)
    return AtStorage(lowest.value, solid, states[0], states[1], warm)


def _by_pour_point(state: StorageState, temperature_c: float, pour: Result | None) -> StorageState:
    """A measured pour point decides what is set and what is not."""
    if pour is None or pour.value is None:
        return state
    if temperature_c <= pour.value:
        return "likely to set"
    return "likely to block a narrow line" if state == "likely to set" else state


def _of_storage(formers: WaxFormers, at: AtStorage | None, shown: Result) -> list[Caution]:
    of = formers.of
    if shown.value is None:
        raised = [caution("cold.no_wax", of)]
        if at is not None and at.state == "likely to set":  # as only a measured pour point can tell
            raised += [caution("cold.sets_without_wax", of, temperature=at.temperature_c), *_warming(of)]
        return raised
    if at is None:
        raised = [caution("cold.no_storage", of, appears=round(shown.value))]
        return [*raised, *(_warming(of) if shown.value > 0 else ())]
    raised = []
    if at.solid.value is None:
        raised.append(caution("cold.below_range", of, temperature=at.temperature_c))
    here, upper = at.temperature_c, _whole_upper(at.warm_to)
    if at.state in _CODES and upper is not None:
        raised.append(caution(_CODES[at.state], of, temperature=here, warm=upper))
    if at.worst != at.state:
        raised.append(caution("cold.may_be_worse", of, worst=at.worst, temperature=here))
    return [*raised, *(_warming(of) if at.worst != "liquid" else ())]


def _warming(of: str) -> tuple[Caution, ...]:
    return (caution("safety.warming", of),)


def _scope(found: _Found) -> list[Caution]:
    formers = found.formers
    raised = [*thick_oil(formers.of, found.components)]
    alkenes = sum(chain.mass.value or 0.0 for chain in formers.chains if chain.family == "1-alkene")
    if alkenes > _ALKENES_TOLD:
        raised.append(caution("cold.ageing", formers.of, share=f"{alkenes:.2g}"))
    longest = sum(chain.mass.value or 0.0 for chain in formers.chains if chain.n > _TRIED_TO)
    if longest > _TOLD:
        raised.append(caution("cold.long_chains", formers.of, share=f"{longest:.2g}", last=_TRIED_TO))
    return raised
