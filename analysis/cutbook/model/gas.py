"""The gas of a run: what a laboratory or a detector told, what of it is product, how much it is and what worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from cutbook.model.amount import Amount
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.still import Repair

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


@dataclass(frozen=True)
class GasPeak:
    """One peak of a gas trace.

    apex_min, half_width_min : min. area, u_area : signal unit × min; below 0 for a peak that points down.
    """

    apex_min: float
    area: float
    u_area: float
    half_width_min: float


@dataclass(frozen=True, eq=False)
class GasPeaks:
    """The peaks of one gas trace in order of elution.

    file : of the trace. noise_area : sd of the area that noise alone makes over one min of trace, in signal unit ×
    min per √min; None for a list of peaks, which tells no noise. half_width_min : typical, at mid-run. start_min,
    end_min : of the trace. unit : of its signal, of the areas of a list; "" where nobody says.
    """

    file: str
    peaks: tuple[GasPeak, ...]
    noise_area: float | None
    half_width_min: float
    start_min: float
    end_min: float
    step: Step
    unit: str = ""


@dataclass(frozen=True, eq=False)
class GasResponse:
    """How strongly a detector answers to a component: area a mole fraction.

    how : "standard" where the gas standard holds it, "relative" where it was taken from `reference` and the table of
    relative responses. expected_min : where it elutes in the standard, None where only the sample says.
    """

    component: str
    amount: Amount
    how: Literal["standard", "relative"]
    reference: str
    expected_min: float | None


@dataclass(frozen=True, eq=False)
class GasSignal:
    """One peak of the gas as it was told. component : "unidentified" for none. share : raw mole fraction, before the
    gas was made 1; None without a response. taken : whether the composition took it from here."""

    detector: str
    file: str
    component: str
    apex_min: float
    area: float
    u_area: float
    how: Literal["standard", "relative", "none"]
    share: Result
    taken: bool


@dataclass(frozen=True, eq=False)
class DetectorReading:
    """What one detector tells of a gas.

    samples, standards : files. responses : by component. shares, limits : raw mole fractions by component, of those it
    can answer for. unidentified : raw mole fraction of all peaks that nobody names. unknown : components that were
    seen and have no response. area_unidentified : share of the area of all peaks. repeat_u : relative standard
    uncertainty of one area by repeat.
    """

    detector: str
    samples: tuple[str, ...]
    standards: tuple[str, ...]
    responses: Mapping[str, GasResponse]
    shares: Mapping[str, Amount]
    limits: Mapping[str, float]
    signals: tuple[GasSignal, ...]
    unidentified: Amount | None
    area_unidentified: float
    unknown: tuple[str, ...]
    not_seen: tuple[str, ...]
    repeat_u: float
    step: Step


@dataclass(frozen=True, eq=False)
class TracedGas:
    """The gas by its traces. readings : one a detector. bridge : component that joins two detectors, "" for none;
    bridge_ratio : of the shares that the first and the second found of it. composition : dry."""

    readings: tuple[DetectorReading, ...]
    bridge: str
    bridge_ratio: Amount | None
    signals: tuple[GasSignal, ...]
    composition: GasComposition


@dataclass(frozen=True)
class MeterReading:
    """One reading of a gas meter. time_min : on the clock of the log. volume_ml : what the counter shows.
    temperature_c, pressure_kpa : of the gas in it, None where the log has none."""

    place: str
    time_min: float | None
    volume_ml: float
    temperature_c: float | None
    pressure_kpa: float | None
    note: str = ""


@dataclass(frozen=True, eq=False)
class MeterLog:
    """A meter log, read and not yet judged. repairs : as of a still log. resolution : by field, in its bench unit.
    clocks : whether the times are those of a clock, and so since the first reading."""

    file: str
    readings: tuple[MeterReading, ...]
    repairs: tuple[Repair, ...]
    resolution: Mapping[str, float]
    clocks: bool
    step: Step


@dataclass(frozen=True, eq=False)
class MeteredGas:
    """What passed a meter. log : as read. repairs : of reading and counting. parts : what passed from one reading to
    the next. passed : L at meter conditions. duration_min : None without times."""

    log: MeterLog
    repairs: tuple[Repair, ...]
    parts: tuple[MeteredPart, ...]
    passed: Result
    duration_min: float | None
    step: Step


@dataclass(frozen=True, eq=False)
class MeteredPart:
    """What passed between two readings: volume in mL, °C, kPa; start_min, end_min : None without times."""

    place: str
    start_min: float | None
    end_min: float | None
    volume_ml: Amount
    temperature_c: Amount
    pressure_kpa: Amount


@dataclass(frozen=True, eq=False)
class PurgeCheck:
    """The purge that was let in, against what the composition says went through the meter. let_in, found : mol;
    found is not determined where the analysis does not see the purge gas. difference : found less let in, mol."""

    gas: str
    let_in: Result
    found: Result
    difference: Result


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
    mol and mass in g : dry, without air and purge. purge : what the flow let in, None where nobody says."""

    total: Result
    water: Result
    product: Result
    mass: Result
    purge: PurgeCheck | None = None


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
