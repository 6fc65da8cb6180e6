"""The traces of a gas and of its standard: which of a run's traces they are, and what they tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cutbook.gas.detector_reading import SampleRun, read_detector
from cutbook.gas.gas_peaks import gas_peaks
from cutbook.gas.gas_response import CONDUCTIVITY, FLAME, Certified, StandardRun, detector_responses
from cutbook.gas.substances import component_named, substances
from cutbook.gas.traced_gas import traced_gas
from cutbook.importers.run_sheet import GAS
from cutbook.model.entered import Entered
from cutbook.model.errors import InputError, nearest
from cutbook.model.gas import DetectorReading, GasPeaks, TracedGas
from cutbook.model.lineage import Source, Step
from cutbook.model.run import Run, TraceEntry
from cutbook.workup.method import Method
from cutbook.workup.samples import Traces

DETECTORS = (CONDUCTIVITY, FLAME)
"""Detectors of a gas, in the order in which they are joined: the second is scaled to the first."""


@dataclass(frozen=True, eq=False)
class TracedBag:
    """What the traces of one bag tell. volume, taken_at : of the bag, None where nobody says."""

    gas: TracedGas
    volume: Entered | None
    taken_at: Entered | None


def gas_name(run: Run) -> str:
    """The product that the gas entries of a run are of."""
    entries = (*run.further.get("gas_analysis", ()), *run.further.get("gas_meter", ()))
    return next((str(entry["of"]) for entry in entries if entry["of"]), GAS)


def gas_standards(run: Run) -> dict[str, tuple[TraceEntry, ...]]:
    """The traces of gas standards by detector: those of the gas, or of nothing and holding gases by mole alone.

    Raises
    ------
    InputError
        When a standard of the gas does not say by which detector it was traced, or by one that gives no area a mole.
    """
    of = gas_name(run)
    found: dict[str, list[TraceEntry]] = {}
    for entry in run.traces:
        if entry.role != "standard" or not entry.amounts:
            continue
        gases = all(component_named(one["name"]) and not _by_mass(one["concentration"]) for one in entry.amounts)
        if entry.of == of or (not entry.of and gases and entry.detector in DETECTORS):
            _say_detector(entry, run)
            found.setdefault(entry.detector, []).append(entry)
    return {detector: tuple(entries) for detector, entries in found.items()}


def gas_samples(run: Run) -> tuple[TraceEntry, ...]:
    """The traces of the gas whose detector has a gas standard.

    Raises
    ------
    InputError
        When a trace of the gas does not say its detector, though there is a gas standard.
    """
    of, standards = gas_name(run), gas_standards(run)
    own = [entry for entry in run.samples() if entry.of == of] if standards else []
    for entry in own:
        _say_detector(entry, run)
    return tuple(entry for entry in own if entry.detector in standards)


def _say_detector(entry: TraceEntry, run: Run) -> None:
    # a trace by mass spectrometry may have a ladder of its own
    if not entry.detector or (entry.role == "standard" and entry.detector not in DETECTORS):
        raise InputError.single(
            run.sheet.path, f"{entry.place}, detector", f"'{entry.detector}'" if entry.detector else "nothing",
            " or ".join(DETECTORS),
            "A gas standard counts for the traces of its own detector.",
        )  # fmt: skip


def _by_mass(share: Entered) -> bool:
    """Whether a concentration is none by mole: of a solution, or written as a share by mass."""
    by_mass = ("/kg", "/g", "ppmw", "wt%", "wt %", "m/m", "m/m)", "mass%", "mass %")
    return share.unit != "1" or share.text.rstrip().endswith(by_mass)


def oil_samples(run: Run) -> tuple[TraceEntry, ...]:
    """The traces of products that are worked up against a ladder: all but those of a gas that its standard tells,
    unless they have a ladder of their own, too."""
    by_standard = {entry.file for entry in gas_samples(run)}
    return tuple(entry for entry in run.samples() if entry.file not in by_standard or entry.ladder)


def traced_bags(run: Run, traces: Traces, method: Method) -> tuple[TracedBag, ...]:
    """The gas of a run by its traces, one entry for each time at which a bag was taken.

    Raises
    ------
    InputError
        When a standard cannot be told, names an unknown component, or states no mole fractions.
    """
    entries = gas_samples(run)
    if not entries:
        return ()
    of = gas_name(run)
    read: dict[str, GasPeaks] = {}

    def peaks(entry: TraceEntry) -> GasPeaks:
        if entry.file not in read:
            read[entry.file] = gas_peaks(
                traces.signal(entry), method.integration, method.listed_areas, method.gas_peaks
            )
        return read[entry.file]

    standards = {
        detector: (
            detector_responses(
                detector,
                next((one.carrier for one in (*known, *entries) if one.carrier and one.detector == detector), ""),
                [StandardRun(peaks(one), _certified(one, run), one.place) for one in known],
                of, method.traced_gas.times, method.traced_gas.response,
            ),
            [_standard_step(one, peaks(one), run) for one in known],
            [one.file for one in known],
        )
        for detector, known in gas_standards(run).items()
        if any(entry.detector == detector for entry in entries)
    }  # fmt: skip
    bags: dict[float | None, list[TraceEntry]] = {}
    for entry in entries:
        bags.setdefault(entry.taken_at.value if entry.taken_at else None, []).append(entry)
    found = []
    for own in bags.values():
        readings: list[DetectorReading] = []
        for detector in DETECTORS:
            here = [entry for entry in own if entry.detector == detector]
            if here:
                responses, steps, files = standards[detector]
                runs = [SampleRun(peaks(one), _named_times(one.elutes, one, run)) for one in here]
                readings.append(read_detector(runs, responses, steps, files, of, method.traced_gas))
        told = traced_gas(readings, of, method.gas_composition, method.traced_gas)
        found.append(TracedBag(told, _volume(own, run), own[0].taken_at))
    return tuple(found)


def _volume(own: Sequence[TraceEntry], run: Run) -> Entered | None:
    """The volume of a bag, which any of its traces may state."""
    stated = [entry for entry in own if entry.volume is not None]
    for entry in stated[1:]:
        first = stated[0]
        if entry.volume and first.volume and entry.volume.value != first.volume.value:
            raise InputError.single(
                run.sheet.path, f"{entry.place}, volume", f'"{entry.volume.text}"',
                f'"{first.volume.text}" as in {first.place}, which is of the same bag',
                "Traces of one time, or of none, are of one bag; give traces of different bags their taken_at",
            )  # fmt: skip
    return stated[0].volume if stated else None


def _certified(entry: TraceEntry, run: Run) -> tuple[Certified, ...]:
    found = []
    for number, one in enumerate(entry.amounts, 1):
        at = f"{entry.place}, amounts {number}"
        share: Entered = one["concentration"]
        if _by_mass(share):
            raise InputError.single(
                run.sheet.path, f"{at}, concentration", f'"{share.text}", a share by mass or volume of solution',
                'mole % of the certificate, such as "25.0 %"',
            )  # fmt: skip
        if share.value <= 0:
            raise InputError.single(run.sheet.path, f"{at}, concentration", f'"{share.text}"', "a share above 0")
        time = one["retention_time"]
        found.append(Certified(_component(one["name"], at, run), share, None if time is None else time.value))
    names = [one.component for one in found]
    for name in names:
        if names.count(name) > 1:
            raise InputError.single(run.sheet.path, entry.place, f"'{name}' twice in amounts", "each component once")
    times = _named_times(entry.elutes, entry, run)
    return (*found, *(Certified(name, None, time) for name, time in times.items() if name not in names))


def _named_times(times: Mapping[str, float], entry: TraceEntry, run: Run) -> dict[str, float]:
    return {_component(name, f"{entry.place}, elutes", run): time for name, time in times.items()}


def _component(text: str, at: str, run: Run) -> str:
    name = component_named(text)
    if not name:
        near = nearest(text.casefold(), tuple(substances()))
        raise InputError.single(
            run.sheet.path, at, f"'{text}'", "a known component",
            f"Was '{near}' meant? See cutbook reference gas_components" if near
            else "See cutbook reference gas_components and gas_lumps",
        )  # fmt: skip
    return name


def _standard_step(entry: TraceEntry, peaks: GasPeaks, run: Run) -> Step:
    """The certificate and the trace of a standard."""
    return Step(
        "response from gas standard/1",
        inputs=(peaks.step,),
        settings={one["name"]: one["concentration"].text for one in entry.amounts},
        source=Source(run.sheet.path, run.sheet.sha256, entry.place),
    )
