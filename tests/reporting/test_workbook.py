"""The workbook: formulas that hold what they give, text that stays text, gaps that say why."""

import functools
import io
import math
import shutil
import subprocess

import pytest
from reporting_builders import FORMULA, a_run

from cutbook.reporting.sheet_writer import cell_text, column
from cutbook.reporting.workbook import ORDER, workbook

openpyxl = pytest.importorskip("openpyxl")


@functools.cache
def opened(data, values=False):
    return openpyxl.load_workbook(io.BytesIO(data), data_only=values)


@pytest.fixture(scope="module")
def small():
    return a_run(points=1500)


@pytest.fixture(scope="module")
def book(small):
    return workbook(small)


def formulas(data):
    """(sheet, cell) -> formula."""
    return {
        (sheet.title, cell.coordinate): cell.value
        for sheet in opened(data)
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    }


def recalculated(data, folder):
    """The values that LibreOffice computes from the formulas alone."""
    office = shutil.which("soffice") or shutil.which("libreoffice")
    if office is None:
        pytest.skip("LibreOffice is not installed, so nothing recalculates the formulas")
    bare = openpyxl.load_workbook(io.BytesIO(data))
    for name in ("Trace", "Peaks"):  # no formulas in them; the rest recalculates sooner
        assert not any(sheet == name for sheet, _ in formulas(data))
        del bare[name]
    for sheet in bare:
        sheet._charts = []
    bare.save(folder / "bare.xlsx")  # openpyxl stores no value beside a formula
    none = openpyxl.load_workbook(folder / "bare.xlsx", data_only=True)
    assert all(none[sheet][cell].value is None for sheet, cell in formulas(data))
    subprocess.run(
        [
            office, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--convert-to",
            "xlsx:Calc MS Excel 2007 XML", "--outdir", str(folder / "out"), str(folder / "bare.xlsx"),
        ],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    return openpyxl.load_workbook(folder / "out" / "bare.xlsx", data_only=True)


def differing(data, folder):
    stored, computed = opened(data, values=True), recalculated(data, folder)
    faults = []
    for (sheet, cell), formula in formulas(data).items():
        ours, theirs = stored[sheet][cell].value, computed[sheet][cell].value
        alike = (
            isinstance(theirs, (int, float))
            and isinstance(ours, (int, float))
            and math.isclose(ours, theirs, rel_tol=1e-9, abs_tol=1e-12)
        )
        if not alike:
            faults.append(f"{sheet}!{cell} {formula}: stored {ours!r}, computed {theirs!r}")
    return faults


def test_every_formula_gives_the_value_stored_beside_it(book, tmp_path):
    assert len(formulas(book)) > 200
    faults = differing(book, tmp_path)
    assert not faults, "\n".join(faults[:20])


def test_a_wrong_stored_value_would_be_seen(book, tmp_path, monkeypatch):
    first = next(iter(formulas(book)))
    stored = opened(book, values=True)
    cell = stored[first[0]][first[1]]
    monkeypatch.setattr(cell, "value", cell.value + 1e-6)
    assert differing(book, tmp_path)


def test_formulas_of_a_hostile_run_with_gas_by_difference_recalculate_too(tmp_path):
    data = workbook(a_run(gas="by difference", hostile=True, points=1500))
    faults = differing(data, tmp_path)
    assert not faults, "\n".join(faults[:20])


def test_headline_numbers_are_formulas_down_to_the_inputs(book):
    found = formulas(book)
    for sheet, least in (("Summary", 40), ("Balance", 40), ("Cuts", 100), ("Sample cuts", 25), ("Carbon numbers", 70)):
        assert sum(where == sheet for where, _ in found) >= least, sheet
    balance = {cell: formula for (sheet, cell), formula in found.items() if sheet == "Balance"}
    assert any(formula.startswith("='Inputs'!") for formula in balance.values())
    assert any("Feed_g" in formula for formula in balance.values())
    sums = [formula for (sheet, _), formula in found.items() if sheet == "Sample cuts"]
    assert any(formula.startswith("=SUM('Carbon numbers'!") for formula in sums)
    assert any("'Balance'!" in formula for (sheet, _), formula in found.items() if sheet == "Cuts")


def test_stored_values_are_those_of_the_findings(book, small):
    named = small.named()
    sheet = opened(book, values=True)["Cuts"]
    heads = [cell.value for cell in sheet[4]]
    for row in sheet.iter_rows(min_row=5, values_only=True):
        told = dict(zip(heads, row, strict=True))
        if told["cut"] is None:
            continue
        wanted = named[f"cuts.{told['scheme']}.{told['cut']}.yield"]
        if wanted.value is None:
            assert told["yield, feed as charged (%)"] is None
        else:
            assert told["yield, feed as charged (%)"] == pytest.approx(wanted.value, rel=1e-12)
    balance = {row[0]: row for row in opened(book, values=True)["Balance"].iter_rows(min_row=5, values_only=True)}
    assert balance["all products"][4] == pytest.approx(named["balance.closure"].value, rel=1e-12)
    assert balance["all products"][5] == pytest.approx(named["balance.closure"].u, rel=1e-9)


def test_no_text_stands_in_a_number_column_and_no_gap_is_unexplained():
    data = workbook(a_run(gas="not determined", points=1500))
    for name, head_row, numbers, reason in (
        ("Balance", 4, ("mass (g)", "yield, feed as charged (%)"), "remark"),
        ("Cuts", 4, ("yield, feed as charged (%)",), "remark"),
        ("Carbon numbers", 4, ("mass share (%)",), "remark"),
        ("Sample cuts", 4, ("mass share (%)",), "remark"),
    ):
        sheet = opened(data, values=True)[name]
        heads = [cell.value for cell in sheet[head_row]]
        gaps = 0
        for row in sheet.iter_rows(min_row=head_row + 1, values_only=True):
            told = dict(zip(heads, row, strict=True))
            if told[heads[-1]] is None:  # no step: an empty row, a sum or a heading
                continue
            for number in numbers:
                assert told[number] is None or isinstance(told[number], (int, float)), (name, told)
                if told[number] is None and told.get("how known") not in ("as charged", "dry", "dry ash-free"):
                    gaps += 1
                    assert told[reason], (name, told)
        assert gaps > 0, name


def test_text_that_wants_to_be_a_formula_stays_text():
    data = workbook(a_run(hostile=True, points=1500))
    live = [text for text in formulas(data).values() if "HYPERLINK" in text or "http" in text]
    assert not live
    texts = [
        cell
        for sheet in opened(data)
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "s" and str(cell.value).lstrip("'").startswith(("=", "+", "-", "@"))
    ]
    assert any(cell.value == FORMULA for cell in texts)
    assert all(cell.quotePrefix for cell in texts)
    assert not any(sheet._hyperlinks for sheet in opened(data))


def test_control_characters_are_shown_and_not_written():
    assert cell_text("tab\tnull\x00bell\x07") == "tab\\tnull\\x00bell\\x07"


def test_sheets_stand_in_reading_order(book):
    names = opened(book).sheetnames
    assert names[:3] == ["Read me", "Summary", "Balance"]
    assert len(names) == len(ORDER) - 4, (
        "random draws, and screen, evidence and ledger of chlorine, where there are any"
    )


def test_heads_are_frozen_fonts_named_and_pages_fit_to_width(book):
    for sheet in opened(book):
        assert sheet.page_setup.orientation == ("portrait" if sheet.title == "Summary" else "landscape")
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet["A1"].font.name == "Arial"
        if sheet.title in ("Balance", "Carbon numbers", "Cuts", "Sample cuts", "Peaks", "Provenance", "Cautions"):
            assert sheet.freeze_panes == "A5"


def test_inputs_are_blue_and_formulas_black(book):
    read = opened(book)
    assert read["Inputs"]["C5"].font.color.rgb == "FF14507A"
    balance = read["Balance"]
    charged = next(cell for cell in balance["E"] if cell.data_type == "f")
    assert charged.font.color.rgb == "FF1D2528"


def test_the_feed_has_names_for_its_bases(book):
    assert {"Feed_g", "Feed_dry_g", "Feed_daf_g"} <= set(opened(book).defined_names)


def test_native_charts_show_cuts_carbon_numbers_and_traces(book):
    read = opened(book)
    assert len(read["Summary"]._charts) == 4
    assert len(read["Trace"]._charts) == 2


def test_the_trace_sheet_is_thinned_and_keeps_the_tallest_peak(findings):
    data = workbook(findings)
    sheet = openpyxl.load_workbook(io.BytesIO(data), data_only=True, read_only=True)["Trace"]
    signal = findings.samples[0].trace.signal
    told = [row[1] for row in sheet.iter_rows(min_row=5, values_only=True) if row[1] is not None]
    assert len(signal) > 6000
    assert 1000 < len(told) <= 6000
    assert max(told) == pytest.approx(signal.max(), abs=0.01)


def test_a_run_without_a_ladder_makes_a_workbook(tmp_path):
    data = workbook(a_run(ladder=False, points=1500))
    sheet = opened(data, values=True)["Carbon numbers"]
    assert "no n-alkane ladder" in sheet["I5"].value


def test_the_same_findings_give_the_same_bytes(book):
    assert workbook(a_run(points=1500)) == book


@pytest.mark.parametrize(("number", "letters"), [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA")])
def test_columns_have_the_letters_of_a_spreadsheet(number, letters):
    assert column(number) == letters


@pytest.mark.parametrize("name", ["bottle-caps", "clean-crates", "crate-oil", "film-and-pvc", "foam-oil", "mixed-film"])
def test_the_formulas_of_an_example_run_recalculate(name, tmp_path):
    from pathlib import Path

    from cutbook import read_method, read_run, work_up

    folder = Path(__file__).resolve().parents[2] / "examples" / name
    data = workbook(work_up(read_run(folder), read_method(folder)))
    assert len(formulas(data)) > 80  # fewest where no sample has a trace
    assert differing(data, tmp_path) == []
