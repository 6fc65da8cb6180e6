"""Average a trace over short blocks of time: the coarse view on which baselines are drawn."""

from __future__ import annotations

import numpy as np

from cutbook.model.trace import Floats, Trace


def block_means(trace: Trace, block_min: float) -> tuple[Floats, Floats]:
    """Mean time and mean signal of consecutive blocks.

    Parameters
    ----------
    trace : any trace.
    block_min : length of a block in min; never shorter than one sampling interval.

    Returns
    -------
    tuple of ndarray
        Times in min and signal, shape (m,), m >= 2; the last block may be shorter.
    """
    points = min(max(1, round(block_min / trace.interval_min)), len(trace.signal) // 2)
    starts = np.arange(0, len(trace.signal), points)
    counts = np.diff(np.append(starts, len(trace.signal)))
    return np.add.reduceat(trace.time_min, starts) / counts, np.add.reduceat(trace.signal, starts) / counts


def outside(time_min: Floats, windows_min: tuple[tuple[float, float], ...]) -> np.ndarray:
    """Which times lie in none of the windows, shape of `time_min`, bool."""
    kept = np.ones(len(time_min), dtype=bool)
    for start, end in windows_min:
        kept &= (time_min < start) | (time_min > end)
    return kept
