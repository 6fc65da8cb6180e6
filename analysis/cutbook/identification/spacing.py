"""Tell from the spacing of a ladder alone how far its numbering may be off.

Under a temperature ramp the distance between neighbouring n-alkanes shrinks in a way that hardly
depends on the ramp, the flow or the column length: it follows the retention thermodynamics of the
alkanes. The ladder is therefore compared with one computed from published parameters, shifted by a
whole or broken number of carbons, and the shift that fits best is found.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from cutbook.model.tables import reference
from cutbook.model.trace import Floats, frozen_array
from cutbook.model.units import GAS_CONSTANT, KELVIN


@dataclass(frozen=True)
class SpacingSettings:
    """How the spacing of a ladder is judged.

    fewest : fewest rungs inside the ramp for a verdict; below 8 a smooth curve fits any numbering.
    after_widest : rungs left out after the widest spacing, because the initial isothermal part of the
        program still acts on them.
    time_scatter : largest scatter of the times about the trend, as a share of the spacing; beyond 2 % the
        program was no single ramp and the spacing says nothing.
    model_u : standard uncertainty of the shift from the column and program assumed, in carbons; ladders
        computed for seven programs (5–25 K/min, holds of 0–10 min) from the parameters of another column
        came out within 0.75 for all but the longest holds.
    """

    fewest: int = 8
    after_widest: int = 2
    time_scatter: float = 0.02
    model_u: float = 0.5


@dataclass(frozen=True)
class SpacingTrend:
    """Shift that fits best (carbons to add to the numbering), its standard uncertainty, rungs used."""

    shift: float
    u: float
    rungs: int


def alkane_parameters(carbons: Floats) -> Floats:
    """Retention parameters of n-alkanes, smoothed over the reference table.

    Parameters
    ----------
    carbons : carbon numbers, shape (k,), 3 to 80; broken numbers are allowed.

    Returns
    -------
    array, shape (3, k)
        Tchar in °C, theta in K, dCp in J/(mol K): least-squares functions of n^(1/3) and n^(2/3), √n,
        and n. Smoothing keeps the scatter of single compounds out of the trend and carries it beyond
        the table.
    """
    rows = reference("n_alkane_retention").rows
    n = np.array([float(row["carbon_number"]) for row in rows])
    x = np.asarray(carbons, dtype=np.float64)
    smooth = []
    for key, powers in (("tchar_c", (0, 1 / 3, 2 / 3)), ("theta_k", (0, 0.5)), ("dcp", (0, 1))):
        values = np.array([float(row[key]) for row in rows])
        design = np.stack([n**power for power in powers], axis=1)
        coefficients = np.linalg.lstsq(design, values, rcond=None)[0]
        smooth.append(np.stack([x**power for power in powers], axis=1) @ coefficients)
    return np.array(smooth)


def elution_times(
    parameters: Floats, start_c: float, hold_min: float, ramp_k_min: float, hold_up_min: float, end_c: float = 700.0
) -> Floats:
    """Retention times under a single-ramp program at constant hold-up time.

    Parameters
    ----------
    parameters : Tchar in °C, theta in K, dCp in J/(mol K) of each compound, shape (3, k).
    start_c, hold_min, ramp_k_min, end_c : the program; the oven stays at end_c afterwards.
    hold_up_min : time of an unretained compound in min.

    Returns
    -------
    array, shape (k,)
        Times in min.

    Notes
    -----
    ``ln k = (dCp/R + Tchar/theta)(Tchar/T - 1) + (dCp/R) ln(T/Tchar)``; a compound elutes when
    ``∫ dt / (t_M (1 + k)) = 1``.

    References
    ----------
    Distribution-centric retention model as in ACS Omega 2023 (PMC10249385).
    """
    tchar, theta, dcp = np.asarray(parameters, dtype=np.float64)
    kelvin = tchar + KELVIN
    long_enough = hold_min + (end_c - start_c) / ramp_k_min + 20 * hold_up_min
    time = np.linspace(0, long_enough, 20_001)
    oven = np.minimum(start_c + ramp_k_min * np.clip(time - hold_min, 0, None), end_c) + KELVIN
    ratio = kelvin[:, None] / oven[None, :]
    heat = (dcp / GAS_CONSTANT)[:, None]
    log_k = (heat + (kelvin / theta)[:, None]) * (ratio - 1) - heat * np.log(ratio)
    speed = 1 / (hold_up_min * (1 + np.exp(log_k)))
    step = time[1] - time[0]
    way = np.concatenate(
        [np.zeros((len(kelvin), 1)), np.cumsum((speed[:, 1:] + speed[:, :-1]) / 2 * step, axis=1)], axis=1
    )
    return np.array([np.interp(1.0, row, time) for row in way])


@lru_cache(maxsize=1)
def _reference_ladder() -> tuple[Floats, Floats]:
    carbons = np.arange(3.0, 80.0)
    times = elution_times(alkane_parameters(carbons), start_c=-60.0, hold_min=0.0, ramp_k_min=8.0, hold_up_min=1.2)
    return frozen_array(carbons), frozen_array(times)


def spacing_trend(
    carbons: tuple[int, ...], times_min: Floats, settings: SpacingSettings = SpacingSettings()
) -> SpacingTrend | None:
    """By how many carbons a numbering would have to be shifted for its spacing to fit.

    Parameters
    ----------
    carbons : assumed carbon numbers, ascending.
    times_min : retention times in min, same length, ascending.
    settings : see `SpacingSettings`.

    Returns
    -------
    SpacingTrend or None
        None when too few rungs lie inside the ramp.
    """
    n = np.asarray(carbons, dtype=np.float64)
    t = np.asarray(times_min, dtype=np.float64)
    if len(n) < settings.fewest:
        return None
    gap = np.diff(t) / np.diff(n)
    first = int(np.argmax(gap[: max(2, len(gap) // 2)])) + settings.after_widest
    last = _ramp_end(gap, first)
    for start in range(first, last - settings.fewest + 2):
        inside = slice(start, last + 1)
        trend = _best_shift(n[inside], t[inside], float(np.median(gap[start:last])), settings)
        if trend is not None:
            return trend
    return None


def _ramp_end(gap: Floats, first: int) -> int:
    """Index of the last rung before an isothermal end, where the spacing widens for good."""
    for index in range(first + 1, len(gap) - 1):
        if gap[index] > gap[index - 1] * 1.01 and gap[index + 1] > gap[index - 1] * 1.01:
            return index
    return len(gap)


def _best_shift(n: Floats, t: Floats, gap: float, settings: SpacingSettings) -> SpacingTrend | None:
    """Least-squares shift of the numbering; None where even the best one misses the times by too much."""
    known_n, known_t = _reference_ladder()
    shifts = np.arange(-8.0, 8.01, 0.05)
    shifts = shifts[(n[0] + shifts >= known_n[0]) & (n[-1] + shifts <= known_n[-1])]
    if not len(shifts):
        return None
    # straight line of the times against the reference ladder, for all shifts at once
    ideal = np.interp(n[:, None] + shifts[None, :], known_n, known_t)
    ideal = ideal - ideal.mean(axis=0)
    off = t - t.mean()
    slope = off @ ideal / np.sum(ideal**2, axis=0)
    misfit = np.sum((off[:, None] - slope * ideal) ** 2, axis=0)
    best = int(np.argmin(misfit))
    variance = misfit[best] / (len(n) - 3)
    if variance > (settings.time_scatter * gap) ** 2:
        return None
    near = np.flatnonzero(misfit - misfit[best] <= max(variance, (settings.time_scatter * gap / 3) ** 2))
    u_fit = float(shifts[near[-1]] - shifts[near[0]]) / 2
    return SpacingTrend(float(shifts[best]), float(np.hypot(u_fit, settings.model_u)), len(n))
