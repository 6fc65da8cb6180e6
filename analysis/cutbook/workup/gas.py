"""Work up the gas of a run, from the tables of the laboratory to its mass and heating value."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from cutbook.gas.air import Purge, product_gas, trapped_oxygen
from cutbook.gas.amount import gas_amount
from cutbook.gas.calorific import gas_properties
from cutbook.gas.composition import gas_composition, mixed
from cutbook.gas.substances import component_named, molar_mass, substances
from cutbook.importers.gas_table import read_gas_table
from cutbook.importers.trace_file import open_trace_file
from cutbook.model.amount import Amount, nominal
from cutbook.model.cautions import caution
from cutbook.model.errors import InputError
from cutbook.model.gas import GasAmount, GasComposition, GasTable, ProductGas, TrappedOxygen
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Product, Run
from cutbook.model.units import STANDARD_KPA
from cutbook.workup.findings import GasFindings, GasShare
from cutbook.workup.method import Method

AMBIENT_C, AMBIENT_KPA = 20.0, STANDARD_KPA
"""State of the air over a charge where the gas product tells no other, in °C and kPa; this is told."""
GAS = "gas"
NOTICED = 0.005
"""Mass fraction of air and purge gas in a weighed gas from which it is told (half a percent, common practice)."""


def work_up_gas(run: Run, method: Method) -> GasFindings:
    """The gas of a run.

    Parameters
    ----------
    run : with [[gas_analysis]] entries, all of one product. method : of the work-up.

    Raises
    ------
    InputError
        When a table cannot be read or holds no product gas, or the entries are of several products.
    """
    entries = run.further["gas_analysis"]
    names = tuple(dict.fromkeys(entry["of"] or GAS for entry in entries))
    if len(names) > 1:
        raise InputError.single(
            run.sheet.path, "[[gas_analysis]]", f"analyses of {' and '.join(names)}", "analyses of one product",
            "Name the same product in all of them; several bags of it are mixed by their volumes",
        )  # fmt: skip
    of = names[0]
    product = run.product(of)
    tables: list[GasTable] = []
    parts: list[tuple[GasComposition, Amount | float]] = []
    weighed = all(entry["volume"] is not None for entry in entries)
    for entry in entries:
        file = open_trace_file(run.folder, entry["file"])
        table = read_gas_table(file, entry["place"], component_named, tuple(substances()), entry["columns"])
        tables.append(table)
        amount = entry["volume"].amount(f"volume of {entry['file']}") if weighed else 1.0
        parts.append((gas_composition(table, entry["basis"], of, method.gas_composition), amount))
    analysed = mixed(parts, of, weighed)
    reactor: dict[str, Any] = next(iter(run.further.get("reactor", ())), {})
    purge: Purge = reactor.get("purge_gas") or ""
    gas = product_gas(analysed, purge, of, method.air)
    properties = gas_properties(gas.shares, of, gas.step, method.calorific)
    amount_found = None
    if product is not None and product.volume is not None and product.temperature and product.pressure:
        amount_found = gas_amount(product, analysed, gas, run.sheet, method.gas_amount)
    mass = _with_purge(_mass(of, product, amount_found, gas, run.sheet), of, product, analysed, gas)
    share = product_by_mass(product, analysed, gas)
    energy_step = Step("energy of gas/2", inputs=(mass.step, gas.step, properties.step))
    if mass.amount is None or properties.net.amount is None:
        energy = Result.missing(f"net calorific value of all {of}", "MJ", "", energy_step, mass.reason)
    else:
        energy = Result(
            f"net calorific value of all {of}",
            share * mass.amount * properties.net.amount / 1000,
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
    )


def _mass(of: str, product: Product | None, found: GasAmount | None, gas: ProductGas, sheet: Source) -> Result:
    """By weighing where it was weighed, else from its volume; with a word where its density says another."""
    if product is not None and product.mass is not None:
        source = Source(sheet.path, sheet.sha256, product.place)
        step = Step("weigh product/1", settings={"mass": product.mass.text}, source=source)
        return Result(f"mass of {of}", product.mass.amount(f"weighing of {of}"), "g", "", step)
    if found is None:
        step = Step("no mass/1", inputs=(gas.step,), cautions=(caution("gas.no_volume", of),))
        return Result.missing(f"mass of {of}", "g", "", step, "gas.no_volume")
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


def _with_purge(mass: Result, of: str, product: Product | None, analysed: GasComposition, gas: ProductGas) -> Result:
    """The mass, with a word where the balance takes a weighing or a density that counts air and purge gas."""
    other = 1 - nominal(product_by_mass(product, analysed, gas))
    if other <= NOTICED:
        return mass
    told = caution("gas.mass_holds_purge", of, percent=round(100 * other, 1))
    step = Step("mass beside analysis/1", (mass.step, gas.step), cautions=(told,))
    return replace(mass, step=step)


def product_by_mass(product: Product | None, analysed: GasComposition, gas: ProductGas) -> Any:
    """Mass fraction of product gas in what the balance takes for gas: all of it where its mass follows from its volume,
    less air and purge gas where its weighing or its density counts them."""
    if product is None or (product.mass is None and product.density is None):
        return 1.0
    return gas.product_share * molar_mass(gas.shares) / molar_mass(analysed.shares)


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
