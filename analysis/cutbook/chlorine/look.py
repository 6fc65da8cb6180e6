"""Look for one compound in its window: areas of its ions at every scan there, and what the rules make of them."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.along_peak import AlongPeakSettings, along_peak
from cutbook.chlorine.ion_areas import Design, IonAreas, IonAreaSettings, UsualSettings, fit_ions, usual_part
from cutbook.chlorine.local_matrix import LocalMatrixSettings, PieceIons, Pieces, neighbours
from cutbook.chlorine.places import Place
from cutbook.chlorine.run_view import RunView
from cutbook.chlorine.stretches import Reach, reach_of, stretches
from cutbook.chlorine.target_ions import TargetIons, own_masses
from cutbook.chlorine.verdict import INDICATED, Judged, VerdictSettings, judge
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class LookSettings:
    """The parts of a look, each described beside the function that obeys it.

    neighbourhood : to each side of the expected time, in full widths, from which it is told what neighbours usually do.
    echo_share : of the area of a larger signal of the same compound up to which one within a piece of the run from it
        is its echo, since no peak has quite the form of the others and a piece may hold but the foot of it; 0.2.
    """

    neighbourhood: float = 12.0
    echo_share: float = 0.2

    local_matrix: LocalMatrixSettings = field(default=LocalMatrixSettings())
    ion_areas: IonAreaSettings = field(default=IonAreaSettings())
    usual: UsualSettings = field(default=UsualSettings())
    verdict: VerdictSettings = field(default=VerdictSettings())
    along_peak: AlongPeakSettings = field(default=AlongPeakSettings())


@dataclass(frozen=True, eq=False)
class Look:
    """One compound's window in one run.

    pieces : of the run. heights : of the compound's ions in them, shape (c, n, k). floor : noise of each ion, (k,).
    design : time courses of the neighbours, shapes of the compound at each position.
    usual : what a neighbour usually gives of each ion, (k,).
    areas, judged : of each ion and position when neighbours do what they usually do here; (c, p, k) and (c, p).
    strict_areas, strict : the same when neighbours may do anything. inside : positions in the window, (c, p).
    peaks : (piece, position) of places where the pooled area stands out from those beside it, best first.
    rules : by which it was judged. window : its first and last scan.
    """

    view: RunView
    place: Place
    ions: TargetIons
    pieces: Pieces
    heights: Floats
    floor: Floats
    design: Design
    usual: Floats
    areas: IonAreas
    judged: Judged
    strict_areas: IonAreas
    strict: Judged
    inside: NDArray[np.bool_]
    peaks: tuple[tuple[int, int], ...]
    rules: VerdictSettings
    window: tuple[int, int]

    @property
    def level(self) -> NDArray[np.int64]:
        """Of each position: what either reading indicates is indicated, what the strict one confirms is confirmed."""
        return combined_level(self.judged, self.strict)

    def found(self, settings: LookSettings) -> tuple[tuple[int, int], ...]:
        """Positions that the rules call indicated at least and no scan of the peak speaks against, best first.

        What is a small part of a larger one within the same piece of the run is an echo of it, and left out.
        """
        level = self.level
        asked = [at for at in self.peaks if level[at] >= INDICATED]
        if not asked:
            return ()
        at = np.array([piece for piece, _ in asked]), np.array([place for _, place in asked])
        seen = along_peak(self.heights, self.areas, self.design, at, self.ions, settings.along_peak)
        least = settings.along_peak.least_chance
        told = [at for at, chance in zip(asked, seen.chance, strict=True) if chance >= least]
        return tuple(at for at in told if not self._is_echo(at, told, settings.echo_share))

    def _is_echo(self, at: tuple[int, int], told: list[tuple[int, int]], share: float) -> bool:
        return any(
            abs(self.scan(at) - self.scan(other)) <= self.pieces.scans // 2
            and self.area_at(at) <= share * self.area_at(other)
            for other in told
        )

    def area_at(self, at: tuple[int, int]) -> float:
        """Of the tallest cluster ion."""
        return float(self.reading(at)[1].cluster[at])

    def unlike(self, at: tuple[int, int]) -> float:
        """Chi-square of the further ions against their shares, none counted above 9: a neighbour may add to one."""
        areas, judged = self.reading(at)
        third = self.ions.third
        expected = self.ions.share[third] * float(judged.cluster[at])
        spread = np.hypot(areas.u_area[at][third], self.ions.u_share[third] * expected)
        return float(np.minimum(((areas.area[at][third] - expected) / spread) ** 2, 9.0).sum())

    def reading(self, at: tuple[int, int]) -> tuple[IonAreas, Judged]:
        """The reading by which a position is told of: the strict one where that alone indicates anything."""
        if self.judged.level[at] < INDICATED <= self.strict.level[at]:
            return self.strict_areas, self.strict
        return self.areas, self.judged

    def scan(self, at: tuple[int, int]) -> int:
        """The scan of a position."""
        return int(self.pieces.positions[at])


@dataclass(frozen=True)
class Refined:
    """A signal with its apex between scans.

    time_min : of the apex. area, u_area : of the tallest cluster ion in the reading by which it is told of;
    strict_area, u_strict : when neighbours may do anything. free : share of the shape that no neighbour can give.
    """

    time_min: float
    area: float
    u_area: float
    strict_area: float
    u_strict: float
    free: float


def look(view: RunView, place: Place, ions: TargetIons, settings: LookSettings = LookSettings()) -> Look | None:
    """Read the areas of a compound at every scan of its window.

    Parameters
    ----------
    view : the run. place : the window. ions : of the compound.

    Returns
    -------
    Look or None
        None where the window lies outside the time that was recorded, or the run has too few scans.
    """
    return look_at_all(view, [(place, ions)], settings)[0]


def look_at_all(
    view: RunView, asked: Sequence[tuple[Place, TargetIons]], settings: LookSettings = LookSettings()
) -> list[Look | None]:
    """The same of many compounds: what elutes in each piece of the run is told once for all that are tried there.

    Isomers, whose ions are alike, are read off one fit where their windows meet.
    """
    time = view.matrix.time_min
    found: list[Look | None] = [None] * len(asked)
    if len(time) < 2 * settings.local_matrix.least_scans + 1:
        return found
    recorded = [
        one for one, (place, _) in enumerate(asked) if place.last_min >= time[0] and place.first_min <= time[-1]
    ]
    together = _isomers(asked, recorded)
    reaches = [reach_of(view, [asked[one][0] for one in numbers], settings.neighbourhood) for numbers in together]
    for members, ions in stretches(view, reaches, settings.local_matrix):
        for member in members:
            numbers, reach = together[member], reaches[member]
            places = [asked[one][0] for one in numbers]
            for one, seen in zip(
                numbers, _look(view, places, asked[numbers[0]][1], reach, ions, settings), strict=True
            ):
                found[one] = seen
    return found


def _isomers(asked: Sequence[tuple[Place, TargetIons]], recorded: Sequence[int]) -> list[list[int]]:
    """Numbers of compounds that are read off one fit: isomers of one spectrum whose windows meet."""
    together: list[list[int]] = []
    latest: dict[Hashable, list[int]] = {}  # of each spectrum, the isomers that were met last
    for number in sorted(recorded, key=lambda number: asked[number][0].first_min):
        target = asked[number][0].target
        key = target.formula, target.ions, target.other_ions
        last = latest.get(key)
        if last is not None and asked[number][0].first_min <= max(asked[other][0].last_min for other in last):
            last.append(number)
        else:
            latest[key] = [number]
            together.append(latest[key])
    return together


def _look(
    view: RunView, places: Sequence[Place], ions: TargetIons, reach: Reach, around: PieceIons, settings: LookSettings
) -> list[Look]:
    """Compounds of one spectrum in the pieces of a stretch that their reach covers."""
    hop = around.pieces.positions.shape[1]
    begun = int(around.pieces.positions[0, 0])
    among = around.of(slice((reach.begin - begun) // hop, (reach.end - begun) // hop + 1))
    pieces = among.pieces
    rows = pieces.rows()
    columns = view.columns(ions.mz)
    heights = view.matrix.counts[rows[:, :, None], columns].astype(float)
    own = [*own_masses(places[0].target), *ions.mz.tolist()]
    clean = np.ones(max(*own, view.matrix.last_mz) + 1, np.bool_)
    clean[own] = False
    base = heights[:, :, ions.cluster[0]]
    courses = neighbours(among, clean[among.mz], base.max(axis=1) - base.min(axis=1), settings.local_matrix)
    design = Design(courses, shapes_at(view, rows, pieces.positions))
    floor = view.noise.floor[columns]
    usual = usual_part(heights, floor, view.noise.gain, courses, settings.usual)
    return read_pieces(view, places, ions, pieces, heights, floor, design, usual, reach.windows, settings)


def read_pieces(
    view: RunView,
    places: Sequence[Place],
    ions: TargetIons,
    pieces: Pieces,
    heights: Floats,
    floor: Floats,
    design: Design,
    usual: Floats,
    windows: Sequence[tuple[int, int]],
    settings: LookSettings,
) -> list[Look]:
    """The same from pieces at hand, such as pieces from which a compound was taken out.

    windows : first and last scan at which each compound may elute.
    """
    # a design of their own, since what a fit works out of it is large and would stay with the looks
    fit = fit_ions(heights, floor, view.noise.gain, Design(design.around, design.shapes), settings.ion_areas)
    areas, strict_areas = fit.areas(usual), fit.areas(None)
    judged = judge(areas.area, areas.u_area, ions, settings.verdict)
    strict = judge(strict_areas.area, strict_areas.u_area, ions, settings.verdict, strict=True)
    z, looks = np.maximum(judged.z, strict.z), []
    for place, window in zip(places, windows, strict=True):
        inside = (pieces.positions >= window[0]) & (pieces.positions <= window[1])
        peaks = _standing_out(z, inside, pieces.positions, view.width_scans(place.centre_min))
        looks.append(
            Look(view, place, ions, pieces, heights, floor, design, usual, areas, judged, strict_areas, strict, inside,
                 peaks, settings.verdict, window)
        )  # fmt: skip
    return looks


def between_scans(seen: Look, at: tuple[int, int], settings: LookSettings) -> Refined:
    """A position read again with the apex between scans, where it fits best.

    Parameters
    ----------
    seen : the window. at : the position. settings : of the look.
    """
    view, piece = seen.view, at[0]
    time = view.matrix.time_min
    apexes = float(time[seen.scan(at)]) + view.interval_min * np.linspace(-0.75, 0.75, 13)
    rows = seen.pieces.rows()[[piece]]
    shapes = shapes_with_apex(view, rows, apexes[None, :])
    design = Design(seen.design.around.of(slice(piece, piece + 1)), shapes)
    fit = fit_ions(seen.heights[[piece]], seen.floor, view.noise.gain, design, settings.ion_areas)
    read = fit.areas(seen.usual), fit.areas(None)
    keen, strict = (judge(one.area, one.u_area, seen.ions, settings.verdict) for one in read)
    which = int(seen.reading(at)[1] is seen.strict)
    told = (keen, strict)[which]
    best = int(told.z[0].argmax())
    return Refined(
        float(apexes[best]), float(told.cluster[0, best]), float(told.u_cluster[0, best]),
        float(strict.cluster[0, best]), float(strict.u_cluster[0, best]),
        float(read[which].free[0, best, seen.ions.cluster[0]]),
    )  # fmt: skip


def combined_level(usual: Judged, strict: Judged) -> NDArray[np.int64]:
    """What either reading indicates is indicated, what the strict one confirms is confirmed."""
    return np.maximum(np.minimum(usual.level, INDICATED), strict.level)


def shapes_at(view: RunView, rows: NDArray[np.int64], positions: NDArray[np.int64]) -> Floats:
    """Unit-area shapes of the run with their apex at each position, shape (c, n, p)."""
    return shapes_with_apex(view, rows, view.matrix.time_min[np.maximum(positions, 0)])


def shapes_with_apex(view: RunView, rows: NDArray[np.int64], apex_min: Floats) -> Floats:
    """Unit-area shapes with their apex at given times, (c, p), which may lie between scans; shape (c, n, p).

    The form hardly changes over a window: one shape, moved, from a fine grid.
    """
    time = view.matrix.time_min
    middle = float(time[rows[len(rows) // 2, rows.shape[1] // 2]])
    away = time[rows][:, :, None] - apex_min[:, None, :]
    half = float(view.form.width.half_width(middle))
    grid = np.linspace(-4.0 * half, 8.0 * half, 1200)
    table = view.form.shape(grid + middle, middle)
    return np.interp(away.ravel(), grid, table, left=0.0, right=0.0).reshape(away.shape)


def _standing_out(
    z: Floats, inside: NDArray[np.bool_], positions: NDArray[np.int64], width_scans: float
) -> tuple[tuple[int, int], ...]:
    """Local maxima of z over half a width to each side, highest first."""
    from scipy.ndimage import maximum_filter1d

    pieces, places = np.nonzero(inside)
    order = np.argsort(positions[pieces, places], kind="stable")
    pieces, places = pieces[order], places[order]
    along = z[pieces, places]
    top = maximum_filter1d(along, 2 * max(int(round(0.5 * width_scans)), 1) + 1, mode="nearest")
    found = np.flatnonzero((along >= top) & (along > 0))
    found = found[np.argsort(-along[found])]
    return tuple((int(pieces[at]), int(places[at])) for at in found[:12])
