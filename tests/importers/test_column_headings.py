"""Headings in English and German, and the choice of columns."""

import pytest

from cutbook.importers.column_headings import choose_columns, is_unit, read_heading
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import TraceError

FILE = TraceFile("trace.csv", b"", "0" * 64)


@pytest.mark.parametrize(
    ("text", "kind", "unit"),
    [
        ("time", "time", ""),
        ("t", "time", ""),
        ("Ret. time", "time", ""),
        ("R.T. (min)", "time", "min"),
        ("Retentionszeit [min]", "time", "min"),
        ("Zeit / s", "time", "s"),
        ("time_ms", "time", "ms"),
        ("Time, sec", "time", "sec"),
        ("Zeit in Sekunden", "time", "Sekunden"),
        ("min", "time", "min"),
        ("X(Minutes)", "time", "Minutes"),
        ("FID A", "signal", ""),
        ("FID1A (pA)", "signal", "pA"),
        ("Signal", "signal", ""),
        ("Intensität [µV]", "signal", "µV"),
        ("Spannung/mV", "signal", "mV"),
        ("Detektor (25 \N{GREEK SMALL LETTER MU}V)", "signal", "25 \N{GREEK SMALL LETTER MU}V"),
        ("mV", "signal", "mV"),
        ("Response (FID B)", "signal", ""),
        ("Nr.", "index", ""),
        ("#", "index", ""),
        ("oven temperature", "", ""),
        ("", "", ""),
    ],
)
def test_a_heading_tells_its_kind_and_unit(text, kind, unit):
    heading = read_heading(text)
    assert (heading.kind, heading.unit) == (kind, unit)


def test_a_paragraph_is_no_heading():
    assert read_heading("the time at which the signal " * 20).kind == ""


def test_bare_and_bracketed_units_are_units():
    assert [is_unit(text) for text in ("min", "(s)", "[pA]", "oil", "")] == [True, True, True, False, False]


def choose(*headings, **wanted):
    columns = choose_columns(FILE, headings, 3, len(headings), wanted)
    return columns.time, columns.signal


@pytest.mark.parametrize(
    ("headings", "columns"),
    [
        (("time", "signal"), (0, 1)),
        (("signal", "time"), (1, 0)),
        (("Nr.", "time", "oil 3"), (1, 2)),
        (("time", "FID", "oven temperature"), (0, 1)),
        (("a", "b"), (0, 1)),
        (("FID", "b"), (1, 0)),
    ],
)
def test_columns_are_chosen_where_the_headings_tell(headings, columns):
    assert choose(*headings) == columns


def test_the_run_sheet_chooses_by_heading_before_number():
    assert choose("time", "2", "FID", signal="2") == (0, 1)
    assert choose("time", "FID", "TCD", signal="3") == (0, 2)
    assert choose("time (min)", "time (s)", "FID", time="time (s)") == (1, 2)


@pytest.mark.parametrize(
    ("headings", "wanted", "line"),
    [
        (("time", "FID"), {"signal": "time", "time": "1"}, "found column 1 for time and for signal"),
        (("time", "FID"), {"signal": "4"}, "found '4'; expected 'time', 'FID', or a column number from 1 to 2"),
        (("time", "FID", "fid"), {"signal": "Fid"}, "found 'Fid' for several headings"),
        (("time", "Time", "FID"), {}, "found 2 columns that may be the time"),
        (("a", "b", "c"), {}, "found no heading that tells which column is the time"),
        (("time", "a", "b"), {}, "found 2 columns that may be the signal"),
    ],
)
def test_a_choice_that_is_not_evident_is_refused(headings, wanted, line):
    with pytest.raises(TraceError) as caught:
        choose(*headings, **wanted)
    assert line in str(caught.value)
