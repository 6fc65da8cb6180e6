"""Text files of time and signal."""

import time

import numpy as np
import pytest
from importer_contract import line_of, read

TIMES = np.arange(200) / 100
SIGNAL = np.round(10 + 90 * np.exp(-0.5 * ((TIMES - 1) / 0.05) ** 2) + 0.001 * np.sin(np.arange(200) * 1.7), 4)


def table(mark="\t", head="time (min)\tsignal (pA)", comma=False, end="\n", above=(), below=(), factor=1.0):
    rows = [f"{t * factor:.5f}{mark}{y:.4f}" for t, y in zip(TIMES, SIGNAL, strict=True)]
    if comma:
        rows = [row.replace(".", ",") for row in rows]
    return end.join([*above, *([head.replace("\t", mark)] if head else []), *rows, *below, ""])


def assert_is_the_trace(trace):
    assert trace.time_min == pytest.approx(TIMES, abs=1e-5)
    assert trace.signal == pytest.approx(SIGNAL, abs=1e-4)


@pytest.mark.parametrize("mark", ["\t", ";", ",", "|", "  ", " "])
def test_any_delimiter_is_found(tmp_path, mark):
    assert_is_the_trace(read(tmp_path, table(mark)))


@pytest.mark.parametrize("mark", ["\t", ";", "|", "  "])
def test_decimal_commas_are_found(tmp_path, mark):
    assert_is_the_trace(read(tmp_path, table(mark, comma=True)))


@pytest.mark.parametrize(
    ("head", "factor", "unit"),
    [
        ("t/min\tFID A (pA)", 1, "pA"),
        ("time (s)\tsignal (mV)", 60, "mV"),
        ("Time [ms]\tDetector [µV]", 60_000, "µV"),
        ("Retentionszeit [min]\tIntensität [counts]", 1, "counts"),
        ("Zeit (Sekunden)\tSpannung (mV)", 60, "mV"),
        ("RT_min\tFID_pA", 1, "pA"),
        ("retention time / h\tresponse", 1 / 60, ""),
    ],
)
def test_headings_in_two_languages_tell_units(tmp_path, head, factor, unit):
    rows = "\n".join([head, *(f"{t * factor:.9f}\t{y:.4f}" for t, y in zip(TIMES, SIGNAL, strict=True))])
    trace = read(tmp_path, rows)
    assert_is_the_trace(trace)
    assert trace.signal_unit == unit
    assert trace.step.cautions == ()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends_are_found(tmp_path, encoding, end):
    text = table(head="Zeit [min]\tIntensität [mV]", end=end, above=["Säule: DB", ""])
    assert_is_the_trace(read(tmp_path, text.encode(encoding)))


def test_junk_above_comments_and_footers_are_passed_over(tmp_path):
    above = ["Sample: oil 3", "Date: 2026-03-12", "12 vials", "# a remark", ""]
    below = ["", "end of data", "peaks: 12"]
    assert_is_the_trace(read(tmp_path, table(above=above, below=below)))


def test_a_row_of_units_under_the_names_belongs_to_the_heading(tmp_path):
    trace = read(tmp_path, table(head="time\tsignal\n(min)\t(pA)"))
    assert_is_the_trace(trace)
    assert trace.signal_unit == "pA"


def test_thousands_marks_are_read_where_they_are_evident(tmp_path):
    big = SIGNAL * 1000
    rows = [f"{t:.5f};{y:,.2f}" for t, y in zip(TIMES, big, strict=True)]
    assert read(tmp_path, "\n".join(["time (min);signal (counts)", *rows])).signal == pytest.approx(big, abs=0.01)


def test_missing_unit_of_time_is_minutes_and_said(tmp_path):
    trace = read(tmp_path, table(head="time\tsignal"))
    assert_is_the_trace(trace)
    assert [one.code for one in trace.step.cautions] == ["trace.time_unit_assumed"]


def test_times_without_unit_that_cannot_be_minutes_are_refused(tmp_path):
    assert line_of(tmp_path, table(head="time\tsignal", factor=600)) == (
        "trace, column 'time': found times up to 1194 without a unit; expected a unit in the heading, for instance "
        "'time (s)'. Minutes are assumed only up to 240 and for samples up to 6 s apart"
    )


THREE = "\n".join(["t/min,FID A,FID B", *(f"{t:.5f},{y:.4f},{2 * y:.4f}" for t, y in zip(TIMES, SIGNAL, strict=True))])


@pytest.mark.parametrize(("wanted", "factor"), [("FID A", 1), ("fid b", 2), ("3", 2)])
def test_one_of_several_signals_is_chosen_by_heading_or_number(tmp_path, wanted, factor):
    trace = read(tmp_path, THREE, columns={"signal": wanted})
    assert trace.signal == pytest.approx(SIGNAL * factor, abs=1e-3)


def test_several_signals_without_a_choice_are_refused(tmp_path):
    assert line_of(tmp_path, THREE) == (
        "trace, line 1: found 2 columns that may be the signal; expected 't/min', 'FID A', 'FID B', or a column number "
        'from 1 to 3. Choose with columns = { time = "…", signal = "…" } in its [[trace]] entry'
    )


def test_a_column_that_is_not_there_is_refused_with_the_nearest(tmp_path):
    assert line_of(tmp_path, THREE, columns={"signal": "FID C"}) == (
        "trace, columns, signal: found 'FID C'; expected 't/min', 'FID A', 'FID B', or a column number from 1 to 3. "
        "Was 'FID B' meant?"
    )


def test_a_signal_without_times_is_refused(tmp_path):
    assert line_of(tmp_path, "\n".join(["signal", *(f"{y:.4f}" for y in SIGNAL)])) == (
        "trace, line 1: found one column of numbers; expected two columns, time and signal. Export the signal with its times"
    )


def test_clock_times_are_refused(tmp_path):
    rows = [f"00:0{i // 60}:{i % 60:02d}\t{y:.3f}" for i, y in enumerate(SIGNAL)]
    assert line_of(tmp_path, "\n".join(["time\tsignal", *rows])) == (
        "trace, line 2: found a time of the clock form hh:mm:ss; expected times as plain numbers. Export the times in "
        "minutes or seconds"
    )


def test_text_without_a_table_is_refused(tmp_path):
    assert line_of(tmp_path, "dear colleague,\nthe trace follows by post\n") == (
        "trace: found no table of numbers; expected columns of time and signal. Export the trace as text columns"
    )


def test_a_word_in_the_middle_of_the_table_is_refused_with_its_line(tmp_path):
    rows = table().split("\n")
    rows[100] = "0.99000\toverload"
    line = line_of(tmp_path, "\n".join(rows))
    assert line.startswith("trace, line 101")
    assert "overload" in line


def test_reading_grows_no_faster_than_the_file(tmp_path):
    def seconds(count):
        times = np.arange(count) / 6000
        text = "time (min)\tsignal (pA)\n" + "\n".join(f"{t:.6f}\t{np.sin(t):.4f}" for t in times)
        began = time.perf_counter()
        read(tmp_path, text)
        return time.perf_counter() - began

    small, large = (min(seconds(count) for _ in range(3)) for count in (20_000, 160_000))
    assert np.log(large / small) / np.log(8) < 1.6  # 1 is proportional, 2 square; a busy machine scatters by 0.3
