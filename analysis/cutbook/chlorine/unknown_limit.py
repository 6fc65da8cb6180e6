"""Find how few ions of an unknown chlorinated compound the search would have found in this run."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cutbook.chlorine.peak_filter import peak_filter
from cutbook.chlorine.peak_heights import BLOCK
from cutbook.chlorine.unknown_clusters import UnknownSettings, search_unknown_clusters
from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.identification.isotope_pattern import isotope_pattern, nominal_mass
from cutbook.model.atoms import atoms_of
from cutbook.model.chlorine import UnknownCluster
from cutbook.model.lineage import Step

GENERIC = {
    1: ("C6H5Cl", "C6H5ClO", "C8H7Cl", "C9H11Cl", "C10H7Cl", "C12H9Cl", "C13H11Cl", "C15H15Cl"),
    2: ("C6H4Cl2", "C7H6Cl2", "C6H4Cl2O", "C8H8Cl2", "C10H6Cl2", "C12H8Cl2", "C13H10Cl2"),
    3: ("C6H3Cl3", "C7H5Cl3", "C10H5Cl3", "C12H7Cl3"),
}
"""Ions tried when no others are wanted, by chlorine atoms."""


@dataclass(frozen=True)
class UnknownLimitSettings:
    """How the limit is tried.

    search : what the search believed.
    formulas : of ions with chlorine, to be tried instead of those of `GENERIC`; none when not said.
    places : spread evenly over the run and over the masses of `GENERIC`; 40, of which 38 must be found.
    share : of places at which a cluster must be found; 0.95, Currie's.
    fragment : height of the ion that has lost a chlorine; 0.3 of the cluster, a common one.
    fewest, most : ions of the tallest isotope that are tried first and last, each level twice the one before.
    seed : of the counting statistics of what is added.
    """

    search: UnknownSettings = UnknownSettings()
    formulas: tuple[str, ...] = ()
    places: int = 40
    share: float = 0.95
    fragment: float = 0.3
    fewest: float = 100.0
    most: float = 1e8
    seed: int = 20


@dataclass(frozen=True)
class UnknownLimit:
    """From where on clusters of so many chlorine atoms are found.

    ions : of the tallest isotope over the whole peak; at this level and the next the wanted share of places was found.
        None when no level did it. half_ions : the same for half of the places.
    area : `ions` in counts·min. places, found : at that level, or at the highest when there is none.
    """

    chlorine_atoms: int
    ions: float | None
    half_ions: float | None
    area: float | None
    places: int
    found: int
    step: Step


def unknown_limit(
    matrix: IonMatrix, widths: WidthLaw, noise: IonNoise, chlorine_atoms: int = 1,
    settings: UnknownLimitSettings = UnknownLimitSettings(),
) -> UnknownLimit:  # fmt: skip
    """Add generic patterns at places spread over the run, and search again, at rising levels.

    Parameters
    ----------
    matrix, widths, noise : of the run that was searched. chlorine_atoms : 1, 2 or 3.
    settings : see `UnknownLimitSettings`.

    Returns
    -------
    UnknownLimit
        To within a factor of two.

    Notes
    -----
    Peaks of the run's width are added to copies of whole blocks of scans, with counting statistics of their own; the
    matrix that elutes there stays as it is, so that the limit holds for this oil. Where other compounds stand in all
    masses of a cluster no amount is found, and with many such places there is no limit. Levels are tried by halving
    what is left of them, as if none did worse than the one below it; the one that is told was tried, and the next.
    """
    kinds = [_Kind.of(formula, settings.fragment) for formula in settings.formulas or GENERIC[chlorine_atoms]]
    kinds = [kind for kind in kinds if matrix.first_mz <= kind.fragment and max(kind.heights) <= matrix.last_mz]
    blocks, places = _places(matrix, settings.places if kinds else 0)
    added = [(place, kinds[number % len(kinds)]) for number, place in enumerate(places)]
    levels = settings.fewest * 2.0 ** np.arange(1 + int(np.log2(settings.most / settings.fewest)))
    told: dict[int, int] = {}

    def found_at(number: int) -> int:
        if number not in told:
            rng = np.random.default_rng([settings.seed, number])
            spiked = _spiked(matrix, blocks, added, float(levels[number]), widths, noise, rng)
            clusters, *_ = search_unknown_clusters(spiked, widths, noise, lambda time: None, (), settings.search)
            told[number] = sum(_told(clusters, float(spiked.time_min[place]), kind, widths) for place, kind in added)
        return told[number]

    least = settings.share * len(added)
    first = _first(len(levels), lambda number: found_at(number) >= least) if added else len(levels)
    while first < len(levels) - 1 and not (found_at(first) >= least and found_at(first + 1) >= least):
        first += 1
    ions = float(levels[first]) if first < len(levels) - 1 else None
    middle = _first(first, lambda number: found_at(number) >= 0.5 * len(added)) if added else len(levels)
    reached = added and middle < len(levels) and found_at(middle) >= 0.5 * len(added)
    half = float(levels[middle]) if reached else None
    found = found_at(min(first, len(levels) - 1)) if added else 0
    interval = float(np.median(np.diff(matrix.time_min))) if len(matrix.time_min) > 1 else 0.0
    step = Step("limit of the search/2", inputs=(matrix.step, noise.step), settings=settings)
    area = ions * noise.gain * interval if ions is not None else None
    return UnknownLimit(chlorine_atoms, ions, half, area, len(added), found, step)


def _first(count: int, enough: Callable[[int], bool]) -> int:
    """The first of so many numbers that is enough, taking it that all after it are; `count` where none is."""
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle + 1, high)
    return low


@dataclass(frozen=True)
class _Kind:
    """An ion that is added: its nominal mass, that of what is left without one chlorine, and all heights by mass."""

    mass: int
    fragment: int
    heights: dict[int, float]

    @classmethod
    def of(cls, formula: str, share: float) -> _Kind:
        """Heights against the tallest isotope of the ion; the ion without chlorine so much less."""
        atoms = atoms_of(formula)
        left = {**atoms, "Cl": atoms["Cl"] - 1}
        heights: dict[int, float] = {}
        for ion, part in ((atoms, 1.0), (left, share)):
            pattern = isotope_pattern(ion)
            tallest = max(height for _, height in pattern)
            for offset, height in pattern:
                mz = nominal_mass(ion) + offset
                heights[mz] = heights.get(mz, 0.0) + part * height / tallest
        return cls(nominal_mass(atoms), nominal_mass(left), heights)


def _told(clusters: tuple[UnknownCluster, ...], time_min: float, kind: _Kind, widths: WidthLaw) -> bool:
    """Whether one of the clusters is what was added at that time."""
    near = float(widths.half_width(time_min)) / 2.0
    masses = (kind.mass, kind.mass - 1, kind.fragment)
    return any(abs(one.time_min - time_min) < near and one.mz[0] in masses for one in clusters)


def _places(matrix: IonMatrix, count: int) -> tuple[list[int], list[int]]:
    """First scans of the blocks that are taken, and rows of the places among the rows of these blocks."""
    starts = [first for first in range(0, len(matrix.counts), BLOCK) if len(matrix.counts) - first >= BLOCK]
    wanted = min(len(starts), max(1, (count + 1) // 2))
    taken = [starts[number] for number in np.linspace(0, len(starts) - 1, wanted).round().astype(int)] if starts else []
    places = []
    for number in range(len(taken)):
        places += [number * BLOCK + BLOCK * 3 // 10, number * BLOCK + BLOCK * 7 // 10]
    return taken, places[:count]


def _spiked(
    matrix: IonMatrix, blocks: list[int], added: list[tuple[int, _Kind]], ions: float, widths: WidthLaw,
    noise: IonNoise, rng: np.random.Generator,
) -> IonMatrix:  # fmt: skip
    """The blocks one after another, with so many ions of the tallest isotope added at each place."""
    rows = np.concatenate([np.arange(first, first + BLOCK) for first in blocks])
    times = matrix.time_min[rows]
    trial = matrix.counts[rows].astype(float)
    interval = float(np.median(np.diff(matrix.time_min)))
    for place, kind in added:
        shape = peak_filter(float(widths.half_width(float(times[place]))) / interval).shape
        at = np.arange(place - len(shape) // 2, place + len(shape) // 2 + 1)
        inside = (at >= 0) & (at < len(trial))
        for mz, height in kind.heights.items():
            counted = rng.poisson(ions * height * shape[inside] / shape.sum())
            trial[at[inside], mz - matrix.first_mz] += noise.gain * counted
    if noise.ceiling is not None:
        np.minimum(trial, noise.ceiling, out=trial)
    return IonMatrix(matrix.file, times, matrix.first_mz, trial.astype(np.float32), matrix.step)
