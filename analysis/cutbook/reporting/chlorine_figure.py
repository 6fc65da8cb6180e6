"""Draw why a chlorinated compound was believed or not, ion by ion and scan by scan; and where the chlorine went."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from cutbook.chlorine.concentration import REAGENT
from cutbook.model.chlorine import QuantifiedTarget, ScreenedOil, TargetSignal
from cutbook.model.chlorine_ledger import ChlorineBalance
from cutbook.model.result import Result
from cutbook.reporting.chlorine_words import RANK, chlorine_words
from cutbook.reporting.numbers import AS_WRITTEN, COVERAGE_FACTOR, OutputSettings, with_uncertainty
from cutbook.reporting.style import comma_axis, drawing, style, svg_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST = 12  # figures an oil; the rest is in the tables
IONS = 4  # panels a figure
MARGINS_IN = (0.8, 0.24, 0.45, 0.3)  # left, right, below, above
BAND = 0.15
"""Half width of the band about the isotope ratio of theory: public spectra of one compound scatter by 10 to 15 %."""
_LEAST_STRETCH = 1e-12


def drawn_targets(oil: ScreenedOil) -> tuple[QuantifiedTarget, ...]:
    """The targets of which a figure is drawn: found first, then masked, at most `MOST`."""
    shown = [
        one
        for one in oil.targets
        if one.screened.signal is not None
        and one.screened.verdict != "not detected"
        and one.concentration.reason != REAGENT
    ]
    return tuple(sorted(shown, key=lambda one: RANK.index(one.screened.verdict))[:MOST])


def target_figure(one: QuantifiedTarget, settings: OutputSettings = AS_WRITTEN) -> str:
    """Ion traces over each other and the isotope ratio below, as SVG text; "" without a signal."""
    signal = one.screened.signal
    if signal is None or len(signal.time_min) < 2:
        return ""
    ions = min(IONS, len(signal.mz))
    heights = (*([1.0] * ions), 1.15)
    with drawing(0.55 + 0.95 * sum(heights), heights, MARGINS_IN) as (picture, panels):
        for place, axes in enumerate(panels[:ions]):
            _ion(axes, signal, place, one.screened.window_min)
        _ratio(panels[-1], signal)
        for axes in panels:
            axes.set_xlim(float(signal.time_min[0]), float(signal.time_min[-1]))
            comma_axis(axes.xaxis, settings.decimal)
            comma_axis(axes.yaxis, settings.decimal)
            axes.yaxis.set_label_coords(-0.068, 0.5)
        for axes in panels[:-1]:
            axes.tick_params(axis="x", labelbottom=False)
        panels[-1].set_xlabel("retention time (min)")
        _legend(panels[0], panels[:ions])
        return svg_text(picture)


def _ion(axes: Axes, signal: TargetSignal, place: int, window: tuple[float, float]) -> None:
    ink, time = style()["ink"], signal.time_min
    matrix, fitted = signal.matrix[:, place], signal.fitted[:, place]
    axes.fill_between(time, matrix, color=ink["rule"], linewidth=0, label="neighbours and background")
    axes.plot(time, signal.intensity[:, place], color=ink["text"], linewidth=0.8, marker=".", markersize=3,
              label="recorded")  # fmt: skip
    if np.any(fitted > 0):
        axes.plot(time, matrix + fitted, color=ink["attention"], linewidth=1.8, alpha=0.8, label="with the compound")
    if place == 0 and np.any(signal.limit > 0):
        axes.plot(time, matrix + signal.limit, color=ink["text"], linewidth=1.1, linestyle=":",
                  label="at the detection limit")  # fmt: skip
    for edge in window:
        if time[0] < edge < time[-1]:
            axes.axvline(edge, color=ink["quiet"], linewidth=0.6, linestyle="--")
    top = max(float(signal.intensity[:, place].max()), float((matrix + fitted).max()))
    if place == 0:
        top = max(top, float((matrix + signal.limit).max()))
    if top <= 0:
        axes.text(0.5, 0.5, "nothing recorded", transform=axes.transAxes, ha="center", va="center", color=ink["quiet"])
        top = 1.0
    axes.set_ylim(min(0.0, float(signal.intensity[:, place].min())), 1.12 * top)
    axes.set_ylabel(f"m/z {signal.mz[place]}\n(counts)")
    axes.ticklabel_format(axis="y", style="sci", scilimits=(-3, 4))


def _ratio(axes: Axes, signal: TargetSignal) -> None:
    ink = style()["ink"]
    expected = signal.expected_ratio
    axes.axhspan((1 - BAND) * expected, (1 + BAND) * expected, color=ink["hump"], linewidth=0)
    axes.axhline(expected, color=ink["text"], linewidth=0.8, linestyle="--")
    known = np.isfinite(signal.ratio) & np.isfinite(signal.u_ratio)
    if known.any():
        axes.errorbar(
            signal.time_min[known], signal.ratio[known], yerr=signal.u_ratio[known], fmt="o", markersize=3,
            color=ink["text"], ecolor=ink["quiet"], elinewidth=0.7,
        )  # fmt: skip
    else:
        axes.text(0.5, 0.84, "too little in every scan to tell", transform=axes.transAxes, ha="center", va="center",
                  color=ink["quiet"])  # fmt: skip
    axes.set_ylim(0.0, max(2.2 * expected, _LEAST_STRETCH))
    first = f"{signal.mz[1]}/{signal.mz[0]}" if len(signal.mz) > 1 else "partner"
    axes.set_ylabel(f"ratio\n{first}")


def _legend(axes: Axes, panels: list[Axes]) -> None:
    """Over the first panel, of everything that any panel shows."""
    shown: dict[str, Any] = {}
    for one in panels:
        for handle, label in zip(*one.get_legend_handles_labels(), strict=True):
            shown.setdefault(label, handle)
    axes.legend(
        handles=list(shown.values()), loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=4, frameon=False,
        fontsize=7.5, handlelength=2.2,
    )  # fmt: skip


def target_caption(one: QuantifiedTarget, of: str) -> str:
    """What the figure of a target shows."""
    return str(
        chlorine_words()["figure"]["ions"].format(name=one.screened.target.name, of=of, verdict=one.screened.verdict)
    )


def flow_figure(ledger: ChlorineBalance | None, settings: OutputSettings = AS_WRITTEN) -> str:
    """Bars of what was fed, of every place where chlorine was found and of the rest, as SVG text; "" without a feed."""
    if ledger is None or not ledger.fed.value or ledger.fed.value <= 0:
        return ""
    ink, cuts = style()["ink"], style()["cuts"]
    bars = [(name, result) for name, result in _bars(ledger) if result.value is not None]
    with drawing(0.75 + 0.27 * len(bars)) as (picture, (axes,)):
        for place, (_, result) in enumerate(bars):
            look = cuts["not accounted for" if result is ledger.unaccounted else "gasoline" if place else "wax"]
            value = result.value or 0.0
            axes.barh(
                place, value, height=0.66, color=look["colour"], hatch=look["hatch"], edgecolor=ink["text"],
                linewidth=0.4, xerr=COVERAGE_FACTOR * (result.u or 0.0),
                error_kw={"elinewidth": 0.6, "ecolor": ink["attention"] if place == 0 else ink["text"]},
            )  # fmt: skip
            end = max(value, 0.0) + COVERAGE_FACTOR * (result.u or 0.0)
            axes.text(end, place, f"  {with_uncertainty(result, settings)}", va="center", ha="left", fontsize=7.5)
        axes.axvline(0.0, color=ink["text"], linewidth=0.6)
        axes.set_xlim(right=1.25 * axes.get_xlim()[1])
        axes.set_yticks(range(len(bars)), [name for name, _ in bars])
        axes.invert_yaxis()
        axes.set_xlabel("chlorine (g)")
        comma_axis(axes.xaxis, settings.decimal)
        return svg_text(picture)


def _bars(ledger: ChlorineBalance) -> list[tuple[str, Result]]:
    words = chlorine_words()["ledger"]
    rows = [(words[key], getattr(ledger, key)) for key in ("fed", "scrubber", "oil", "wax", "water", "char", "walls")]
    rows += [(f"in {name}", result) for name, result in ledger.others]
    rows.append((words["unaccounted"], ledger.unaccounted))
    return [(name, result) for name, result in rows if result is not None]


def flow_caption(ledger: ChlorineBalance) -> str:
    """What the figure shows, and what is not in it."""
    words = chlorine_words()["figure"]
    missing = [name for name, result in _bars(ledger) if result.value is None]
    return str(words["flow"] + (words["flow_open"].format(names=", ".join(missing)) if missing else ""))
