"""What the streams of a run would give when burnt, and what its heating took."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutbook.model.lineage import Step
from cutbook.model.result import Result

How = Literal[
    "measured",
    "published",
    "composition of the gas",
    "elements",
    "density",
    "by definition",
    "not determined",
]
"""How a heating value is known: by a calorimeter, of the pure polymer from the literature, summed over the components
of the gas, from the elements by a correlation, estimated from the density, nothing by definition (water), or not at
all."""


@dataclass(frozen=True, eq=False)
class HeatingValue:
    """The heating value of one stream as weighed. gross : MJ/kg. method : in short, as printed."""

    gross: Result
    how: How
    method: str


@dataclass(frozen=True, eq=False)
class EnergyRow:
    """One stream of the ledger.

    name : a feed's material, a product's fraction. feed : whether it went in. mass : g; gross : MJ/kg as weighed;
    energy : gross, MJ; share : % of the energy of the feed. by_difference : whether its mass is the rest of the others.
    """

    name: str
    feed: bool
    by_difference: bool
    how: How
    method: str
    mass: Result
    gross: Result
    energy: Result
    share: Result


@dataclass(frozen=True)
class HeatPart:
    """One part of the heat that cracking needs, in MJ/kg of polyolefin, between which ends the literature has it."""

    name: str
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class ProcessHeat:
    """The heat that warming, melting, cracking and evaporating the polyolefins of a charge takes, without losses.

    peak_c : °C up to which it was reckoned; assumed : whether nobody stated it. polymers : of the charge that it
    covers;
    covered : their share of the feed in %. energy : MJ; low, high : MJ, the ends of the range. parts : by the kilogram.
    """

    peak_c: float
    assumed: bool
    polymers: tuple[str, ...]
    covered: float
    energy: Result
    low: float
    high: float
    parts: tuple[HeatPart, ...]


@dataclass(frozen=True, eq=False)
class BurnerEnergy:
    """What heated the reactor, as declared. fuel : its name, "" for electricity alone. used : as written.

    energy : MJ, net of the fuel and electricity together.
    """

    fuel: str
    used: str
    energy: Result


@dataclass(frozen=True, eq=False)
class EnergyLedger:
    """The energy of a run.

    rows : feeds, then products. feed, products : MJ gross, of the rows that have a value. closure : the products in %
    of the feed; unaccounted : MJ, feed less products. without : products that have no energy, so that theirs lies in
    what is unaccounted. gas : name of the gas, "" without one; gas_net : MJ, net heating value of all of it. process,
    burner : None where there is no polyolefin in the feed, nothing declared. ratio : gas_net in % of what heated the
    reactor.
    """

    rows: tuple[EnergyRow, ...]
    feed: Result
    products: Result
    closure: Result
    unaccounted: Result
    without: tuple[str, ...]
    gas: str
    gas_net: Result
    process: ProcessHeat | None
    burner: BurnerEnergy | None
    ratio: Result
    step: Step
