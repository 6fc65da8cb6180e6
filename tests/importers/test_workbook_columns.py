"""XLSX workbooks in place of text columns."""

import datetime
import io
import zipfile

import numpy as np
import openpyxl
import pytest
from importer_contract import line_of, read

from cutbook.importers import workbook as workbook_module

TIMES = np.arange(200) / 100
SIGNAL = np.round(10 + 90 * np.exp(-0.5 * ((TIMES - 1) / 0.05) ** 2) + 0.001 * np.sin(np.arange(200) * 1.7), 4)


def rows_of(time=float, signal=float):
    return [[time(t), signal(y)] for t, y in zip(TIMES, SIGNAL, strict=True)]


def book(rows=None, head=("time (min)", "signal (pA)"), above=(), more=None, title="Trace"):
    """The bytes of a workbook; `more` are further sheets by name."""
    made = openpyxl.Workbook()
    sheet = made.active
    sheet.title = title
    for row in [*above, *([list(head)] if head else []), *(rows if rows is not None else rows_of())]:
        sheet.append(row)
    for name, content in (more or {}).items():
        other = made.create_sheet(name)
        for row in content:
            other.append(row)
    buffer = io.BytesIO()
    made.save(buffer)
    return buffer.getvalue()


def assert_is_the_trace(trace):
    assert trace.time_min == pytest.approx(TIMES, abs=1e-6)
    assert trace.signal == pytest.approx(SIGNAL, abs=1e-4)


def codes(trace):
    return [one.code for one in trace.step.cautions]


def test_numbers_are_read_with_their_headings_and_what_stands_above(tmp_path):
    trace = read(tmp_path, book(above=[["Sample", "oil 3"], ["Date", datetime.datetime(2026, 3, 12)], []]))
    assert_is_the_trace(trace)
    assert trace.signal_unit == "pA"
    assert codes(trace) == []
    assert trace.step.settings["sheet"] == "Trace"


def test_seconds_in_the_heading_are_seconds(tmp_path):
    rows = [[t * 60, y] for t, y in rows_of()]
    assert_is_the_trace(read(tmp_path, book(rows, head=("Zeit [s]", "Signal [mV]"))))


def test_numbers_stored_as_text_with_a_decimal_comma_are_read_and_said(tmp_path):
    trace = read(
        tmp_path, book(rows_of(lambda t: f"{t:.2f}".replace(".", ","), lambda y: f"{y:.4f}".replace(".", ",")))
    )
    assert_is_the_trace(trace)
    assert codes(trace) == ["workbook.numbers_as_text"]
    mixed = read(tmp_path, book(rows_of(float, lambda y: f"{y:.4f}".replace(".", ","))))
    assert_is_the_trace(mixed)


def test_text_that_may_be_thousands_is_refused(tmp_path):
    rows = [[t, f"{1 + n % 9},{n:03d}"] for n, t in enumerate(TIMES.tolist())]
    assert "whose comma may part thousands or decimals" in line_of(tmp_path, book(rows))


def test_times_of_day_are_minutes_and_said(tmp_path):
    rows = rows_of(lambda t: datetime.timedelta(minutes=float(t)))
    trace = read(tmp_path, book(rows, head=("time", "signal (pA)")))
    assert trace.time_min == pytest.approx(TIMES, abs=2e-5)
    assert "workbook.clock_times" in codes(trace)


def test_dates_made_of_numbers_are_refused_by_row(tmp_path):
    rows = rows_of()
    rows[50][0] = datetime.datetime(2026, 5, 12)
    line = line_of(tmp_path, book(rows))
    assert line.startswith("trace, sheet 'Trace', row 52: found ")
    assert "expected a number" in line or "a row like the others" in line


def test_stored_values_of_formulas_are_used_and_said(tmp_path):
    content = book()
    source, target = zipfile.ZipFile(io.BytesIO(content)), io.BytesIO()
    with zipfile.ZipFile(target, "w") as out:
        for part in source.infolist():
            data = source.read(part)
            if part.filename == "xl/worksheets/sheet1.xml":
                data = data.replace(b'<c r="B5" t="n"><v>', b'<c r="B5"><f>A5*2</f><v>', 1)
                assert b"<f>" in data
            out.writestr(part, data)
    trace = read(tmp_path, target.getvalue())
    assert_is_the_trace(trace)
    assert codes(trace) == ["workbook.formulas"]


def test_formulas_without_a_stored_value_are_refused_with_what_to_do(tmp_path):
    rows = rows_of()
    rows[20][1] = "=A2*2"
    line = line_of(tmp_path, book(rows))
    assert "row 22: found an empty cell" in line
    assert "open and save the workbook in a spreadsheet program" in line


def test_the_sheet_with_the_trace_is_found_and_several_are_refused_unless_named(tmp_path):
    notes = [["Remarks"], ["heated to 455"], [1, 2], [3, 4]]
    assert_is_the_trace(read(tmp_path, book(more={"Notes": notes})))
    other = [["time (min)", "signal (pA)"], *rows_of(float, lambda y: float(2 * y))]
    both = book(more={"Second": other})
    assert "2 sheets that may hold the trace; expected one of 'Trace', 'Second'" in line_of(tmp_path, both)
    second = read(tmp_path, both, columns={"sheet": "Second"})
    assert second.signal == pytest.approx(2 * SIGNAL, abs=1e-4)
    assert "'Secnd'; expected one of 'Trace', 'Second'. Was 'Second' meant?" in line_of(
        tmp_path, both, columns={"sheet": "Secnd"}
    )


def rewritten(content, change):
    source, target = zipfile.ZipFile(io.BytesIO(content)), io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as out:
        for part in source.infolist():
            out.writestr(part.filename, change(part.filename, source.read(part)))
    return target.getvalue()


def test_entities_false_sizes_and_bombs_are_refused(tmp_path, monkeypatch):
    sheet = "xl/worksheets/sheet1.xml"
    bomb = rewritten(
        book(),
        lambda n, d: d.replace(b"<worksheet", b'<!DOCTYPE a [<!ENTITY b "c">]><worksheet', 1) if n == sheet else d,
    )
    assert "XML document type" in line_of(tmp_path, bomb)
    wide = rewritten(book(), lambda n, d: d.replace(b'r="B', b'r="XFB') if n == sheet else d)
    monkeypatch.setattr(workbook_module, "_MOST_CELLS", 100_000)
    assert "more than 100,000 cells" in line_of(tmp_path, wide)
    far = rewritten(book(), lambda n, d: d.replace(b'<row r="60"', b'<row r="999999999"') if n == sheet else d)
    assert "cells or 1,048,576 rows" in line_of(tmp_path, far)
    monkeypatch.setattr(workbook_module, "MAX_UNPACKED_MIB", 1)
    large = rewritten(book(), lambda n, d: d + b" " * 2_000_000 if n == sheet else d)
    assert "MiB when unpacked; expected at most 1 MiB" in line_of(tmp_path, large)


def test_a_dimension_that_lies_costs_nothing(tmp_path):
    lying = rewritten(book(), lambda n, d: d.replace(b'ref="A1:B201"', b'ref="A1:XFD1048576"'))
    assert_is_the_trace(read(tmp_path, lying))


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"PK\x03\x04" + b"\0" * 100, "a damaged workbook"),
        (book()[:-100], "a damaged workbook"),
        (rewritten(book(), lambda n, d: b"<a" if n == "xl/workbook.xml" else d), "a workbook that cannot be read"),
        (book(rows=[], head=()), "a workbook without a filled cell"),
        (book(rows=[["a", "b"]], head=()), "no table of numbers"),
    ],
    ids=["zeros", "cut", "broken part", "empty", "words"],
)  # fmt: skip
def test_what_is_no_trace_is_refused(tmp_path, content, told):
    assert told in line_of(tmp_path, content)


def test_other_archives_are_named(tmp_path):
    for name, told in (("content.xml", "a ZIP archive, not a workbook"), ("mimetype", "an OpenDocument file")):
        buffer = io.BytesIO()
        with zipfile.ZipFile(buffer, "w") as archive:
            archive.writestr(name, "x")
        assert told in line_of(tmp_path, buffer.getvalue())
