"""Enter every stream of a run with what it would give when burnt, and what of the feed's energy is unaccounted for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cutbook.balance.heating_value import HeatingValueSettings, heating_value
from cutbook.balance.stream_elements import kind_of
from cutbook.model.amount import Amount, nominal, standard_uncertainty, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.elements import Stream
from cutbook.model.energy import BurnerEnergy, EnergyLedger, EnergyRow, HeatingValue, ProcessHeat
from cutbook.model.lineage import Step
from cutbook.model.result import Result

NOTHING_TO_BURN = {"water": "liquid water", "acid": "gaseous hydrogen chloride"}
"""Kinds of products that are what burning ends at, and so hold nothing; what a water layer dissolves is not counted."""


@dataclass(frozen=True)
class EnergySettings:
    """What is cautioned about.

    explain_beyond : standard uncertainties of the unaccounted energy from which it is worth a word (2); below, it is
        within what the heating values are known to.
    """

    explain_beyond: float = 2.0


@dataclass(frozen=True)
class Unburnt:
    """What of a stream does not burn, as mass fractions of it as weighed."""

    ash: Amount | float = 0.0
    water: Amount | float = 0.0


def energy_ledger(
    streams: Sequence[Stream],
    known: Mapping[int, HeatingValue],
    unburnt: Mapping[int, Unburnt],
    gas: tuple[str, Result] | None,
    process: ProcessHeat | None,
    burner: BurnerEnergy | None,
    settings: EnergySettings = EnergySettings(),
    values: HeatingValueSettings | None = None,
) -> EnergyLedger:
    """The energy of a run, stream by stream.

    Parameters
    ----------
    streams : feeds and products with their mass and elements.
    known : heating values that are known otherwise than from elements, by place among the streams; they come first.
    unburnt : ash and water of streams, likewise.
    gas : name of the gas and its net heating value in MJ/kg, None without a gas that was analysed.
    process : heat that the polyolefins need. burner : what heated the reactor, as declared.
    settings : see `EnergySettings`. values : see `HeatingValueSettings`, its defaults when None.

    Returns
    -------
    EnergyLedger
        A stream without a heating value, or without a mass, has no energy, with the reason; the feed then has none
        either, products are summed without it. Masses keep their correlations: a feed that decides a product by
        difference is one variable.

    Notes
    -----
    Energy is mass times gross heating value. Cracking takes up heat, which the products hold beyond the feed: products
    above 100 % by one or two parts in a hundred are no fault.
    """
    raised: list[Caution] = []
    values = values or HeatingValueSettings()
    values_of = [
        known.get(place) or _value(one, unburnt.get(place, Unburnt()), values, raised)
        for place, one in enumerate(streams)
    ]
    entries = [(one, value, _energy(one, value)) for one, value in zip(streams, values_of, strict=True)]
    fed = [energy for one, _, energy in entries if one.feed]
    feed_step = Step("energy of the feed/1", inputs=tuple(energy.step for energy in fed))
    lacking = next((energy.reason for energy in fed if energy.amount is None), "" if fed else "energy.no_value")
    if lacking:
        feed = Result.missing("gross energy of the feed", "MJ", "", feed_step, lacking)
    else:
        feed = Result("gross energy of the feed", total(energy.amount for energy in fed), "MJ", "", feed_step)
    made = [(one, energy) for one, _, energy in entries if not one.feed]
    without = tuple(one.name for one, energy in made if energy.amount is None)
    there = [energy for _, energy in made if energy.amount is not None]
    step_of_sum = Step("energy of the products/1", inputs=tuple(energy.step for energy in there))
    if there:
        summed = total(energy.amount for energy in there)
        products = Result("gross energy of the products that have one", summed, "MJ", "", step_of_sum)
    else:
        products = Result.missing(
            "gross energy of the products that have one", "MJ", "", step_of_sum, "energy.no_product"
        )
        raised.append(caution("energy.no_product", "products"))
    raised += _of_rest(feed, products, made, without, settings)
    step = Step(
        "energy ledger/1", inputs=(feed_step, step_of_sum), settings={"values": values, "ledger": settings},
        cautions=tuple(raised),
    )  # fmt: skip
    name, net = _gas_net(gas, made)
    return EnergyLedger(
        rows=tuple(
            EnergyRow(
                one.name, one.feed, one.by_difference, value.how, value.method, one.mass, value.gross, energy,
                _ratio(f"share of {one.name}", energy, feed),
            )
            for one, value, energy in entries
        ),
        feed=feed,
        products=products,
        closure=_closure(products, feed, without, made),
        unaccounted=_rest(feed, products),
        without=without,
        gas=name,
        gas_net=net,
        process=process,
        burner=burner,
        ratio=_carried(name, net, burner),
        step=step,
    )  # fmt: skip


def _value(stream: Stream, idle: Unburnt, settings: HeatingValueSettings, raised: list[Caution]) -> HeatingValue:
    """The heating value of a stream: none by definition, from its elements, or missing."""
    measurand = f"gross heating value of {stream.name}"
    kind = "" if stream.feed else kind_of(stream.name)
    if kind in NOTHING_TO_BURN:
        step = Step("end of burning/1", inputs=(stream.step,))
        nothing = Result(measurand, 0.0, "MJ/kg", "", step)
        return HeatingValue(nothing, "by definition", NOTHING_TO_BURN[kind])
    found = heating_value(stream.name, stream.elements, idle.ash, idle.water, settings)
    if found is None:
        told = caution("energy.feed_no_value", stream.name) if stream.feed else caution("energy.no_value", stream.name)
        raised.append(told)
        step = Step("no heating value/1", inputs=(stream.step,))
        return HeatingValue(Result.missing(measurand, "MJ/kg", "", step, told.code), "not determined", "")
    doubts = []
    if found.by == "oxygen":
        doubts.append(caution("energy.chlorine", stream.name))
    if found.outside:
        doubts.append(caution("energy.outside_range", stream.name, names=", ".join(found.outside)))
    raised += doubts
    step = Step("heating value from elements/1", inputs=(stream.step,), settings=settings, cautions=tuple(doubts))
    method = "heat per oxygen" if found.by == "oxygen" else "Channiwala and Parikh, by C and H"
    return HeatingValue(Result(measurand, found.gross, "MJ/kg", "", step), "elements", method)


def _energy(stream: Stream, value: HeatingValue) -> Result:
    step = Step("mass times heating value/1", inputs=(stream.mass.step, value.gross.step))
    name = f"gross energy of {stream.name}"
    if stream.mass.amount is None or value.gross.amount is None:
        reason = stream.mass.reason if stream.mass.amount is None else value.gross.reason
        return Result.missing(name, "MJ", "", step, reason)
    return Result(name, stream.mass.amount * value.gross.amount / 1000.0, "MJ", "", step)


def _ratio(measurand: str, part: Result, whole: Result, basis: str = "the energy of the feed") -> Result:
    """One energy in % of another; missing with the reason of whichever is."""
    own = Step("ratio of energies/1", inputs=(part.step, whole.step))
    if part.amount is None or whole.amount is None:
        reason = part.reason if part.amount is None else whole.reason
        return Result.missing(measurand, "%", basis, own, reason)
    return Result(measurand, 100.0 * part.amount / whole.amount, "%", basis, own)


def _rest(feed: Result, products: Result) -> Result:
    own = Step("feed less products/1", inputs=(feed.step, products.step))
    name = "gross energy unaccounted for"
    if feed.amount is None or products.amount is None:
        return Result.missing(name, "MJ", "", own, feed.reason or products.reason)
    return Result(name, feed.amount - products.amount, "MJ", "", own)


def _closure(products: Result, feed: Result, without: tuple[str, ...], made: Sequence[tuple[Stream, Result]]) -> Result:
    """Products in % of the feed; it tests nothing where one of them is by difference or has no energy."""
    name = "share of the products"
    found = _ratio(name, products, feed)
    if found.amount is None:
        return found
    if without:
        return Result.missing(name, "%", found.basis, found.step, "energy.in_the_rest")
    if any(one.by_difference for one, _ in made):
        return Result.missing(name, "%", found.basis, found.step, "energy.by_difference")
    return found


def _of_rest(
    feed: Result,
    products: Result,
    made: Sequence[tuple[Stream, Result]],
    without: tuple[str, ...],
    settings: EnergySettings,
) -> list[Caution]:
    raised = []
    if without and len(without) < len(made):
        raised.append(caution("energy.in_the_rest", ", ".join(without)))
    if names := [one.name for one, energy in made if one.by_difference and energy.amount is not None]:
        raised.append(caution("energy.by_difference", ", ".join(names)))
    elif not without and feed.amount is not None and products.amount is not None:
        rest: Any = feed.amount - products.amount
        value, u = nominal(rest), standard_uncertainty(rest)
        if abs(value) > settings.explain_beyond * u:
            raised.append(
                caution(
                    "energy.explain", "energy", rest=round(value, 2), share=round(100 * value / (feed.value or 1), 1)
                )
            )
    return raised


def _gas_net(gas: tuple[str, Result] | None, made: Sequence[tuple[Stream, Result]]) -> tuple[str, Result]:
    """The net heating value of all of the gas in MJ."""
    measurand = "net heating value of all of the gas"
    if gas is None:
        own = Step("no gas analysis/1", cautions=(caution("energy.no_gas", "gas"),))
        return "", Result.missing(measurand, "MJ", "", own, "energy.no_gas")
    name, net = gas
    stream = next((one for one, _ in made if one.name == name), None)
    own = Step("energy of gas/2", inputs=(net.step, *((stream.mass.step,) if stream is not None else ())))
    if stream is None or stream.mass.amount is None or net.amount is None:
        reason = net.reason if net.amount is None else stream.mass.reason if stream is not None else "gas.no_volume"
        return name, Result.missing(measurand, "MJ", "", own, reason)
    return name, Result(measurand, stream.mass.amount * net.amount / 1000.0, "MJ", "", own)


def _carried(gas: str, net: Result, burner: BurnerEnergy | None) -> Result:
    measurand = "net heating value of the gas"
    if burner is None:
        own = Step("no fuel declared/1", inputs=(net.step,), cautions=(caution("energy.no_fuel", gas or "gas"),))
        return Result.missing(measurand, "%", "the energy that heated the reactor", own, "energy.no_fuel")
    return _ratio(measurand, net, burner.energy, "the energy that heated the reactor")
