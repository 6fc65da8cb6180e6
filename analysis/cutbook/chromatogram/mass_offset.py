"""Tell by how much the mass scale of a run is off, from ions that every run holds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.scans import ScanSeries
from cutbook.model.tables import reference
from cutbook.model.trace import Floats

_BELOW = (1, 2)  # units
_STRIP = 512  # scans looked through at a time, so that no copy of all ions is ever made
_FIRST = 10_000  # ions; among so many one is off a whole number, unless all are whole
MASS_DEFECT = 0.0007  # of hydrocarbon ions, u per u: C7H7 0.05 at 91, C20H41 0.32 at 281


@dataclass(frozen=True)
class MassOffsetSettings:
    """How the offset of a mass scale is read.

    over : by what factor an ion must exceed those one and two units below it in a scan; then little else lies under it.
    scans : the most intense scans that are read for an ion; more add nothing but scans of other compounds.
    fewest_scans : scans without which an ion says nothing.
    fewest_ions : ions without which the run says nothing; two could both be something else.
    model_u : how far the ions of one unit mass may differ from that of the table, in m/z (C2H3O: 0.036 below C3H7).
    unequal : range of the offsets of single ions above which the scale is uneven and one offset does not mend it.
    """

    over: float = 2.0
    scans: int = 200
    fewest_scans: int = 5
    fewest_ions: int = 3
    model_u: float = 0.02
    unequal: float = 0.25


@dataclass(frozen=True, eq=False)
class MassOffset:
    """By how much the m/z of a run are too high.

    offset : to be taken from every m/z; None where m/z are whole numbers or no known ions stand out.
    u : its standard uncertainty. spread : robust standard deviation among ions.
    ions : offset by ion of `cutbook reference calibration_ions`.
    whole_numbers : whether all m/z are whole numbers already.
    """

    offset: float | None
    u: float
    spread: float
    ions: dict[str, float]
    whole_numbers: bool
    step: Step


def mass_offset(scans: ScanSeries, settings: MassOffsetSettings = MassOffsetSettings()) -> MassOffset:
    """The offset of the mass scale of a run.

    Parameters
    ----------
    scans : centroids, unit mass or finer, off by less than 0.45. settings : see `MassOffsetSettings`.

    Returns
    -------
    MassOffset
        With the caution "scans.no_known_ions" where it could not be told, "scans.uneven_mass_scale" where ions
        contradict each other.

    Notes
    -----
    Each ion is read in the scans in which it is strong and stands well above those one and two units below: the trimmed
    mean of its m/z less the mass of the table. The offset of the run is the median of the ions.
    """
    if len(scans.mz) and _whole(scans):
        return MassOffset(None, 0.0, 0.0, {}, True, Step("read mass offset/1", (scans.step,), settings))
    rows = reference("calibration_ions").rows
    masses = sorted({int(row["unit_mass"]) - step for row in rows for step in (0, *_BELOW)})
    intensity, moment = _by_scan(scans, np.array(masses))
    found: dict[str, float] = {}
    for row in rows:
        at = masses.index(int(row["unit_mass"]))
        below = intensity[[masses.index(masses[at] - step) for step in _BELOW]].max(axis=0)
        difference = _difference(intensity[at], moment[at], below, float(row["mz"]), settings)
        if difference is not None:
            found[str(row["ion"])] = difference
    values = np.array(list(found.values()))
    if len(values) < settings.fewest_ions:
        told = caution("scans.no_known_ions", scans.file, count=len(values), needed=settings.fewest_ions)
        step = Step("read mass offset/1", (scans.step,), settings, cautions=(told,))
        return MassOffset(None, float("inf"), float("inf"), found, False, step)
    offset = float(np.median(values))
    spread = 1.4826 * float(np.median(np.abs(values - offset)))
    u = float(np.hypot(settings.model_u, spread / np.sqrt(len(values))))
    cautions: tuple[Caution, ...] = ()
    if np.ptp(np.sort(values)[1:-1] if len(values) > 5 else values) > settings.unequal:
        low, high = f"{values.min():+.2f}", f"{values.max():+.2f}"
        cautions = (caution("scans.uneven_mass_scale", scans.file, low=low, high=high),)
    return MassOffset(
        offset, u, spread, found, False, Step("read mass offset/1", (scans.step,), settings, cautions=cautions)
    )


def _whole(scans: ScanSeries) -> bool:
    """Whether all m/z are whole numbers."""
    mz = np.asarray(scans.mz)
    return all(bool((np.abs(part - np.round(part)) < 1e-4).all()) for part in (mz[:_FIRST], mz[_FIRST:]))


def _difference(
    intensity: Floats, moment: Floats, below: Floats, exact: float, settings: MassOffsetSettings
) -> float | None:
    """Measured less exact m/z of one ion; None where it does not stand out in enough scans."""
    clear = np.flatnonzero(intensity > settings.over * below)
    if len(clear) < settings.fewest_scans:
        return None
    best = clear[_most_intense(intensity[clear], settings.scans)]
    measured = np.sort(moment[best] / intensity[best])
    tail = len(measured) // 5  # a mean, since m/z may be rounded, and a trimmed one, since compounds differ
    return float(measured[tail : len(measured) - tail].mean()) - exact


def _most_intense(intensity: Floats, count: int) -> NDArray[np.intp]:
    """Which are the most intense of some scans, of equal ones the earlier."""
    if len(intensity) <= count:
        return np.arange(len(intensity))
    least = np.partition(intensity, -count)[-count]
    above = np.flatnonzero(intensity > least)
    return np.concatenate([above, np.flatnonzero(intensity == least)[: count - len(above)]])


def _by_scan(scans: ScanSeries, masses: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Intensity, and intensity times m/z, of unit masses in each scan; shape (masses, scans)."""
    most = int(masses.max()) + 1  # stands for all that is heavier
    line = np.full(most + 1, -1)
    line[masses] = np.arange(len(masses))
    found = np.zeros((2, len(masses), len(scans)))
    for first in range(0, len(scans), _STRIP):
        starts = scans.starts[first : first + _STRIP + 1]
        count = len(starts) - 1
        mz = np.asarray(scans.mz[starts[0] : starts[-1]])
        # which unit mass an ion is meant for, as long as the scale is off by less than half a unit
        meant = mz.astype(np.float32) * np.float32(1 - MASS_DEFECT) + np.float32(0.5)
        of_line = line[np.clip(meant, 0, most).astype(np.intp)]
        ions = np.flatnonzero(of_line >= 0)
        place = of_line[ions] * count + np.repeat(np.arange(count), np.diff(starts))[ions]
        weight = np.maximum(scans.intensity[starts[0] : starts[-1]][ions].astype(np.float64), 0.0)
        for part, values in zip(found, (weight, weight * mz[ions].astype(np.float64)), strict=True):
            sums = np.bincount(place, values, len(masses) * count)
            part[:, first : first + count] = sums.reshape(len(masses), count)
    return found[0], found[1]
