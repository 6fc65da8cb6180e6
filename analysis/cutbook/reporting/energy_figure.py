"""Draw the energy of feed and products as bars."""

from __future__ import annotations

from cutbook.model.energy import EnergyLedger
from cutbook.reporting.energy_words import energy_words
from cutbook.reporting.numbers import AS_WRITTEN, COVERAGE_FACTOR, OutputSettings
from cutbook.reporting.style import comma_axis, drawing, style, svg_text


def energy_figure(ledger: EnergyLedger | None, settings: OutputSettings = AS_WRITTEN) -> str:
    """Bars of every stream that has an energy, feeds dark, then the unaccounted rest hatched, as SVG text; "" for none.

    Whiskers are expanded uncertainties (k = 2).
    """
    rows = [row for row in (ledger.rows if ledger is not None else ()) if row.energy.value]
    if ledger is None or not any(row.feed for row in rows) or not any(not row.feed for row in rows):
        return ""
    ink, cuts = style()["ink"], style()["cuts"]
    feed, product, rest = cuts["wax"], cuts["gasoline"], cuts["not accounted for"]
    bars = [(f"{row.name}, feed" if row.feed else row.name, row.energy, feed if row.feed else product) for row in rows]
    if ledger.unaccounted.value is not None:
        bars.append(("not accounted for", ledger.unaccounted, rest))
    with drawing(0.75 + 0.24 * len(bars)) as (picture, (axes,)):
        for place, (_, result, look) in enumerate(bars):
            axes.barh(
                place,
                result.value or 0.0,
                height=0.66,
                color=look["colour"],
                hatch=look["hatch"],
                edgecolor=ink["text"],
                linewidth=0.4,
                xerr=COVERAGE_FACTOR * (result.u or 0.0),
                error_kw={"elinewidth": 0.6, "ecolor": ink["attention"] if look is feed else ink["text"]},
            )
        axes.axvline(0.0, color=ink["text"], linewidth=0.6)
        axes.set_yticks(range(len(bars)), [name for name, _, _ in bars])
        axes.invert_yaxis()
        axes.set_xlabel("gross heating value (MJ)")
        comma_axis(axes.xaxis, settings.decimal)
        return svg_text(picture)


def energy_caption(ledger: EnergyLedger) -> str:
    """What the figure shows, and what is not in it."""
    words = energy_words()
    missing = [row.name for row in ledger.rows if row.energy.value is None]
    without = words["caption_without"].format(names=", ".join(missing)) if missing else ""
    return str(words["caption"] + without)
