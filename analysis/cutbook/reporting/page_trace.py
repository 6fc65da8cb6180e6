"""Gather what the page needs of one sample: its trace for the script, the rows of its boiling curve."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from cutbook.model.boiling import FINAL, INITIAL, CurvePoint
from cutbook.model.trace import Baseline, Trace
from cutbook.reporting.chromatogram_figure import cut_bands, without_solvent
from cutbook.reporting.packed_trace import packed
from cutbook.reporting.style import looks
from cutbook.workup.findings import SampleFindings

SAME_TIME_MIN = 1e-6  # a time axis is written as start and interval when no point is further off


def trace_data(sample: SampleFindings, curves: tuple[Trace, Baseline, Baseline], step: float) -> Mapping[str, Any]:
    """The whole trace of a sample with baselines, ladder marks, cut bands and solvent windows, packed.

    Parameters
    ----------
    sample : one injected sample. curves : its trace, following and total baseline.
    step : in the signal unit; signal and baselines are rounded to whole multiples of it.

    Returns
    -------
    dict
        Plain values for JSON; times in min.
    """
    trace, following, total = curves
    time, signal = trace.time_min, trace.signal
    interval = float(time[-1] - time[0]) / (len(time) - 1)
    even = float(np.abs(time - (time[0] + interval * np.arange(len(time)))).max()) <= SAME_TIME_MIN
    clock: dict[str, Any] = {"start": float(time[0]), "interval": interval}
    if not even:
        ticks = packed(time, SAME_TIME_MIN)
        clock = {"text": ticks.text, "step": ticks.step, "count": ticks.count}
    bands = cut_bands(sample)
    look = looks([cut for cut, _, _ in bands])
    unit = trace.signal_unit
    judged = without_solvent(sample, trace, total)

    def curve(values: Any) -> dict[str, Any]:
        one = packed(values, step)
        return {"text": one.text, "step": one.step, "count": one.count}

    return {
        "time": clock,
        "signal": curve(signal),
        "following": curve(following.values),
        "total": curve(total.values),
        "unit": unit,
        "axis": f"{sample.detector or 'detector'} signal" + (f" ({unit})" if unit else ""),
        "digits": max(0, -int(np.floor(np.log10(step)))),
        "range": [float(judged.min()), float(judged.max())],
        "ladder": []
        if sample.ladder is None
        else [[c, float(t)] for c, t in zip(sample.ladder.carbons, sample.ladder.times_min, strict=True)],
        "bands": [[cut, start, end, look[cut].colour] for cut, start, end in bands],
        "solvent": [list(window) for window in sample.solvent_windows_min],
    }


def boiling_rows(sample: SampleFindings) -> list[CurvePoint]:
    """Points of the boiling curve that a page has room for: both ends, 5 %, every 10 %, 95 %."""
    curve = sample.boiling_curve
    shown = {INITIAL, 5.0, 95.0, FINAL, *range(10, 100, 10)}
    return [point for point in curve.points if point.recovered in shown] if curve is not None else []
