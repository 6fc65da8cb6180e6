"""Draw the composition of a gas as bars, by mole and by mass."""

from __future__ import annotations

from cutbook.reporting.numbers import AS_WRITTEN, COVERAGE_FACTOR, OutputSettings
from cutbook.reporting.style import comma_axis, drawing, style, svg_text
from cutbook.workup.gas_findings import GasFindings


def gas_figure(gas: GasFindings | None, settings: OutputSettings = AS_WRITTEN) -> str:
    """Bars of every component that was found, as SVG text; "" where there is none.

    Whiskers are expanded uncertainties (k = 2). What lies below its limit is not drawn.
    """
    shares = [one for one in (gas.composition if gas is not None else ()) if one.mole.value is not None]
    if not shares:
        return ""
    ink, cuts = style()["ink"], style()["cuts"]
    with drawing(0.9 + 0.26 * len(shares)) as (picture, (axes,)):
        for offset, key, look in ((-0.2, "mole", cuts["wax"]), (0.2, "mass", cuts["gasoline"])):
            results = [getattr(one, key) for one in shares]
            axes.barh(
                [place + offset for place in range(len(shares))],
                [result.value or 0.0 for result in results],
                height=0.38,
                color=look["colour"],
                edgecolor=ink["text"],
                linewidth=0.4,
                xerr=[COVERAGE_FACTOR * (result.u or 0.0) for result in results],
                error_kw={"elinewidth": 0.6, "ecolor": ink["text"]},
                label=f"{key} %",
            )
        axes.set_yticks(range(len(shares)), [one.component for one in shares])
        axes.invert_yaxis()
        axes.set_xlim(left=0)
        axes.set_xlabel("share of the dry product gas (%)")
        axes.legend(loc="lower right", frameon=False, fontsize=7)
        comma_axis(axes.xaxis, settings.decimal)
        return svg_text(picture)
