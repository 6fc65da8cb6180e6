"""Work up the gas of a run, from the tables of the laboratory or its traces to its mass and heating value."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from cutbook.gas.air import Purge, product_gas, trapped_oxygen
from cutbook.gas.amount import ACID, GasBeside, gas_amount, saturation_kpa
from cutbook.gas.calorific import gas_properties
from cutbook.gas.composition import gas_composition, mixed
from cutbook.gas.meter import MeterEntry, metered_gas, passed_between
from cutbook.gas.purge import PurgeFlow, purge_let_in
from cutbook.gas.substances import component_named, molar_mass, substances
from cutbook.importers.gas_meter import read_meter_log
from cutbook.importers.gas_table import read_gas_table
from cutbook.importers.run_sheet import GAS
from cutbook.importers.trace_file import open_trace_file
from cutbook.model.amount import nominal, standard_uncertainty
from cutbook.model.cautions import caution
from cutbook.model.entered import Entered
from cutbook.model.errors import InputError
from cutbook.model.gas import GasAmount, GasComposition, GasTable, MeteredGas, ProductGas, TrappedOxygen
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Product, Run
from cutbook.model.trace import Trace
from cutbook.model.units import STANDARD_KPA
from cutbook.workup.gas_findings import GasFindings, GasShare
from cutbook.workup.gas_traces import gas_name, gas_samples, traced_bags
from cutbook.workup.method import Method
from cutbook.workup.samples import Traces

AMBIENT_C, AMBIENT_KPA = 20.0, STANDARD_KPA
"""State of the air over a charge where the gas product tells no other, in °C and kPa; this is told."""
NOTICED_APART = 0.002
"""Mole fraction by which table and traces of one gas may differ beyond their uncertainties (rounding of a table)."""
NOTICED = 0.005
"""Mass fraction of air and purge gas in a weighed gas from which it is told (half a percent, common practice)."""


def has_gas(run: Run) -> bool:
    """Whether a run tells the composition of its gas, by a table or by traces with their standard."""
    return "gas_analysis" in run.further or bool(gas_samples(run))


def work_up_gas(run: Run, method: Method, traces: Traces | None = None, caught: Result | None = None) -> GasFindings:
    """The gas of a run.

    Parameters
    ----------
    run : with [[gas_analysis]] entries, all of one product, or traces of the gas and of its standard. method : of the
        work-up. traces : of the run; read anew when None.
    caught : hydrogen chloride in g that was caught after the meter, None where it is not known.

    Raises
    ------
    InputError
        When a table or trace cannot be read or holds no product gas, or the entries are of several products.
    """
    entries = run.further.get("gas_analysis", ())
    names = tuple(dict.fromkeys(entry["of"] or GAS for entry in entries)) or (gas_name(run),)
    if len(names) > 1:
        raise InputError.single(
            run.sheet.path, "[[gas_analysis]]", f"analyses of {' and '.join(names)}", "analyses of one product",
            "Name the same product in all of them; several bags of it are mixed by their volumes",
        )  # fmt: skip
    of = names[0]
    product = run.product(of)
    meter = _meter(of, run, method)
    tables: list[GasTable] = []
    bags: list[_Bag] = []
    for entry in entries:
        file = open_trace_file(run.folder, entry["file"])
        table = read_gas_table(file, entry["place"], component_named, tuple(substances()), entry["columns"])
        tables.append(table)
        composition = gas_composition(table, entry["basis"], of, method.gas_composition)
        bags.append(_Bag(composition, entry["file"], entry["volume"], entry["taken_at"]))
    traces = traces or Traces(run, method)
    traced = traced_bags(run, traces, method)
    by_traces = [_Bag(one.gas.composition, one.gas.readings[0].samples[0], one.volume, one.taken_at) for one in traced]
    analysed = _mixed(bags or by_traces, of, meter)
    if bags and by_traces:
        analysed = _held_against(analysed, _mixed(by_traces, of, meter), of)
    reactor: dict[str, Any] = next(iter(run.further.get("reactor", ())), {})
    purge: Purge = reactor.get("purge_gas") or ""
    gas = product_gas(analysed, purge, of, method.air)
    properties = gas_properties(gas.shares, of, gas.step, method.calorific)
    amount_found = None
    if product is not None and (meter is not None or (product.volume and product.temperature and product.pressure)):
        beside = GasBeside(_purge_let_in(reactor, purge, of, run, method), _acid_metered(run, caught))
        amount_found = gas_amount(product, analysed, gas, run.sheet, method.gas_amount, meter, beside)
        amount_found = _acid_unknown(amount_found, run, caught, of)
    mass = _with_others(_mass(of, product, amount_found, gas, run.sheet), of, product, analysed, gas)
    share = product_by_mass(product, analysed, gas)
    energy_step = Step("energy of gas/2", inputs=(mass.step, gas.step, properties.step))
    taken = _taken_by_balance(product, mass)
    if taken is None or properties.net.amount is None:
        energy = Result.missing(f"net calorific value of all {of}", "MJ", "", energy_step, mass.reason)
    else:
        energy = Result(
            f"net calorific value of all {of}",
            share * taken * properties.net.amount / 1000,
            "MJ",
            "",
            energy_step,
        )
    return GasFindings(
        of=of,
        tables=tuple(tables),
        analysed=analysed,
        gas=gas,
        composition=_shares(of, gas),
        properties=properties,
        amount=amount_found,
        mass=mass,
        energy=energy,
        product_by_mass=share,
        trapped=_trapped(reactor, product, run),
        traced=tuple(one.gas for one in traced),
        meter=meter,
        traces=tuple(one for entry in gas_samples(run) if isinstance(one := traces.signal(entry), Trace)),
    )


@dataclass(frozen=True, eq=False)
class _Bag:
    """A sample of the gas: its composition, its first file, its volume and when it was taken."""

    gas: GasComposition
    file: str
    volume: Entered | None
    taken_at: Entered | None


def _mixed(bags: Sequence[_Bag], of: str, meter: MeteredGas | None) -> GasComposition:
    """The bags as one gas: by what passed the meter about the time of each, else by their volumes, else alike."""
    times = [bag.taken_at.value for bag in bags if bag.taken_at is not None]
    if len(bags) > 1 and meter is not None and len(set(times)) == len(bags):
        ordered = sorted(bags, key=lambda bag: bag.taken_at.value if bag.taken_at else 0.0)
        times = sorted(times)
        between = [(a + b) / 2 for a, b in zip(times, times[1:], strict=False)]
        passed = passed_between(meter, [-math.inf, *between, math.inf])
        if passed is not None and all(nominal(one) > 0 for one in passed):
            return mixed([(bag.gas, one) for bag, one in zip(ordered, passed, strict=True)], of, "meter")
    volumes = [bag.volume.amount(f"volume of {bag.file}") for bag in bags if bag.volume is not None]
    if len(volumes) == len(bags):
        return mixed([(bag.gas, one) for bag, one in zip(bags, volumes, strict=True)], of, "volume")
    return mixed([(bag.gas, 1.0) for bag in bags], of, "alike")


def _held_against(table: GasComposition, traced: GasComposition, of: str) -> GasComposition:
    """The composition of the table, which a laboratory answers for, with a word on how far the traces are from it."""
    apart = {
        name: table.shares.get(name, 0.0) - traced.shares.get(name, 0.0)
        for name in dict.fromkeys((*table.shares, *traced.shares))
    }
    worst = max(apart, key=lambda name: abs(nominal(apart[name])))
    beyond = [name for name, off in apart.items() if abs(nominal(off)) > 2 * standard_uncertainty(off) + NOTICED_APART]
    told = caution(
        "gas.table_beside_traces", of, component=worst, table=round(100 * nominal(table.shares.get(worst, 0.0)), 2),
        traces=round(100 * nominal(traced.shares.get(worst, 0.0)), 2), names=", ".join(beyond) or "none",
    )  # fmt: skip
    step = Step("table held against traces/1", inputs=(table.step, traced.step), cautions=(told,))
    return replace(table, step=step)


def _meter(of: str, run: Run, method: Method) -> MeteredGas | None:
    entry = next(iter(run.further.get("gas_meter", ())), None)
    if entry is None or (entry["of"] or GAS) != of:
        return None
    log = read_meter_log(open_trace_file(run.folder, entry["file"]), entry["columns"])
    keys = ("place", "temperature", "pressure", "factor", "counter_top")
    return metered_gas(log, MeterEntry(of, *(entry[key] for key in keys)), run.sheet, method.gas_meter)


def _purge_let_in(
    reactor: Mapping[str, Any], purge: str, of: str, run: Run, method: Method
) -> tuple[str, Result] | None:
    flow, time = reactor.get("purge_flow"), reactor.get("purge_time")
    if flow is None or time is None or purge in ("", "none"):
        return None
    state = reactor.get("purge_flow_temperature"), reactor.get("purge_flow_pressure")
    return purge, purge_let_in(PurgeFlow(purge, flow, time, *state), of, run.sheet, method.purge)


def _after_meter(run: Run) -> bool:
    return any(not entry["before_meter"] for entry in run.further.get("scrubber", ()))


def _acid_metered(run: Run, caught: Result | None) -> Result | None:
    """Hydrogen chloride in mol that was metered with the gas; None where the scrubber stands before the meter."""
    if not _after_meter(run) or caught is None or caught.amount is None:
        return None
    moles = caught.amount / substances()[ACID].molar_mass
    return Result("hydrogen chloride metered with the gas", moles, "mol", "", caught.step)


def _acid_unknown(found: GasAmount, run: Run, caught: Result | None, of: str) -> GasAmount:
    """With a word where hydrogen chloride was metered and nobody knows how much."""
    if not _after_meter(run) or (caught is not None and caught.amount is not None):
        return found
    step = Step("acid in metered gas/1", (found.mass.step,), cautions=(caution("gas.acid_metered_unknown", of),))
    return replace(found, mass=replace(found.mass, step=step))


def _mass(of: str, product: Product | None, found: GasAmount | None, gas: ProductGas, sheet: Source) -> Result:
    """By weighing where it was weighed, else from its volume; with a word where its density says another."""
    if product is not None and product.mass is not None:
        source = Source(sheet.path, sheet.sha256, product.place)
        step = Step("weigh product/1", settings={"mass": product.mass.text}, source=source)
        return Result(f"mass of {of}", product.mass.amount(f"weighing of {of}"), "g", "", step)
    if found is None:
        code = "gas.by_difference" if product is not None and product.by_difference else "gas.no_volume"
        step = Step("no mass/1", inputs=(gas.step,), cautions=(caution(code, of),))
        return Result.missing(f"mass of {of}", "g", "", step, code)
    if product is None or product.density is None or product.volume is None or found.mass.amount is None:
        return found.mass
    by_density = product.volume.value * product.density.value
    off = found.mass.value - by_density if found.mass.value is not None else 0.0
    # the volume is the same in both
    u = math.hypot(found.mass.u or 0.0, by_density * product.density.u / product.density.value)
    if abs(off) <= 2 * u:
        return found.mass
    told = caution(
        "gas.density_disagrees", of, composition=round(found.mass.value or 0.0, 1), density=round(by_density, 1)
    )
    return replace(found.mass, step=Step("hold against density/1", (found.mass.step,), cautions=(told,)))


def _with_others(mass: Result, of: str, product: Product | None, analysed: GasComposition, gas: ProductGas) -> Result:
    """The mass, with a word where the balance takes a weighing or a density that counts air, purge gas or water."""
    other = 1 - nominal(product_by_mass(product, analysed, gas))
    told = [caution("gas.mass_holds_purge", of, percent=round(100 * other, 1))] if other > NOTICED else []
    if product is not None and product.wet and _as_weighed(product):
        warm = AMBIENT_C if product.temperature is None else product.temperature.value
        pressed = AMBIENT_KPA if product.pressure is None else product.pressure.value
        water = nominal(saturation_kpa(warm)) / pressed
        vapour = water * nominal(substances()["water"].molar_mass)
        percent = 100 * vapour / (vapour + (1 - water) * nominal(molar_mass(analysed.shares)))
        told.append(
            caution("gas.mass_holds_water", of, percent=round(percent, 1), temperature=warm, pressure=round(pressed, 1))
        )
    if not told:
        return mass
    step = Step("mass beside analysis/1", (mass.step, gas.step), cautions=tuple(told))
    return replace(mass, step=step)


def _taken_by_balance(product: Product | None, mass: Result) -> Any:
    """g of what the balance takes for gas, so that the energy of the gas is the ledger's; None where it has no mass."""
    if product is None or product.mass is not None or product.by_difference:
        return mass.amount
    if product.volume is None or product.density is None:
        return mass.amount
    volume = product.volume.amount(f"volume of {product.fraction}")
    return volume * product.density.amount(f"density of {product.fraction}")


def product_by_mass(product: Product | None, analysed: GasComposition, gas: ProductGas) -> Any:
    """Mass fraction of product gas in what the balance takes for gas: all of it where its mass follows from its volume,
    less air and purge gas where its weighing or its density counts them."""
    if product is None or not _as_weighed(product):
        return 1.0
    return gas.product_share * molar_mass(gas.shares) / molar_mass(analysed.shares)


def _as_weighed(product: Product) -> bool:
    """Whether the balance takes the mass of all that is in it, by weighing or by volume and density; a density beside a
    meter gives none."""
    return product.mass is not None or (product.volume is not None and product.density is not None)


def _shares(of: str, gas: ProductGas) -> tuple[GasShare, ...]:
    """Mole and mass % of every component of the product gas, what was not seen with its limit."""
    known = substances()
    mean = molar_mass(gas.shares)
    step = Step("shares of gas/1", inputs=(gas.step,))
    basis = f"product {of}, dry"
    found = []
    for name, share in gas.shares.items():
        per = known[name].molar_mass / mean
        if name in gas.limits and nominal(share) <= 0:
            limits = (100 * gas.limits[name], 100 * gas.limits[name] * nominal(per))
            mole, mass = (
                Result(f"{name} in {of}", None, "%", basis, step, "below limit", limit, "gas.below_limit")
                for limit in limits
            )
        else:
            mole = Result(f"{name} in {of}, by mole", 100 * share, "%", basis, step)
            mass = Result(f"{name} in {of}, by mass", 100 * share * per, "%", basis, step)
        found.append(GasShare(name, mole, mass))
    for name in gas.unknown:
        lost = Result.missing(f"{name} in {of}", "%", basis, step, "gas.purge_carbon_dioxide")
        found.append(GasShare(name, lost, lost))
    return tuple(found)


def _trapped(reactor: dict[str, Any], product: Product | None, run: Run) -> TrappedOxygen | None:
    volume = reactor.get("free_volume")
    if volume is None or reactor.get("swept_before_heating"):
        return None
    warm = product.temperature.value if product is not None and product.temperature else AMBIENT_C
    pressed = product.pressure.value if product is not None and product.pressure else AMBIENT_KPA
    measured = product is not None and product.temperature is not None and product.pressure is not None
    told = () if measured else (caution("gas.trapped_air_assumed", GAS, temperature=warm, pressure=pressed),)
    source = Source(run.sheet.path, run.sheet.sha256, "[reactor]")
    before = Step("read reactor/1", settings={"free_volume": volume.text}, source=source, cautions=told)
    return trapped_oxygen(volume.amount("free volume of the reactor"), warm, pressed, before)
