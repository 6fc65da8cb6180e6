"""Screen a run of scans for chlorinated compounds: a verdict, an area and a limit for each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from cutbook.chlorine.added_peaks import AddedPeakSettings, Limit, limit_by_added_peaks
from cutbook.chlorine.claims import Claim, settle_claims
from cutbook.chlorine.look import Look, LookSettings, Refined, between_scans, look, look_at_all
from cutbook.chlorine.places import Place, place_by_time
from cutbook.chlorine.run_view import RunView
from cutbook.chlorine.signal_tests import SignalTestSettings, TestedSignal, test_signal
from cutbook.chlorine.target_ions import TargetIons, target_ions
from cutbook.chlorine.verdict import CONFIRMED, INDICATED
from cutbook.model.chlorine import Evidence, Outcome, ScreenedTarget, Target, Verdict
from cutbook.model.lineage import Step


@dataclass(frozen=True)
class ScreenSettings:
    """The parts of the screen, each described beside the function that obeys it.

    targets : name of a table in the run folder with further compounds to look for, none when empty.
    form_uncertainty : of an area, relative, because no peak has quite the form that was learned; 0.02, for a compound
        alone. hidden_uncertainty, most_hidden : the same of what neighbours leave of the form, 0.03, and its upper
        end, 0.12: of simulated areas of which neighbours leave a hundredth of the form two in three are right to 13 %.
    excess_uncertainty : of an area, by its excess when summed scan by scan; 1.5, since of a peak that leans, as one of
        an overloaded column does, the fitted shape and the sum beside it both miss a part.
    reading_share : of the difference between the keener and the strict reading that counts as uncertainty; 0.7, with
        which intervals of simulated compounds cover as they should; all of it where the strict reading alone would
        indicate nothing.
    """

    targets: str = ""
    form_uncertainty: float = 0.02
    hidden_uncertainty: float = 0.03
    most_hidden: float = 0.12
    excess_uncertainty: float = 1.5
    reading_share: float = 0.7
    look: LookSettings = field(default=LookSettings())
    added_peaks: AddedPeakSettings = field(default=AddedPeakSettings())
    tests: SignalTestSettings = field(default=SignalTestSettings())


def screen(
    view: RunView,
    places: Sequence[Place],
    index_at: Callable[[float], float | None],
    blank: RunView | None = None,
    settings: ScreenSettings = ScreenSettings(),
    limits: bool = True,
) -> tuple[ScreenedTarget, ...]:
    """Look for each target in its window.

    Parameters
    ----------
    view : the run. places : one a target. index_at : retention index at a time in min, None outside the ladder.
    blank : the run of a blank under the same method. settings : see `ScreenSettings`.
    limits : whether detection limits are wanted; a standard needs none.

    Returns
    -------
    tuple of ScreenedTarget
        In the order of `places`. Where a signal could as well be another target's it is given to the one whose index is
        nearest; the others are masked by it, and both say so.
    """
    asked = {}
    for number, place in enumerate(places):
        ions = target_ions(place.target, view.matrix.first_mz, view.matrix.last_mz)
        if ions is not None:
            asked[number] = place, ions
    looks = dict(zip(asked, look_at_all(view, list(asked.values()), settings.look), strict=True))
    claims = [
        Claim(
            number,
            at,
            seen.scan(at),
            int(seen.level[at]),
            float(seen.reading(at)[1].z[at]),
            _distance(seen, at),
            seen.unlike(at),
        )  # fmt: skip
        for number, seen in looks.items()
        if seen is not None
        for at in seen.found(settings.look)
    ]
    by_settings = Step("rules of the screen/1", settings=settings)
    settled = settle_claims(claims, [place.target for place in places], view)
    found: list[ScreenedTarget] = []
    for number, place in enumerate(places):
        seen = looks.get(number)
        if seen is None:
            found.append(_unseen(view, place, "window" if number in looks else "ions"))
            continue
        own, rivals = settled.get(number, (None, ()))
        found.append(_screened(seen, own, rivals, index_at, blank, settings, by_settings, limits))
    return tuple(found)


def _distance(seen: Look, at: tuple[int, int]) -> float:
    """Of a position from where the target is expected, in standard uncertainties."""
    return float((seen.view.matrix.time_min[seen.scan(at)] - seen.place.centre_min) / seen.place.u_min)


def not_placed(view: RunView, target: Target) -> ScreenedTarget:
    """A target of which nobody knows when it elutes in this run: its index lies outside the ladder."""
    time = view.matrix.time_min
    return _unseen(view, place_by_time(target, float(time[0]), 0.0), "window")


def _unseen(view: RunView, place: Place, why: str) -> ScreenedTarget:
    """A target that this run cannot show: its ions or its window were not recorded."""
    step = Step("screen for a compound/3", inputs=(view.step,), settings={"target": place.target.name})
    return ScreenedTarget(
        place.target, "masked", place.index_from, (place.first_min, place.last_min), None, None, None, None, None, None,
        None, 0, 0, (Evidence(f"{why} recorded", "open"),), (), None, step,
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Told:
    """What the window of a target tells; areas are of the tallest cluster ion."""

    verdict: Verdict
    limit: Limit
    tested: TestedSignal
    evidence: tuple[Evidence, ...]
    time: float | None = None
    index: float | None = None
    area: float | None = None
    u_area: float | None = None


def _screened(
    seen: Look,
    at: tuple[int, int] | None,
    rivals: tuple[str, ...],
    index_at: Callable[[float], float | None],
    blank: RunView | None,
    settings: ScreenSettings,
    by_settings: Step,
    limits: bool,
) -> ScreenedTarget:
    target, place, ions = seen.place.target, seen.place, seen.ions
    limit = Limit(None, None, np.inf, 0, 0)
    if limits:
        limit = limit_by_added_peaks(seen, at, settings.look, settings.added_peaks)
    if at is not None:
        told = _of_signal(seen, at, limit, index_at, blank, settings)
    else:
        told = _of_silence(seen, limit, bool(rivals), settings, limits)
    evidence = (*told.tested.evidence, *told.evidence)
    if limits:
        found, outcome = float(limit.found), _outcome(limit.found > 0)
        evidence += (Evidence("added peaks", outcome, found, float(limit.trials), None, "found"),)
    step = Step(
        "screen for a compound/3",
        inputs=(seen.view.step, by_settings),
        settings={"target": target.name, "window": f"{place.first_min:.3f} to {place.last_min:.3f} min",
                  "window laid by": place.index_from},
    )  # fmt: skip
    share = float(ions.share[ions.quantifier])
    area, u_area, least, quantitation = (
        None if value is None else value * share
        for value in (told.area, told.u_area, told.limit.area, told.limit.quantitation)
    )
    return ScreenedTarget(
        target, told.verdict, place.index_from, (place.first_min, place.last_min), told.time, told.index, area, u_area,
        least, quantitation, share * limit.quiet if limits else None, limit.trials, limit.found, evidence, rivals,
        told.tested.signal, step,
    )  # fmt: skip


def _outcome(speaks_for: bool) -> Outcome:
    return "for" if speaks_for else "open"


def _of_signal(
    seen: Look,
    at: tuple[int, int],
    limit: Limit,
    index_at: Callable[[float], float | None],
    blank: RunView | None,
    settings: ScreenSettings,
) -> _Told:
    """A signal that passed the rules: confirmed where nothing holds it back, indicated otherwise."""
    tested = test_signal(seen, at, limit.area, settings.look.along_peak, settings.tests)
    refined = between_scans(seen, at, settings.look)
    index = index_at(refined.time_min)
    alone = int(seen.strict.level[at]) < INDICATED
    u_area = _uncertainty(refined, 1.0 if alone else settings.reading_share, tested.excess, settings)
    evidence = [_index(seen, at, index, settings.tests)]
    if blank is not None:
        evidence.append(_blank(blank, seen.place, seen.ions, refined.time_min, refined.area, settings))
    every = (*tested.evidence, *evidence)
    speaks_for = {one.test for one in every if one.outcome == "for"}
    sure = (
        int(seen.level[at]) == CONFIRMED
        and {"own shape", "ratio along the peak"} <= speaks_for
        and not any(one.outcome == "against" for one in every)
    )
    return _Told(
        "confirmed" if sure else "indicated",
        limit,
        tested,
        tuple(evidence),
        refined.time_min,
        index,
        refined.area,
        u_area,
    )


def _of_silence(seen: Look, limit: Limit, rivals: bool, settings: ScreenSettings, limits: bool) -> _Told:
    """No signal of its own: not detected, or masked, with the larger of the proven limit and what could hide."""
    could_hide = _could_hide(seen)
    best = seen.peaks[0] if seen.peaks else _expected_position(seen)
    tested = test_signal(seen, best, limit.area, settings.look.along_peak, settings.tests)
    evidence: tuple[Evidence, ...] = ()
    if limit.area is not None:
        level = max(limit.area, could_hide)
        limit = replace(limit, area=level, quantitation=max(limit.quantitation or level, level))
        if could_hide > 0:
            share = float(seen.ions.share[seen.ions.quantifier])
            evidence = (Evidence("largest that could hide", "open", could_hide * share, None, None, "counts·min"),)
    masked = limits and (limit.area is None or limit.area > settings.look.verdict.masked_above * limit.quiet)
    return _Told("masked" if masked or rivals else "not detected", limit, tested, evidence)


def _uncertainty(refined: Refined, reading_share: float, excess: float, settings: ScreenSettings) -> float:
    """Of the area of a signal: its own, that of the form of peaks, and a share of what the two readings differ by.

    A form that is off by ε where the share f of it is free gives an area that is off by up to ε/√f.
    """
    apart = min(abs(refined.area - refined.strict_area), refined.u_strict)
    hidden = min(settings.hidden_uncertainty * float(np.sqrt(max(1.0 / refined.free - 1.0, 0.0))), settings.most_hidden)
    form = (settings.form_uncertainty, settings.excess_uncertainty * excess, hidden)
    parts = (refined.u_area, *(share * refined.area for share in form), reading_share * apart)
    return float(np.sqrt(sum(part**2 for part in parts)))


def _expected_position(seen: Look) -> tuple[int, int]:
    """The position nearest to where the target is expected."""
    time = seen.view.matrix.time_min[np.maximum(seen.pieces.positions, 0)]
    away = np.where(seen.inside, np.abs(time - seen.place.centre_min), np.inf)
    piece, place = np.unravel_index(int(away.argmin()), away.shape)
    return int(piece), int(place)


def _could_hide(seen: Look) -> float:
    """Largest area that could lie at any one place of the window: no ion of the compound may exceed what is there."""
    ions = seen.ions
    own = np.concatenate([ions.cluster, ions.third])
    tolerance = np.maximum(seen.rules.isotope_tolerance, np.minimum(2.0 * ions.u_share[own], 0.8))
    tolerance[: len(ions.cluster)] = seen.rules.isotope_tolerance
    area, u = seen.areas.area[..., own], seen.areas.u_area[..., own]
    most = ((area + 2.0 * u) / (ions.share[own] * (1.0 - tolerance))).min(axis=-1)
    return float(np.where(seen.inside, most, 0.0).max(initial=0.0))


def _index(seen: Look, at: tuple[int, int], index: float | None, settings: SignalTestSettings) -> Evidence:
    away = abs(_distance(seen, at))
    outcome: Outcome = "for" if away <= settings.index_spread else "against"
    if index is None:
        return Evidence("retention time", outcome, away, 0.0, None, "u")
    expected = seen.place.index
    return Evidence("retention index", outcome, index, expected, seen.place.u_index)


def _blank(
    blank: RunView, place: Place, ions: TargetIons, time: float, area: float, settings: ScreenSettings
) -> Evidence:
    """What the blank shows at the same time."""
    half = 0.5 * float(blank.form.width.half_width(time))
    there = replace(place, centre_min=time, first_min=time - half, last_min=time + half)
    seen = look(blank, there, ions, settings.look)
    if seen is None:
        return Evidence("blank", "open")
    z = np.where(seen.inside, seen.judged.z, -np.inf)
    at = np.unravel_index(int(z.argmax()), z.shape)
    found, u = float(seen.judged.cluster[at]), float(seen.judged.u_cluster[at])
    shows = found > 3.0 * u and found > settings.tests.blank_share * area
    return Evidence("blank", "against" if shows else "for", found / area, settings.tests.blank_share, u / area)
