"""Draw a distillation over the trace of the same oil, and their difference below."""

from __future__ import annotations

import numpy as np

from cutbook.fractions.agreement import MIDDLE
from cutbook.model.agreement import Agreement
from cutbook.reporting.numbers import AS_WRITTEN, COVERAGE_FACTOR, OutputSettings
from cutbook.reporting.style import comma_axis, drawing, style, svg_text

_KINDS = {
    "one-plate": "trace, as a one-plate still would read it",
    "true-boiling": "trace, as a packed column would read it",
    "simulated": "trace, simulated curve",
}


def agreement_figure(agreement: Agreement, settings: OutputSettings = AS_WRITTEN) -> str:
    """Both curves against recovered %, and still less trace below, as SVG text; "" with fewer than two points.

    Bands are expanded uncertainties (k = 2): above, of the trace with its conversion; below, of the difference. The
    shaded stretch between 20 and 80 % is what median and worst difference are made from.
    """
    if len(agreement.points) < 2:
        return ""
    recovered = np.array([point.recovered for point in agreement.points])
    still, trace, apart = (
        np.array([[getattr(point, name).value, getattr(point, name).u or 0.0] for point in agreement.points])
        for name in ("still", "trace", "difference")
    )
    ink = style()["ink"]
    with drawing(4.2, (1.7, 1.0)) as (picture, (upper, lower)):
        for axes in (upper, lower):
            axes.set_xlim(0, 100)
            axes.grid(axis="y", color=ink["rule"], linewidth=0.4)
            axes.set_axisbelow(True)
        wide = COVERAGE_FACTOR * trace[:, 1]
        upper.fill_between(recovered, trace[:, 0] - wide, trace[:, 0] + wide, color=ink["hump"], linewidth=0,
                           label="± U (k = 2) of the trace and its conversion")  # fmt: skip
        upper.plot(recovered, trace[:, 0], color=ink["signal"], linewidth=1.1, linestyle=(0, (4, 2)),
                   label=_KINDS[agreement.conversion])  # fmt: skip
        upper.plot(recovered, still[:, 0], color=ink["attention"], linewidth=0.8, marker="o", markersize=3.2,
                   label="still")  # fmt: skip
        upper.set_ylabel("temperature at\n101.325 kPa (°C)")
        upper.legend(loc="upper left", frameon=False, fontsize=7)
        upper.tick_params(labelbottom=False)
        wide = COVERAGE_FACTOR * apart[:, 1]
        for end in MIDDLE:
            lower.axvline(end, color=ink["quiet"], linewidth=0.6, linestyle=(0, (1, 2)))
        lower.axhline(0.0, color=ink["text"], linewidth=0.6)
        lower.errorbar(recovered, apart[:, 0], yerr=wide, fmt="o", color=ink["attention"], markersize=3.2,
                       elinewidth=0.7, capsize=1.5)  # fmt: skip
        lower.annotate("median and worst are taken here", (0.5 * sum(MIDDLE), 1.0), (0, -2),
                       xycoords=("data", "axes fraction"), textcoords="offset points", ha="center", va="top",
                       fontsize=6.5, color=ink["quiet"])  # fmt: skip
        reach = float(np.max(np.abs(apart[:, 0]) + wide))
        lower.set_ylim(-1.05 * reach, 1.4 * reach)
        lower.set_ylabel("still less trace (°C)")
        lower.set_xlabel(f"recovered, by {agreement.axis} (% of the charge)")
        for axis in (upper.xaxis, upper.yaxis, lower.xaxis, lower.yaxis):
            comma_axis(axis, settings.decimal)
        return svg_text(picture)
