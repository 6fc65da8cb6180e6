"""Look for one compound in its window: areas of its ions at every scan there, and what the rules make of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.along_peak import AlongPeakSettings, along_peak
from cutbook.chlorine.ion_areas import IonAreas, IonAreaSettings, UsualSettings, both_readings, usual_part
from cutbook.chlorine.local_matrix import LocalMatrixSettings, Neighbours, Pieces, lay_pieces, neighbours
from cutbook.chlorine.places import Place
from cutbook.chlorine.run_view import RunView
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
    around : time courses of the neighbours. shapes : of the compound at each position, (c, n, p).
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
    around: Neighbours
    shapes: Floats
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
        seen = along_peak(self.heights, self.areas, self.around, self.shapes, at, self.ions, settings.along_peak)
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
    return look_together(view, (place,), ions, settings)[0]


def look_together(
    view: RunView, places: Sequence[Place], ions: TargetIons, settings: LookSettings = LookSettings()
) -> tuple[Look | None, ...]:
    """The same of isomers, whose windows meet and whose ions are alike: all are read off one fit.

    Parameters
    ----------
    places : the windows. ions : of each of the compounds.
    """
    matrix, time = view.matrix, view.matrix.time_min
    long_enough = len(time) >= 2 * settings.local_matrix.least_scans + 1
    seen = [one for one in places if long_enough and one.last_min >= time[0] and one.first_min <= time[-1]]
    if not seen:
        return (None,) * len(places)
    windows = [(view.scan_at(max(one.first_min, time[0])), view.scan_at(min(one.last_min, time[-1]))) for one in seen]
    middles = [view.scan_at(one.centre_min) for one in seen]
    width = view.width_scans(sum(one.centre_min for one in seen) / len(seen))
    reach = int(np.ceil(settings.neighbourhood * width))
    begin = max(min(min(first for first, _ in windows), min(middles) - reach), 0)
    end = min(max(max(last for _, last in windows), max(middles) + reach), len(time) - 1)
    pieces = lay_pieces(len(time), begin, end, width, settings.local_matrix)
    rows = pieces.rows()
    heights = matrix.counts[rows[:, :, None], view.columns(ions.mz)[None, None, :]].astype(float)
    around = _around(view, seen[0], ions, pieces, heights, settings.local_matrix)
    shapes = shapes_at(view, rows, pieces.positions)
    floor = view.noise.floor[view.columns(ions.mz)]
    usual = usual_part(heights, floor, view.noise.gain, around, settings.usual)
    looks = iter(read_pieces(view, seen, ions, pieces, heights, floor, around, shapes, usual, windows, settings))
    return tuple(next(looks) if one in seen else None for one in places)


def read_pieces(
    view: RunView,
    places: Sequence[Place],
    ions: TargetIons,
    pieces: Pieces,
    heights: Floats,
    floor: Floats,
    around: Neighbours,
    shapes: Floats,
    usual: Floats,
    windows: Sequence[tuple[int, int]],
    settings: LookSettings,
) -> list[Look]:
    """The same from pieces at hand, such as pieces from which a compound was taken out.

    windows : first and last scan at which each compound may elute.
    """
    areas, strict_areas = both_readings(heights, floor, view.noise.gain, around, shapes, usual, settings.ion_areas)
    judged = judge(areas.area, areas.u_area, ions, settings.verdict)
    strict = judge(strict_areas.area, strict_areas.u_area, ions, settings.verdict, strict=True)
    z, looks = np.maximum(judged.z, strict.z), []
    for place, window in zip(places, windows, strict=True):
        inside = (pieces.positions >= window[0]) & (pieces.positions <= window[1])
        peaks = _standing_out(z, inside, pieces.positions, view.width_scans(place.centre_min))
        looks.append(
            Look(view, place, ions, pieces, heights, floor, around, shapes, usual, areas, judged, strict_areas, strict,
                 inside, peaks, settings.verdict, window)
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
    heights, around = seen.heights[[piece]], seen.around.of(np.array([piece]))
    read = both_readings(heights, seen.floor, view.noise.gain, around, shapes, seen.usual, settings.ion_areas)
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


def _around(
    view: RunView, place: Place, ions: TargetIons, pieces: Pieces, heights: Floats, settings: LocalMatrixSettings
) -> Neighbours:
    matrix = view.matrix
    own = own_masses(place.target) | set(ions.mz.tolist())
    clean = np.array([mz not in own for mz in range(matrix.first_mz, matrix.last_mz + 1)])
    top, end = int(pieces.first.min()), int(pieces.first.max()) + pieces.scans
    kept = np.flatnonzero(clean & (matrix.counts[top:end].max(axis=0) > 0))
    counts = matrix.counts[top:end][:, kept]
    here = Pieces(pieces.first - top, pieces.scans, pieces.positions)
    speak: NDArray[np.bool_] = np.ones(len(kept), np.bool_)
    if view.ceiling is not None:
        speak = np.asarray(~view.ceiling[top:end][:, kept][here.rows()].any(axis=1))
    padded = np.concatenate([counts[:1], counts, counts[-1:]])
    level = 0.25 * (padded[:-2] + 2 * counts + padded[2:])
    variance = level * np.float32(view.noise.gain) + (view.noise.floor[kept] ** 2).astype(np.float32)
    base = heights[:, :, ions.cluster[0]]
    return neighbours(counts, variance, here, speak, base.max(axis=1) - base.min(axis=1), settings)


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
