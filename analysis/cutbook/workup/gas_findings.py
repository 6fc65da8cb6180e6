"""What a work-up found of the gas of a run, by name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from cutbook.model.gas import (
    GasAmount,
    GasComposition,
    GasProperties,
    GasSignal,
    GasTable,
    MeteredGas,
    ProductGas,
    TracedGas,
    TrappedOxygen,
)
from cutbook.model.lineage import Source
from cutbook.model.result import Result
from cutbook.model.trace import Trace


@dataclass(frozen=True, eq=False)
class GasShare:
    """One component of the product gas: mole and mass %, dry, without air and purge gas."""

    component: str
    mole: Result
    mass: Result


@dataclass(frozen=True, eq=False)
class GasFindings:
    """The gas of a run.

    of : the product. tables : as read. analysed : the dry gas as it was analysed. gas : what of it is product.
    amount : from a measured volume, None without one. mass : g. energy : net calorific value of all of it, MJ.
    trapped : oxygen of the air over the charge, None where it was swept or nobody says how much there was.
    traced : the gas by its traces, one a bag, () without; traces : those of the gas, as read. meter : the meter series,
    None without. product_by_mass : mass fraction of product gas in `mass`, an amount.
    """

    of: str
    tables: tuple[GasTable, ...]
    analysed: GasComposition
    gas: ProductGas
    composition: tuple[GasShare, ...]
    properties: GasProperties
    amount: GasAmount | None
    mass: Result
    energy: Result
    trapped: TrappedOxygen | None
    traced: tuple[TracedGas, ...] = ()
    meter: MeteredGas | None = None
    traces: tuple[Trace, ...] = ()
    product_by_mass: Any = 1.0

    def signals(self) -> tuple[GasSignal, ...]:
        """Every peak of every gas trace, as it was told."""
        return tuple(signal for traced in self.traced for signal in traced.signals)

    def sources(self) -> Iterator[tuple[Source, str]]:
        """(file, role) of every file that the gas was read from."""
        for table in self.tables:
            if table.step.source is not None:
                yield table.step.source, "gas analysis"
        for reading in (one for traced in self.traced for one in traced.readings):
            by_path = {source.path: source for source in reading.step.sources()}
            for role, names in (("sample", reading.samples), ("standard", reading.standards)):
                yield from ((by_path[name], role) for name in names if name in by_path)
        if self.meter is not None and self.meter.log.step.source is not None:
            yield self.meter.log.step.source, "gas meter"


def gas_named(at: str, gas: GasFindings) -> Iterator[tuple[str, Result]]:
    """Every reported number of a gas by its name in results.json, which begins with `at`."""
    for share in gas.composition:
        name = share.component.replace(" ", "-")
        yield f"{at}.composition.{name}.mole", share.mole
        yield f"{at}.composition.{name}.mass", share.mass
    yield f"{at}.mass", gas.mass
    yield f"{at}.energy", gas.energy
    found = gas.properties
    yield f"{at}.gross_calorific_value", found.gross
    yield f"{at}.net_calorific_value", found.net
    for key in ("molar_mass", "gross_molar", "net_molar", "hydrogen_to_carbon", "hydrogen"):
        yield f"{at}.{key}", getattr(found, key)
    first = found.volumetric[0]
    for key in ("gross", "net", "wobbe", "wobbe_net", "density", "relative_density", "compression_factor"):
        yield f"{at}.volumetric.{key}", getattr(first, key)
    for key in ("air", "purge", "nitrogen_to_oxygen"):
        yield f"{at}.{key}", getattr(gas.gas, key)
    if gas.amount is not None:
        yield f"{at}.amount.total", gas.amount.total
        yield f"{at}.amount.water", gas.amount.water
        yield f"{at}.amount.product", gas.amount.product
        if gas.amount.purge is not None:
            for key in ("let_in", "found", "difference"):
                yield f"{at}.purge_check.{key}", getattr(gas.amount.purge, key)
    if gas.meter is not None:
        yield f"{at}.meter.volume", gas.meter.passed
    for number, signal in enumerate(gas.signals(), 1):
        yield f"{at}.peaks.{number}.share", signal.share
    if gas.trapped is not None:
        for key in ("oxygen", "water", "carbon_monoxide", "carbon_dioxide"):
            yield f"{at}.trapped_air.{key}", getattr(gas.trapped, key)
