"""Where in a run a compound is looked for: by its index and the ladder, or by a standard of the same method."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.model.chlorine import IndexFrom, Target
from cutbook.model.ladder import Ladder


@dataclass(frozen=True)
class PlaceSettings:
    """How windows are laid.

    spread : standard uncertainties of the index to each side; 2.
    u_standard : of an index taken from a standard of the same method, in index units; 1.5, the drift of a good system
        within a series; common practice, no source.
    """

    spread: float = 2.0
    u_standard: float = 1.5


@dataclass(frozen=True)
class Place:
    """Where a target may elute.

    centre_min, u_min : expected time and its standard uncertainty. first_min, last_min : the window.
    index_from : what it was laid by. index, u_index : that it was laid by, None where it was laid by time.
    """

    target: Target
    centre_min: float
    u_min: float
    first_min: float
    last_min: float
    index_from: IndexFrom
    index: float | None = None
    u_index: float | None = None


def place_by_index(
    target: Target,
    ladder: Ladder,
    of_standard: float | None = None,
    settings: PlaceSettings = PlaceSettings(),
) -> Place | None:
    """The window of a target on the scale of the n-alkanes.

    Parameters
    ----------
    target : with its index. ladder : run under the same method.
    of_standard : its index in a standard of the same method, when there is one: it takes the table's place.

    Returns
    -------
    Place or None
        None where the window's middle lies outside the ladder: an index is not extrapolated.
    """
    index = target.index if of_standard is None else of_standard
    u_index = target.u_index if of_standard is None else settings.u_standard
    carbons = 100.0 * np.array(ladder.carbons, dtype=float)
    times = ladder.times_min
    if not carbons[0] <= index <= carbons[-1]:
        return None
    reach = settings.spread * u_index
    first, centre, last = np.interp([index - reach, index, index + reach], carbons, times)
    left = min(max(int(np.searchsorted(carbons, index, side="right")) - 1, 0), len(carbons) - 2)
    per_unit = (times[left + 1] - times[left]) / (carbons[left + 1] - carbons[left])
    u_min = float(np.hypot(u_index * per_unit, ladder.u_time_min))
    widen = settings.spread * ladder.u_time_min
    source: IndexFrom = "standard" if of_standard is not None else _table_of(target)
    return Place(target, float(centre), u_min, float(first) - widen, float(last) + widen, source, index, u_index)


def place_by_time(target: Target, time_min: float, u_min: float, settings: PlaceSettings = PlaceSettings()) -> Place:
    """The window of a target whose time a standard of the same method tells, where there is no ladder.

    Parameters
    ----------
    target : the compound. time_min, u_min : its retention time in the standard and the uncertainty of its transfer.
    """
    reach = settings.spread * u_min
    return Place(target, time_min, u_min, time_min - reach, time_min + reach, "standard")


def _table_of(target: Target) -> IndexFrom:
    return "table" if target.place.startswith("chlorinated_targets") else "user table"
