"""Work up the mass spectra of a run: which chlorinated compounds its oils hold, and what they add up to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from cutbook.balance.feed_elements import chlorine_at_most
from cutbook.chlorine.concentration import FOUND, PER_MILLION
from cutbook.chlorine.hazards import chlorine_cautions
from cutbook.chlorine.injected import MeasuredRun, same_name
from cutbook.chlorine.naphtha import against_naphtha
from cutbook.chlorine.orientation import orientation_caution
from cutbook.chlorine.places import Place, place_by_index, place_by_time
from cutbook.chlorine.run_view import RunView, view_scans
from cutbook.chlorine.screen import not_placed, screen
from cutbook.chlorine.screened_oil import Laboratory, OilSettings, screened_oil
from cutbook.chlorine.signal_tests import leans
from cutbook.chlorine.target_ions import own_masses
from cutbook.chlorine.unknown_clusters import Known, search_unknown_clusters
from cutbook.chlorine.unknown_limit import unknown_limit
from cutbook.chlorine.where_distilled import where_distilled
from cutbook.chromatogram.ion_peak_form import PeakForm
from cutbook.fractions.cut_schemes import chosen_schemes
from cutbook.identification.retention_index import programmed_index
from cutbook.identification.target_table import targets
from cutbook.identification.user_targets import user_targets
from cutbook.importers.recognise import scans_of
from cutbook.importers.trace_file import open_trace_file
from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine import ScreenedOil, ScreenedTarget, Target, UnknownCluster
from cutbook.model.chlorine_ledger import ChlorineMethod, OrganicChlorine, WhereDistilled
from cutbook.model.ladder import Ladder
from cutbook.model.lineage import Source
from cutbook.model.result import Result
from cutbook.model.run import Run, TraceEntry
from cutbook.workup.chlorine_findings import ChlorineFindings
from cutbook.workup.findings import SampleFindings
from cutbook.workup.method import Method
from cutbook.workup.samples import HEADLINE, Traces

TALLEST_SHARE = 0.3
"""Of all ions of a compound, in the tallest isotope of its molecule: that of a chlorinated aromatic (common practice,
no source); only the limit of the search for unknown compounds is told with it."""


@dataclass(frozen=True, eq=False)
class _Oil:
    """One sample with scans. of, entry, sample : what it is. view, ladder : its scans and scale."""

    of: str
    entry: TraceEntry
    sample: SampleFindings
    view: RunView
    ladder: Ladder | None


def work_up_chlorine(
    run: Run,
    traces: Traces,
    samples: Sequence[SampleFindings],
    method: Method,
    progress: Callable[[str], None] = lambda _: None,
) -> tuple[ChlorineFindings | None, tuple[Caution, ...]]:
    """The screen of every product that was injected into a mass spectrometer.

    Parameters
    ----------
    run, traces, method : of the work-up. samples : its samples, of which those with scans are screened.
    progress : called with what is done next.

    Returns
    -------
    findings, cautions
        None where no sample holds scans.

    Raises
    ------
    InputError
        When a file cannot be read, or standards cannot be reckoned.
    """
    found: list[tuple[ScreenedOil, OrganicChlorine]] = []
    distilled: list[WhereDistilled] = []
    raised: list[Caution] = []
    sources: list[tuple[Source, str, str]] = []
    scanned = [sample for sample in samples if sample.trace is not None and sample.trace.detector == "MS"]
    if not scanned:
        return None, ()
    asked = targets()
    if own := method.screen.targets:
        asked += user_targets(run.folder, own)
        sources.append((Source(own, open_trace_file(run.folder, own).sha256), "targets", ""))
    for sample in scanned:
        entry = run.entry(sample.file)
        if entry is None:
            continue
        view = _view(run, entry.file, method)
        if view is None:
            raised.append(caution("chlorine.no_scans", sample.of or sample.name, file=entry.file))
            continue
        progress(f"chlorine screen of {sample.name}")
        numbered = traces.ladder(entry)
        oil = _Oil(sample.of or sample.name, entry, sample, view, numbered.ladder if numbered else None)
        raised += view.step.all_cautions()
        standards, of_standards = _standards(run, traces, oil, asked, method)
        raised += of_standards
        blank = _view(run, entry.blank, method, view.form) if entry.blank else None
        if blank is not None:
            raised += blank.step.all_cautions()
        elif entry.blank:
            raised.append(caution("chlorine.no_scans_beside", oil.of, file=entry.blank))
        for standard in standards:
            sources += _sources(traces, standard.entry, oil.of)
        places, left_out = _places(oil, asked, standards, method)
        if not places:
            raised.append(caution("chlorine.no_places", oil.of, file=entry.file))
            continue
        if not entry.blank:
            raised.append(caution("chlorine.no_blank", oil.of, file=entry.file))
        seen = screen(view, places, _index_of(oil.ladder), blank, method.screen)
        seen = (*seen, *(not_placed(view, target) for target in left_out))
        clusters = _clusters(oil, seen, method)
        raised += _search_limits(oil, _current_area(sample), method)
        known = _laboratory(run, oil.of, samples)
        settings = OilSettings(method.concentration, method.calibration, method.surrogate, method.organic_chlorine)
        measured = MeasuredRun(entry, seen, _current_area(sample))
        one, sums = screened_oil(measured, standards, clusters, known, run.sheet.path, settings)
        sums = against_naphtha(sums, one.targets, sample.boiling_curve, method.chlorine_in_cuts)
        found.append((one, sums))
        raised += _cautions(run, one, sums)
        where = _distilled(one, sums, samples, method)
        if where is not None:
            distilled.append(where)
            raised += where.step.cautions
    if not found:
        return None, tuple(raised)
    oils, sums_of = zip(*found, strict=True)
    return ChlorineFindings(oils, sums_of, tuple(distilled), tuple(sources)), tuple(dict.fromkeys(raised))


def _view(run: Run, file: str, method: Method, like: PeakForm | None = None) -> RunView | None:
    """The scans of a file made ready, None where it holds a trace alone; `like` : form of the peaks of its method."""
    scans = scans_of(run.folder, file)
    return None if scans is None else view_scans(scans, method.scans, like)


def _index_of(ladder: Ladder | None) -> Callable[[float], float | None]:
    if ladder is None:
        return lambda _: None
    carbons, times = ladder.carbons, ladder.times_min
    return lambda time: programmed_index(time, carbons, times)


def _standards(
    run: Run, traces: Traces, oil: _Oil, asked: Sequence[Target], method: Method
) -> tuple[tuple[MeasuredRun, ...], list[Caution]]:
    """The standards run under the same method, each screened for what it holds and the internal standard; and what of
    them could not be used."""
    found: list[MeasuredRun] = []
    raised: list[Caution] = []
    for entry in run.traces:
        if entry.role != "standard" or not entry.amounts or entry.of not in ("", oil.entry.of):
            continue
        if traces.signal(entry).detector != "MS":
            continue
        view = _view(run, entry.file, method, oil.view.form)
        if view is None:
            raised.append(caution("chlorine.no_scans_beside", oil.of, file=entry.file))
            continue
        raised += view.step.all_cautions()
        names = [str(amount["name"]) for amount in entry.amounts]
        if unknown := [name for name in names if not any(same_name(target.name, name) for target in asked)]:
            raised.append(caution("chlorine.standard_unknown", entry.file, names=", ".join(unknown)))
        numbered = traces.ladder(entry)
        ladder = numbered.ladder if numbered else oil.ladder
        places, unplaced = _places_of_standard(entry, view, ladder, asked, method)
        if unplaced:
            raised.append(caution("chlorine.standard_unplaced", entry.file, names=", ".join(unplaced)))
        if places:
            seen = screen(view, places, _index_of(ladder), None, method.screen, limits=False)
            found.append(MeasuredRun(entry, seen))
    return tuple(found), raised


def _places_of_standard(
    entry: TraceEntry, view: RunView, ladder: Ladder | None, asked: Sequence[Target], method: Method
) -> tuple[list[Place], list[str]]:
    """Windows of what a standard holds, by the retention time that the sheet states or by the ladder; and the names of
    compounds that have neither."""
    stated = {str(amount["name"]): amount["retention_time"] for amount in entry.amounts}
    if (standard := entry.internal_standard) is not None:
        stated.setdefault(standard.name, None)
    places: list[Place] = []
    unplaced: list[str] = []
    for name, time in stated.items():
        target = next((target for target in asked if same_name(target.name, name)), None)
        if target is None:
            continue
        place = None
        if time is not None:
            place = place_by_time(target, time.value, float(view.form.width.half_width(time.value)), method.places)
        elif ladder is not None:
            place = place_by_index(target, ladder, None, method.places)
        if place is None:
            unplaced.append(name)
        else:
            places.append(place)
    return places, unplaced


def _sources(traces: Traces, entry: TraceEntry, of: str) -> list[tuple[Source, str, str]]:
    """The files that a standard was read from."""
    files = [(entry, "standard", of)]
    if entry.ladder:
        files.append((traces.entry(entry.ladder, "ladder", entry), "ladder", ""))
    found = [(traces.signal(one).step.source, role, to) for one, role, to in files]
    return [(source, role, to) for source, role, to in found if source is not None]


def _places(
    oil: _Oil, asked: Sequence[Target], standards: Sequence[MeasuredRun], method: Method
) -> tuple[list[Place], list[Target]]:
    """Windows of all targets, and those that the ladder does not reach."""
    places: list[Place] = []
    left_out: list[Target] = []
    for target in asked:
        seen = [one for run in standards if (one := run.target(target.name)) is not None and one.time_min is not None]
        index = [one.retention_index for one in seen if one.retention_index is not None]
        place = None
        if oil.ladder is not None:
            place = place_by_index(target, oil.ladder, float(np.median(index)) if index else None, method.places)
        elif seen:
            times = [one.time_min for one in seen if one.time_min is not None]
            u_min = max(float(np.std(times)), 2.0 * oil.view.interval_min)
            place = place_by_time(target, float(np.median(times)), u_min, method.places)
        if place is None:
            left_out.append(target)
        else:
            places.append(place)
    return places, left_out


def _clusters(oil: _Oil, seen: Sequence[ScreenedTarget], method: Method) -> tuple[UnknownCluster, ...]:
    """Clusters with chlorine or bromine that are none of the targets found."""
    widths = oil.view.form.width
    known: list[Known] = [
        (one.time_min, float(widths.half_width(one.time_min)), tuple(sorted(own_masses(one.target))))
        for one in seen
        if one.time_min is not None
    ]
    chlorinated, brominated, _ = search_unknown_clusters(
        oil.view.matrix, widths, oil.view.noise, _index_of(oil.ladder), known, method.unknown
    )
    return tuple(sorted((*chlorinated, *brominated), key=lambda one: one.time_min))


def _search_limits(oil: _Oil, current: float | None, method: Method) -> list[Caution]:
    """From where on clusters that are no target's would have been found in this oil, tried with added ones."""
    if current is None or not method.unknown_limit.places:
        return []
    view, told = oil.view, {}
    for name, atoms in (("one", 1), ("two", 2)):
        limit = unknown_limit(view.matrix, view.form.width, view.noise, atoms, method.unknown_limit)
        per_ion = view.noise.gain * view.interval_min / TALLEST_SHARE / current * PER_MILLION
        for key, ions in ((name, limit.ions), (f"half_{name}", limit.half_ions)):
            told[key] = "no level that was tried" if ions is None else f"{ions * per_ion:.2g} mg/kg"
    return [caution("chlorine.search_limit", oil.of, **told)]


def _laboratory(run: Run, of: str, samples: Sequence[SampleFindings]) -> Laboratory:
    product = run.product(of)
    if product is None:
        return Laboratory(eluted=_eluted(samples, of))
    return Laboratory(product.bulk_chlorine, cast(ChlorineMethod, product.chlorine_method), _eluted(samples, of))


def _eluted(samples: Sequence[SampleFindings], of: str) -> Result | None:
    """Share of a product that elutes, %, where another trace of it tells what did not."""
    for sample in samples:
        for share in sample.carbons.shares if sample.of == of and sample.carbons is not None else ():
            if share.part == "did not elute" and share.mass.amount is not None:
                return Result("eluted share", 100.0 - share.mass.amount, "%", share.mass.basis, share.mass.step)
    return None


def _current_area(sample: SampleFindings) -> float | None:
    """Ion current of everything that eluted, counts·min, baseline and solvent taken away."""
    trace, whole = sample.trace, sample.total
    if trace is None or whole is None:
        return None
    above = trace.signal - whole.values
    keep = np.ones(len(above), bool)
    for first, last in sample.solvent_windows_min:
        keep &= (trace.time_min < first) | (trace.time_min > last)
    area = float(np.trapezoid(np.where(keep, above, 0.0), trace.time_min))
    return area if area > 0 else None


def _cautions(run: Run, oil: ScreenedOil, sums: OrganicChlorine) -> list[Caution]:
    """What the screen of one oil gives reason to warn of, dangers first."""
    here = [one.screened.target for one in oil.targets if one.screened.verdict in FOUND]
    fed = any(chlorine_at_most(feed) > 0 for feed in run.feeds)
    reactor: dict[str, Any] = next(iter(run.further.get("reactor", ())), {})
    purged = reactor.get("swept_before_heating")
    raised = list(chlorine_cautions(here, oil.of, fed, purged))
    raised += oil.step.all_cautions()
    leaning = [one.screened.target.name for one in oil.targets if one.screened.verdict in FOUND and leans(one.screened)]
    if leaning:
        raised.append(caution("chlorine.peak_leans", oil.of, names=", ".join(leaning)))
    raised += sums.all_cautions()
    if sums.best.value:
        raised.append(orientation_caution(sums.best.value, sums.best.u or 0.0, oil.of))
    return raised


def _distilled(
    oil: ScreenedOil, sums: OrganicChlorine, samples: Sequence[SampleFindings], method: Method
) -> WhereDistilled | None:
    """Where the chlorine of an oil goes, by the cuts of the first sample of it that has any."""
    scheme = next(one for _, one in chosen_schemes(method.cuts).shown if one.kind == "boiling range")
    for sample in samples:
        shares = {cut.cut: cut.mass for cut in sample.cuts if cut.scheme == HEADLINE}
        if sample.of == oil.of and shares:
            return where_distilled(sums, oil.targets, scheme, shares, method.chlorine_in_cuts)
    return None
