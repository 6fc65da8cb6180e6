"""Reckon the purge gas that was let in from its flow and time, and hold it against what the composition says of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from cutbook.model.amount import doubt, nominal, standard_uncertainty
from cutbook.model.cautions import Caution, caution
from cutbook.model.entered import Entered
from cutbook.model.gas import GasComposition, ProductGas, PurgeCheck
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.units import GAS_CONSTANT, KELVIN, STANDARD_KPA

CARBON_DIOXIDE = "carbon dioxide"
ROOM_C = 20.0
"""Of a room, in °C, where a flow meter that does not say its reference state may stand."""
NORMAL_C = 0.0
"""Of the normal state to which many flow controllers refer, in °C (common practice, no source)."""


@dataclass(frozen=True)
class PurgeSettings:
    """When let in and found are called different.

    least : relative difference below which nothing is said, beside twice the uncertainty (5 %: the scale of a float
        flow meter, common practice, no source).
    flow_u : relative standard uncertainty of a flow that states none (2 %, common practice, no source).
    """

    least: float = 0.05
    flow_u: float = 0.02


@dataclass(frozen=True, eq=False)
class PurgeFlow:
    """The purge as the run sheet has it: flow in L/min, time in min, reference state of the flow, None for what is not
    said."""

    gas: str
    flow: Entered
    time: Entered
    temperature: Entered | None
    pressure: Entered | None


def purge_let_in(purge: PurgeFlow, about: str, sheet: Source, settings: PurgeSettings = PurgeSettings()) -> Result:
    """Amount of purge gas in mol that was let in while the gas was metered.

    Parameters
    ----------
    purge : flow, time and state. about : the product. sheet : the run sheet.

    Notes
    -----
    n = p V'/(R T) t. A flow without its state may be one of the room or of 0 °C, both at 101.325 kPa: the mean of the
    two, uncertain by a rectangle from one to the other.
    """
    flow: Any = purge.flow.amount("flow of the purge gas")
    if not purge.flow.u_stated:
        flow = purge.flow.value * (1 + settings.flow_u * doubt("flow of the purge gas"))
    raised: tuple[Caution, ...] = ()
    pressed: Any = STANDARD_KPA if purge.pressure is None else purge.pressure.amount("pressure of the purge flow")
    if purge.temperature is not None:
        warm: Any = purge.temperature.amount("temperature of the purge flow")
        per_litre = pressed / (GAS_CONSTANT * (warm + KELVIN))
    else:
        cold, room = (pressed / (GAS_CONSTANT * (celsius + KELVIN)) for celsius in (NORMAL_C, ROOM_C))
        spread = (nominal(cold) - nominal(room)) / 12**0.5
        per_litre = (cold + room) / 2 + spread * doubt("reference state of the purge flow")
        raised = (caution("gas.purge_flow_state", about, room=ROOM_C, normal=NORMAL_C),)
    step = Step(
        "purge gas let in/1",
        settings={
            "settings": settings, "flow": purge.flow.text, "time": purge.time.text,
            "temperature": purge.temperature.text if purge.temperature else "",
            "pressure": purge.pressure.text if purge.pressure else "",
        },
        source=Source(sheet.path, sheet.sha256, "[reactor]"),
        cautions=raised,
    )  # fmt: skip
    moles = flow * purge.time.amount("time of the purge") * per_litre
    return Result(f"{purge.gas} let in", moles, "mol", "", step)


def purge_check(
    let_in: Result, dry_moles: Any, purge: str, analysed: GasComposition, gas: ProductGas, about: str,
    settings: PurgeSettings = PurgeSettings(),
) -> PurgeCheck:  # fmt: skip
    """What was let in against what went through the meter.

    Parameters
    ----------
    let_in : as of `purge_let_in`. dry_moles : of the metered dry gas that the analysis speaks of. purge : the gas.
    analysed, gas : the composition. about : the product.

    Returns
    -------
    PurgeCheck
        Not determined where the analysis does not see the purge gas. After a purge with carbon dioxide only less than
        was let in is a contradiction.
    """
    inputs = (let_in.step, gas.step)
    if purge not in analysed.shares or gas.purge.amount is None or let_in.amount is None:
        step = Step("hold against the purge/1", inputs)
        missing = (
            Result.missing(f"{purge} {what}", "mol", "", step, "gas.purge_not_in_table")
            for what in ("found in the metered gas", "found less let in")
        )
        return PurgeCheck(purge, let_in, *missing)
    found: Any = gas.purge.amount / 100 * dry_moles
    apart: Any = found - let_in.amount
    off, u = nominal(apart), standard_uncertainty(apart)
    beyond = abs(off) > 2 * u and abs(off) > settings.least * nominal(let_in.amount)
    facts: dict[str, str | float | int] = {
        "gas": purge, "found": float(f"{nominal(found):.3g}"), "let_in": float(f"{nominal(let_in.amount):.3g}"),
    }  # fmt: skip
    if not beyond or (off > 0 and purge == CARBON_DIOXIDE):
        told = Caution("gas.purge_agrees", about, facts)
    else:
        told = Caution("gas.purge_too_much" if off > 0 else "gas.purge_too_little", about, facts)
    step = Step("hold against the purge/1", inputs, settings={"settings": settings}, cautions=(told,))
    return PurgeCheck(
        purge, let_in, Result(f"{purge} found in the metered gas", found, "mol", "", step),
        Result(f"{purge} found less let in", apart, "mol", "", step),
    )  # fmt: skip
