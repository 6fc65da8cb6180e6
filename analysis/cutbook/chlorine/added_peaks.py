"""How small a peak of a compound would still have been found in this run here: by adding it and looking again."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.along_peak import along_peak
from cutbook.chlorine.ion_areas import Design, fit_ions, ion_areas
from cutbook.chlorine.look import Look, LookSettings, between_scans, read_pieces, shapes_with_apex
from cutbook.chlorine.passing_level import passing_level
from cutbook.chlorine.places import Place
from cutbook.chlorine.target_ions import TargetIons
from cutbook.chlorine.verdict import INDICATED, judge
from cutbook.model.trace import Floats

_LEAST_COUNTED = 1e-3  # ions expected in a scan; drawing less than that costs time and adds nothing


@dataclass(frozen=True)
class AddedPeakSettings:
    """How the limit is found.

    found : share of added peaks that must be found; 0.95, so that what is there at the limit is missed once in twenty
        (Currie's error of the second kind; that of the first is held by the verdict itself).
    trials : peaks added to the run to prove it.
    start : factor on the size from which the rules on areas are passed, at which the trials begin; 1.4, since scan by
        scan more can go wrong than areas tell.
    rungs : levels tried at once of the peaks that were missed. steps : from one rung to the next; where none of them
        suffices the ladder is begun anew from its last with the next, coarser step. most_rounds : of such ladders.
    within : of the place where a peak was added, in full widths at half height, a signal must stand.
    """

    found: float = 0.95
    trials: int = 20
    start: float = 1.4
    rungs: int = 6
    steps: tuple[float, ...] = (1.2, 1.6, 2.5)
    most_rounds: int = 8
    within: float = 0.75


@dataclass(frozen=True)
class Limit:
    """What trials have shown.

    area : of the tallest cluster ion, counts·min, that is found in `found` of trials; None when none was.
    quantitation : area at which its relative standard uncertainty is 10 %, not below `area`.
    quiet : what `area` would be in this run without neighbours.
    trials, found : peaks added at `area`, and how many of them were found at least: none is looked for a second time
        once there are enough.
    """

    area: float | None
    quantitation: float | None
    quiet: float
    trials: int
    found: int


def limit_by_added_peaks(
    seen: Look, found: tuple[int, int] | None, settings: LookSettings, how: AddedPeakSettings = AddedPeakSettings()
) -> Limit:
    """The detection limit of a compound in this run.

    Parameters
    ----------
    seen : its window. found : where the compound itself was found; it is taken out, and what is left is counted
        anew, before peaks are added.
    settings : of the look. how : see `AddedPeakSettings`.

    Returns
    -------
    Limit

    Notes
    -----
    Places are drawn as the index is uncertain: a normal distribution about the expected time, cut off at the window; of
    a compound that was found, its scan. Where scans were recorded for less of the window than
    must be found there is no limit.
    The first guess is the size from which a peak at these places passes the rules on areas (`passing_level`). At that
    level peaks with the compound's ions, their tolerance and their own counting noise are added to the recorded
    heights, the instrument's threshold is applied, and the window is read again with the same rules. Where they find
    too few, those that were missed are tried at a ladder of higher levels; the first that should suffice is then
    proven with all of them.
    """
    rng = np.random.default_rng(20)
    look = seen if found is None else _taken_out(seen, found, settings, rng)
    at, weight = _places(look, found)
    u = look.areas.u_area[at]
    sharp = _sharpness(look.design.shapes[at[0], :, at[1]])
    trials = _lay_trials(look, at, weight, how, rng)
    guess, quiet = _guesses(look, trials, how, settings)
    if found is None and recorded_share(look.place, look.view.matrix.time_min) < how.found:
        return Limit(None, None, quiet, 0, 0)
    least, level = _least_found(how), max(guess, quiet)  # on a signal of another compound nothing need be added
    every, coarse, passed = np.arange(how.trials), 0, 0
    for _ in range(how.most_rounds):
        found_at = _found_in_trials(look, trials, every, np.array([level]), least, settings, rng)[0]
        passed = int(found_at.sum())
        if passed >= least:
            quantitation = max(_ten_percent(u[:, look.ions.cluster[0]], weight, sharp, look.view.noise.gain), level)
            return Limit(level, quantitation, quiet, how.trials, passed)
        rungs = how.steps[coarse] ** np.arange(1.0, how.rungs + 1)
        missed, wanted = np.flatnonzero(~found_at), least - passed
        higher = _found_in_trials(look, trials, missed, level * rungs, wanted, settings, rng)
        suffices = higher.sum(axis=1) >= wanted
        suffices = np.minimum.accumulate(suffices[::-1])[::-1]  # at every rung above as well: one may pass by luck
        if not suffices.any():
            level *= float(rungs[-1])
            coarse = min(coarse + 1, len(how.steps) - 1)
            continue
        rung = int(suffices.argmax())
        if coarse:  # from the rung before, in the finest steps
            rung, coarse = rung - 1, 0
        level *= float(rungs[rung]) if rung >= 0 else 1.0
    return Limit(None, None, quiet, how.trials, passed)


def _taken_out(seen: Look, found: tuple[int, int], settings: LookSettings, rng: np.random.Generator) -> Look:
    """The window without the compound that was found in it: what was fitted beside it, counted anew.

    Recorded heights less the compound would keep the few percent by which no peak has quite the form of the others.
    """
    rows, gain = seen.pieces.rows(), seen.view.noise.gain
    apex = between_scans(seen, found, settings).time_min
    shapes = shapes_with_apex(seen.view, rows, np.full((len(rows), 1), apex))
    around = seen.design.around
    read = ion_areas(seen.heights, seen.floor, gain, Design(around, shapes), seen.usual, settings.ion_areas)
    every = np.arange(len(rows))
    beside = np.maximum(read.matrix(around, every, np.zeros_like(every)), 0.0)
    counted = gain * rng.poisson(np.minimum(beside / gain, 1e12))
    heights = np.maximum(counted + seen.floor * rng.standard_normal(counted.shape), 0.0)
    touched = shapes.max(axis=(1, 2)) > 0
    heights = np.where(touched[:, None, None], heights, seen.heights)
    return read_pieces(
        seen.view, [seen.place], seen.ions, seen.pieces, heights, seen.floor, seen.design, seen.usual, [seen.window],
        settings,
    )[0]  # fmt: skip


def recorded_share(place: Place, time_min: Floats) -> float:
    """Chance that the compound, if it elutes in its window, does so while scans were recorded."""

    def below(time: float) -> float:
        return 0.5 * (1.0 + erf((time - place.centre_min) / (place.u_min * sqrt(2.0))))

    whole = below(place.last_min) - below(place.first_min)
    first, last = max(place.first_min, float(time_min[0])), min(place.last_min, float(time_min[-1]))
    return max(below(last) - below(first), 0.0) / whole


def _places(look: Look, found: tuple[int, int] | None) -> tuple[tuple[NDArray[np.intp], NDArray[np.intp]], Floats]:
    """Positions and how likely the compound elutes there: in the window, or about where it was found."""
    pieces, places = np.nonzero(look.inside)
    scans = look.pieces.positions[pieces, places]
    time = look.view.matrix.time_min[scans]
    if found is None:
        weight = np.exp(-0.5 * ((time - look.place.centre_min) / look.place.u_min) ** 2)
    else:
        weight = (scans == look.scan(found)).astype(float)
    return (pieces, places), weight / weight.sum()


def _sharpness(shapes: Floats) -> Floats:
    """∫s³ / (∫s²)² of unit-area shapes, (j, n): counting variance of a fitted area for each count of area."""
    return np.asarray((shapes**3).sum(axis=1) / (shapes**2).sum(axis=1) ** 2)


def _quiet(look: Look) -> Floats:
    """Uncertainty of each ion's area without neighbours: floor, and background of the quietest fifth of the run."""
    background = look.view.background[look.view.columns(look.ions.mz)]
    shape = look.design.shapes[len(look.design.shapes) // 2, :, 0]
    line = np.linspace(-1.0, 1.0, len(shape))
    rest = shape - shape.mean() - line * (line @ shape) / (line @ line)
    return np.asarray(np.sqrt((look.floor**2 + look.view.noise.gain * background) / (rest @ rest)))


def _guesses(look: Look, trials: _Trials, how: AddedPeakSettings, settings: LookSettings) -> tuple[float, float]:
    """Sizes from which peaks should be found: at as many of the places as must be, and without neighbours."""
    place = trials.pieces, trials.positions
    nothing = np.zeros((1, len(look.ions.mz)))
    rest = np.concatenate([look.areas.area[place], nothing])
    u_rest = np.concatenate([look.areas.u_area[place], _quiet(look)[None]])
    sharp = _sharpness(np.concatenate([trials.shape, trials.shape[[how.trials // 2]]]))
    counting = look.view.noise.gain * look.ions.share * sharp[:, None]
    passing = how.start * passing_level(rest, u_rest, counting, look.ions, settings.verdict)
    *levels, quiet = passing.tolist()
    return sorted(levels)[_least_found(how) - 1], quiet


def _least_found(how: AddedPeakSettings) -> int:
    """Trials that must be found."""
    return int(np.ceil(how.found * how.trials - 0.5))


def _varied(ions: TargetIons, count: int, rng: np.random.Generator) -> Floats:
    """Shares of the compound's ions, fragments varied by their tolerance, isotopes among themselves not."""
    varied = np.exp(rng.standard_normal((count, len(ions.mz))) * np.log1p(ions.u_share))
    varied[:, ions.cluster] = 1.0
    share = ions.share * varied
    share[:, ions.beside] = ions.beside_share
    return np.asarray(share)


@dataclass(frozen=True, eq=False)
class _Trials:
    """Where peaks are added, one entry each of the t trials.

    pieces, positions : of each, shape (t,). shape : of the added peak, (t, n). near : positions at which it counts as
    found, (t, p). recorded : heights there, (t, n, k). design : what is fitted there.
    """

    pieces: NDArray[np.intp]
    positions: NDArray[np.intp]
    shape: Floats
    near: NDArray[np.bool_]
    recorded: Floats
    design: Design


def _lay_trials(
    look: Look, at: tuple[NDArray[np.intp], NDArray[np.intp]], weight: Floats, how: AddedPeakSettings,
    rng: np.random.Generator,
) -> _Trials:  # fmt: skip
    """Places spread over the window as the compound may elute there."""
    spread = (np.arange(how.trials) + rng.random()) / how.trials
    chosen = np.minimum(np.searchsorted(np.cumsum(weight), spread), len(weight) - 1)
    pieces, places = at[0][chosen], at[1][chosen]
    reach = max(how.within * look.view.width_scans(look.place.centre_min), 1.0)
    scans = look.pieces.positions[pieces]
    near = (scans >= 0) & (np.abs(scans - scans[np.arange(how.trials), places][:, None]) <= reach)
    design = look.design.of(pieces)
    return _Trials(
        pieces, places, design.shapes[np.arange(how.trials), :, places], near, look.heights[pieces], design
    )  # fmt: skip


def _found_in_trials(
    look: Look, trials: _Trials, asked: NDArray[np.intp], levels: Floats, wanted: int, settings: LookSettings,
    rng: np.random.Generator,
) -> NDArray[np.bool_]:  # fmt: skip
    """Which of some trials are found at each of some levels, shape (l, m); as many as are wanted, or all."""
    ions, gain = look.ions, look.view.noise.gain
    rows = np.tile(asked, len(levels))
    level = np.repeat(levels, len(asked))
    expected = trials.shape[rows, :, None] * (level[:, None] * _varied(ions, len(rows), rng))[:, None, :]
    recorded, near = trials.recorded[rows], trials.near[rows]
    every = len(levels) == 1 and len(asked) == len(trials.pieces)
    design = trials.design if every else trials.design.of(rows)
    counted = np.where(expected > _LEAST_COUNTED * gain, expected / gain, 0.0)
    heights = recorded + gain * rng.poisson(np.minimum(counted, 1e12))
    if look.view.threshold > 0:
        heights[(recorded <= 0) & (heights < look.view.threshold)] = 0.0
    fit = fit_ions(heights, look.floor, gain, design, settings.ion_areas)
    found = np.zeros((len(levels), len(asked)), bool)
    for usual in (look.usual, None):  # either reading may find it: the strict one is asked where the keener lacks some
        missed = np.flatnonzero(~found & (found.sum(axis=1, keepdims=True) < wanted))
        if not len(missed):
            break
        read = fit.areas(usual, missed)
        judged = judge(read.area, read.u_area, ions, settings.verdict, strict=usual is None)
        passed = (judged.level >= INDICATED) & near[missed]
        some = np.flatnonzero(passed.any(axis=1))
        if usual is not None:
            keen = read
        if len(some):
            best = np.where(passed[some], judged.z[some], -np.inf).argmax(axis=1)
            along = along_peak(heights, keen, design, (missed[some], best), ions, settings.along_peak)
            found.flat[missed[some]] = along.chance >= settings.along_peak.least_chance
    return found


def _ten_percent(u: Floats, weight: Floats, sharp: Floats, gain: float) -> float:
    """Area whose standard uncertainty is a tenth of it at nineteen places in twenty: A/10 = √(u² + gain κ A)."""
    order = np.argsort(u)
    worst = order[min(int(np.searchsorted(np.cumsum(weight[order]), 0.95)), len(order) - 1)]
    counting = 100.0 * gain * float(sharp[worst])
    return 0.5 * (counting + float(np.sqrt(counting**2 + 400.0 * float(u[worst]) ** 2)))
