"""Draw a sample by carbon number: columns with U, the cuts over them, where the ladder ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cutbook.model.carbon import CarbonShare
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, expanded, with_uncertainty
from cutbook.reporting.style import Look, comma_axis, drawing, looks, style, svg_text
from cutbook.workup.findings import SampleFindings

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEADLINE = "carbon-number"


def carbon_ranges(sample: SampleFindings) -> list[tuple[str, float, float]]:
    """(cut, first, last carbon number) of the headline scheme, read back from the limits as printed."""
    found = []
    for cut in sample.cuts:
        if cut.scheme != HEADLINE or not cut.limits.startswith(("C", "up to C")):
            continue
        numbers = [int(part) for part in cut.limits.replace("up to ", "").replace("C", "").rstrip("+").split("–")]
        first = 0.0 if cut.limits.startswith("up to") else float(numbers[0])
        last = float("inf") if cut.limits.endswith("+") else float(numbers[-1])
        found.append((cut.cut, first, last))
    return found


def carbon_figure(sample: SampleFindings, settings: OutputSettings = AS_WRITTEN) -> str:
    """Columns of mass % against carbon number as SVG text; "" without a distribution.

    Whiskers are expanded uncertainties (k = 2) and stop at 0. What did not elute and what lies beyond the
    ladder stand apart on the right. A bin that the solvent was cut out of is marked.
    """
    carbons = sample.carbons
    numbered = carbons.numbered() if carbons is not None else ()
    if carbons is None or not numbered:
        return ""
    ranges = carbon_ranges(sample)
    look = looks([cut for cut, _, _ in ranges])
    ink = style()["ink"]
    with drawing(3.1) as (picture, (axes,)):
        top, whiskers = 0.0, [(float(share.n or 0), share) for share in numbered]
        for share in numbered:
            cut = next((c for c, first, last in ranges if first <= (share.n or 0) <= last), None)
            fill = look[cut] if cut else Look(ink["signal"], "")
            top = max(top, _column(axes, float(share.n or 0), share, fill))
        last = float(numbered[-1].n or 0)
        ticks = {float(s.n or 0): f"≤{s.n}" if s.lighter_too else str(s.n) for s in numbered}
        place, gap = last + 1.9, 2.6 if len(numbered) > 24 else 1.6
        for share in carbons.shares:
            if share.n is None and share.mass.value is not None:
                key = "residue" if share.part == "did not elute" else "beyond the ladder"
                own = style()["cuts"][key]
                top = max(top, _column(axes, place, share, Look(own["colour"], own["hatch"]), width=1.0))
                whiskers.append((place, share))
                ticks[place] = "not\neluted" if share.part == "did not elute" else "beyond\nladder"
                place += gap
        _whiskers(axes, whiskers)
        axes.axvline(last + 0.62, color=ink["quiet"], linewidth=0.8, linestyle=(0, (2, 2)), ymax=0.9)
        axes.annotate(
            f"ladder ends\nat n-C{last:.0f}", (last + 0.62, top * 0.97), (-4, 0), textcoords="offset points",
            ha="right", va="top", fontsize=7, color=ink["quiet"],
        )  # fmt: skip
        every = 1 if len(numbered) <= 40 else 2
        shown = {at: label for place, (at, label) in enumerate(ticks.items()) if place % every == 0 or at > last}
        axes.set_xticks(list(shown), list(shown.values()), fontsize=7)
        axes.tick_params(axis="x", length=0)
        axes.set_xlim(float(numbered[0].n or 0) - 0.9, place - gap + 1.4 if place > last + 2 else last + 1.6)
        axes.set_ylim(0, top * 1.04)
        axes.set_xlabel("carbon number")
        axes.set_ylabel(f"mass share of {sample.name[:40]} (%)")
        comma_axis(axes.yaxis, settings.decimal)
        _brackets(axes, sample, ranges, look, float(numbered[0].n or 0), last, settings)
        return svg_text(picture)


def _column(axes: Axes, at: float, share: CarbonShare, look: Look, width: float = 0.82) -> float:
    value, wide, ink = share.mass.value or 0.0, expanded(share.mass) or 0.0, style()["ink"]
    axes.bar(at, value, width=width, color=look.colour, hatch=look.hatch or None, edgecolor=ink["text"], linewidth=0.35)
    if share.hidden:
        axes.annotate(
            "solvent", (at, value + wide), (0, 4), textcoords="offset points", ha="center", va="bottom", fontsize=6.5,
            rotation=90, color=ink["attention"],
        )  # fmt: skip
    return value + wide


def _whiskers(axes: Axes, columns: list[tuple[float, CarbonShare]]) -> None:
    """U of every column that has one; the lower end stops at 0."""
    told = [(at, share.mass.value, expanded(share.mass)) for at, share in columns]
    known = [(at, value, wide) for at, value, wide in told if value is not None and wide]
    if known:
        lower = [min(wide, max(value, 0.0)) for _, value, wide in known]
        axes.errorbar(
            [at for at, _, _ in known], [value for _, value, _ in known], yerr=[lower, [wide for _, _, wide in known]],
            fmt="none", ecolor=style()["ink"]["text"], elinewidth=0.7, capsize=1.4, capthick=0.7,
        )  # fmt: skip


def _brackets(
    axes: Axes,
    sample: SampleFindings,
    ranges: list[tuple[str, float, float]],
    look: dict[str, Look],
    first: float,
    last: float,
    settings: OutputSettings,
) -> None:
    """A strip above the columns: each cut with its share ± U."""
    import matplotlib.transforms as transforms

    ink = style()["ink"]
    across = transforms.blended_transform_factory(axes.transData, axes.transAxes)
    shares = {cut.cut: cut.mass for cut in sample.cuts if cut.scheme == HEADLINE}
    for cut, low, high in ranges:
        start, end = max(low, first) - 0.45, min(high, last) + 0.45
        if end <= start:
            continue
        axes.plot(
            [start, end], [1.015, 1.015], transform=across, color=look[cut].colour, linewidth=5, clip_on=False,
            solid_capstyle="butt",
        )  # fmt: skip
        axes.plot([start, end], [1.035, 1.035], transform=across, color=ink["text"], linewidth=0.5, clip_on=False)
        text = f"{cut}  {with_uncertainty(shares[cut], settings)}" if end - start > 5 else cut
        axes.text(
            (start + end) / 2, 1.055, text, transform=across, ha="center", va="bottom", fontsize=7.5, clip_on=False
        )
