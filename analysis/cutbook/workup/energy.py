"""Work up the energy of a run, from what is known of each stream to the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cutbook.balance.burner_fuel import burner_energy
from cutbook.balance.energy_ledger import Unburnt, energy_ledger
from cutbook.balance.feed_elements import chlorine_at_most
from cutbook.balance.heating_value import polymer_heat
from cutbook.balance.process_heat import process_heat
from cutbook.balance.stream_elements import kind_of
from cutbook.fractions.heat_from_density import heat_from_density
from cutbook.model.amount import nominal
from cutbook.model.cautions import Caution, caution
from cutbook.model.elements import Stream
from cutbook.model.energy import EnergyLedger, HeatingValue, ProcessHeat
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step
from cutbook.model.polymers import polymer_named
from cutbook.model.properties import Property
from cutbook.model.result import Result
from cutbook.model.run import Feed, Product, Run
from cutbook.workup.findings import SampleFindings
from cutbook.workup.gas_findings import GasFindings
from cutbook.workup.method import Method

HEAT = "gross_heat_of_combustion"
NEARLY_ALL = 99.0
"""% of the feed, moisture and ash included, that polyolefins must make up for the process heat to be that of the charge
(common practice)."""


def work_up_energy(
    run: Run, streams: Sequence[Stream], samples: Sequence[SampleFindings], gas: GasFindings | None, method: Method
) -> tuple[EnergyLedger, tuple[Caution, ...]]:
    """The energy of a run.

    Parameters
    ----------
    run : its sheet. streams : feeds and products with their elements. samples : for the heats of liquids.
    gas : of the run, None where it was not analysed. method : of the work-up.

    Returns
    -------
    ledger, cautions
        A heating value comes from what is surest: measured, published of the pure polymer, composition of the gas, the
        elements where carbon and hydrogen of a product were measured, its density, the elements as they follow.
    """
    known: dict[int, HeatingValue] = {}
    unburnt: dict[int, Unburnt] = {}
    raised: list[Caution] = []
    feeds = iter(run.feeds)
    for place, stream in enumerate(streams):
        if stream.feed:
            feed = next(feeds)
            unburnt[place] = _of_feed(feed)
            value = _published(feed, unburnt[place], run.sheet)
        elif (product := run.product(stream.name)) is not None:
            unburnt[place] = _of_product(product)
            density, gaps = _by_density(product, samples, run.sheet, method)
            raised += gaps
            value = _of(product, gas, density, unburnt[place], run.sheet)
        else:
            value = None
        if value is not None:
            known[place] = value
    process = _process(run, streams, unburnt, method)
    burner = None
    for reactor in run.further.get("reactor", ()):
        burner = burner_energy(
            reactor.get("burner_fuel") or "", reactor.get("burner_fuel_used"), reactor.get("heater_energy"), run.sheet
        )
    net = None if gas is None else (gas.of, _as_weighed(gas, gas.properties.net))
    ledger = energy_ledger(streams, known, unburnt, net, process, burner, method.energy, method.heating_value)
    return ledger, (*_cautions(run, ledger, gas), *raised)


def _published(feed: Feed, idle: Unburnt, sheet: Source) -> HeatingValue | None:
    """Of the pure polymer, less moisture and ash; None where the material was analysed or is in no table."""
    polymer = polymer_named(feed.material)
    if polymer is None or any(
        entry is not None for entry in (feed.carbon, feed.hydrogen, feed.oxygen, feed.nitrogen, feed.chlorine)
    ):
        return None
    heat = polymer_heat(polymer["abbreviation"])
    if heat is None:
        return None
    stated = {key: entry.text for key in ("moisture", "ash") if (entry := getattr(feed, key)) is not None}
    step = Step(
        "published heat of combustion/1", settings={"polymer": polymer["abbreviation"], **stated},
        source=Source(sheet.path, sheet.sha256, feed.place),
    )  # fmt: skip
    gross = heat * (1 - idle.ash - idle.water)
    name = f"gross heating value of {feed.material}"
    return HeatingValue(Result(name, gross, "MJ/kg", "", step), "published", f"pure {polymer['name']}")


def _of_feed(feed: Feed) -> Unburnt:
    return Unburnt(
        _share(feed.ash, f"ash of feed {feed.material}"), _share(feed.moisture, f"moisture of feed {feed.material}")
    )


def _of_product(product: Product) -> Unburnt:
    ash, water = (product.measured.get(key) for key in ("ash", "moisture"))
    return Unburnt(_share(ash, f"ash of {product.fraction}"), _share(water, f"moisture of {product.fraction}"))


def _share(entered: Entered | None, tag: str) -> Any:
    return 0.0 if entered is None else entered.amount(tag)


def _of(
    product: Product, gas: GasFindings | None, density: Property | None, idle: Unburnt, sheet: Source
) -> HeatingValue | None:
    """What is known of a product otherwise than from its elements; an estimate is of what is neither water nor ash."""
    name = f"gross heating value of {product.fraction}"
    if (entered := product.measured.get("gross_calorific_value")) is not None:
        place = Source(sheet.path, sheet.sha256, f"{product.place}, gross_calorific_value")
        step = Step("measured heating value/1", settings={"entered": entered.text}, source=place)
        amount = entered.amount(f"gross calorific value of {product.fraction}")
        return HeatingValue(Result(name, amount, "MJ/kg", "", step), "measured", "calorimeter, as entered")
    if gas is not None and gas.of == product.fraction:
        gross = _as_weighed(gas, gas.properties.gross)
        return HeatingValue(gross, "composition of the gas", "ISO 6976:2016, at 15 °C")
    if density is None or {"carbon", "hydrogen"} <= set(product.measured):
        return None
    estimate = density.result
    if estimate.amount is not None and nominal(idle.ash) + nominal(idle.water) > 0:
        stated = {key: product.measured[key].text for key in ("ash", "moisture") if key in product.measured}
        place = Source(sheet.path, sheet.sha256, product.place)
        step = Step("heating value as weighed/1", inputs=(estimate.step,), settings=stated, source=place)
        estimate = Result(name, estimate.amount * (1 - idle.ash - idle.water), "MJ/kg", "", step)
    return HeatingValue(estimate, "density", density.method)


def _as_weighed(gas: GasFindings, value: Result) -> Result:
    """A heating value of the product gas in MJ for each kg of what the balance takes for gas."""
    if value.amount is None:
        return value
    step = Step("heating value of gas as weighed/1", inputs=(value.step, gas.gas.step))
    return Result(value.measurand, gas.product_by_mass * value.amount, value.unit, "", step)


def _by_density(
    product: Product, samples: Sequence[SampleFindings], sheet: Source, method: Method
) -> tuple[Property | None, tuple[Caution, ...]]:
    """The estimate from the density of a liquid: of its first trace that has one, else from the density alone, then
    held against what was measured."""
    for sample in samples:
        for one in sample.properties if sample.of == product.fraction else ():
            if one.name == HEAT and one.result.amount is not None:
                return one, ()
    if kind_of(product.fraction) != "liquid":
        return None, ()
    return heat_from_density(product, sheet, method.properties)


def _process(run: Run, streams: Sequence[Stream], unburnt: dict[int, Unburnt], method: Method) -> ProcessHeat | None:
    masses: dict[str, Any] = {}
    feeds = [(stream, unburnt[place]) for place, stream in enumerate(streams) if stream.feed]
    for stream, idle in feeds:
        polymer = polymer_named(stream.name)
        if polymer is not None and stream.mass.amount is not None:
            dry = stream.mass.amount * (1 - idle.ash - idle.water)
            masses[polymer["abbreviation"]] = masses.get(polymer["abbreviation"], 0.0) + dry
    if not feeds:
        return None
    whole = sum(stream.mass.value or 0.0 for stream, _ in feeds)
    step = Step("charge/1", inputs=tuple(stream.mass.step for stream, _ in feeds))
    return process_heat(masses, whole, step, _peak_c(run), method.process_heat)


def _peak_c(run: Run) -> float | None:
    """The peak temperature in °C where the conditions state it as a temperature."""
    stated = run.conditions.get("peak_temperature")
    return stated.value if isinstance(stated, Entered) and stated.unit == "°C" else None


def _cautions(run: Run, ledger: EnergyLedger, gas: GasFindings | None) -> tuple[Caution, ...]:
    """Dangers of burning the gas, then what arose in the ledger, then what limits the process heat."""
    raised = [one for result in (ledger.gas_net, ledger.ratio) for one in result.step.cautions]
    raised += ledger.step.cautions
    process = ledger.process
    if process is not None:
        raised.append(caution("energy.literature_heat", "energy"))
        if process.assumed:
            raised.append(caution("energy.peak_assumed", "energy", peak=process.peak_c))
        if process.covered < NEARLY_ALL:
            raised.append(
                caution("energy.partly_covered", "energy", names=", ".join(process.polymers),
                        covered=round(process.covered, 1))
            )  # fmt: skip
    gases = [row.name for row in ledger.rows if not row.feed and kind_of(row.name) == "gas"]
    if _acid(run, gas) and (gases or gas is not None):
        raised.insert(0, caution("safety.burning_acid_gas", ", ".join(gases) or ledger.gas))
    return tuple(dict.fromkeys(raised))


def _acid(run: Run, gas: GasFindings | None) -> bool:
    """Whether the gas may hold hydrogen chloride: it was found in it, or chlorine was fed."""
    if gas is not None and any(one.component == "hydrogen chloride" and one.mole.value for one in gas.composition):
        return True
    return any(chlorine_at_most(feed) > 0 for feed in run.feeds)
