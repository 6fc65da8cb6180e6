"""Slice the area of a trace above its total baseline; nothing between the peaks is lost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.blocks import outside
from cutbook.chromatogram.noise import Noise
from cutbook.model.amount import doubt, measured, total
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.trace import Baseline, Floats, Trace, frozen_array


@dataclass(frozen=True, eq=False)
class SliceAreas:
    """Areas between consecutive edges, signal × min.

    edges_min : shape (m + 1,). areas, u_noise : shape (m,); u_noise is independent from slice to slice.
    by_doubt : tag and change of every slice for one standard uncertainty of that doubt, shape (m,) each.
    edge_signal : corrected signal at each edge, shape (m + 1,): what moving an edge by 1 min carries across.
    """

    edges_min: Floats
    areas: Floats
    u_noise: Floats
    by_doubt: tuple[tuple[str, Floats], ...]
    edge_signal: Floats

    def __post_init__(self) -> None:
        for name in ("edges_min", "areas", "u_noise", "edge_signal"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def slice_areas(
    trace: Trace,
    baseline: Baseline,
    edges_min: Floats,
    windows_min: tuple[tuple[float, float], ...],
    noise: Noise,
) -> SliceAreas:
    """Cut a trace into slices.

    Parameters
    ----------
    trace : the signal. baseline : of kind "blank", "bleed model" or "straight".
    edges_min : rising, shape (m + 1,); edges outside the trace are taken at its ends.
    windows_min : (start, end) of the solvent; what lies inside counts in no slice.
    noise : of the trace.

    Returns
    -------
    SliceAreas
        They add up to the area between the outer edges exactly: one running integral is read at every edge.
    """
    time = trace.time_min
    kept = outside(time, windows_min).astype(np.float64)
    corrected = (trace.signal - baseline.values) * kept
    edges = np.clip(np.asarray(edges_min, dtype=np.float64), time[0], time[-1])
    counts = np.diff(np.interp(edges, time, np.concatenate([[0.0], np.cumsum(kept[1:])])))
    interval = trace.interval_min
    point = noise.sd * float(np.sqrt(noise.correlation_points))
    # a smoothed blank brings less noise, but the same for the points of one block
    blank = baseline.noise_sd * np.sqrt(max(1.0, 0.5 / 60.0 / interval))
    return SliceAreas(
        edges_min=np.asarray(edges_min, dtype=np.float64),
        areas=np.diff(_running(time, corrected, edges)),
        u_noise=interval * np.sqrt(np.maximum(counts, 0.0) * (point**2 + blank**2)),
        by_doubt=tuple((doubt.tag, np.diff(_running(time, -doubt.profile * kept, edges))) for doubt in baseline.doubts),
        edge_signal=np.interp(edges, time, corrected),
    )


def _running(time: Floats, values: Floats, at: Floats) -> Floats:
    """Integral of the broken line from the first point to each time, exact inside a segment too."""
    steps = np.diff(time)
    total = np.concatenate([[0.0], np.cumsum(0.5 * (values[1:] + values[:-1]) * steps)])
    left = np.clip(np.searchsorted(time, at, side="right") - 1, 0, len(time) - 2)
    into = at - time[left]
    slope = (values[left + 1] - values[left]) / steps[left]
    return np.asarray(total[left] + values[left] * into + 0.5 * slope * into**2)


def signal_shares(
    trace: Trace,
    following: Baseline,
    whole: Baseline,
    windows_min: tuple[tuple[float, float], ...],
    of: str,
) -> tuple[Result, Result]:
    """How much of the sample's signal is unresolved hump, and how much of the raw signal was taken off.

    Parameters
    ----------
    trace : the signal. following, whole : its two baselines. windows_min : of the solvent.
    of : name of the sample.

    Returns
    -------
    hump, baseline share
        Both in %: the area between the two baselines over that above the total baseline; and the area of the total
        baseline above its level at the start over that of the raw signal above the same level.
    """
    kept = outside(trace.time_min, windows_min).astype(np.float64)

    def area(values: Floats) -> float:
        return float(np.trapezoid(values * kept, trace.time_min))

    step = Step("hump and bleed/1", inputs=(following.step, whole.step), settings={"solvent windows": windows_min})
    signal = area(trace.signal - whole.values)
    between = area(following.values - whole.values)
    level = float(whole.values[0])
    bleed, raw = area(whole.values - level), area(trace.signal - level)
    shifts = [(doubt(one.tag), area(one.profile)) for one in whole.doubts]
    moved = total(variable * change for variable, change in shifts) + measured(0.0, 0.0, "")
    if signal <= 0 or raw <= 0:
        return (
            Result.missing(f"hump of {of}", "%", "signal", step, "trace.no_signal"),
            Result.missing(f"bleed of {of}", "%", "raw signal", step, "trace.no_signal"),
        )
    return (
        Result(f"hump of {of}", 100 * (between - moved) / (signal - moved), "%", "signal", step),
        Result(f"bleed of {of}", 100 * (bleed + moved) / raw, "%", "raw signal", step),
    )
