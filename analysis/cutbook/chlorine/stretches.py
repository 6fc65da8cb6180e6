"""Stretches of a run, cut into pieces, with what the ions of each piece do: told once for all that elutes there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from cutbook.chlorine.local_matrix import LocalMatrixSettings, PieceIons, lay_pieces, piece_ions
from cutbook.chlorine.places import Place
from cutbook.chlorine.run_view import RunView

_LONGEST = 250.0  # of a stretch, in widths, unless what is looked for in one place asks for more; it bounds memory


@dataclass(frozen=True, eq=False)
class Reach:
    """Scans that are looked at for compounds with one spectrum.

    windows : first and last scan at which each of them may elute. begin, end : of the neighbourhood.
    width_scans : full width at half height of a peak there.
    """

    windows: tuple[tuple[int, int], ...]
    begin: int
    end: int
    width_scans: float


def reach_of(view: RunView, places: Sequence[Place], neighbourhood: float) -> Reach:
    """The scans around some windows, which meet the time that was recorded.

    Parameters
    ----------
    view : the run. places : the windows. neighbourhood : to each side of the expected times, in full widths.
    """
    time = view.matrix.time_min
    windows = tuple(
        (view.scan_at(max(one.first_min, time[0])), view.scan_at(min(one.last_min, time[-1]))) for one in places
    )
    middles = [view.scan_at(one.centre_min) for one in places]
    width = view.width_scans(sum(one.centre_min for one in places) / len(places))
    beyond = int(np.ceil(neighbourhood * width))
    begin = max(min(min(first for first, _ in windows), min(middles) - beyond), 0)
    end = min(max(max(last for _, last in windows), max(middles) + beyond), len(time) - 1)
    return Reach(windows, begin, end, width)


def stretches(
    view: RunView, reaches: Sequence[Reach], settings: LocalMatrixSettings
) -> Iterator[tuple[list[int], PieceIons]]:
    """The ions of the pieces of each stretch, with the numbers of the reaches that lie in it.

    Parameters
    ----------
    view : the run. reaches : in any order.
    """
    stretch: list[int] = []
    begin = end = 0
    for number in sorted(range(len(reaches)), key=lambda number: (reaches[number].begin, reaches[number].end)):
        one = reaches[number]
        if stretch:
            first = reaches[stretch[0]]
            ratio = one.width_scans / first.width_scans
            alike = 1 / settings.widths_alike <= ratio <= settings.widths_alike
            if not alike or one.begin > end or one.end - begin > _LONGEST * first.width_scans:
                yield stretch, ions_of_stretch(view, begin, end, first.width_scans, settings)
                stretch = []
        if not stretch:
            begin = end = one.begin
        stretch.append(number)
        end = max(end, one.end)
    if stretch:
        yield stretch, ions_of_stretch(view, begin, end, reaches[stretch[0]].width_scans, settings)


def ions_of_stretch(
    view: RunView, begin: int, end: int, width_scans: float, settings: LocalMatrixSettings
) -> PieceIons:
    """The ions of the pieces into which the scans from `begin` to `end` are cut."""
    matrix = view.matrix
    pieces = lay_pieces(len(matrix.time_min), begin, end, width_scans, settings)
    top, below = int(pieces.first.min()), int(pieces.first.max()) + pieces.scans
    kept = np.flatnonzero(matrix.counts[top:below].max(axis=0) > 0)
    counts = matrix.counts[top:below][:, kept]
    padded = np.concatenate([counts[:1], counts, counts[-1:]])
    level = np.float32(0.25) * (padded[:-2] + 2 * counts + padded[2:])
    variance = view.noise.variance(level, kept).astype(np.float32)
    # the variance of a mean weighed 1, 2, 1 is three eighths
    says = level.max(axis=0) - level.mean(axis=0) > settings.least_rise * np.sqrt(0.375 * variance.mean(axis=0))
    ceiling = None if view.ceiling is None else view.ceiling[top:below][:, kept[says]]
    return piece_ions(counts[:, says], variance[:, says], pieces, matrix.first_mz + kept[says], top, ceiling, settings)
