"""Work up one injected sample, from its trace to its cuts."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from cutbook.chromatogram.blank_baseline import blank_baseline
from cutbook.chromatogram.bleed_baseline import bleed_baseline
from cutbook.chromatogram.integration import Integration, integrate
from cutbook.chromatogram.listed_areas import listed_slices, listed_table, not_in_a_list
from cutbook.chromatogram.signal_area import SliceAreas, signal_shares, slice_areas
from cutbook.chromatogram.stored_peaks import compare_stored_peaks
from cutbook.coldflow.wax_formers import wax_formers
from cutbook.fractions.benzene_window import benzene_window
from cutbook.fractions.boiling_curve import boiling_curve
from cutbook.fractions.boiling_cuts import boiling_cuts, boiling_time_min, scheme_times_min
from cutbook.fractions.carbon_bins import CarbonBins, carbon_bins
from cutbook.fractions.carbon_cuts import carbon_cuts
from cutbook.fractions.carbon_distribution import distribute_carbons
from cutbook.fractions.cut_properties import cut_properties
from cutbook.fractions.cut_schemes import ChosenSchemes, chosen_schemes
from cutbook.fractions.density_estimate import assumed_watson_factor
from cutbook.fractions.fuel_properties import fuel_properties
from cutbook.fractions.light_ends import light_end_loss
from cutbook.fractions.sensitivity import customary_limits, cut_sensitivity
from cutbook.identification.ladder import number_ladder
from cutbook.identification.retention_index import index_peaks
from cutbook.identification.retention_shift import retention_shift
from cutbook.identification.system_check import system_check
from cutbook.importers.recognise import read_signal
from cutbook.model.boiling import BoilingCurve
from cutbook.model.carbon import CarbonDistribution
from cutbook.model.cautions import Caution, caution
from cutbook.model.cuts import Cut, CutScheme, Sensitivity
from cutbook.model.errors import TraceError
from cutbook.model.ladder import Check, Ladder
from cutbook.model.lineage import Step
from cutbook.model.peaks import PeakTable
from cutbook.model.properties import CutProperties, Property
from cutbook.model.result import Result
from cutbook.model.run import DistillationEntry, Product, Run, TraceEntry
from cutbook.model.trace import Baseline, Floats, ListedPeaks, Trace
from cutbook.quantitation.internal_standard import find_internal_standard
from cutbook.quantitation.mass_slices import MassSlices, weigh_slices
from cutbook.quantitation.solvent import listed_solvent, solvent_windows
from cutbook.workup.findings import SampleFindings
from cutbook.workup.method import Method

FLAME = "FID"
MASS = "MS"
HEADLINE = "boiling-range"
"""The name in the results of the headline scheme by boiling range."""


@dataclass(frozen=True, eq=False)
class NumberedLadder:
    """A ladder with its system check and the step of that check."""

    ladder: Ladder
    checks: tuple[Check, ...]
    check_step: Step


class Traces:
    """The traces, lists of peaks and ladders of a run, each read and numbered once."""

    def __init__(self, run: Run, method: Method) -> None:
        self.run, self.method = run, method
        self._signals: dict[str, Trace | ListedPeaks] = {}
        self._ladders: dict[str, NumberedLadder] = {}

    def signal(self, entry: TraceEntry) -> Trace | ListedPeaks:
        """The trace of an entry, or the list of peaks in its place."""
        if entry.file not in self._signals:
            self._signals[entry.file] = read_signal(self.run.folder, entry)
        return self._signals[entry.file]

    def entry(self, file: str, role: str, of: TraceEntry) -> TraceEntry:
        """The entry of a file that another entry names; where it has none of its own, one with the same detector."""
        own = self.run.entry(file)
        return own or TraceEntry(file=file, place=of.place, role="ladder" if role == "ladder" else "blank",
                                 detector=of.detector)  # fmt: skip

    def ladder(self, sample: TraceEntry) -> NumberedLadder | None:
        """The ladder that a sample names, numbered; None when it names none."""
        if not sample.ladder:
            return None
        if sample.ladder not in self._ladders:
            entry = self.entry(sample.ladder, "ladder", sample)
            signal = self.signal(entry)
            if isinstance(signal, ListedPeaks):
                windows = listed_solvent(signal, entry, None, self.method.solvent).windows_min
                peaks = listed_table(signal, windows, self.method.listed_areas)
            else:
                windows = solvent_windows(signal, entry, None, self.method.solvent).windows_min
                peaks = integrate(signal, windows, self.method.integration).peaks
            ladder = number_ladder(peaks, entry.file, entry.ladder_carbons, entry.solvent, windows, self.method.ladder)
            checks, step = system_check(ladder, self.method.system_check)
            self._ladders[sample.ladder] = NumberedLadder(ladder, checks, step)
        return self._ladders[sample.ladder]


def work_up_sample(name: str, entry: TraceEntry, traces: Traces) -> tuple[SampleFindings, tuple[Caution, ...]]:
    """One sample.

    Parameters
    ----------
    name : its key in the results. entry : its entry of the run sheet.
    traces : of the run.

    Returns
    -------
    SampleFindings, cautions
        Cautions in the order in which they arose.
    """
    signal = traces.signal(entry)
    if isinstance(signal, ListedPeaks):
        return _work_up_list(name, entry, signal, traces)
    return _work_up_trace(name, entry, signal, traces)


def _work_up_trace(
    name: str, entry: TraceEntry, trace: Trace, traces: Traces
) -> tuple[SampleFindings, tuple[Caution, ...]]:
    method = traces.method
    numbered = traces.ladder(entry)
    solvent = solvent_windows(trace, entry, numbered.ladder if numbered else None, method.solvent)
    windows = solvent.windows_min
    read = integrate(trace, windows, method.integration)
    whole = _total_baseline(entry, traces, read, windows)
    raised: list[Caution] = []
    for step in (trace.step, solvent.step, read.peaks.step, whole.step):
        raised += step.all_cautions()
    raised += _unlikely(entry, trace.detector, read.peaks, windows)
    raised += compare_stored_peaks(trace, read.peaks)
    found = SampleFindings(
        name, entry.of, trace.detector, entry.file, trace, read.following, whole, read.peaks, windows,
        None, (), None, (), (),
    )  # fmt: skip
    return _cut_up(
        found, raised, entry, traces, numbered, (trace.time_min[0], trace.time_min[-1]),
        lambda edges, _: slice_areas(trace, whole, edges, windows, read.noise),
        lambda: signal_shares(trace, read.following, whole, windows, name),
        (whole.step, solvent.step, read.peaks.step),
    )  # fmt: skip


def _work_up_list(
    name: str, entry: TraceEntry, listed: ListedPeaks, traces: Traces
) -> tuple[SampleFindings, tuple[Caution, ...]]:
    """A sample of which there is a list of peaks and no trace: no baseline, no hump, no blank."""
    method = traces.method
    numbered = traces.ladder(entry)
    solvent = listed_solvent(listed, entry, numbered.ladder if numbered else None, method.solvent)
    peaks = listed_table(listed, solvent.windows_min, method.listed_areas)
    raised = [*solvent.step.all_cautions(), *peaks.step.all_cautions()]
    if entry.blank:
        raised.append(caution("peaks.listed_no_blank", entry.of or entry.file, blank=entry.blank))
    raised += _unlikely(entry, listed.detector, peaks, solvent.windows_min)
    found = SampleFindings(
        name, entry.of, listed.detector, entry.file, None, None, None, peaks, solvent.windows_min,
        None, (), None, (), (),
    )  # fmt: skip
    of_ladder = [rung.peak for rung in numbered.ladder.rungs] if numbered else []
    fronts = [peak.front_min for peak in (*peaks, *of_ladder)]
    backs = [peak.back_min for peak in (*peaks, *of_ladder)]
    return _cut_up(
        found, raised, entry, traces, numbered, (min(fronts), max(backs)),
        lambda edges, ladder: listed_slices(peaks, edges, ladder.u_time_min),
        lambda: not_in_a_list(peaks, name),
        (solvent.step, peaks.step),
    )  # fmt: skip


def _cut_up(
    found: SampleFindings,
    raised: list[Caution],
    entry: TraceEntry,
    traces: Traces,
    numbered: NumberedLadder | None,
    span_min: tuple[float, float],
    sliced: Callable[[Floats, Ladder], SliceAreas],
    shares: Callable[[], tuple[Result, Result]],
    before: tuple[Step, ...],
) -> tuple[SampleFindings, tuple[Caution, ...]]:
    """Carbon numbers and cuts of a sample whose signal can be sliced; nothing of the kind without a ladder.

    span_min : first and last time of the signal. sliced : areas between edges. shares : hump and baseline.
    before : the steps that the slices come from.
    """
    name, method = found.name, traces.method
    if numbered is None:
        raised.append(caution("report.no_ladder", name))
        if entry.internal_standard is not None:
            raised.append(caution("standard.with_area_only", name))
        return found, tuple(dict.fromkeys(raised))
    ladder = numbered.ladder
    peaks = index_peaks(found.peaks, ladder)
    raised += [*ladder.step.all_cautions(), *numbered.check_step.cautions, *retention_shift(name, peaks, ladder)]
    standard = None
    if entry.internal_standard is not None and found.detector == MASS:
        raised.append(caution("standard.for_ions", name, name=entry.internal_standard.name))
    elif entry.internal_standard is not None:
        standard = find_internal_standard(entry, traces.run.sheet, peaks, ladder, method.internal_standard)
    schemes = chosen_schemes(method.cuts)
    bins = carbon_bins(ladder, method.bins)
    areas = sliced(_edges(span_min, ladder, bins, schemes, method), ladder)
    slices = weigh_slices(name, areas, ladder, peaks, standard, before, method.response)
    hump, baseline_share = shares()
    carbons = distribute_carbons(
        name, slices, bins, method.bins, entry.solvent, found.solvent_windows_min, hump, baseline_share
    )
    wax = None if found.of == "gas" else wax_formers(name, carbons, slices, peaks, ladder, method.wax_formers)
    cuts = tuple(cut for shown, scheme in schemes.shown for cut in _cuts(carbons, slices, ladder, scheme, shown))
    curve = boiling_curve(
        name, lambda edges: sliced(edges, ladder), span_min, ladder, peaks, slices, standard, method.response,
        method.boiling_curve,
    )  # fmt: skip
    product = traces.run.product(found.of)
    properties, of_cuts, estimated = _properties(found.of, curve, cuts, product, traces)
    sensitivity = _sensitivities(carbons, slices, ladder, schemes, cuts, method)
    raised += [*carbons.step.all_cautions(), *curve.step.cautions, *estimated]
    for cut in cuts:
        raised += cut.mass.step.cautions
    raised += light_end_loss(carbons, method.light_ends)
    (_, scheme), own = schemes.shown[1], [cut for cut in cuts if cut.scheme == HEADLINE]
    raised += benzene_window(name, peaks, slices, ladder, standard, scheme, own)
    return replace(
        found, peaks=peaks, ladder=ladder, system_check=numbered.checks, carbons=carbons, cuts=cuts,
        sensitivity=sensitivity, boiling_curve=curve, properties=properties, cut_properties=of_cuts,
        wax_formers=wax,
    ), tuple(dict.fromkeys(raised))  # fmt: skip


def _properties(
    of: str, curve: BoilingCurve, cuts: tuple[Cut, ...], product: Product | None, traces: Traces
) -> tuple[tuple[Property, ...], tuple[CutProperties, ...], tuple[Caution, ...]]:
    """The properties of a liquid sample and of its cuts; a gas has none of this kind."""
    if of == "gas":
        return (), (), ()
    run, settings = traces.run, traces.method.properties
    watson = assumed_watson_factor(run.feeds, run.sheet)
    properties, step = fuel_properties(curve.of, curve, product, run.sheet, watson, settings)
    own = [cut for cut in cuts if cut.scheme == HEADLINE]
    of_cuts, step_of_cuts = cut_properties(curve, own, properties, watson, settings)
    return properties, of_cuts, (*step.cautions, *step_of_cuts.cautions)


def _total_baseline(
    entry: TraceEntry, traces: Traces, read: Integration, windows: tuple[tuple[float, float], ...]
) -> Baseline:
    """From the blank where there is one, else from a model of bleed, which is said."""
    method = traces.method
    if entry.blank:
        own = traces.entry(entry.blank, "blank", entry)
        blank = traces.signal(own)
        if isinstance(blank, ListedPeaks):
            raise TraceError.single(
                own.file, "", f"a list of {len(blank.peaks)} peaks", "the trace of the blank run",
                "Export the trace itself, or leave the blank out",
            )  # fmt: skip
        of_blank = solvent_windows(blank, own, None, method.solvent).windows_min
        return blank_baseline(read.trace, blank, windows, read.noise, method.blank, of_blank)
    modelled = bleed_baseline(read.trace, read.following, windows, read.noise, method.bleed)
    step = modelled.step
    told = Step(step.operation, step.inputs, step.settings, step.source,
                (*step.cautions, caution("sample.no_blank", entry.of or entry.file)))  # fmt: skip
    return replace(modelled, step=told)


def _unlikely(
    entry: TraceEntry, detector: str, peaks: PeakTable, windows: tuple[tuple[float, float], ...]
) -> list[Caution]:
    """What a reader should know about the kind of trace."""
    raised = []
    if detector and detector != FLAME:
        raised.append(caution("sample.area_only", entry.of or entry.file, detector=detector))
    area = sum(peak.area for peak in peaks)
    if not windows and area > 0:
        largest = max(peaks, key=lambda peak: peak.area)
        if largest.area > 0.6 * area and len(peaks) > 10:
            raised.append(
                caution(
                    "solvent.undeclared",
                    entry.of or entry.file,
                    time=round(largest.apex_min, 2),
                    share=round(100 * largest.area / area),
                )
            )
    return raised


def _edges(
    span_min: tuple[float, float], ladder: Ladder, bins: CarbonBins, schemes: ChosenSchemes, method: Method
) -> Floats:
    """Every time at which anything is cut, from the first point of the signal to its last."""
    first, last = float(span_min[0]), float(span_min[1])
    edges = {first, last, *(min(max(float(end), first), last) for end in bins.ends_min)}
    for shown, scheme in schemes.shown:
        if scheme.kind != "boiling range":
            continue
        edges.update(scheme_times_min(ladder, scheme))
        if shown == HEADLINE:
            for limits in customary_limits(scheme, method.sensitivity).values():
                times = (boiling_time_min(ladder, limit) for limit in limits)
                edges.update(time for time in times if time is not None)
    return np.array(sorted(edge for edge in edges if first <= edge <= last))


def _cuts(
    carbons: CarbonDistribution, slices: MassSlices, ladder: Ladder, scheme: CutScheme, shown: str
) -> tuple[Cut, ...]:
    if scheme.kind == "carbon number":
        return carbon_cuts(carbons, scheme, shown)
    return boiling_cuts(carbons.of, slices, ladder, scheme, shown)


def _sensitivities(
    carbons: CarbonDistribution,
    slices: MassSlices,
    ladder: Ladder,
    schemes: ChosenSchemes,
    cuts: tuple[Cut, ...],
    method: Method,
) -> tuple[Sensitivity, ...]:
    """The sensitivity lines of the two headline schemes."""
    by_kind: dict[str, Callable[[float, float], float | None]] = {
        "carbon number": lambda lower, upper: _carbon_share(carbons, lower, upper),
        "boiling range": lambda lower, upper: _boiling_share(slices, ladder, lower, upper),
    }
    found: list[Sensitivity] = []
    for shown, scheme in schemes.shown[:2]:
        own = [cut for cut in cuts if cut.scheme == shown]
        found += cut_sensitivity(scheme, own, by_kind[scheme.kind], method.sensitivity)
    return tuple(found)


def _carbon_share(carbons: CarbonDistribution, lower: float, upper: float) -> float | None:
    shares = {share.n: share.mass.value or 0.0 for share in carbons.numbered()}
    numbers = [n for n in shares if n is not None]
    if (math.isfinite(upper) and upper > max(numbers)) or upper < min(numbers) or lower > max(numbers) + 1:
        return None
    beyond = sum(s.mass.value or 0.0 for s in carbons.shares if s.part == "beyond the ladder")
    inside = sum(value for n, value in shares.items() if n is not None and lower <= n <= upper)
    return inside + (beyond if math.isinf(upper) else 0.0)


def _boiling_share(slices: MassSlices, ladder: Ladder, lower: float, upper: float) -> float | None:
    start = slices.edges_min[0] if math.isinf(lower) else boiling_time_min(ladder, lower)
    end = slices.edges_min[-1] if math.isinf(upper) else boiling_time_min(ladder, upper)
    if start is None and lower < ladder.boiling_c[0]:
        start = slices.edges_min[0]
    if start is None or end is None:
        return None
    return slices.value_between(start, end)


def result_names(entries: Sequence[TraceEntry] | Sequence[DistillationEntry]) -> list[str]:
    """Keys for the results: the product, with a number from its second trace or distillation on."""
    seen: dict[str, int] = {}
    names = []
    for entry in entries:
        base = entry.of or Path(entry.file).stem
        seen[base] = seen.get(base, 0) + 1
        names.append(base if seen[base] == 1 else f"{base}-{seen[base]}")
    return names
