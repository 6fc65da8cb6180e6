"""Find the ions of a run that sit at the ceiling of the detector, scan by scan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.scans import Ions
from cutbook.model.trace import Floats

_EQUAL = 1e-6  # intensities that differ by less than this share differ by rounding


@dataclass(frozen=True)
class SaturationSettings:
    """How a ceiling is recognised.

    repeats : intensities equal to the highest of the run that make it a ceiling; three ions in adjacent places are
        not counted equal by chance, where counts run into the hundreds.
    distinct : levels that the intensities must have; where counts are few and whole, equal ones are no sign.
    flat_scans : scans over which the top of a peak must stay level.
    level : how much a level top may vary; over four scans the apex of a peak of 8 scans' full width falls by 9 %.
    falls_to : share of the top to which a peak must fall on either side within twice the length of its level part; a
        constant background does not.
    high : tops are looked for above this share of the highest intensity; a ceiling is common to all ions.
    """

    repeats: int = 3
    distinct: int = 200
    flat_scans: int = 4
    level: float = 0.004
    falls_to: float = 0.8
    high: float = 0.1


@dataclass(frozen=True, eq=False)
class Saturation:
    """Where a detector has reached its ceiling.

    mask : whether the intensity of a mass in a scan is cut off, shape (scans, masses), read-only.
    ceiling : the intensity at which it is, where it is one for all ions; None where none was found or it varies.
    """

    mask: NDArray[np.bool_]
    ceiling: float | None
    step: Step

    @property
    def scans(self) -> NDArray[np.bool_]:
        """Scans in which any ion is cut off."""
        return np.asarray(self.mask.any(axis=1))


def find_saturation(
    intensity: Floats | Ions,
    unit_mass: NDArray[np.integer[Any]],
    about: str,
    inputs: tuple[Step, ...] = (),
    settings: SaturationSettings = SaturationSettings(),
) -> Saturation:
    """Ions at the ceiling of the detector.

    Parameters
    ----------
    intensity : of each scan and mass, shape (scans, masses), 0 where nothing was recorded.
    unit_mass : of each column. about : the file, for the caution. inputs : steps that the intensities come from.
    settings : see `SaturationSettings`.

    Returns
    -------
    Saturation
        With the caution "scans.saturated" where there are any.

    Notes
    -----
    The highest intensity of the run occurs again and again, in adjacent scans of a mass or in several masses of a scan.
    Where it does not, because other points were added to it, the tops of peaks that stay level over more scans than
    the apex of any peak of their width does.
    """
    values = np.asarray(intensity)
    mask: NDArray[np.bool_] = np.zeros(values.shape, dtype=bool)
    ceiling: float | None = None
    highest = values.max(axis=0, initial=0.0)  # of each mass; most stay far below the ceiling and are not looked at
    top = float(highest.max(initial=0.0))
    if top > 0:
        near = np.flatnonzero(highest >= top * (1 - _EQUAL))
        at_top = _repeated(values, near, top, settings)
        if at_top is not None:
            mask[:, near], ceiling = at_top, top
        else:
            mask = _level_tops(values, np.flatnonzero(highest > settings.high * top), top, settings)
    mask.setflags(write=False)
    cautions = (_told(values, mask, np.asarray(unit_mass), about),) if mask.any() else ()
    return Saturation(mask, ceiling, Step("find saturation/1", inputs=inputs, settings=settings, cautions=cautions))


def _told(values: Floats | Ions, mask: NDArray[np.bool_], unit_mass: NDArray[np.integer[Any]], about: str) -> Caution:
    """What is cut off, the masses that suffer most by name."""
    often = np.argsort(-mask.sum(axis=0), kind="stable")[: int(mask.any(axis=0).sum())]
    masses = ", ".join(str(m) for m in sorted(unit_mass[often[:8]].tolist())) + (" …" if len(often) > 8 else "")
    count, level = int(mask.any(axis=1).sum()), f"{float(values[mask].max()):.4g}"
    return caution("scans.saturated", about, count=count, of=len(values), masses=masses, level=level)


def _repeated(
    values: Floats | Ions, near: NDArray[np.intp], top: float, settings: SaturationSettings
) -> NDArray[np.bool_] | None:
    """Where, in the columns that come near it, the highest intensity recurs, if that is a ceiling."""
    at_top = np.asarray(values[:, near] >= top * (1 - _EQUAL))
    if np.count_nonzero(at_top) < settings.repeats:
        return None
    levels = np.unique(values[values > settings.high * top].astype(np.float64) / top)
    if len(levels) > 1 and 1.0 / float(np.diff(levels).min()) < settings.distinct:
        return None
    along = (at_top[1:] & at_top[:-1]).any()  # in adjacent scans
    across = (at_top.sum(axis=1) >= 2).any()  # in several masses of a scan
    return at_top if along or across else None


def _level_tops(
    values: Floats | Ions, tall: NDArray[np.intp], top: float, settings: SaturationSettings
) -> NDArray[np.bool_]:
    """Where, in the columns that are tall enough, the tops of peaks stay level over several scans."""
    found = np.zeros(values.shape, dtype=bool)
    n = settings.flat_scans
    windows = len(values) - n + 1
    if len(values) < 3 * n:
        return found
    for column in tall:
        trace = np.asarray(values[:, column], dtype=np.float64)
        shifted = [trace[first : first + windows] for first in range(n)]
        highest, lowest = np.maximum.reduce(shifted), np.minimum.reduce(shifted)
        level = (highest - lowest <= settings.level * highest) & (highest > settings.high * top)
        for first, last in _runs(level):
            end = last + n - 1  # the last scan of the last window
            reach = 2 * (end - first + 1)
            height = trace[first : end + 1].mean()
            before, after = trace[max(first - reach, 0) : first], trace[end + 1 : end + 1 + reach]
            around = [side.min() if len(side) else height for side in (before, after)]
            highest_near = max((side.max() for side in (before, after) if len(side)), default=0.0)
            if max(around) < settings.falls_to * height and highest_near <= height * (1 + 2 * settings.level):
                found[first : end + 1, column] = True
    return found


def _runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of each run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    return list(zip(edges[::2].tolist(), (edges[1::2] - 1).tolist(), strict=True))
