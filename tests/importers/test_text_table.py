"""Finding the table in a text file, and never losing a row of it unnoticed."""

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutbook.importers.decimal_marks import Marks, numbers
from cutbook.importers.text_table import delimiter_of, table_of_lines, table_of_text, text_of
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import TraceError

ROWS = [f"{n / 100:.2f};{n % 7}.5" for n in range(300)]


def found(*lines, encoding="utf-8", end="\n"):
    return line_by_line(TraceFile("trace.txt", end.join(lines).encode(encoding), "0" * 64))


def line_by_line(file):
    text, encoding = text_of(file)
    every = text.split("\n")
    return table_of_lines(file, every, delimiter_of(every), encoding)


def refusal(*lines):
    with pytest.raises(TraceError) as caught:
        found(*lines)
    return str(caught.value)


@pytest.mark.parametrize("indent", [" ", "    "])
def test_rows_may_begin_with_any_number_of_blanks(indent):
    table = found(*(indent + row.replace(";", "   ") for row in ROWS))
    assert (table.delimiter, table.width, len(table.rows)) == (" ", 2, 300)


def test_numbers_aligned_to_the_right_are_one_table():
    table = found("time (min)  signal (pA)", *(f"{n / 10:8.2f}{n * 7:10.3f}" for n in range(300)))
    assert len(table.rows) == 300
    assert table.headings == ("time (min)", "signal (pA)")


@pytest.mark.parametrize(
    ("line", "delimiter"),
    [
        ("0.5,1.25", ","),
        ("0.5, 1.25", ","),
        ("0,5  1,25", " "),
        ("0,5;1,25", ";"),
        ("0,5\t1,25", "\t"),
        ("0.5 | 1.25", "|"),
        ('"0,5","1,25"', ","),
    ],
)
def test_the_delimiter_is_what_parts_the_cells(line, delimiter):
    table = found(*[line] * 20)
    assert (table.delimiter, table.width) == (delimiter, 2)


def test_cells_in_quotes_keep_their_commas():
    assert found(*['"0.5","1,250.5"'] * 20).rows[0] == ["0.5", "1,250.5"]


@pytest.mark.parametrize(
    ("above", "headings"),
    [
        (["time (min);signal (pA)"], ("time (min)", "signal (pA)")),
        (["# time (min);signal (pA)"], ("time (min)", "signal (pA)")),
        (["time;signal", "(min);(pA)"], ("time (min)", "signal (pA)")),
        (["time;signal", "min;pA"], ("time (min)", "signal (pA)")),
        (["time;signal", "----;-----"], ("time", "signal")),
        (["time;signal", ""], ("time", "signal")),
        (["time;signal;"], ("time", "signal")),
        (["Operator;A. B.", "Method;1", "t/min;FID", "# 300 rows"], ("t/min", "FID")),
        (["a remark without cells"], ()),
        ([], ()),
    ],
)
def test_headings_are_found_above_the_table(above, headings):
    assert found(*above, *ROWS).headings == headings


def test_headings_between_single_blanks_keep_their_units():
    rows = [row.replace(";", " ") for row in ROWS]
    assert found("time (min) signal (pA)", *rows).headings == ("time (min)", "signal (pA)")


def test_lines_are_numbered_as_an_editor_numbers_them():
    table = found("time;signal", "", *ROWS[:10], "# remark", *ROWS[10:], end="\r\n")
    assert table.lines[:11] == [*range(3, 13), 14]


def test_form_feeds_do_not_count_as_lines():
    assert found("page\f1", *ROWS).lines[0] == 2


def test_headings_that_are_repeated_on_every_page_part_nothing():
    table = found("t;y", *ROWS[:100], "", "page 2", "t;y", *ROWS[100:200], "", "page 3", "t;y", *ROWS[200:])
    assert [row[0] for row in table.rows] == [row.split(";")[0] for row in ROWS]


def test_a_peak_list_above_is_not_taken_for_the_trace():
    table = found("RT;area", "1.23;500", "2.34;600", "", "t;y", *ROWS)
    assert (table.headings, len(table.rows), table.lines[0]) == (("t", "y"), 300, 6)


def test_a_line_between_rows_is_refused():
    assert refusal("t;y", *ROWS[:100], "detector off", *ROWS[100:]) == (
        "trace.txt, line 102: found 'detector off' between rows; expected a row like the others. Mend or remove the line"
    )


def test_a_line_among_the_first_rows_is_refused_too():
    assert "line 5: found 'ready' between rows" in refusal("t;y", *ROWS[:3], "ready", *ROWS[3:])


def test_a_row_that_is_short_after_a_blank_line_is_not_lost():
    assert "line 103: found '1.00' between rows" in refusal("t;y", *ROWS[:100], "", "1.00", "", *ROWS[101:])


def test_a_second_table_is_refused():
    line = refusal("FID A", "t;y", *ROWS, "", "FID B", "time;y", *ROWS[:200])
    assert line == (
        "trace.txt, line 306: found a second table of 200 rows; expected one trace in a file. Export each signal and each"
        " injection to its own file"
    )


def test_a_row_with_a_cell_too_many_is_refused():
    rows = [row.replace(";", ",") for row in ROWS]
    rows[50] = "0.50,1,234.5"
    assert refusal(*rows) == (
        "trace.txt, line 51: found 3 cells; expected 2 as in the other rows. Is the comma a decimal mark or parts"
        " thousands? Export with semicolons or tabs"
    )


def test_a_delimiter_at_the_end_of_every_row_is_no_cell():
    assert found("t;y;", *(row + ";" for row in ROWS)).width == 2


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-32", "cp1252"])
def test_every_usual_encoding_is_read(encoding):
    assert found("Zeit;Säule", *ROWS, encoding=encoding).headings == ("Zeit", "Säule")


def test_utf16_that_ends_within_a_character_is_refused():
    content = "\n".join(ROWS).encode("utf-16")[:-1]
    with pytest.raises(TraceError, match="found no utf-16 text; expected text throughout. Was the file cut short"):
        line_by_line(TraceFile("trace.txt", content, ""))


def test_binary_within_text_is_refused():
    assert "found a zero byte" in refusal(*ROWS, "\0")


@pytest.mark.parametrize(
    "line",
    [
        " " * 300_000 + "x",
        "\t" * 300_000,
        '"' * 300_000,
        "1" * 300_000,
        "( " * 150_000,
        "1 " * 150_000 + "x",
        ";" * 300_000,
    ],
)
def test_a_line_of_any_length_costs_no_more_than_its_length(line):
    began = time.perf_counter()
    try:
        found(line, "t;y", *ROWS, line)
    except TraceError as refused:
        assert len(str(refused)) < 1000
    assert time.perf_counter() - began < 5.0  # linear takes hundredths of a second, square would take hours


def at_once(*lines, end="\n"):
    file = TraceFile("trace.txt", end.join(lines).encode(), "0" * 64)
    return table_of_text(file, *text_of(file))


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 1e6), st.floats(-1e9, 1e9)), min_size=2, max_size=60),
    st.sampled_from(["\t", ";", ",", "|", " ", "   "]),
    st.sampled_from(["{:.5f}", "{:.4f}", "{:.6e}", "{!r}"]),
    st.booleans(),
    st.booleans(),
    st.sampled_from(["\n", "\r\n", "\r"]),
)
def test_a_clean_table_gives_the_same_numbers_at_once_as_line_by_line(pairs, mark, form, heading, comma, end):
    rows = [mark.join(form.format(value) for value in pair) for pair in pairs]
    if comma and mark != ",":
        rows = [row.replace(".", ",") for row in rows]
    lines = [*(["time" + mark + "signal"] if heading else []), *rows, ""]
    once, slow = at_once(*lines, end=end), found(*lines, end=end)
    assert (once.headings, once.heading_line, once.width) == (slow.headings, slow.heading_line, slow.width)
    assert list(once.lines) == list(slow.lines)
    if once.values is not None:
        file = TraceFile("trace.txt", b"", "")
        for at in range(2):
            column = [row[at].strip() for row in slow.rows]
            assert np.array_equal(once.values[:, at], numbers(file, "x", column, Marks(once.decimal), slow.lines))
    else:
        assert once.rows == slow.rows


@pytest.mark.parametrize(
    "change",
    [
        lambda rows: [*rows[:50], "# remark", *rows[50:]],
        lambda rows: [*rows[:50], "", *rows[50:]],
        lambda rows: [row.replace(".", ",") for row in rows[:9]] + rows[9:],
        lambda rows: [*rows, "Total 17"],
        lambda rows: ["1.5;2.5", "time;signal", *rows],
        lambda rows: [row.replace("0.50;", "nan;") for row in rows],
        lambda rows: [f"{n + 1}.{n % 900 + 100};{n}" for n in range(300)],
    ],
    ids=["remark", "blank", "commas", "sum", "two tables", "nan", "open point"],
)
def test_what_is_not_clean_is_taken_line_by_line(change):
    try:
        table = at_once(*change(ROWS))
    except TraceError:
        return
    assert table.values is None


@pytest.mark.parametrize("spoilt", ["1.0;;", "1.0", "1.0;2.0;3.0", "1.0.0;2.0", "--1;2.0"])
def test_a_spoilt_row_never_shifts_the_others(spoilt):
    try:
        table = at_once(*ROWS[:150], spoilt, *ROWS[150:])
    except TraceError:
        return
    assert table.values is None
