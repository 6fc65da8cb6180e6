"""A run as its run sheet tells it: what was charged, weighed out, injected."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step
from cutbook.model.still import StillKind

Role = Literal["sample", "ladder", "blank", "standard"]


@dataclass(frozen=True)
class Feed:
    """One material charged. mass in g; moisture, ash and element shares as fractions 0–1, None when not given."""

    material: str
    mass: Entered
    place: str
    moisture: Entered | None = None
    ash: Entered | None = None
    chlorine: Entered | None = None
    carbon: Entered | None = None
    hydrogen: Entered | None = None
    oxygen: Entered | None = None
    nitrogen: Entered | None = None


@dataclass(frozen=True)
class Product:
    """One product weighed or measured out.

    mass in g; volume in mL; density in g/mL; temperature in °C; pressure in kPa. `measured` holds
    what somebody else measured on it, by the key of the run sheet (carbon, ash, cloud_point …).
    naphtha_chlorine : in the washed naphtha of it, which is not its own. chlorine_method : how that was measured.
    """

    fraction: str
    place: str
    mass: Entered | None = None
    volume: Entered | None = None
    density: Entered | None = None
    by_difference: bool = False
    temperature: Entered | None = None
    pressure: Entered | None = None
    wet: bool | None = None
    measured: Mapping[str, Entered] = field(default_factory=dict)
    chlorine_method: str = ""

    @property
    def bulk_chlorine(self) -> Entered | None:
        """What a laboratory found, of the whole product or of its washed naphtha; None where nobody asked one."""
        return self.measured.get("chlorine") or self.measured.get("naphtha_chlorine")


@dataclass(frozen=True)
class InternalStandard:
    """A compound of known amount in what was injected.

    concentration : fraction by mass (0–1) of the injected material, or mass in g added to `sample_mass`.
    retention_time_min, retention_index : where it elutes, when the reference table does not know it.
    """

    name: str
    concentration: Entered | None = None
    mass: Entered | None = None
    retention_time_min: float | None = None
    retention_index: float | None = None


@dataclass(frozen=True)
class TraceEntry:
    """A [[trace]] entry, or a file that another entry names as its ladder or blank.

    file, ladder, blank : paths relative to the run folder, checked to lie inside it.
    solvent_window_min : (start, end) of the solvent peak in min.
    sample_mass, solvent_mass : in g. amounts : of a standard, name with concentration (and retention time in min).
    elutes : components of a gas and when they elute, in min. carrier : gas, "" where nobody says. volume, taken_at :
    of the bag of gas that was injected, mL and min.
    """

    file: str
    place: str
    role: Role
    detector: str = ""
    of: str = ""
    ladder: str = ""
    blank: str = ""
    columns: Mapping[str, str] = field(default_factory=dict)
    ladder_carbons: tuple[int, ...] = ()
    solvent: str = ""
    solvent_window_min: tuple[float, float] | None = None
    sample_mass: Entered | None = None
    solvent_mass: Entered | None = None
    internal_standard: InternalStandard | None = None
    amounts: tuple[Mapping[str, Any], ...] = ()
    elutes: Mapping[str, float] = field(default_factory=dict)
    carrier: str = ""
    volume: Entered | None = None
    taken_at: Entered | None = None


@dataclass(frozen=True)
class Receiver:
    """What one receiver of a distillation held when it was taken off; mass in g, volume in mL, density in g/mL."""

    name: str
    mass: Entered | None = None
    volume: Entered | None = None
    density: Entered | None = None


@dataclass(frozen=True)
class DistillationEntry:
    """A [[distillation]] entry: a still log and what was weighed beside it.

    of : the product that was charged. kind : None where it is not said. charge_mass, residue_mass in g;
    charge_volume, residue_volume in mL. pressure : kPa, of the barometer or of the vacuum held.
    emergent_stem_c : degrees of the thermometer's scale outside the vapour; stem_temperature : °C, of that part.
    thermometer_lag : min by which the thermometer follows. columns : field -> heading.
    as_written : places of the log ("line 7") whose readings are taken as they stand, without repair.
    """

    file: str
    place: str
    of: str
    kind: StillKind | None = None
    charge_mass: Entered | None = None
    charge_volume: Entered | None = None
    residue_mass: Entered | None = None
    residue_volume: Entered | None = None
    pressure: Entered | None = None
    emergent_stem_c: float | None = None
    stem_temperature: Entered | None = None
    thermometer_lag: Entered | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    receivers: tuple[Receiver, ...] = ()
    as_written: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Run:
    """A run folder, read and validated.

    folder : where it lies. sheet : the run sheet as a source (path and hash).
    conditions : factor by name; a quantity or a text level.
    further : the entries for later questions (scrubber, chlorine, reactor, gas_analysis, gas_meter, storage),
        validated, quantities as `Entered`, by section name.
    step : the reading of the sheet.
    """

    folder: Path
    sheet: Source
    id: str
    feeds: tuple[Feed, ...]
    products: tuple[Product, ...]
    traces: tuple[TraceEntry, ...]
    step: Step
    date: datetime.date | None = None
    operator: str = ""
    title: str = ""
    notes: str = ""
    conditions: Mapping[str, Entered | str | float | bool] = field(default_factory=dict)
    further: Mapping[str, Any] = field(default_factory=dict)
    distillations: tuple[DistillationEntry, ...] = ()

    def entry(self, file: str) -> TraceEntry | None:
        """The [[trace]] entry of a file, None when the file has none."""
        return next((entry for entry in self.traces if entry.file == file), None)

    def product(self, name: str) -> Product | None:
        """A product by its fraction, or what a receiver held by the receiver's name; None for neither."""
        for product in self.products:
            if product.fraction == name:
                return product
        for entry in self.distillations:
            for receiver in entry.receivers:
                if receiver.name == name:
                    place = f"{entry.place}, receiver {name}"
                    return Product(name, place, receiver.mass, receiver.volume, receiver.density)
        return None

    def samples(self) -> tuple[TraceEntry, ...]:
        """The traces of products, in the order of the sheet."""
        return tuple(entry for entry in self.traces if entry.role == "sample")
