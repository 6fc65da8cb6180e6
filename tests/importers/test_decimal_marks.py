"""Decimal comma or point, thousands or not: read where it is certain, refused where it is not."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutbook.importers.decimal_marks import Marks, decide_marks, numbers
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import TraceError

FILE = TraceFile("trace.csv", b"", "0" * 64)
POINTS, COMMAS, WHOLE = ["0.01", "0.02"], ["0,01", "0,02"], ["1", "2"]


@pytest.mark.parametrize(
    ("time", "signal", "marks"),
    [
        (POINTS, ["1.5", "2"], Marks(".")),
        (COMMAS, ["1,5", "2"], Marks(",")),
        (WHOLE, WHOLE, Marks(".")),
        (POINTS, ["1,234.5", "12.0"], Marks(".", ",")),
        (COMMAS, ["1.234,5", "12,0"], Marks(",", ".")),
        (POINTS, ["1,234,567", "999"], Marks(".", ",")),
        (POINTS, ["1,234", "998"], Marks(".", ",")),  # the point is decimal in this file
        (COMMAS, ["1.234", "998"], Marks(",", ".")),
        (COMMAS, ["1,234", "12,345"], Marks(",")),
        (POINTS, ["1.234", "12.345"], Marks(".")),
        (WHOLE, ["1.234", "12.345"], Marks(".")),
        (WHOLE, ["1,234", "1235"], Marks(",")),  # who parts thousands parts them all
        (POINTS, ["1,23", "1,24"], Marks(",")),  # each column by itself
    ],
)
def test_the_marks_of_a_signal_follow_from_what_can_be_certain(time, signal, marks):
    assert decide_marks(FILE, ("t", "y"), time, signal)[1] == marks


@pytest.mark.parametrize(
    ("time", "signal", "column"),
    [
        (WHOLE, ["1,234", "12,345"], "y"),
        (WHOLE, ["1.234", "998"], "y"),
        (["1.503", "1.504"], COMMAS, "t"),  # a time of thousands is never assumed
    ],
)
def test_what_can_be_read_in_two_ways_is_refused(time, signal, column):
    with pytest.raises(TraceError, match=f"column '{column}': found numbers such as .* may part thousands or decimals"):
        decide_marks(FILE, ("t", "y"), time, signal)


@pytest.mark.parametrize(
    ("cells", "marks", "line"),
    [
        (["1", "####", "x"], Marks("."), "line 12: found '####' in column 'y', the first of 2 such cells"),
        (["1", ""], Marks("."), "line 12: found an empty cell in column 'y'"),
        (["1", "1_000"], Marks("."), "line 12: found '1_000'"),
        (["1,234.5", "12,34.5"], Marks(".", ","), "line 12: found '12,34.5'"),
        (["1", "00:01:02"], Marks("."), "line 12: found '00:01:02'"),
    ],
)
def test_a_cell_that_is_no_number_is_named_with_its_line(cells, marks, line):
    with pytest.raises(TraceError) as caught:
        numbers(FILE, "y", cells, marks, [11, 12, 13])
    assert line in str(caught.value)


@given(
    st.lists(st.floats(-1e6, 1e6).map(lambda value: round(value, 2)), min_size=1),
    st.sampled_from([(".", ""), (",", ""), (".", ","), (",", ".")]),
)
def test_numbers_come_back_from_every_way_of_writing_them(values, written):
    decimal, grouping = written
    swap = str.maketrans({".": decimal, ",": grouping})
    cells = [f"{value:,.2f}".translate(swap) for value in values]
    read = numbers(FILE, "y", cells, decide_marks(FILE, ("t", "y"), POINTS, cells)[1], range(len(cells)))
    np.testing.assert_array_equal(read, values)
