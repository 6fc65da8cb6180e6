"""Write the workbook: live formulas with their values, from weighings to yields, in reading order."""

from __future__ import annotations

import io
from typing import Any

from cutbook import __version__
from cutbook.reporting.balance_sheet import write_balance, write_inputs
from cutbook.reporting.boiling_sheet import write_boiling_curves
from cutbook.reporting.cautions import in_order
from cutbook.reporting.chlorine_sheet import write_chlorine_evidence, write_chlorine_ledger, write_chlorine_screen
from cutbook.reporting.cold_sheet import write_cold
from cutbook.reporting.cuts_sheet import ShareRows, write_carbon_numbers, write_cuts, write_sample_cuts, write_summary
from cutbook.reporting.draws_sheet import write_draws
from cutbook.reporting.elements_sheet import write_elements
from cutbook.reporting.energy_sheet import write_energy
from cutbook.reporting.gas_sheet import write_gas
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings
from cutbook.reporting.properties_sheet import write_properties
from cutbook.reporting.record_sheets import write_cautions, write_method, write_peaks, write_provenance, write_traces
from cutbook.reporting.sheet_writer import FONT, Formats, Sheet, at, definitions
from cutbook.reporting.still_sheet import write_still_logs
from cutbook.reporting.style import looks, style
from cutbook.workup.findings import Findings

ORDER = (
    "read_me", "summary", "balance", "carbon_numbers", "cuts", "sample_cuts", "boiling", "properties", "still", "gas",
    "elements", "chlorine_screen", "chlorine_evidence", "chlorine_ledger", "energy", "cold", "peaks", "trace",
    "provenance", "draws", "cautions", "inputs", "method",
)  # fmt: skip


def workbook(findings: Findings, settings: OutputSettings = AS_WRITTEN) -> bytes:
    """The workbook as bytes of an .xlsx file.

    Parameters
    ----------
    findings : of one run.
    settings : unused by cells, which show the decimal sign of the reader's own spreadsheet.

    Returns
    -------
    bytes
        Totals, yields, closure and cut sums are formulas that also hold their value; text is never a formula;
        a missing number is an empty cell with its reason beside it. Equal findings give equal bytes.
    """
    import datetime

    import xlsxwriter

    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(
        buffer,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
            "nan_inf_to_errors": False,
        },
    )
    stamp = findings.run.date or datetime.date(2000, 1, 1)
    book.set_properties({"created": datetime.datetime(stamp.year, stamp.month, stamp.day), "comments": ""})
    book.set_calc_mode("auto")
    formats = Formats(book)
    worded = in_order(findings.cautions)
    absent = _absent(findings)
    wanted = [key for key in ORDER if key not in absent]
    sheets = {key: Sheet(book, formats, key, worded) for key in wanted}
    rows = write_inputs(sheets["inputs"], findings)
    links = write_balance(book, sheets["balance"], sheets["inputs"], rows, findings)
    share_rows = write_carbon_numbers(sheets["carbon_numbers"], findings)
    shares = write_sample_cuts(sheets["sample_cuts"], sheets["carbon_numbers"], share_rows, findings)
    cut_rows = write_cuts(sheets["cuts"], shares, links, findings)
    spans = write_summary(sheets["summary"], sheets["balance"], sheets["cuts"], cut_rows, links, findings)
    write_boiling_curves(sheets["boiling"], findings)
    write_properties(sheets["properties"], findings)
    write_still_logs(sheets["still"], findings)
    write_gas(sheets["gas"], findings)
    write_energy(sheets["energy"], findings)
    write_elements(sheets["elements"], findings)
    for key, write in (
        ("chlorine_screen", write_chlorine_screen),
        ("chlorine_evidence", write_chlorine_evidence),
        ("chlorine_ledger", write_chlorine_ledger),
    ):
        if key in sheets:
            write(sheets[key], findings)
    write_cold(sheets["cold"], findings)
    write_peaks(sheets["peaks"], findings)
    traces = write_traces(sheets["trace"], findings)
    write_provenance(sheets["provenance"], findings)
    if findings.monte_carlo is not None:
        write_draws(sheets["draws"], findings.monte_carlo)
    write_cautions(sheets["cautions"], worded)
    write_method(sheets["method"], findings)
    _read_me(sheets["read_me"], findings, wanted, sum(one.level == "danger" for one in worded), len(worded))
    _cut_chart(book, sheets["summary"], spans, findings)
    _carbon_charts(book, sheets["summary"], sheets["carbon_numbers"], share_rows, findings)
    _trace_charts(book, sheets["trace"], traces)
    sheets["summary"].page.set_portrait()
    sheets["summary"].page.fit_to_pages(1, 1)  # bars and columns stay whole on paper
    sheets["read_me"].page.activate()
    book.close()
    return buffer.getvalue()


def _absent(findings: Findings) -> set[str]:
    """Keys of the sheets that a run has nothing for."""
    elements = findings.elements
    no_chlorine = findings.chlorine is None and (
        elements is None or (elements.chlorine is None and elements.scrubber is None)
    )
    empty = {
        "draws": findings.monte_carlo is None,
        "chlorine_screen": findings.chlorine is None,
        "chlorine_evidence": findings.chlorine is None,
        "chlorine_ledger": no_chlorine,
    }
    return {key for key, nothing in empty.items() if nothing}


def _read_me(sheet: Sheet, findings: Findings, keys: list[str], dangers: int, cautions: int) -> None:
    run = findings.run
    sheet.page.set_column(0, 0, 22)
    sheet.page.set_column(1, 1, 110)
    facts = [
        ("run", run.id),
        ("title", run.title),
        ("date", run.date.isoformat() if run.date else ""),
        ("operator", run.operator),
        ("notes", run.notes),
        ("feed", "; ".join(f"{feed.material} {feed.mass.text}" for feed in run.feeds)),
        ("written by", f"cutbook {__version__}"),
        ("cautions", f"{cautions}, of which {dangers} about dangers: read the sheet Cautions first"),
    ]
    for name, text in facts:
        if text:
            sheet.text(sheet.row, 0, name, "quiet")
            sheet.text(sheet.row, 1, text, "attention" if name == "cautions" and dangers else "text", wrap=True)
            sheet.row += 1
    sheet.row += 1
    for line in sheet.about["lines"]:
        sheet.text(sheet.row, 1, line, wrap=True)
        sheet.page.set_row(sheet.row, 14.0 * (len(line) // 125 + 1) + 3)
        sheet.row += 1
    sheet.row += 1
    for ink, text in (("input", "12.3"), ("text", "12.3"), ("quiet", "12.3")):
        told = {"input": "an input", "text": "a formula", "quiet": "from numerical work"}[ink]
        sheet.page.write_string(sheet.row, 0, text, sheet.formats.get(ink, align="right"))
        sheet.text(sheet.row, 1, told)
        sheet.row += 1
    sheet.row += 1
    for key in keys[1:]:
        about = definitions()[key]
        sheet.text(sheet.row, 0, about["title"], bold=True)
        sheet.text(sheet.row, 1, about["explain"])
        sheet.row += 1


def _font(size: int = 9) -> dict[str, Any]:
    return {"name": FONT, "size": size, "color": style()["ink"]["text"], "bold": False}


def _axis(title: str, **more: Any) -> dict[str, Any]:
    return {
        "name": title,
        "name_font": _font(),
        "num_font": _font(8),
        "line": {"color": style()["ink"]["text"], "width": 0.75},
        "major_gridlines": {"visible": False},
        **more,
    }


def _cut_chart(book: Any, sheet: Sheet, spans: dict[str, tuple[int, int]], findings: Findings) -> None:
    """Stacked bar of the whole-run cuts of each headline scheme."""
    placed = sheet.row + 1
    for scheme, (first, last) in spans.items():
        cuts = [cut for cut in findings.cuts if cut.scheme == scheme]
        look = looks([cut.cut for cut in cuts])
        chart = book.add_chart({"type": "bar", "subtype": "stacked"})
        for row, cut in zip(range(first, last + 1), cuts, strict=True):
            fill = look[cut.cut]
            series: dict[str, Any] = {
                "name": "=" + at(row, 0, sheet.name),
                "values": "=" + at(row, sheet.columns["value"], sheet.name),
                "gap": 60,
                "border": {"color": style()["ink"]["text"], "width": 0.5},
                "fill": {"color": fill.colour},
            }
            if fill.hatch:
                del series["fill"]
                series["pattern"] = {"pattern": "light_upward_diagonal", "fg_color": "#5A686C", "bg_color": "#FFFFFF"}
            chart.add_series(series)
        chart.set_title({"name": f"Cuts by {scheme.replace('-', ' ')}", "name_font": _font(11)})
        chart.set_x_axis(_axis("yield of feed as charged (%)", min=0))
        chart.set_y_axis(_axis("", visible=False))
        chart.set_legend({"position": "bottom", "font": _font()})
        chart.set_size({"width": 860, "height": 210})
        chart.set_chartarea({"border": {"none": True}})
        sheet.page.insert_chart(placed, 0, chart, {"description": f"stacked bar of the cuts, {scheme}"})
        placed += 12


def _carbon_charts(book: Any, summary: Sheet, sheet: Sheet, rows: dict[str, ShareRows], findings: Findings) -> None:
    """Columns of mass share against carbon number, one chart a sample, under the bars of the summary."""
    placed = summary.row + 26
    for sample in findings.samples:
        here = rows.get(sample.name)
        if here is None or not here.numbered:
            continue
        first, last = min(here.numbered.values()), max(here.numbered.values())
        mass, u = sheet.columns["mass"], sheet.columns["wide"]
        errors = f"='{sheet.name}'!{at(first, u)}:{at(last, u)}"
        chart = book.add_chart({"type": "column"})
        chart.add_series(
            {
                "name": "=" + at(first, 0, sheet.name),
                "categories": [sheet.name, first, sheet.columns["n"], last, sheet.columns["n"]],
                "values": [sheet.name, first, mass, last, mass],
                "fill": {"color": style()["cuts"]["wax"]["colour"]},
                "gap": 25,
                "y_error_bars": {
                    "type": "custom",
                    "plus_values": errors,
                    "minus_values": errors,
                    "line": {"color": style()["ink"]["text"], "width": 0.75},
                },
            }
        )
        chart.set_title({"name": "=" + at(first, 0, sheet.name), "name_font": _font(11)})
        chart.set_x_axis(_axis("carbon number"))
        chart.set_y_axis(_axis("mass share (%), whiskers U (k = 2)", min=0))
        chart.set_legend({"none": True})
        chart.set_size({"width": 860, "height": 300})
        chart.set_chartarea({"border": {"none": True}})
        summary.page.insert_chart(placed, 0, chart, {"description": "columns by carbon number"})
        placed += 17


def _trace_charts(book: Any, sheet: Sheet, traces: list[tuple[str, int, int, int]]) -> None:
    placed, right = 3, len(sheet.columns) + 1
    inks = style()["ink"]
    for _, col, first, last in traces:
        chart = book.add_chart({"type": "scatter", "subtype": "straight"})
        for offset, ink, width in ((1, "signal", 0.75), (2, "following", 1.0), (3, "total", 1.0)):
            chart.add_series(
                {
                    "name": "=" + at(first - 1, col + offset, sheet.name),
                    "categories": [sheet.name, first, col, last, col],
                    "values": [sheet.name, first, col + offset, last, col + offset],
                    "line": {"color": inks[ink], "width": width},
                }
            )
        chart.set_x_axis(_axis("retention time (min)", min=0))
        chart.set_y_axis(_axis("signal"))
        chart.set_legend({"position": "bottom", "font": _font()})
        chart.set_size({"width": 960, "height": 340})
        chart.set_chartarea({"border": {"none": True}})
        sheet.page.insert_chart(placed, right, chart, {"description": "trace and baselines"})
        placed += 20
