"""Draw the chromatograms of a gas, every peak with what it was told for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cutbook.model.gas import GasSignal
from cutbook.model.trace import Trace
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings
from cutbook.reporting.style import comma_axis, drawing, style, svg_text
from cutbook.reporting.thinning import thinned
from cutbook.workup.gas_findings import GasFindings

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST = 4  # panels; further bags are in the tables


def gas_trace_figure(gas: GasFindings | None, settings: OutputSettings = AS_WRITTEN) -> str:
    """One panel a trace of the gas, as SVG text; "" where there is none. Names stand over the peaks that carry them."""
    traces = gas.traces[:MOST] if gas is not None else ()
    if gas is None or not traces:
        return ""
    with drawing(0.5 + 1.9 * len(traces), (1.0,) * len(traces)) as (picture, panels):
        for axes, trace in zip(panels, traces, strict=True):
            _panel(axes, trace, [one for one in gas.signals() if one.file == trace.file])
            comma_axis(axes.xaxis, settings.decimal)
            comma_axis(axes.yaxis, settings.decimal)
        panels[-1].set_xlabel("retention time (min)")
        return svg_text(picture)


def _panel(axes: Axes, trace: Trace, peaks: list[GasSignal]) -> None:
    ink = style()["ink"]
    keep = thinned(trace.signal, int(style()["figure"]["points"]))
    axes.plot(trace.time_min[keep], trace.signal[keep], color=ink["text"], linewidth=0.7)
    low, high = float(trace.signal.min()), float(trace.signal.max())
    unit = f" ({trace.signal_unit})" if trace.signal_unit else ""
    axes.set_ylabel(f"{trace.detector}{unit}")
    axes.set_xlim(float(trace.time_min[0]), float(trace.time_min[-1]))
    axes.set_ylim(low - 0.05 * (high - low), high + 0.6 * (high - low))
    for peak in peaks:
        place = int(abs(trace.time_min - peak.apex_min).argmin())
        top = max(float(trace.signal[place]), low) + 0.03 * (high - low)
        axes.text(peak.apex_min, top, peak.component, rotation=90, ha="center", va="bottom", fontsize=6)
