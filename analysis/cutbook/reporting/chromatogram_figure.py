"""Draw a chromatogram: trace, both baselines, hump, ladder ticks, cuts; below it the same magnified."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from cutbook.model.trace import Baseline, Floats, Trace
from cutbook.reporting.carbon_figure import carbon_ranges
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings
from cutbook.reporting.style import comma_axis, drawing, looks, style, svg_text
from cutbook.reporting.thinning import thinned
from cutbook.workup.findings import SampleFindings

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def cut_bands(sample: SampleFindings) -> list[tuple[str, float, float]]:
    """(cut, start, end in min) of the headline cuts on the time axis, by the edges of the carbon bins."""
    carbons = sample.carbons
    if carbons is None:
        return []
    bins = {
        share.n: (float(start), float(end))
        for share, start, end in zip(carbons.numbered(), carbons.edges_min[:-1], carbons.edges_min[1:], strict=True)
    }
    found = []
    for cut, first, last in carbon_ranges(sample):
        inside = [edges for n, edges in bins.items() if n is not None and first <= n <= last]
        if inside:
            found.append((cut, inside[0][0], inside[-1][1]))
    return found


def without_solvent(sample: SampleFindings, trace: Trace, total: Baseline) -> Floats:
    """The signal with the solvent windows set to their least value: what the vertical scale should be read from."""
    time, signal = trace.time_min, trace.signal.copy()
    for start, end in sample.solvent_windows_min:
        inside = (time >= start) & (time <= end)
        if inside.any() and not inside.all():
            signal[inside] = total.values[inside]
    return signal


def chromatogram_figure(sample: SampleFindings, settings: OutputSettings = AS_WRITTEN) -> str:
    """The chromatogram as SVG text, thinned to least and greatest values so that no peak is lost; "" without a trace.

    Upper panel: the whole trace (the solvent peak runs out of the frame), carbon numbers of the ladder along
    the top. Lower panel: magnified, so that both baselines and the hump between them are seen.
    """
    if sample.curves is None:
        return ""
    trace, following, total = sample.curves
    time, signal = trace.time_min, trace.signal
    keep = thinned(signal, int(style()["figure"]["points"]))
    smooth = np.unique(np.linspace(0, len(time) - 1, 400).astype(np.intp))  # baselines bend slowly
    at, under, whole = time[smooth], following.values[smooth], total.values[smooth]
    judged = without_solvent(sample, trace, total)
    floor = float(min(total.values.min(), np.quantile(judged, 0.001)))
    top = max(float(judged.max()), floor + 1e-6 * max(1.0, abs(floor)))  # a flat trace still gets a scale
    low = floor - 0.03 * (top - floor)
    ink = style()["ink"]
    unit = f" ({trace.signal_unit})" if trace.signal_unit else ""
    with drawing(4.4, (1.7, 1.0)) as (picture, (upper, lower)):
        for axes in (upper, lower):
            _bands(axes, sample, trace, named=axes is lower)
            if axes is lower:
                hump = np.maximum(under, whole)
                axes.fill_between(at, whole, hump, color=ink["hump"], linewidth=0, label="unresolved hump")
            axes.plot(time[keep], signal[keep], color=ink["signal"], linewidth=0.55, label="signal")
            dashes = (0, (4, 2))
            axes.plot(at, under, color=ink["following"], linewidth=0.8, linestyle=dashes, label="baseline of the peaks")
            axes.plot(at, whole, color=ink["total"], linewidth=0.9, label=f"baseline of the totals ({total.kind})")
            axes.set_xlim(float(time[0]), float(time[-1]))
            comma_axis(axes.xaxis, settings.decimal)
            comma_axis(axes.yaxis, settings.decimal)
        upper.set_ylim(low, top + 0.05 * (top - floor))
        raised = max(float(following.values.max()), float(total.values.max())) - floor
        ceiling = floor + max(1.8 * raised, 0.02 * (top - floor))
        if ceiling >= top:
            ceiling = top
        lower.set_ylim(floor - 0.06 * (ceiling - floor), ceiling)
        upper.tick_params(axis="x", labelbottom=False)
        upper.set_ylabel(f"{sample.detector or 'detector'} signal{unit}"[:60])
        times = (top - floor) / (ceiling - floor)
        lower.set_ylabel(f"magnified {times:.0f} times" if times >= 2 else f"magnified{unit}"[:60])
        lower.set_xlabel("retention time (min)")
        _ladder(upper, sample, float(time[-1] - time[0]))
        upper.legend(
            *lower.get_legend_handles_labels(), loc="lower right", bbox_to_anchor=(1.0, 1.07), ncols=4, frameon=False,
            fontsize=7, borderaxespad=0.0, handlelength=1.8, columnspacing=1.4,
        )  # fmt: skip
        return svg_text(picture)


def _bands(axes: Axes, sample: SampleFindings, trace: Trace, named: bool) -> None:
    import matplotlib.transforms as transforms

    bands = cut_bands(sample)
    look = looks([cut for cut, _, _ in bands])
    across = transforms.blended_transform_factory(axes.transData, axes.transAxes)
    for cut, start, end in bands:
        axes.fill_between(
            [start, end], 0, 0.018, transform=across, color=look[cut].colour, linewidth=0, zorder=3, clip_on=True
        )
        axes.axvline(end, color=style()["ink"]["rule"], linewidth=0.6, linestyle=(0, (1, 1.5)), zorder=0)
        if named:
            middle = (max(start, float(trace.time_min[0])) + min(end, float(trace.time_min[-1]))) / 2
            axes.text(
                middle, 0.97, cut, transform=across, ha="center", va="top", fontsize=7, color=style()["ink"]["quiet"],
                bbox={"facecolor": "#FFFFFF", "edgecolor": "none", "pad": 1.0, "alpha": 0.85}, zorder=6,
            )  # fmt: skip
    for start, end in sample.solvent_windows_min:
        axes.axvspan(
            start, end, facecolor="none", edgecolor=style()["ink"]["rule"], hatch="////", linewidth=0, zorder=0
        )


def _ladder(axes: Axes, sample: SampleFindings, width: float) -> None:
    if sample.ladder is None:
        return
    import matplotlib.transforms as transforms

    across = transforms.blended_transform_factory(axes.transData, axes.transAxes)
    ink = style()["ink"]["ladder"]
    last_label = -np.inf
    for carbon, at in zip(sample.ladder.carbons, sample.ladder.times_min, strict=True):
        axes.plot([at, at], [1.0, 1.02], transform=across, color=ink, linewidth=0.7, clip_on=False)
        if at - last_label > 0.021 * width and (carbon <= 12 or carbon % 2 == 0):
            axes.text(at, 1.03, str(carbon), transform=across, ha="center", va="bottom", fontsize=7, color=ink)
            last_label = at
    axes.text(
        0.0, 1.09, "n-alkane carbon number", transform=axes.transAxes, ha="left", va="bottom", fontsize=7, color=ink
    )
