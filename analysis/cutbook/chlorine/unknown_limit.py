"""Find how few ions of an unknown chlorinated compound the search would have found in this run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.pattern_fit import CARBON_13, halogens
from cutbook.chlorine.peak_filter import peak_filter
from cutbook.chlorine.peak_heights import BLOCK
from cutbook.chlorine.unknown_clusters import UnknownSettings, search_unknown_clusters
from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.model.lineage import Step
from cutbook.model.trace import Floats

GENERIC = {
    1: ((112, 6, 77), (128, 6, 92), (138, 8, 103), (154, 9, 119), (162, 10, 127), (188, 12, 152), (202, 13, 167),
        (230, 15, 195)),
    2: ((146, 6, 111), (160, 7, 125), (162, 6, 127), (174, 8, 139), (196, 10, 161), (222, 12, 187), (236, 13, 201)),
    3: ((180, 6, 145), (194, 7, 159), (230, 10, 195), (256, 12, 221)),
}  # fmt: skip
"""Ions tried, by chlorine atoms: nominal mass, carbons, and the mass that is left when one chlorine is lost."""


@dataclass(frozen=True)
class UnknownLimitSettings:
    """How the limit is tried.

    search : what the search believed.
    places : spread evenly over the run and over the masses of `GENERIC`; 40, of which 38 must be found.
    share : of places at which a cluster must be found; 0.95, Currie's.
    fragment : height of the ion that has lost a chlorine; 0.3 of the cluster, a common one.
    fewest, most : ions of the tallest isotope that are tried first and last, each level twice the one before.
    seed : of the counting statistics of what is added.
    """

    search: UnknownSettings = UnknownSettings()
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
    masses of a cluster no amount is found, and with many such places there is no limit.
    """
    rng = np.random.default_rng(settings.seed)
    interval = float(np.median(np.diff(matrix.time_min))) if len(matrix.time_min) > 1 else 1.0
    blocks, places = _places(matrix, settings.places)
    rows = np.concatenate([np.arange(first, min(first + BLOCK, len(matrix.counts))) for first in blocks])
    times, counts = matrix.time_min[rows], matrix.counts[rows]
    kinds = [kind for kind in GENERIC[chlorine_atoms] if matrix.first_mz <= kind[2] and kind[0] + 8 <= matrix.last_mz]
    step_inputs = (matrix.step, noise.step)
    ions, half, found, level = None, None, 0, settings.fewest
    before: float | None = None
    while level <= settings.most and kinds and len(places):
        trial = counts.astype(float)
        for number, place in enumerate(places):
            kind = kinds[number % len(kinds)]
            _add(trial, place, kind, chlorine_atoms, level, matrix, noise, widths, times, settings, rng)
        spiked = IonMatrix(matrix.file, times, matrix.first_mz, trial.astype(np.float32), matrix.step)
        clusters, *_ = search_unknown_clusters(spiked, widths, noise, lambda time: None, (), settings.search)
        told = [(one.time_min, one.mz[0]) for one in clusters]
        found = 0
        for number, place in enumerate(places):
            mass, _, fragment = kinds[number % len(kinds)]
            near = float(widths.half_width(float(times[place]))) / 2.0
            found += any(
                abs(time - float(times[place])) < near and mz in (mass, mass - 1, fragment) for time, mz in told
            )
        if half is None and found >= 0.5 * len(places):
            half = level
        if found >= settings.share * len(places):
            if before is not None:
                ions = before
                break
            before = level
        else:
            before = None
        level *= 2.0
    step = Step("limit of the search/1", inputs=step_inputs, settings=settings)
    area = ions * noise.gain * interval if ions is not None else None
    return UnknownLimit(chlorine_atoms, ions, half, area, len(places), found, step)


def _places(matrix: IonMatrix, count: int) -> tuple[list[int], list[int]]:
    """First scans of the blocks that are taken, and rows of the places among the rows of these blocks."""
    starts = [first for first in range(0, len(matrix.counts), BLOCK) if len(matrix.counts) - first >= BLOCK]
    wanted = min(len(starts), max(1, (count + 1) // 2))
    taken = [starts[number] for number in np.linspace(0, len(starts) - 1, wanted).round().astype(int)] if starts else []
    places = []
    for number in range(len(taken)):
        places += [number * BLOCK + BLOCK * 3 // 10, number * BLOCK + BLOCK * 7 // 10]
    return taken, places[:count]


def _add(
    trial: Floats, place: int, kind: tuple[int, int, int], chlorine: int, ions: float, matrix: IonMatrix,
    noise: IonNoise, widths: WidthLaw, times: Floats, settings: UnknownLimitSettings, rng: np.random.Generator,
) -> None:  # fmt: skip
    """Add one compound to the rows about a place."""
    interval = float(np.median(np.diff(matrix.time_min)))
    mass, carbon, fragment = kind
    shape = peak_filter(float(widths.half_width(float(times[place]))) / interval).shape
    half = len(shape) // 2
    rows: NDArray[np.intp] = np.arange(place - half, place + half + 1)
    inside = (rows >= 0) & (rows < len(trial))
    for lightest, atoms, share in ((mass, chlorine, 1.0), (fragment, chlorine - 1, settings.fragment)):
        pattern = halogens(atoms, 0).pattern
        expected = np.append(pattern, 0.0)
        expected[1:] += CARBON_13 * carbon * pattern
        for offset, part in enumerate(expected):
            column = lightest + offset - matrix.first_mz
            if part > 1e-4 and 0 <= column < trial.shape[1]:
                counted = rng.poisson(ions * share * part * shape[inside] / shape.sum())
                trial[rows[inside], column] += noise.gain * counted
    if noise.ceiling is not None:
        np.minimum(trial, noise.ceiling, out=trial)
