"""Draw what became of the feed: products as weighed and whole-run cuts as stacked bars with U."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from cutbook.model.result import Result
from cutbook.reporting.numbers import (
    AS_WRITTEN,
    OutputSettings,
    expanded,
    figure,
    places,
    value_text,
    with_uncertainty,
)
from cutbook.reporting.style import Look, comma_axis, drawing, looks, style, svg_text
from cutbook.workup.findings import Findings

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEADLINES = {"carbon-number": "cuts by\ncarbon number", "boiling-range": "cuts by\nboiling range"}
LEAST_REST = 0.05  # % of the feed: a narrower stretch is not seen


@dataclass(frozen=True)
class Segment:
    """One stretch of a bar: its name, its yield on feed in %, its look."""

    name: str
    result: Result
    look: Look


def bars(findings: Findings) -> dict[str, list[Segment]]:
    """The bars of the figure: products as weighed, then the headline schemes; what has no value is left out."""
    products = [p for p in findings.balance.products if p.yield_as_charged.value is not None]
    plain = Look("#F4F6F6", "")
    found = {"products": [Segment(p.fraction, p.yield_as_charged, plain) for p in products]}
    for scheme, label in HEADLINES.items():
        cuts = [c for c in findings.cuts if c.scheme == scheme]
        look = looks([c.cut for c in cuts])
        shown = [Segment(c.cut, c.yield_as_charged, look[c.cut]) for c in cuts if c.yield_as_charged.value]
        if shown:
            found[label] = shown
    return {label: segments for label, segments in found.items() if segments}


def yield_figure(findings: Findings, settings: OutputSettings = AS_WRITTEN) -> str:
    """Stacked bars of the whole run on feed as charged, as SVG text.

    Whiskers and ± are expanded uncertainties (k = 2). The rest to 100 % is hatched and called not accounted
    for only where the closure was tested; bars over 100 % run over 100 %. Empty text when no yield is known.
    """
    found = bars(findings)
    if not found:
        return ""
    with drawing(0.75 + 0.78 * len(found)) as (picture, (axes,)):
        bars_drawn = [_bar(axes, row, segments, findings, settings) for row, segments in enumerate(found.values())]
        ends = [end for end, _ in bars_drawn]
        rests = list(dict.fromkeys(name for _, names in bars_drawn for name in names))
        axes.set_yticks(range(len(found)), list(found))
        axes.set_ylim(len(found) - 0.45, -0.62)
        axes.set_xlim(0, max(100.0, *ends) * 1.005)
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
        axes.set_xlabel("share of the feed as charged (%)")
        comma_axis(axes.xaxis, settings.decimal)
        _legend(axes, found, rests)
        return svg_text(picture)


def _bar(
    axes: Axes, row: int, segments: list[Segment], findings: Findings, settings: OutputSettings
) -> tuple[float, tuple[str, ...]]:
    """Draw one bar; returns where it ends and which kinds of rest it shows."""
    ink = style()["ink"]
    left, high = 0.0, 0.56
    ends = -10.0
    for segment in segments:
        value = segment.result.value or 0.0
        wide = expanded(segment.result)
        if value > 0:
            axes.barh(
                row, value, left=left, height=high, color=segment.look.colour, hatch=segment.look.hatch or None,
                edgecolor=ink["text"], linewidth=0.5,
            )  # fmt: skip
            if wide and wide > 0.15:
                axes.errorbar(
                    left + value, row + 0.2, xerr=wide, fmt="none", ecolor=ink["attention"], elinewidth=0.9,
                    capsize=1.8, capthick=0.9, zorder=4,
                )  # fmt: skip
        named = segment.look.colour == "#F4F6F6"
        text = value_text(segment.result, settings)
        full = with_uncertainty(segment.result, settings).removesuffix("\N{NO-BREAK SPACE}%")
        best = [f"{segment.name}  {full}", f"{segment.name}\n{text}", text] if named else [full, text]
        fits = next((t for t in best if max(map(len, t.split("\n"))) * 0.98 < value - 0.6), "")
        back = {"facecolor": "#FFFFFF", "edgecolor": "none", "pad": 1.0} if segment.look.hatch else None
        if fits:
            axes.text(
                left + value / 2, row - 0.02, fits, ha="center", va="center", color=segment.look.ink, bbox=back,
                fontsize=7.5, linespacing=1.1,
            )  # fmt: skip
        elif abs(value) >= 0.05:
            label = f"{segment.name[:24]} {text}" if named else text
            room = 0.9 * len(label)
            middle = max(left + value / 2, 0.0)
            at = max(middle, ends + room / 2 + 1.0)
            ends = at + room / 2
            axes.annotate(
                label, (middle, row - high / 2), (at, row - high / 2 - 0.06), ha="center", va="bottom",
                fontsize=7, color=ink["quiet"],
            )  # fmt: skip
        left += max(value, 0.0)  # a negative yield is named above the bar, not drawn
    closure = findings.balance.closure.value
    if closure is None:
        return left, ()
    rests = [("not determined", closure - left), ("not accounted for", 100.0 - max(closure, left))]
    drawn = []
    for name, rest in rests:
        if rest > LEAST_REST:
            look = style()["cuts"][name]
            axes.barh(
                row, rest, left=left, height=high, color=look["colour"], hatch=look["hatch"], edgecolor=ink["text"],
                linewidth=0.5,
            )  # fmt: skip
            left += rest
            drawn.append(name)
    if 100.0 - closure < -LEAST_REST:
        said = figure(100.0 - closure, places(closure, expanded(findings.balance.closure)), settings)
        axes.text(left + 0.4, row, f"{said} %", ha="left", va="center", fontsize=7, color=ink["attention"])
        left += 6.0
    return left, tuple(drawn)


def _legend(axes: Axes, found: dict[str, list[Segment]], rests: list[str]) -> None:
    from matplotlib.patches import Patch

    edge = style()["ink"]["text"]
    seen: dict[tuple[str, str, str], Patch] = {}
    for label, segments in found.items():
        for segment in segments if label != "products" else []:
            key = (segment.name, segment.look.colour, segment.look.hatch)
            seen.setdefault(
                key,
                Patch(
                    facecolor=segment.look.colour, hatch=segment.look.hatch or None, edgecolor=edge, linewidth=0.5,
                    label=segment.name[:40],
                ),
            )  # fmt: skip
    rank = {name: place for place, name in enumerate(style()["cuts"])}
    ordered = sorted(seen.items(), key=lambda item: rank.get(item[0][0], 4 if not item[0][2] else 20))
    handles = [patch for _, patch in ordered]
    for name in sorted(rests, key=lambda rest: rank[rest]):
        own = style()["cuts"][name]
        handles.append(Patch(facecolor=own["colour"], hatch=own["hatch"], edgecolor=edge, linewidth=0.5, label=name))
    if not handles:
        return
    axes.legend(
        handles=handles, loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=5, frameon=False, fontsize=7.5,
        handlelength=1.6, columnspacing=1.6,
    )  # fmt: skip
