"""Draw the boiling curve of a sample with the band of its uncertainty."""

from __future__ import annotations

import numpy as np

from cutbook.reporting.numbers import AS_WRITTEN, COVERAGE_FACTOR, OutputSettings
from cutbook.reporting.style import comma_axis, drawing, style, svg_text
from cutbook.workup.findings import SampleFindings


def boiling_figure(sample: SampleFindings, settings: OutputSettings = AS_WRITTEN) -> str:
    """Temperature against recovered mass as SVG text; "" where there is no curve.

    The band is the expanded uncertainty (k = 2). A curve that ends before 100 % ends where the sample or the ladder
    does; nothing is drawn beyond.
    """
    curve = sample.boiling_curve
    known = [
        (point.recovered, point.temperature.value, point.temperature.u or 0.0)
        for point in (curve.points if curve is not None else ())
        if point.temperature.value is not None
    ]
    if curve is None or len(known) < 2:
        return ""
    recovered, temperature, u = (np.array(column) for column in zip(*known, strict=True))
    wide = COVERAGE_FACTOR * u
    ink = style()["ink"]
    with drawing(2.8) as (picture, (axes,)):
        axes.fill_between(
            recovered, temperature - wide, temperature + wide, color=ink["hump"], linewidth=0, label="± U (k = 2)"
        )
        axes.plot(recovered, temperature, color=ink["total"], linewidth=1.1, label="boiling curve")
        axes.set_xlim(0, 100)
        axes.margins(y=0.08)
        base = f"recovered mass of {sample.name[:40]}" + ("" if curve.whole else ", eluted part")
        axes.set_xlabel(f"{base} (%)")
        axes.set_ylabel("temperature (°C)")
        axes.grid(axis="y", color=ink["rule"], linewidth=0.4)
        axes.set_axisbelow(True)
        axes.legend(loc="upper left", frameon=False, fontsize=7)
        for axis in (axes.xaxis, axes.yaxis):
            comma_axis(axis, settings.decimal)
        return svg_text(picture)
