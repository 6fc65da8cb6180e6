"""Draw a planned distillation: head and pot temperature against what has come over, receivers as bands."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from cutbook.model.plan import FractionationPlan
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, plain
from cutbook.reporting.plan_words import plan_words
from cutbook.reporting.style import comma_axis, drawing, looks, style, svg_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_PALE = 0.35  # of the colour of a cut behind the curves
_LABEL = 10.0  # % of the charge: room that a pressure takes, written
_NARROW = 6.0  # % of the charge: a band too narrow for its name lying down


def plan_figure(plan: FractionationPlan, settings: OutputSettings = AS_WRITTEN) -> str:
    """The course of a plan as SVG text.

    The pot is drawn broken, so that the two are told apart in grey; a thin vertical line is a change of pressure; the
    pot limit is dotted.
    """
    ink, words = style()["ink"], plan_words()["figure"]
    with drawing(3.2) as (picture, (axes,)):
        top = max(plan.pot_limit_c, *(point.pot_c for point in plan.points))
        low = min(point.head_c for point in plan.points)
        span = top - low
        axes.set_ylim(low - 0.08 * span, top + 0.24 * span)
        _bands(axes, plan)
        level, labelled = 0, -100.0
        for stage in plan.stages:
            of = [point for point in plan.points if point.stage == stage.number]
            over = np.array([point.distillate for point in of])
            first = stage.number == 1
            axes.plot(over, [point.pot_c for point in of], color=ink["following"], linewidth=1.2,
                      linestyle=(0, (5, 2)), label=words["pot"] if first else None)  # fmt: skip
            axes.plot(over, [point.head_c for point in of], color=ink["signal"], linewidth=1.4,
                      label=words["head"] if first else None)  # fmt: skip
            if not first:
                axes.axvline(stage.first, color=ink["text"], linewidth=0.6)
            pressure = words["pressure"].format(pressure=plain(stage.pressure_kpa, 6, settings))
            level = level + 1 if stage.first - labelled < _LABEL else 0
            labelled = stage.first
            axes.annotate(pressure, (stage.first, low - 0.08 * span), (3, 3 + 10 * level), textcoords="offset points",
                          ha="left", va="bottom", fontsize=7, color=ink["text"])  # fmt: skip
        axes.axhline(plan.pot_limit_c, color=ink["attention"], linewidth=0.8, linestyle=":", label=words["limit"])
        axes.set_xlim(0, 100)
        axes.set_xlabel(words["over"])
        axes.set_ylabel(words["temperature"])
        axes.legend(loc="lower right", frameon=True, framealpha=0.9, edgecolor="none", fontsize=7)
        for axis in (axes.xaxis, axes.yaxis):
            comma_axis(axis, settings.decimal)
        return svg_text(picture)


def _bands(axes: Axes, plan: FractionationPlan) -> None:
    """A band a receiver, its name at the top."""
    ink = style()["ink"]
    found = looks([cut.cut for cut in plan.cuts])
    high = axes.get_ylim()[1]
    start = 0.0
    for cut in plan.cuts:
        width = cut.share.value or 0.0
        if width <= 1e-6:
            continue
        look = found[cut.cut]
        axes.axvspan(start, start + width, facecolor=look.colour, alpha=_PALE, linewidth=0, zorder=0)
        if start > 0:
            axes.axvline(start, color=ink["quiet"], linewidth=0.5, linestyle=(0, (1, 2)))
        lying = width >= _NARROW
        name = cut.cut if len(cut.cut) <= max(4, int(width * 1.1)) or not lying else cut.cut[: int(width * 1.1)] + "…"
        axes.annotate(name[:24], (start + width / 2, high), (0, -4), textcoords="offset points", ha="center", va="top",
                      fontsize=7.5, rotation=0 if lying else 90, color=ink["text"])  # fmt: skip
        start += width
