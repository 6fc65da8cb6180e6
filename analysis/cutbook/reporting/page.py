"""Put the findings on one page that needs nothing outside itself."""

from __future__ import annotations

import base64
import itertools
from collections.abc import Iterable
from importlib.resources import files
from typing import Any

from cutbook import __version__
from cutbook.model.carbon import CarbonShare
from cutbook.model.cuts import Sensitivity
from cutbook.model.ladder import Check
from cutbook.model.lineage import canonical
from cutbook.model.peaks import Peak
from cutbook.model.result import Result
from cutbook.reporting.cautions import Shown, grouped, in_order, reason_text
from cutbook.reporting.chlorine_words import chlorine_section
from cutbook.reporting.chromatogram_figure import without_solvent
from cutbook.reporting.element_words import elements_section
from cutbook.reporting.energy_words import energy_section
from cutbook.reporting.figures import DrawnFigure, figures
from cutbook.reporting.gas_words import gas_section
from cutbook.reporting.methods import methods_paragraph, open_range
from cutbook.reporting.numbers import (
    AS_WRITTEN,
    NOT_DETERMINED,
    OutputSettings,
    expanded_text,
    figure,
    places,
    plain,
    unit_name,
    value_text,
    with_uncertainty,
)
from cutbook.reporting.packed_trace import quantum
from cutbook.reporting.page_cold import cold_section
from cutbook.reporting.page_policy import json_in_page, policy
from cutbook.reporting.page_still import still_section
from cutbook.reporting.page_trace import boiling_rows, trace_data
from cutbook.reporting.property_names import property_names
from cutbook.reporting.provenance import settings_lines, steps_of
from cutbook.reporting.reconciliation_words import reconciliation_section
from cutbook.reporting.style import looks
from cutbook.reporting.whole_sensitivity import whole_run_sensitivity
from cutbook.workup.findings import Findings, SampleFindings

HEADLINES = {"carbon-number": "By carbon number", "boiling-range": "By boiling range"}


def page(
    findings: Findings, settings: OutputSettings = AS_WRITTEN, drawn: tuple[DrawnFigure, ...] | None = None
) -> str:
    """The report as one HTML file.

    Parameters
    ----------
    findings : of one run.
    settings : decimal sign.
    drawn : the figures, when they were drawn already.

    Returns
    -------
    str
        HTML with style, script, figures and traces inside; its content policy lets nothing else load or run.
        Equal findings give equal bytes.
    """
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    folder = files("cutbook.reports")

    def stored(name: str) -> str:
        return folder.joinpath(name).read_text(encoding="utf-8")

    css = stored("vendor/uPlot.min.css") + "\n" + stored("page.css")
    uplot, script = stored("vendor/uPlot.iife.min.js"), stored("page.js")
    worded = in_order(findings.cautions)
    palette: list[str] = []
    show = _Writer(settings, worded)
    samples = [_sample(sample, number, show, palette) for number, sample in enumerate(findings.samples, 1)]
    schemes = _schemes(findings, show, palette)
    traces = {s["id"]: trace_data(s["sample"], s["curves"], s["step_value"]) for s in samples if s["curves"]}
    css += "".join(f".swatch.s{place} {{ background: {fill}; }}\n" for place, fill in enumerate(palette))
    data = {"decimal": settings.decimal, "traces": traces}
    environment = Environment(autoescape=True, undefined=StrictUndefined, finalize=_readable)
    environment.globals.update(
        property_names=property_names(),
        value=show.value,
        plusminus=show.plusminus,
        missing=show.missing,
        both=show.both,
        at=show.at,
        plain=show.plain,
        unit=unit_name,
    )
    return environment.from_string(stored("page.html")).render(
        policy=policy([uplot, script], css),
        css=Markup(css),
        uplot=Markup(uplot),
        script=Markup(script),
        traces=Markup(json_in_page(data)),
        run=findings.run,
        conditions=[(_spaced(name), _condition(value)) for name, value in findings.run.conditions.items()],
        cautions=grouped(worded),
        tiles=_tiles(findings, show),
        figures=[_embedded(one) for one in (figures(findings, settings) if drawn is None else drawn)],
        balance=findings.balance,
        reconciled=reconciliation_section(findings.balance.reconciled, settings),
        elements=elements_section(findings.elements, lambda result: _why(result, worded)),
        chlorine=chlorine_section(findings, worded, settings),
        gas=gas_section(findings.gas, lambda result: _why(result, worded)),
        energy=energy_section(findings, lambda result: _why(result, worded), settings),
        feeds=_feeds(findings),
        schemes=schemes,
        headline_count=sum(one["headline"] for one in schemes),
        parts=_parts(findings),
        samples=samples,
        precision=findings.curve_precision,
        stills=[
            still_section(one, number, lambda result: _why(result, show.worded), show.fixed, settings)
            for number, one in enumerate(findings.distillations, 1)
        ],
        colds=[cold_section(one, number, settings) for number, one in enumerate(findings.cold, 1)],
        methods=methods_paragraph(findings, settings),
        settings=list(settings_lines(canonical(findings.method))),
        inputs=findings.inputs,
        headline_numbers=_headline_numbers(findings, show),
        steps=steps_of(findings),
        draws=findings.monte_carlo,
        version=__version__,
    )


class _Writer:
    """Writes results and bare numbers as selected."""

    def __init__(self, settings: OutputSettings, worded: Iterable[Shown]) -> None:
        self.settings = settings
        self.worded = tuple(worded)

    def value(self, result: Result) -> str:
        return value_text(result, self.settings)

    def plusminus(self, result: Result) -> str:
        return expanded_text(result, self.settings)

    def both(self, result: Result) -> str:
        return with_uncertainty(result, self.settings)

    def missing(self, result: Result | None) -> str:
        return NOT_DETERMINED if result is None or result.status != "below limit" else value_text(result, self.settings)

    def at(self, value: float, u: float) -> str:
        wide = 2 * u
        digits = places(value, wide)
        return f"{figure(value, digits, self.settings)} ± {figure(wide, digits, self.settings)}"

    def plain(self, value: float, digits: int = 4) -> str:
        return plain(value, digits, self.settings)

    def fixed(self, value: float | None, digits: int) -> str:
        return "" if value is None else figure(value, digits, self.settings)


def _readable(value: Any) -> Any:
    """What is about to be printed, with control characters shown as escapes; our own markup as it is."""
    if not isinstance(value, str) or hasattr(value, "__html__") or value.isprintable():
        return value
    return "".join(c if c.isprintable() or c in "\n\xa0" else c.encode("unicode_escape").decode() for c in value)


def _embedded(one: DrawnFigure) -> dict[str, str]:
    data = base64.b64encode(one.svg.encode("utf-8")).decode("ascii")
    return {
        "kind": one.kind,
        "sample": one.sample,
        "caption": one.caption,
        "data": f"data:image/svg+xml;base64,{data}",
    }


def _condition(value: Any) -> str:
    return str(value.text) if hasattr(value, "text") else str(value)


def _spaced(name: str) -> str:
    return name.replace("_", " ")


def _tiles(findings: Findings, show: _Writer) -> list[dict[str, Any]]:
    worded, spread = show.worded, whole_run_sensitivity(findings)
    tiles = [
        {
            "name": cut.cut,
            "limits": cut.limits,
            "result": cut.yield_as_charged,
            "note": _why(cut.yield_as_charged, worded) or _range(spread.get((cut.scheme, cut.cut)), show),
        }
        for cut in findings.cuts
        if cut.scheme == "carbon-number" and cut.limits and cut.cut != "residue"
    ]
    if not tiles:
        tiles = [
            {"name": one.fraction, "limits": one.how, "result": one.yield_as_charged, "note": ""}
            for one in findings.balance.products
        ]
    closure = findings.balance.closure
    note = findings.balance.verdict if closure.value is not None else _why(closure, worded)
    tiles.append({"name": "closure", "limits": "all products on feed", "result": closure, "note": note})
    return tiles


def _why(result: Result, worded: tuple[Shown, ...]) -> str:
    return reason_text(result.reason, worded) if result.value is None else ""


def _range(one: Sensitivity | None, show: _Writer) -> str:
    if one is None:
        return ""
    low, high = figure(one.low, 1, show.settings), figure(one.high, 1, show.settings)
    return f"{low} to {high} with the limits others use"


def _swatch(cut: str, cuts: list[str], palette: list[str]) -> int:
    look = looks(cuts)[cut]
    css = look.colour
    if look.hatch:
        css = f"repeating-linear-gradient(45deg, {look.colour} 0 2px, #5A686C 2px 3px)"
    if css not in palette:
        palette.append(css)
    return palette.index(css)


def _feeds(findings: Findings) -> list[tuple[str, Result]]:
    balance = findings.balance
    bases = (("as charged", balance.feed), ("dry", balance.feed_dry), ("dry ash-free", balance.feed_dry_ash_free))
    return [(basis, mass) for basis, mass in bases if mass is not None]


def _parts(findings: Findings) -> list[str]:
    """The products whose cuts are known from an analysis."""
    analysed = {sample.of for sample in findings.samples}
    return [of for of in dict.fromkeys(of for cut in findings.cuts for of, _ in cut.parts) if of in analysed]


def _schemes(findings: Findings, show: _Writer, palette: list[str]) -> list[dict[str, Any]]:
    parts = _parts(findings)
    spread = whole_run_sensitivity(findings)
    found = []
    for scheme, run in itertools.groupby(findings.cuts, key=lambda cut: cut.scheme):
        cuts = list(run)
        names = [cut.cut for cut in cuts]
        rows = []
        for cut in cuts:
            grams = dict(cut.parts)
            whole = sum(grams.values())
            rows.append(
                {
                    "cut": cut,
                    "swatch": _swatch(cut.cut, names, palette),
                    "grams": [
                        *(figure(grams[of], 1, show.settings) if of in grams else "" for of in parts),
                        figure(whole, 1, show.settings) if grams and cut.yield_as_charged.value is not None else "",
                    ],
                    "sensitivity": sensitivity_text(spread.get((scheme, cut.cut)), show.settings),
                }
            )
        found.append(
            {
                "title": HEADLINES.get(scheme, _spaced(scheme)),
                "definition": cuts[0].definition if scheme in HEADLINES else "",
                "headline": scheme in HEADLINES,
                "cuts": rows,
            }
        )
    return sorted(found, key=lambda one: not one["headline"])


def _sample(sample: SampleFindings, number: int, show: _Writer, palette: list[str]) -> dict[str, Any]:
    told = {(one.scheme, one.cut): one for one in sample.sensitivity}
    schemes = []
    for scheme, run in itertools.groupby(sample.cuts, key=lambda cut: cut.scheme):
        cuts = list(run)
        names = [cut.cut for cut in cuts]
        schemes.append(
            {
                "title": HEADLINES.get(scheme, _spaced(scheme)),
                "definition": cuts[0].definition if scheme in HEADLINES else "",
                "headline": scheme in HEADLINES,
                "rows": [
                    {
                        "cut": cut,
                        "swatch": _swatch(cut.cut, names, palette),
                        "sensitivity": sensitivity_text(told.get((scheme, cut.cut)), show.settings),
                    }
                    for cut in cuts
                ],
            }
        )
    schemes.sort(key=lambda one: not one["headline"])
    curves = sample.curves
    step = 1.0 if curves is None else quantum(without_solvent(sample, curves[0], curves[2]))
    unit = sample.peaks.signal_unit if curves is None else curves[0].signal_unit
    return {
        "id": f"t{number}",
        "anchor": f"sample-{number}",
        "name": sample.name,
        "sample": sample,
        "curves": curves,
        "carbons": sample.carbons,
        "schemes": schemes,
        "headline_count": sum(one["headline"] for one in schemes),
        "boiling": boiling_rows(sample),
        "shares": [] if sample.carbons is None else [_share(one, show) for one in sample.carbons.shares],
        "peaks": [_peak(peak, place, show) for place, peak in enumerate(sample.peaks, 1)],
        "checks": [_check(one, show) for one in sample.system_check],
        "points": 0 if curves is None else len(curves[0].time_min),
        "step": show.plain(step),
        "step_value": step,
        "unit": f"\N{NO-BREAK SPACE}{unit}" if unit else " of its unit",
        "area_unit": f"{unit or 'signal'} min",
        "height_unit": unit or "signal",
    }


def sensitivity_text(one: Sensitivity | None, settings: OutputSettings = AS_WRITTEN) -> str:
    """How a cut moves with the customary limits: "38.1 to 43.8 % (C5–C11: 38.1; C5–C13: 43.8)"."""
    if one is None:
        return ""

    def tell(value: float) -> str:
        return figure(value, 1, settings)

    each = "; ".join(f"{limits}: {tell(value)}" for limits, value in one.variants)
    gap = "\N{NO-BREAK SPACE}"
    return f"{tell(one.low)} to {tell(one.high)}{gap}%" + (f" ({each})" if each else "")


def _share(share: CarbonShare, show: _Writer) -> dict[str, Any]:
    remarks = []
    if share.lighter_too:
        remarks.append("with what elutes before it")
    if share.hidden:
        remarks.append("the solvent was left out of this bin")
    if share.mass.value is None:
        remarks.append(reason_text(share.mass.reason, show.worded))
    return {
        "share": share,
        "label": f"C{share.n}" if share.n is not None else share.part,
        "other": show.fixed(share.mass_other_response, 2),
        "remark": "; ".join(remarks),
    }


def _peak(peak: Peak, place: int, show: _Writer) -> list[str]:
    digits = places(peak.area, 2 * peak.u_area)
    return [
        str(place),
        show.fixed(peak.start_min, 3),
        show.fixed(peak.apex_min, 3),
        show.fixed(peak.end_min, 3),
        show.fixed(peak.retention_index, 0),
        show.fixed(peak.area, digits),
        show.fixed(2 * peak.u_area, digits) if peak.u_area > 0 else "",
        "" if peak.height is None else show.plain(peak.height),
        show.fixed(peak.half_width_min, 4),
        show.fixed(peak.tailing, 2),
        show.fixed(peak.resolution, 2),
        "" if peak.signal_to_noise is None else show.plain(peak.signal_to_noise, 3),
        f"{peak.area_rule}: {peak.name}" if peak.name else peak.area_rule,
        ", ".join(peak.flags),
    ]


def _check(check: Check, show: _Writer) -> dict[str, str]:
    verdict = "not tested" if check.passed is None else "passes" if check.passed else "fails"
    return {
        "name": check.name,
        "value": "" if check.value is None else show.plain(check.value, 3),
        "unit": unit_name(check.unit),
        "limits": open_range(check.low, check.high, show.settings),
        "verdict": verdict,
        "remark": check.remark,
    }


def _headline_numbers(findings: Findings, show: _Writer) -> list[dict[str, Any]]:
    found = []
    for name, result in findings.named().items():
        if not name.startswith(("balance.", "cuts.carbon-number.", "cuts.boiling-range.")) or name.endswith(
            ("yield_dry", "yield_dry_ash_free")
        ):
            continue
        budget, u = result.budget, result.u or 0.0
        text = "; ".join(f"{tag} {100 * (part / u) ** 2:.0f} %" for tag, part in budget[:3]) if u else ""
        found.append({"name": name, "result": result, "budget": text})
    return found
