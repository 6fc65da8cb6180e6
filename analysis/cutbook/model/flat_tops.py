"""Find where a detector has run into its limit."""

from __future__ import annotations

import numpy as np

from cutbook.model.trace import Floats

FEWEST_POINTS = 5
"""Equal samples that make a flat top; noise does not repeat itself so often."""


def flat_tops(signal: Floats, fewest: int = FEWEST_POINTS) -> list[tuple[int, int]]:
    """Stretches of a signal in which peaks are cut off.

    Parameters
    ----------
    signal : shape (n,), not constant.
    fewest : equal consecutive samples that make a flat top.

    Returns
    -------
    list of (int, int)
        First and last index of each stretch of equal values that lies above a tenth of the highest peak and falls
        away steeply on both sides. The rounded apex of a broad peak written in coarse steps is not one.
    """
    span = float(np.ptp(signal))
    middle = float(np.median(signal))
    level = np.abs(np.diff(signal)) <= 1e-6 * span
    edges = np.flatnonzero(np.diff(np.concatenate(([False], level, [False])).astype(np.int8)))
    firsts, lasts = edges[::2], edges[1::2]  # a run of level steps joins the points first … last
    long = lasts - firsts + 1 >= fewest
    high = signal[firsts] - middle > 0.1 * (float(signal.max()) - middle)
    steps = np.abs(np.diff(signal))
    if not (steps > 0).any():
        return []
    step = max(float(steps[steps > 0].min()), 1e-6 * span)
    pairs = zip(firsts[long & high].tolist(), lasts[long & high].tolist(), strict=True)
    return [(first, last) for first, last in pairs if _cut_off(signal, first, last, step)]


def _cut_off(signal: Floats, first: int, last: int, step: float) -> bool:
    """Whether a flat top is a cut-off peak, not the rounded apex of a broad one.

    The apex of a peak that is merely written in coarse steps is a parabola: within half the length of its level
    part it falls by about four steps. A cut-off peak falls by far more on both sides.
    """
    reach = max(2, (last - first + 1) // 2)
    sides = [signal[max(first - reach, 0)], signal[min(last + reach, len(signal) - 1)]]
    drops = [float(signal[first] - side) for side in sides]
    at_end = first == 0 or last == len(signal) - 1
    return (max if at_end else min)(drops) > 8.0 * step
