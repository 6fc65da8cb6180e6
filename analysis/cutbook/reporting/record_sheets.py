"""Lay out the sheets that list records: Peaks, Trace, Provenance, Cautions, Method."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cutbook.model.lineage import canonical
from cutbook.reporting.cautions import Shown
from cutbook.reporting.chromatogram_figure import without_solvent
from cutbook.reporting.methods import methods_paragraph
from cutbook.reporting.numbers import places
from cutbook.reporting.packed_trace import quantum
from cutbook.reporting.provenance import settings_lines, steps_of
from cutbook.reporting.sheet_writer import Sheet, definitions, digits_of
from cutbook.reporting.thinning import thinned
from cutbook.workup.findings import Findings

TRACE_ROWS = 6000


def write_peaks(sheet: Sheet, findings: Findings) -> None:
    """One row a peak, in order of elution."""
    sheet.head(sheet.about["columns"], freeze=True)
    for sample in findings.samples:
        for number, peak in enumerate(sample.peaks, 1):
            sheet.say("sample", sample.name)
            sheet.number("number", number, 0, "text")
            for key in ("start_min", "apex_min", "end_min"):
                sheet.number(key, getattr(peak, key), 3)
            sheet.number("retention_index", peak.retention_index, 0)
            digits = max(0, places(peak.area, 2 * peak.u_area))
            sheet.number("area", peak.area, digits)
            sheet.number("u_area", peak.u_area, digits + 1)
            sheet.number("height", peak.height, 0 if peak.height is None else max(0, places(peak.height, None)))
            sheet.say("signal_unit", sample.peaks.signal_unit)
            sheet.number("half_width_min", peak.half_width_min, 4)
            sheet.number("tailing", peak.tailing, 2)
            sheet.number("resolution", peak.resolution, 2)
            sheet.number("signal_to_noise", peak.signal_to_noise, 0)
            sheet.say("area_rule", peak.area_rule)
            sheet.say("name", peak.name)
            sheet.say("flags", ", ".join(peak.flags))
            sheet.row += 1
        if not sample.peaks.peaks:
            sheet.say("sample", sample.name)
            sheet.say("area_rule", "no peak found", "quiet")
            sheet.row += 1


def write_traces(sheet: Sheet, findings: Findings) -> list[tuple[str, int, int, int]]:
    """Each thinned trace with its baselines, side by side.

    Returns
    -------
    list
        (sample, first column, first row, last row) for the charts.
    """
    columns = []
    for sample in findings.samples:
        if sample.trace is None:
            continue
        unit = sample.trace.signal_unit or "as in the file"
        for one in sheet.about["part"]:
            head = one["head"].replace("{unit}", unit).replace("{name}", sample.name)
            columns.append({"key": f"{one['key']} {sample.name}", "head": head, "width": one["width"]})
    sheet.head(columns, freeze=True)
    top, places_of = sheet.row, []
    form = sheet.formats
    for sample in findings.samples:
        if sample.curves is None:
            continue
        trace, following, total = sample.curves
        keep = thinned(trace.signal, TRACE_ROWS // 2 - 1)
        _, col = sheet.place(f"time {sample.name}")
        step = quantum(without_solvent(sample, trace, total))
        fine = max(0, -math.floor(math.log10(step)))
        for offset, (values, digits) in enumerate(
            ((trace.time_min, 5), (trace.signal, fine), (following.values, fine), (total.values, fine))
        ):
            listed = np.round(values[keep], digits).tolist()
            sheet.page.write_column(top, col + offset, listed, form.number("quiet", digits))
        places_of.append((sample.name, col, top, top + len(keep) - 1))
    return places_of


def write_provenance(sheet: Sheet, findings: Findings) -> None:
    """Every number with step and budget, then every step."""
    sheet.head(sheet.about["columns"], freeze=True)
    for name, result in findings.named().items():
        sheet.say("name", name)
        sheet.say("measurand", result.measurand)
        digits = digits_of(result)
        sheet.number("value", result.value, digits)
        sheet.number("u", result.u, digits + 1)
        sheet.say("unit", result.unit)
        sheet.say("basis", result.basis)
        sheet.say("step", result.step.id, "quiet")
        if result.value is None:
            sheet.say("first", sheet.why(result), "quiet")
        for key, (tag, part) in zip(("first", "second", "third"), result.budget, strict=False):
            sheet.say(key, tag)
            sheet.number(f"u_{key}", part, digits + 2)
        sheet.row += 1
    about = definitions()["steps"]
    sheet.caption(about["title"])
    sheet.head(about["columns"], widths=False)
    for step in steps_of(findings):
        sheet.say("operation", step.operation)
        sheet.say("id", step.id, "quiet")
        sheet.say("inputs", " ".join(step.inputs), "quiet")
        sheet.say("file", step.file)
        sheet.say("place", step.place)
        sheet.say("sha256", step.sha256, "quiet")
        sheet.say("settings", step.settings, "quiet")
        sheet.row += 1


def write_cautions(sheet: Sheet, worded: Sequence[Shown]) -> None:
    """One row a caution, dangers first."""
    sheet.head(sheet.about["columns"], freeze=True)
    for one in worded:
        ink = "attention" if one.level == "danger" else "text"
        sheet.say("level", one.level, ink, bold=one.level == "danger", wrap=True)
        for key in ("about", "text", "means", "do", "code"):
            sheet.say(key, getattr(one, key), "quiet" if key == "code" else "text", wrap=True)
        longest = max(len(one.text) / 58, len(one.means) / 52, len(one.do) / 52)
        sheet.page.set_row(sheet.row, 14.0 * (int(longest) + 1) + 3)
        sheet.row += 1


def write_method(sheet: Sheet, findings: Findings) -> None:
    """The methods paragraph, then every setting."""
    sheet.widths(sheet.about["columns"])
    for sentence in methods_paragraph(findings).split(". "):
        sheet.text(sheet.row, 0, sentence.rstrip(".") + ".")
        sheet.row += 1
    sheet.row += 1
    sheet.head(sheet.about["columns"])
    for name, value in settings_lines(canonical(findings.method)):
        sheet.say("name", name)
        sheet.say("text", value)
        sheet.row += 1
