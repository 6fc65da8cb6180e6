"""Draw the curve of a distillation: head and pot against what was recovered, with the receivers."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from cutbook.reporting.numbers import AS_WRITTEN, COVERAGE_FACTOR, OutputSettings
from cutbook.reporting.style import comma_axis, drawing, style, svg_text
from cutbook.workup.findings import DistillationFindings

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def still_figure(still: DistillationFindings, settings: OutputSettings = AS_WRITTEN) -> str:
    """Temperature against recovered share as SVG text; "" with fewer than two points.

    Filled marks are head temperatures at 101.325 kPa with their expanded uncertainties (k = 2), open marks what was
    read where it differs by more than 2 °C, the thin line is the pot as read. Receivers are told by bands.
    """
    curve = still.curve
    rows = []
    for point, reading in zip(curve.points, curve.log.readings, strict=True):
        recovered = (point.mass_recovered if curve.basis == "mass" else point.volume_recovered).value
        if recovered is not None:
            rows.append((recovered, point.equivalent_temperature, reading.head_c, reading.pot_c, reading.receiver))
    known = [(x, one.value, one.u or 0.0) for x, one, *_ in rows if one.value is not None]
    if len(known) < 2:
        return ""
    shares, temperatures, u = (np.array(column) for column in zip(*known, strict=True))
    ink = style()["ink"]
    with drawing(3.2) as (picture, (axes,)):
        pots = [(x, pot) for x, _, _, pot, _ in rows if pot is not None]
        if len(pots) > 1:
            axes.plot(*zip(*pots, strict=True), color=ink["quiet"], linewidth=0.8, linestyle=(0, (4, 2)),
                      label="pot, as read")  # fmt: skip
        axes.errorbar(
            shares, temperatures, yerr=COVERAGE_FACTOR * u, color=ink["total"], linewidth=1.0, elinewidth=0.6,
            marker="o", markersize=3.2, capsize=0, label="head at 101.325 kPa, ± U (k = 2)",
        )  # fmt: skip
        read = [(x, head) for x, one, head, _, _ in rows
                if head is not None and one.value is not None and abs(one.value - head) > 2.0]  # fmt: skip
        if read:
            axes.plot(*zip(*read, strict=True), color=ink["text"], linewidth=0, marker="o", markersize=3.2,
                      markerfacecolor="white", markeredgewidth=0.7, label="head, as read")  # fmt: skip
        low, high = axes.get_ylim()
        axes.set_ylim(low, high + 0.12 * (high - low))
        _receivers(axes, [(x, name) for x, *_, name in rows], ink)
        axes.set_xlim(0, max(100.0, float(shares.max())))
        axes.set_xlabel(f"recovered {curve.basis} of {still.entry.of[:40]} (%)")
        axes.set_ylabel("temperature (°C)")
        axes.grid(axis="y", color=ink["rule"], linewidth=0.4)
        axes.set_axisbelow(True)
        axes.legend(loc="lower right", frameon=False, fontsize=7)
        for axis in (axes.xaxis, axes.yaxis):
            comma_axis(axis, settings.decimal)
        return svg_text(picture)


def _receivers(axes: Axes, rows: list[tuple[float, str]], ink: dict[str, str]) -> None:
    """Every other receiver on a shaded ground, its name on top."""
    start = 0.0
    for number, (name, group) in enumerate(itertools.groupby(rows, key=lambda row: row[1])):
        end = list(group)[-1][0]
        if name:
            if number % 2:
                axes.axvspan(start, end, color=ink["rule"], alpha=0.35, linewidth=0)
            axes.text(
                0.5 * (start + end), 0.97, f"receiver {name[:12]}", ha="center", va="top", fontsize=7,
                color=ink["quiet"], transform=axes.get_xaxis_transform(),
            )  # fmt: skip
        start = end
