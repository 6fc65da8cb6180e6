"""A distillation by hand: the log as it was kept, how it was read, and the curve that follows from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from cutbook.model.cuts import Cut
from cutbook.model.lineage import Step
from cutbook.model.result import Result

StillKind = Literal["simple", "packed", "vacuum", "standard-test"]
Axis = Literal["mass", "volume"]


@dataclass(frozen=True)
class Repair:
    """One thing in a log that was not taken as it stands; the file itself is never changed.

    place : where it stands ("line 7"). column : heading as written, "" when the whole row is concerned.
    kind : key in `reports/repairs.toml` ("ditto"). found : text as written. read_as : what it was taken for, "" when
        it was left out.
    """

    place: str
    column: str
    kind: str
    found: str
    read_as: str


@dataclass(frozen=True)
class Reading:
    """One row of a log, cleaned.

    place : where it stands. time_min : since the first reading. pot_c, head_c : °C as read. volume_ml, mass_g : of
    distillate since the start, over all receivers. volume_percent : the same in % of the charge, where the log counts
    so. pressure_kpa : absolute. receiver, note : as written, "" without.
    """

    place: str
    time_min: float | None = None
    pot_c: float | None = None
    head_c: float | None = None
    volume_ml: float | None = None
    volume_percent: float | None = None
    mass_g: float | None = None
    pressure_kpa: float | None = None
    receiver: str = ""
    note: str = ""


@dataclass(frozen=True, eq=False)
class StillLog:
    """A log, read and cleaned.

    readings : in the order of the log. repairs : everything that was not taken as it stands.
    resolution : by the names of `Reading`, the step of the last digit written, in the unit of the field.
    """

    file: str
    readings: tuple[Reading, ...]
    repairs: tuple[Repair, ...]
    resolution: Mapping[str, float]
    step: Step


@dataclass(frozen=True, eq=False)
class StillPoint:
    """One point of the curve of a distillation.

    place : of the reading. mass_recovered, volume_recovered : % of the charge. head_temperature : °C, stem and lag
    corrected where they are given. pressure : kPa. equivalent_temperature : °C at 101.325 kPa.
    vacuum : whether it was found by the equation of equivalent temperature, not by the barometric correction.
    """

    place: str
    mass_recovered: Result
    volume_recovered: Result
    head_temperature: Result
    pressure: Result
    equivalent_temperature: Result
    vacuum: bool = False


@dataclass(frozen=True, eq=False)
class StillCurve:
    """What one distillation tells.

    name : key in the results ("oil", "oil-2" for a second distillation of the same product).
    points : in the order of the log. recovered, residue, loss : % of the charge by mass, or by volume where `basis`
        says so. by_volume : the same three by volume beside those by mass, where both were measured.
    cuts : by the headline temperature scheme, then by the further ones, % of the charge.
    receivers : what each receiver holds, % of the charge. cuts_by_volume, receivers_by_volume : the same by volume
    beside those by mass.
    """

    name: str
    of: str
    kind: StillKind
    log: StillLog
    points: tuple[StillPoint, ...]
    basis: Axis
    recovered: Result
    residue: Result
    loss: Result
    cuts: tuple[Cut, ...]
    receivers: tuple[Cut, ...]
    step: Step
    by_volume: tuple[Result, Result, Result] | None = None
    cuts_by_volume: tuple[Cut, ...] = ()
    receivers_by_volume: tuple[Cut, ...] = ()
