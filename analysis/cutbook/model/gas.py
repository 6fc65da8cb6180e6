"""The gas of a run: what a laboratory reported, what of it is product, how much there is and what it is worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from cutbook.model.amount import Amount
from cutbook.model.lineage import Step
from cutbook.model.result import Result

GasUnit = Literal["fraction", "area"]


@dataclass(frozen=True, eq=False)
class GasRow:
    """One row of a composition table, as it was read.

    place : where it stands ("line 4"). text : the component as written. component : its name in the reference tables.
    value : mole fraction, or area over response where the table lists areas; None where the cell is empty.
    u : standard uncertainty of the value, None where none is stated. limit : the figure behind "<", in the same unit.
    step : one step of the last digit written, in the same unit.
    """

    place: str
    text: str
    component: str
    value: float | None
    u: float | None = None
    limit: float | None = None
    step: float = 0.0


@dataclass(frozen=True, eq=False)
class GasTable:
    """A composition table, read and not yet judged.

    file : name of the file. unit : what the values are. rows : components. total : the sum of shares that the table
    itself states, None for none.
    """

    file: str
    unit: GasUnit
    rows: tuple[GasRow, ...]
    total: float | None
    step: Step


@dataclass(frozen=True, eq=False)
class GasComposition:
    """A dry gas by components.

    shares : mole fraction by component; they add up to 1. limits : mole fraction below which a component was not
    seen. not_given : components that are named without a figure. raw_sum : of the table before it was made 1,
    None for areas.
    """

    shares: Mapping[str, Amount]
    limits: Mapping[str, float]
    not_given: tuple[str, ...]
    raw_sum: float | None
    step: Step


@dataclass(frozen=True, eq=False)
class ProductGas:
    """What of a dry gas came from the charge.

    shares : mole fraction by component of the product gas. product_share : of the analysed dry gas. air, purge :
    mole fraction of the analysed gas that was taken for air and for purge gas. nitrogen_to_oxygen : in the analysed
    gas; not determined without either. air_free : whether no air and no purge is left in `shares`, beyond doubt.
    unknown : components of which nothing can be said (carbon dioxide after a purge with it).
    """

    shares: Mapping[str, Amount]
    product_share: Amount
    air: Result
    purge: Result
    nitrogen_to_oxygen: Result
    air_free: bool
    limits: Mapping[str, float]
    unknown: tuple[str, ...]
    step: Step


@dataclass(frozen=True, eq=False)
class TrappedOxygen:
    """The oxygen of the air over an unpurged charge in g, and the most water, carbon monoxide or carbon dioxide in g
    that all of it could have become."""

    oxygen: Result
    water: Result
    carbon_monoxide: Result
    carbon_dioxide: Result


@dataclass(frozen=True, eq=False)
class GasAmount:
    """How much gas there is. total in mol, wet, as measured; water : mole fraction of water vapour in it; product in
    mol and mass in g : dry, without air and purge."""

    total: Result
    water: Result
    product: Result
    mass: Result


@dataclass(frozen=True, eq=False)
class VolumetricValues:
    """Properties of a gas by volume at one reference state.

    combustion_c, metering_c : °C, at 101.325 kPa. reference : the state as printed ("15/15 °C, 101.325 kPa").
    gross, net, wobbe, wobbe_net : MJ/m³. density : kg/m³. relative_density, compression_factor : 1.
    """

    combustion_c: float
    metering_c: float
    reference: str
    gross: Result
    net: Result
    wobbe: Result
    wobbe_net: Result
    density: Result
    relative_density: Result
    compression_factor: Result


@dataclass(frozen=True, eq=False)
class GasProperties:
    """What a gas is worth.

    molar_mass : g/mol. gross_molar, net_molar : kJ/mol. gross, net : MJ/kg. All calorific values for combustion at
    15 °C. hydrogen_to_carbon : atoms; hydrogen : mass % of the gas. volumetric : the customary reference state first.
    """

    molar_mass: Result
    gross_molar: Result
    net_molar: Result
    gross: Result
    net: Result
    hydrogen_to_carbon: Result
    hydrogen: Result
    volumetric: tuple[VolumetricValues, ...]
    step: Step
