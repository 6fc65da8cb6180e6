"""Draw the solid wax of a liquid against temperature, with its band and the storage line."""

from __future__ import annotations

import numpy as np

from cutbook.coldflow.gelling import gelling_shares
from cutbook.reporting.cold_words import cold_words
from cutbook.reporting.numbers import AS_WRITTEN, COVERAGE_FACTOR, OutputSettings
from cutbook.reporting.style import comma_axis, drawing, style, svg_text
from cutbook.workup.findings import ColdFindings


def cold_caption(liquid: ColdFindings) -> str:
    """What the figure shows."""
    words, answer = cold_words(), liquid.answer
    low, _, high = gelling_shares()
    caption = words["caption"].format(of=liquid.of, low=f"{100 * low:g}", high=f"{100 * high:g}")
    if answer.at_storage is not None:
        caption += words["caption_storage"]
    return caption + (words["caption_measured"] if answer.measured else "")


def cold_figure(liquid: ColdFindings, settings: OutputSettings = AS_WRITTEN) -> str:
    """Solid in % against temperature as SVG text; "" where no wax is expected.

    The band is the expanded uncertainty (k = 2), cut off at nothing; the curve ends at the lowest temperature listed.
    """
    answer = liquid.answer
    if answer.appearance.value is None or len(answer.points) < 2:
        return ""
    t = np.array([point.temperature_c for point in answer.points])
    solid = np.array([point.mass.value or 0.0 for point in answer.points])
    wide = COVERAGE_FACTOR * np.array([point.mass.u or 0.0 for point in answer.points])
    ink = style()["ink"]
    low, _, high = (100.0 * share for share in gelling_shares())
    with drawing(2.8) as (picture, (axes,)):
        axes.axhspan(low, high, color=ink["rule"], alpha=0.6, linewidth=0, label=f"{low:g} to {high:g} %")
        band = np.clip(solid - wide, 0.0, None), np.clip(solid + wide, 0.0, 100.0)
        axes.fill_between(t, *band, color=ink["hump"], linewidth=0, label="± U (k = 2)")
        axes.plot(t, solid, color=ink["total"], linewidth=1.1, label="solid wax")
        if answer.at_storage is not None:
            axes.axvline(
                answer.at_storage.temperature_c, color=ink["text"], linewidth=0.9, linestyle="--", label="store"
            )
        for name, result in answer.measured:
            fill = "full" if name == "cloud_point" else "none"
            axes.plot(
                [result.value or 0.0], [0.0], marker="D", markersize=4, linestyle="none", color=ink["text"],
                fillstyle=fill, label=f"{name.replace('_', ' ')}, measured", clip_on=False, zorder=5,
            )  # fmt: skip
        axes.set_xlim(min(float(t.min()), _left(liquid)), float(t.max()) + 2)
        axes.set_ylim(0, max(1.15 * float(solid.max()), 5.0))
        axes.set_xlabel("temperature (°C)")
        axes.set_ylabel(f"solid in {liquid.of[:40]} (% by mass)")
        axes.grid(axis="y", color=ink["rule"], linewidth=0.4)
        axes.set_axisbelow(True)
        axes.legend(loc="upper right", frameon=False, fontsize=7)
        for axis in (axes.xaxis, axes.yaxis):
            comma_axis(axis, settings.decimal)
        return svg_text(picture)


def _left(liquid: ColdFindings) -> float:
    at = liquid.answer.at_storage
    return at.temperature_c if at is not None else 0.0
