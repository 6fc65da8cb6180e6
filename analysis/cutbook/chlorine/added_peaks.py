"""How small a peak of a compound would still have been found in this run here: by adding it and looking again."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.along_peak import along_peak
from cutbook.chlorine.ion_areas import ion_areas
from cutbook.chlorine.look import Look, LookSettings, between_scans, read_pieces, shapes_with_apex
from cutbook.chlorine.places import Place
from cutbook.chlorine.target_ions import TargetIons
from cutbook.chlorine.verdict import INDICATED, Judged, VerdictSettings, judge
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class AddedPeakSettings:
    """How the limit is found.

    found : share of added peaks that must be found; 0.95, so that what is there at the limit is missed once in twenty
        (Currie's error of the second kind; that of the first is held by the verdict itself).
    draws : places and noises from which a first guess is made. trials : peaks added to the run to prove it.
    start : factor on the first guess, from which the trials begin; 1.4, since scan by scan more can go wrong than the
        guess knows of: of limits proven from 1.2 on, two in three lay above 1.4.
    step : factor by which a guess is raised when the trials fail it; from the fourth raise on its square, from the
        seventh its fourth power. most_steps : of such raises.
    span : largest level tried, in multiples of the smallest.
    within : of the place where a peak was added, in full widths at half height, a signal must stand.
    """

    found: float = 0.95
    draws: int = 100
    trials: int = 24
    start: float = 1.4
    step: float = 1.35
    most_steps: int = 12
    span: float = 1e6
    within: float = 0.75


@dataclass(frozen=True)
class Limit:
    """What trials have shown.

    area : of the tallest cluster ion, counts·min, that is found in `found` of trials; None when none was.
    quantitation : area at which its relative standard uncertainty is 10 %, not below `area`.
    quiet : what `area` would be in this run without neighbours.
    trials, found : peaks added at `area`, and how many of them were found.
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
    A first guess takes the fitted areas as linear in what is added: of each place the residual area that exceeds 2.5
    of its uncertainties is kept, the rest is drawn anew with the counting noise of the added peak. At that level peaks
    with the compound's ions, their tolerance and their own counting noise are added to the recorded heights, the
    instrument's threshold is applied, and the window is read again with the same rules; the level is raised until
    they find enough.
    """
    rng = np.random.default_rng(20)
    look = seen if found is None else _taken_out(seen, found, settings, rng)
    at, weight = _places(look, found)
    u = look.areas.u_area[at]
    sharp = _sharpness(look.shapes[at[0], :, at[1]])
    *guesses, quiet = _first_guesses(look, at, weight, sharp, settings.verdict, how, rng)
    guess = min((one for one in guesses if one is not None), default=None)
    quiet = quiet if quiet is not None else float("inf")
    level, passed = None if guess is None else how.start * guess, 0
    if found is None and recorded_share(look.place, look.view.matrix.time_min) < how.found:
        return Limit(None, None, quiet, 0, 0)
    for raised in range(how.most_steps):
        if level is None:
            break
        passed = _found_in_trials(look, level, at, weight, settings, how, rng)
        if passed >= how.found * how.trials - 0.5:
            quantitation = max(_ten_percent(u[:, look.ions.cluster[0]], weight, sharp, look.view.noise.gain), level)
            return Limit(level, quantitation, quiet, how.trials, passed)
        level *= how.step ** (1 if raised < 3 else 2 if raised < 6 else 4)
    return Limit(None, None, quiet, how.trials, passed)


def _taken_out(seen: Look, found: tuple[int, int], settings: LookSettings, rng: np.random.Generator) -> Look:
    """The window without the compound that was found in it: what was fitted beside it, counted anew.

    Recorded heights less the compound would keep the few percent by which no peak has quite the form of the others.
    """
    rows, gain = seen.pieces.rows(), seen.view.noise.gain
    apex = between_scans(seen, found, settings).time_min
    shapes = shapes_with_apex(seen.view, rows, np.full((len(rows), 1), apex))
    read = ion_areas(seen.heights, seen.floor, gain, seen.around, shapes, seen.usual, settings.ion_areas)
    every = np.arange(len(rows))
    beside = np.maximum(read.matrix(seen.around, every, np.zeros_like(every)), 0.0)
    counted = gain * rng.poisson(np.minimum(beside / gain, 1e12))
    heights = np.maximum(counted + seen.floor * rng.standard_normal(counted.shape), 0.0)
    touched = shapes.max(axis=(1, 2)) > 0
    heights = np.where(touched[:, None, None], heights, seen.heights)
    return read_pieces(
        seen.view, [seen.place], seen.ions, seen.pieces, heights, seen.floor, seen.around, seen.shapes, seen.usual,
        [seen.window], settings,
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
    view = look.view
    columns = view.columns(look.ions.mz)
    background = np.quantile(view.matrix.counts[:: max(len(view.matrix.counts) // 600, 1)][:, columns], 0.2, axis=0)
    shape = look.shapes[len(look.shapes) // 2, :, 0]
    line = np.linspace(-1.0, 1.0, len(shape))
    rest = shape - shape.mean() - line * (line @ shape) / (line @ line)
    return np.asarray(np.sqrt((look.floor**2 + view.noise.gain * background) / (rest @ rest)))


def _first_guesses(
    look: Look, at: tuple[NDArray[np.intp], NDArray[np.intp]], weight: Floats, sharp: Floats, rules: VerdictSettings,
    how: AddedPeakSettings, rng: np.random.Generator,
) -> list[float | None]:  # fmt: skip
    """Smallest area of the tallest cluster ion that is found often enough: keenly read, strictly read, and in this run
    without neighbours; None where none is."""
    ions, gain = look.ions, look.view.noise.gain
    drawn = rng.choice(len(weight), how.draws, p=weight)
    quiet = np.broadcast_to(_quiet(look), (how.draws, len(ions.mz)))
    read = [(one.area[at][drawn], one.u_area[at][drawn]) for one in (look.areas, look.strict_areas)]
    area, u = (np.stack(one)[:, None] for one in zip(*read, (np.zeros_like(quiet), quiet), strict=True))
    stays = np.sign(area) * np.maximum(np.abs(area) - 2.5 * u, 0.0)
    noise = rng.standard_normal((how.draws, len(ions.mz)))
    share = _varied(ions, how.draws, rng)
    counting = gain * share * sharp[drawn][:, None]
    strict = np.array([False, True, False])[:, None, None]

    def enough(level: Floats) -> NDArray[np.bool_]:
        """Of each reading and level, shape (3, l)."""
        spread = np.sqrt(u**2 + level[:, :, None, None] * counting)
        found = judge(stays + level[:, :, None, None] * share + noise * spread, spread, ions, rules, strict).level
        return np.asarray(np.mean(found >= INDICATED, axis=-1) >= how.found)

    low = np.median(u[..., ions.cluster[0]], axis=-1)
    levels = low * np.concatenate([[1.0], np.geomspace(3.0, 100.0, 4), np.geomspace(1e3, how.span, 3)])
    told = enough(levels)
    first = told.argmax(axis=1)
    any_told = [bool(row.any()) for row in told]
    rows = np.arange(len(levels))
    for _ in range(2):  # between the last level that is too low and the first that is not
        low, high = levels[rows, np.maximum(first - 1, 0)], levels[rows, first]
        levels = low[:, None] * (high / low)[:, None] ** np.linspace(0.0, 1.0, 6)
        told = enough(levels[:, 1:-1])
        first = np.where(told.any(axis=1), told.argmax(axis=1) + 1, 5)
    found = levels[rows, first]
    return [float(found[row]) if any_told[row] else None for row in rows]


def _varied(ions: TargetIons, count: int, rng: np.random.Generator) -> Floats:
    """Shares of the compound's ions, fragments varied by their tolerance, isotopes among themselves not."""
    varied = np.exp(rng.standard_normal((count, len(ions.mz))) * np.log1p(ions.u_share))
    varied[:, ions.cluster] = 1.0
    share = ions.share * varied
    share[:, ions.beside] = ions.beside_share
    return np.asarray(share)


def _found_in_trials(
    look: Look, level: float, at: tuple[NDArray[np.intp], NDArray[np.intp]], weight: Floats, settings: LookSettings,
    how: AddedPeakSettings, rng: np.random.Generator,
) -> int:  # fmt: skip
    """How many of the peaks that were added at places spread over the window were found."""
    ions, view = look.ions, look.view
    spread = (np.arange(how.trials) + rng.random()) / how.trials
    chosen = np.minimum(np.searchsorted(np.cumsum(weight), spread), len(weight) - 1)
    pieces, places = at[0][chosen], at[1][chosen]
    shape = look.shapes[pieces, :, places]
    expected = shape[:, :, None] * (level * _varied(ions, how.trials, rng))[:, None, :]
    gain = view.noise.gain
    recorded = look.heights[pieces]
    heights = recorded + gain * rng.poisson(np.minimum(expected / gain, 1e12))
    if view.threshold > 0:
        heights = np.where((recorded <= 0) & (heights < view.threshold), 0.0, heights)
    around, shapes = look.around.of(pieces), look.shapes[pieces]
    near = how.within * view.width_scans(look.place.centre_min)
    positions = look.pieces.positions[pieces]
    beside = (positions >= 0) & (
        np.abs(positions - positions[np.arange(how.trials), places][:, None]) <= max(near, 1.0)
    )
    keen = ion_areas(heights, look.floor, gain, around, shapes, look.usual, settings.ion_areas)

    def found_in(rows: NDArray[np.intp], judged: Judged) -> NDArray[np.bool_]:
        passed = (judged.level >= INDICATED) & beside[rows]
        best = np.where(passed, judged.z, -np.inf).argmax(axis=1)
        along = along_peak(heights, keen, around, shapes, (rows, best), ions, settings.along_peak)
        return np.asarray(passed.any(axis=1) & (along.chance >= settings.along_peak.least_chance))

    found = found_in(np.arange(how.trials), judge(keen.area, keen.u_area, ions, settings.verdict))
    missed = np.flatnonzero(~found)
    if len(missed):  # either reading may find it: the strict one is asked where the keener one did not
        strict = ion_areas(
            heights[missed], look.floor, gain, around.of(missed), shapes[missed], None, settings.ion_areas
        )
        found[missed] = found_in(missed, judge(strict.area, strict.u_area, ions, settings.verdict, strict=True))
    return int(found.sum())


def _ten_percent(u: Floats, weight: Floats, sharp: Floats, gain: float) -> float:
    """Area whose standard uncertainty is a tenth of it at nineteen places in twenty: A/10 = √(u² + gain κ A)."""
    order = np.argsort(u)
    worst = order[min(int(np.searchsorted(np.cumsum(weight[order]), 0.95)), len(order) - 1)]
    counting = 100.0 * gain * float(sharp[worst])
    return 0.5 * (counting + float(np.sqrt(counting**2 + 400.0 * float(u[worst]) ** 2)))
