"""Draw every figure of a report, each with its file name and caption."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from cutbook.reporting.agreement_figure import agreement_figure
from cutbook.reporting.boiling_figure import boiling_figure
from cutbook.reporting.carbon_figure import carbon_figure
from cutbook.reporting.chlorine_figure import drawn_targets, flow_caption, flow_figure, target_caption, target_figure
from cutbook.reporting.chromatogram_figure import chromatogram_figure
from cutbook.reporting.cold_figure import cold_caption, cold_figure
from cutbook.reporting.energy_figure import energy_caption, energy_figure
from cutbook.reporting.gas_figure import gas_figure
from cutbook.reporting.gas_trace_figure import gas_trace_figure
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, with_uncertainty
from cutbook.reporting.still_figure import still_figure
from cutbook.reporting.yield_figure import yield_figure
from cutbook.workup.findings import Findings


@dataclass(frozen=True)
class DrawnFigure:
    """One figure: file name, which sample it belongs to ("" for the run), caption, SVG text."""

    file: str
    kind: str
    sample: str
    caption: str
    svg: str


def figures(findings: Findings, settings: OutputSettings = AS_WRITTEN) -> tuple[DrawnFigure, ...]:
    """Yields of the run, figures of each sample, then of each distillation; what cannot be drawn is absent."""
    return tuple(_drawn(findings, settings))


def _drawn(findings: Findings, settings: OutputSettings) -> Iterator[DrawnFigure]:
    svg = yield_figure(findings, settings)
    if svg:
        caption = "What became of the feed as charged. Whiskers and ± are expanded uncertainties (k = 2)."
        if findings.balance.closure.value is None:
            caption += " The closure was not tested, so the rest to 100 % is left open."
        else:
            caption += f" Sum of the products: {with_uncertainty(findings.balance.closure, settings)} of the feed."
        yield DrawnFigure("yields.svg", "yields", "", caption, svg)
    if (svg := gas_figure(findings.gas, settings)) and findings.gas is not None:
        free = "without air and purge gas" if findings.gas.gas.air_free else "air or purge gas may be left in it"
        caption = f"Composition of the product gas, dry, {free}. Whiskers are expanded uncertainties (k = 2)."
        yield DrawnFigure("gas.svg", "gas", "", caption, svg)
    ledger = None if findings.elements is None else findings.elements.chlorine
    if (svg := flow_figure(ledger, settings)) and ledger is not None:
        yield DrawnFigure("chlorine.svg", "chlorine", "", flow_caption(ledger), svg)
    yield from _screened(findings, settings)
    if (svg := energy_figure(findings.energy, settings)) and findings.energy is not None:
        yield DrawnFigure("energy.svg", "energy", "", energy_caption(findings.energy), svg)
    if svg := gas_trace_figure(findings.gas, settings):
        caption = "Chromatograms of the gas as injected, with air and purge gas; every peak with what it was told for."
        yield DrawnFigure("gas-chromatogram.svg", "gas chromatogram", "", caption, svg)
    for sample, stem in zip(findings.samples, file_stems([s.name for s in findings.samples]), strict=True):
        svg = carbon_figure(sample, settings)
        if svg and sample.carbons is not None:
            base = "whole sample" if sample.carbons.residue_known else "eluted part only"
            caption = (
                f"Mass share by carbon number, {base}, {sample.carbons.response}. "
                "Whiskers are expanded uncertainties (k = 2)."
            )
            yield DrawnFigure(f"{stem}-carbon-numbers.svg", "carbon numbers", sample.name, caption, svg)
        if svg := boiling_figure(sample, settings):
            caption = (
                "Boiling curve read off the trace in the manner of simulated distillation; the band is the expanded "
                "uncertainty (k = 2)."
            )
            yield DrawnFigure(f"{stem}-boiling-curve.svg", "boiling curve", sample.name, caption, svg)
        caption = "Chromatogram, thinned to least and greatest values."
        if sample.solvent_windows_min:
            caption += " Hatched: solvent, left out of every percentage."
        if svg := chromatogram_figure(sample, settings):
            yield DrawnFigure(f"{stem}-chromatogram.svg", "chromatogram", sample.name, caption, svg)
    for liquid, stem in zip(findings.cold, file_stems([one.name for one in findings.cold]), strict=True):
        if svg := cold_figure(liquid, settings):
            yield DrawnFigure(f"{stem}-cold.svg", "cold", liquid.name, cold_caption(liquid), svg)
    names = [still.name for still in findings.distillations]
    for still, stem in zip(findings.distillations, file_stems(names), strict=True):
        if svg := still_figure(still, settings):
            caption = (
                f"Distillation of {still.entry.of} ({still.curve.log.file}): head temperature at 101.325 kPa against "
                f"the recovered {still.curve.basis}. Whiskers are expanded uncertainties (k = 2)."
            )
            yield DrawnFigure(f"{stem}-still.svg", "still", still.name, caption, svg)
        if still.agreement is not None and (svg := agreement_figure(still.agreement, settings)):
            caption = (
                f"The distillation of {still.entry.of} over its trace ({still.agreement.of}), and their difference. "
                "Bands and whiskers are expanded uncertainties (k = 2), those of the conversion included."
            )
            yield DrawnFigure(f"{stem}-agreement.svg", "agreement", still.name, caption, svg)


def _screened(findings: Findings, settings: OutputSettings) -> Iterator[DrawnFigure]:
    """One figure a chlorinated compound that was found or is masked."""
    oils = findings.chlorine.screened if findings.chlorine is not None else ()
    for oil, stem in zip(oils, file_stems([one.of for one in oils]), strict=True):
        shown = drawn_targets(oil)
        for one, name in zip(shown, file_stems([each.screened.target.name for each in shown]), strict=True):
            if svg := target_figure(one, settings):
                caption = target_caption(one, oil.of)
                yield DrawnFigure(f"{stem}-{name}-ions.svg", "chlorine ions", oil.file, caption, svg)


def file_stems(names: list[str]) -> list[str]:
    """File names that any file system takes, one for each sample name, no two alike."""
    found: list[str] = []
    for place, name in enumerate(names, 1):
        stem = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "sample"
        found.append(stem if stem not in found else f"{stem}-{place}")
    return found
