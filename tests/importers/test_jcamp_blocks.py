"""Blocks, pages and labels of JCAMP-DX files."""

import io
from pathlib import Path

import jcamp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutbook.importers.jcamp_blocks import read_blocks
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import InputError

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
FORM = "##XYDATA= (X++(Y..Y))\n"


def block(title="a", body="0 1 2 3\n", **labels):
    """The text of one block; a label of None is left out."""
    labels = {"DATA TYPE": "GAS CHROMATOGRAM", "FIRSTX": 0, "LASTX": 2, "NPOINTS": 3} | labels
    head = "".join(f"##{name}= {value}\n" for name, value in labels.items() if value is not None)
    return f"##TITLE= {title}\n##JCAMP-DX= 5.00\n{head}{FORM}{body}##END=\n"


SERIES = """##TITLE= run
##JCAMP-DX= 5.00
##DATA TYPE= MASS SPECTRUM
##DATA CLASS= NTUPLES
##NTUPLES= MASS SPECTRUM
##VAR_NAME=  MASS,        INTENSITY,   RETENTION TIME
##SYMBOL=    X,           Y,           T
##VAR_TYPE=  INDEPENDENT, DEPENDENT,   INDEPENDENT
##VAR_FORM=  AFFN,        AFFN,        AFFN
##VAR_DIM=   ,            ,            2
##UNITS=     M/Z,         COUNTS,      SECONDS
##FACTOR=    0.1,         2,           1
##FIRST=     ,            ,            5
##PAGE= T=5
##NPOINTS= 2
##DATA TABLE= (XY..XY), PEAKS
 500,10; 510,20
##PAGE= T = 10.5
##DATATABLE= (XY..XY), PEAKS
 500,1
##END NTUPLES= MASS SPECTRUM
##END=
"""


def blocks(text):
    content = text if isinstance(text, bytes) else text.encode()
    return read_blocks(TraceFile("trace", content, ""))


def line_of(text):
    with pytest.raises(InputError) as refused:
        blocks(text)
    assert "\n" not in str(refused.value)
    return str(refused.value)


def link(*parts, count=None):
    count = len(parts) if count is None else count
    return f"##TITLE= all\n##DATA TYPE= LINK\n##BLOCKS= {count}\n" + "".join(parts) + "##END=\n"


def test_a_block_has_its_labels_its_numbers_and_its_line():
    (one,) = blocks(block("oil", XUNITS="SECONDS", YUNITS="mV", XFACTOR=2, YFACTOR=0.5, LASTX=4))
    assert (one.number, one.title, one.data_type, one.x_units, one.y_units) == (
        1,
        "oil",
        "GAS CHROMATOGRAM",
        "SECONDS",
        "mV",
    )
    assert one.x.tolist() == [0, 2, 4]
    assert one.y.tolist() == [0.5, 1, 1.5]
    assert one.line == 11
    assert one.disagreements == ()
    with pytest.raises(ValueError, match="read-only"):
        one.x[0] = 1


@pytest.mark.parametrize("label", ["##DATA TYPE=", "##datatype =", "## Data-Type=", "##DATA_TYPE=", "##Data/Type="])
def test_labels_are_compared_without_case_blanks_and_marks(label):
    (one,) = blocks(block().replace("##DATA TYPE=", label))
    assert one.data_type == "GAS CHROMATOGRAM"


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1"])
def test_line_ends_and_encodings_do_not_matter(ends, encoding):
    text = block("Pyrolyseöl", YUNITS="µV").replace("\n", ends)
    (one,) = blocks(text.encode(encoding))
    assert (one.title, one.y_units, one.y.tolist()) == ("Pyrolyseöl", "µV", [1, 2, 3])


def test_comments_are_passed_over_and_private_labels_kept():
    text = "$$ from here\n" + block(body="$$ 7 7 7\n0 1 2 $$ 9\n2 3\n", **{"$OWN LABEL": "kept $$ not this"})
    (one,) = blocks(text)
    assert one.y.tolist() == [1, 2, 3]
    assert one.labels["$OWNLABEL"] == "kept"
    assert one.text("OWNLABEL") == "kept"


def test_an_empty_title_and_a_missing_end_lose_nothing():
    text = block("").replace("##END=\n", "") + block("b", "0 4 5 6\n").replace("##END=\n", "")
    first, second = blocks(text)
    assert (first.title, second.title) == ("", "b")
    assert second.y.tolist() == [4, 5, 6]


def test_blocks_one_after_another_linked_and_nested_are_all_returned():
    a, b, c = block("a"), block("b", "0 4 5 6\n"), block("c", "0 7 8 9\n")
    for text in (a + b + c, link(a, b, c), link(a, link(b, c)), link(a, link(b), link(c), count=5)):
        found = blocks(text)
        assert [one.title for one in found] == ["a", "b", "c"]
        assert [one.number for one in found] == [1, 2, 3]
        assert [one.y.tolist() for one in found] == [[1, 2, 3], [4, 5, 6], [7, 8, 9]]


def test_labels_of_one_block_do_not_reach_the_next():
    first, second = blocks(block(YFACTOR=2, XUNITS="SECONDS") + block())
    assert (first.y.tolist(), second.y.tolist(), second.x_units) == ([2, 4, 6], [1, 2, 3], "")


def test_fewer_blocks_than_stated_are_refused():
    text = link(block("a"), block("b"), count=4)
    assert line_of(text) == (
        "trace, line 4: found 2 blocks; expected the 4 of ##BLOCKS=. Data were lost; copy or export the file again"
    )


def test_the_published_library_returns_only_the_last_of_several_blocks_and_ours_all(capsys):
    text = block("a") + block("b", "0 4 5 6\n")
    theirs = jcamp.read(io.BytesIO(text.encode()))
    assert "children" not in theirs
    assert theirs["y"].tolist() == [4, 5, 6]
    assert [one.y.tolist() for one in blocks(text)] == [[1, 2, 3], [4, 5, 6]]


def test_the_published_library_returns_nothing_of_a_series_and_ours_every_page():
    theirs = jcamp.read(io.BytesIO(SERIES.encode()))
    assert len(theirs["y"]) == 0
    assert [len(one.y) for one in blocks(SERIES)] == [2, 1]


@pytest.mark.parametrize("body", ["0 1 2 3\n", "0ABC\n", "0+1+2+3\n", "0AJJ\n"])
def test_the_published_library_agrees_on_a_single_block(body):
    text = block(body=body)
    theirs = jcamp.read(io.BytesIO(text.encode()))
    (one,) = blocks(text)
    assert theirs["x"] == pytest.approx(one.x)
    assert theirs["y"] == pytest.approx(one.y)


def test_pages_have_their_value_and_the_factors_and_units_of_the_series():
    first, second = blocks(SERIES)
    assert (dict(first.page), dict(second.page)) == ({"T": "5"}, {"T": "10.5"})
    assert first.x.tolist() == [50, 51]
    assert first.y.tolist() == [20, 40]
    assert (second.x_units, second.y_units, second.x_name) == ("M/Z", "COUNTS", "MASS")
    assert first.variables["T"].units == "SECONDS"
    assert (first.line, second.line) == (16, 19)


def test_a_counted_page_takes_its_ends_from_the_series():
    text = SERIES.replace("##FIRST=     ,  ", "##FIRST=     4,  ")
    text = text.replace("##FIRST=", "##LAST= 6,,\n##FIRST=").replace("##VAR_DIM=   ,", "##VAR_DIM=   3,")
    text = text[: text.index("##PAGE")] + "##PAGE= T=5\n##DATA TABLE= (X++(Y..Y)), PROFILE\n40 1 2 3\n##END NTUPLES=\n"
    (one,) = blocks(text)
    assert one.x.tolist() == [4, 5, 6]
    assert one.y.tolist() == [2, 4, 6]
    assert one.even


def test_after_a_series_its_quantities_are_forgotten():
    text = SERIES.replace("##END=\n", "##DATA TABLE= (XY..XY)\n5,6\n##END=\n")
    assert blocks(text)[-1].variables == {}
    assert blocks(text)[-1].x.tolist() == [5]


def test_what_is_said_of_one_scan_does_not_reach_the_next():
    text = "##TITLE=\n##XUNITS= m/z\n##RETENTION_TIME= 1\n##NPOINTS= 1\n##XYDATA= (XY..XY)\n5 6\n"
    text += "##SCAN_NUMBER= 2\n##XYDATA= (XY..XY)\n5 6\n7 8\n"
    first, second = blocks(text)
    assert first.text("RETENTIONTIME") == "1"
    assert second.text("RETENTIONTIME") == ""
    assert second.x_units == "m/z"
    assert len(second.x) == 2


@pytest.mark.parametrize(
    ("form", "body", "columns"),
    [
        ("(XY..XY)", "1,2;3,4\n", {"X": [1, 3], "Y": [2, 4]}),
        ("(XYXY..)", "1 2 3 4\n", {"X": [1, 3], "Y": [2, 4]}),
        ("(XYXY..XY)", "1 2\n3 4\n", {"X": [1, 3], "Y": [2, 4]}),
        ("(X, Y..X, Y)", "1 2\n3 4\n", {"X": [1, 3], "Y": [2, 4]}),
        ("(xyw..xyw)", "1 2 5\n3 4 6\n", {"X": [1, 3], "Y": [2, 4], "W": [5, 6]}),
        ("(XYA..XYA)", "(1, 2, <CH>)\n(3, 4, <CH2>)\n", {"X": [1, 3], "Y": [2, 4]}),
        ("(XYA..XYA)", "1 2 5\n3 4 6\n", {"X": [1, 3], "Y": [2, 4], "A": [5, 6]}),
    ],
)
def test_groups_become_columns(form, body, columns):
    (one,) = blocks(f"##TITLE=\n##NPOINTS= 2\n##PEAK TABLE= {form}\n{body}##END=\n")
    assert {name: values.tolist() for name, values in one.columns.items()} == columns
    assert not one.even


def test_the_form_may_stand_on_the_next_line():
    (one,) = blocks(block().replace("##XYDATA= (X++(Y..Y))", "##XYDATA=\n\n (X++(Y..Y))"))
    assert one.y.tolist() == [1, 2, 3]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (block(NPOINTS=4), "line 7: found 3 points; expected the 4 that the file states. Data were lost"),
        (block(NPOINTS="many"), "line 7: found ##NPOINTS= many"),
        (block(NPOINTS=-1), "found ##NPOINTS= -1"),
        (block(NPOINTS="9" * 5000), "line 7: found"),
        (block(XFACTOR="0,5"), "found a factor '0,5' for X"),
        (block(YFACTOR=0), "found a factor '0' for Y"),
        (block(LASTX=None), "found neither ##LASTX= nor ##DELTAX="),
        (block().replace("(X++(Y..Y))", "(R++(A..B))"), "found a table '(R++(A..B))'"),
        (block().replace("(X++(Y..Y))", ""), "found a table '0 1 2 3'"),
        (block().replace("(X++(Y..Y))", "(X++(Y..Y)) 0 1"), "expected the numbers on the lines below"),
        (block(body="0As9999999\n"), "line 8: found more than 1,030 points"),
        ("##TITLE=\n##XYDATA= (XY..XY)\n1 2 3\n", "line 3: found 3 numbers on a line; expected groups of 2"),
    ],
)
def test_what_is_damaged_is_refused_with_its_line(text, found):
    assert found in line_of(text)


def test_labels_that_contradict_the_numbers_are_collected():
    (one,) = blocks(block(FIRSTY=7, MINY=0, MAXY=3, DELTAX=1.5))
    assert [(doubt.label, doubt.stated, doubt.found) for doubt in one.disagreements] == [
        ("FIRSTY", 7, 1),
        ("MINY", 0, 1),
        ("DELTAX", 1.5, 1),
    ]


def test_labels_that_are_only_rounded_do_not_contradict():
    body = "0.0 1 2 3\n0.05 4 5 6\n"
    (one,) = blocks(block(body=body, NPOINTS=6, LASTX=0.0833333, DELTAX=0.017, MAXY=6.0, MINX=0, MAXX=0.083))
    assert one.disagreements == ()


def test_an_x_at_the_beginning_of_a_line_that_disagrees_is_collected():
    (one,) = blocks(block(body="0 1 2\n5 3\n"))
    ((label, stated, found, line),) = one.disagreements
    assert (label, stated, found, line) == ("X of a line", 5, 2, 9)


def test_where_no_number_of_points_is_stated_the_lines_give_the_step():
    (one,) = blocks(block(body="0 1 2\n2 3 4\n4 5\n", NPOINTS=None, LASTX=9))
    assert one.x.tolist() == [0, 1, 2, 3, 4]
    assert [doubt.label for doubt in one.disagreements] == ["LASTX"]


def test_falling_x_are_kept_as_they_are():
    (one,) = blocks(block(FIRSTX=2, LASTX=0, body="2 1 2 3\n"))
    assert one.x.tolist() == [2, 1, 0]
    assert one.disagreements == ()


def test_an_empty_table_has_no_points():
    (one,) = blocks("##TITLE=\n##NPOINTS= 0\n##PEAK TABLE= (XY..XY)\n##END=\n")
    assert len(one.x) == 0


def test_a_long_label_before_many_tables_costs_its_length_once():
    import time

    text = "##TITLE=\n##NTUPLES=\n##SYMBOL= X,Y," + "T," * 200_000 + "\n##UNITS= " + "s," * 200_000 + "\n"
    text += "##DATA TYPE= " + "M" * 500_000 + "\n##XFACTOR= 1" + " " * 500_000 + "x\n"
    text += "##PAGE= T=1\n##DATA TABLE= (XY..XY)\n1 2\n" * 3000
    started = time.perf_counter()
    assert len(blocks(text)) == 3000
    assert time.perf_counter() - started < 5


@pytest.mark.skipif(not (DATA / "ei-jcamp").is_dir(), reason="the open data sets are not beside the project")
def test_a_real_spectrum_agrees_with_the_published_library_and_its_labels_do_not():
    content = (DATA / "ei-jcamp" / "ethanol_ms.jdx").read_bytes()
    (one,) = blocks(content)
    theirs = jcamp.read(io.BytesIO(content))
    assert theirs["x"].tolist() == one.x.tolist()
    assert theirs["y"].tolist() == one.y.tolist()
    assert [doubt[:3] for doubt in one.disagreements] == [("FIRSTX", 0, 14), ("MINY", 0, 5)]


@pytest.mark.skipif(not (DATA / "gcms-jcamp").is_dir(), reason="the open data sets are not beside the project")
def test_every_scan_of_a_real_run_is_returned_where_the_published_library_returns_the_last():
    content = (DATA / "gcms-jcamp" / "gcms.jdx").read_bytes()
    found = blocks(content)
    theirs = jcamp.read(io.BytesIO(content))
    assert len(found) == 2420
    assert np.asarray(theirs["y"], dtype=float).tolist() == found[-1].y.tolist()
    for one in found:
        assert len(one.x) == int(one.labels["NPOINTS"])
        assert one.y.sum() == float(one.labels["TIC"])


@settings(max_examples=300, deadline=1000)
@given(st.data())
def test_damaged_files_are_refused_or_read_but_never_crash(data):
    good = data.draw(st.sampled_from([SERIES, block(body="0AJJ\n2C\n"), link(block("a"), link(block("b")))]))
    content = bytearray(good.encode())
    for _ in range(data.draw(st.integers(0, 4))):
        content[data.draw(st.integers(0, len(content) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    try:
        found = blocks(bytes(content[: data.draw(st.integers(0, len(content)))]))
    except InputError as refused:
        assert "\n" not in str(refused)
    else:
        for one in found:
            assert not np.isinf(one.x).any()
            assert one.x.shape == one.y.shape
