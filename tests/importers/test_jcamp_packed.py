"""Tables of numbers in JCAMP-DX."""

import time

import jcamp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutbook.importers.jcamp_packed import unpack, unpack_groups
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import InputError

FILE = TraceFile("trace", b"", "")
# the one line that the standard writes in every form, and its long example
FORMS = {
    "AFFN": "0 1 2 3 3 2 1 0 -1 -2 -3",
    "AFFN with commas": "0, 1, 2, 3, 3, 2, 1, 0, -1, -2, -3",
    "PAC": "0+1+2+3+3+2+1+0-1-2-3",
    "SQZ": "0ABCCBA@abc",
    "DIF": "0AJJ%jjjjjj",
    "DIFDUP": "0AJJ%jX",
    "SQZ with DUP": "0ABCTBA@abc",
    "mixed": "0+1+2+3T 2 1@jjj",
}
LONG = "99 @VKT%TLkj%J%KLJ%njKjL%kL%jJULJ%kLK1%lLMNPNPRLJ0QTOJ1P"
LONG_VALUES = [
    *(0, 0, 0, 0, 2, 4, 4, 4, 7, 5, 4, 4, 5, 5, 7, 10, 11, 11, 6, 5, 7, 6, 9, 9, 7, 10, 10, 9, 10, 11, 12, 15, 16),
    *(16, 14, 17, 38, 38, 35, 38, 42, 47, 54, 59, 66, 75, 78, 88, 96, 104, 110, 121, 128),
]


def values(*lines, **more):
    return unpack(FILE, 1, lines, **more).values


def line_of(*lines, reader=unpack, **more):
    with pytest.raises(InputError) as refused:
        reader(FILE, 1, lines, **more)
    assert "\n" not in str(refused.value)
    return str(refused.value)


def groups(*lines, width=2):
    return unpack_groups(FILE, 1, lines, width).values.tolist()


def coded(value, letters):
    """A number with its first digit and sign as one letter: `letters` for 0 to 9, then for -1 to -9."""
    digits = str(abs(value))
    return letters[int(digits[0]) + (9 if value < 0 else 0)] + digits[1:]


def squeezed(value):
    return coded(value, "@ABCDEFGHIabcdefghi")


def difference(value):
    return coded(value, "%JKLMNOPQRjklmnopqr")


def duplicated(count):
    digits = str(count)
    return ".STUVWXYZs"[int(digits[0])] + digits[1:]


def encode(ordinates, form, width):
    """A small encoder: lines of `width` ordinates, check values behind lines of differences."""
    lines, at, last_was_difference = [], 0, False
    while at < len(ordinates):
        part = list(ordinates[at : at + width])
        repeats = form == "DIF" and at > 0 and last_was_difference
        if repeats:
            part.insert(0, ordinates[at - 1])
        line, before, last_was_difference = str(at - repeats), None, False
        run, token = 0, ""
        for value in part:
            if form == "PAC":
                now = f"{value:+d}"
            elif form == "SQZ" or before is None:
                now = squeezed(value)
            else:
                now, last_was_difference = difference(value - before), True
            # a difference that stands again, or an ordinate that stands again, is counted
            if now == token and form != "PAC":
                run += 1
            else:
                line += duplicated(run) if run > 1 else ""
                line, token, run = line + now, now, 1
            before = value
        line += duplicated(run) if run > 1 else ""
        lines.append(line)
        at += width
    if form == "DIF" and last_was_difference:
        lines.append(f"{len(ordinates) - 1}{squeezed(ordinates[-1])}")
    return lines


@pytest.mark.parametrize("form", FORMS)
def test_one_line_gives_the_same_ordinates_in_every_published_form(form):
    assert values(FORMS[form]).tolist() == [1, 2, 3, 3, 2, 1, 0, -1, -2, -3]


def test_the_long_published_example_is_decoded():
    assert values(LONG).tolist() == LONG_VALUES


@pytest.mark.parametrize("line", [FORMS["AFFN"], FORMS["SQZ"], FORMS["DIF"], FORMS["DIFDUP"]])
def test_an_independent_decoder_agrees(line):
    assert jcamp.parse(line)[1:] == values(line).tolist()


def test_that_decoder_loses_ordinates_that_are_repeated_without_a_difference_and_ours_does_not():
    assert len(jcamp.parse(LONG)[1:]) == len(LONG_VALUES) - 3
    assert len(values(LONG)) == len(LONG_VALUES)


def test_exponents_and_five_as_a_letter_are_told_apart():
    assert values("1.5 2E3 1.0e-2 -3.5E+01").tolist() == [2000.0, 0.01, -35.0]
    assert values("10 E5A0e1").tolist() == [55, 10, -51]
    assert values("10 1E+02@").tolist() == [100, 0]
    assert values("10E5").tolist() == [55]
    assert values("10E0E5e").tolist() == [50, 55, -5]
    assert values("1E1 1E1-2E1").tolist() == [10, -20]


def test_a_check_value_is_compared_and_left_out():
    assert values("0AJJ", "2CJJ", "4E").tolist() == [1, 2, 3, 4, 5]
    assert line_of("0AJJ", "2DJJ") == (
        "trace, line 2: found a check value of 4 where the line before ends at 3; expected the last ordinate repeated. "
        "Was the file cut short or changed? Copy or export it again"
    )


def test_a_line_that_ends_without_a_difference_is_followed_by_a_new_ordinate():
    assert values("0ABC", "3CD").tolist() == [1, 2, 3, 3, 4]


def test_a_question_mark_is_a_missing_value():
    np.testing.assert_equal(values("0 1 ? 3").tolist(), [1.0, np.nan, 3.0])
    np.testing.assert_equal(values("0A?CJ").tolist(), [1.0, np.nan, 3.0, 4.0])
    np.testing.assert_equal(groups("1 ?; 2,5"), [[1.0, np.nan], [2.0, 5.0]])


def test_every_point_knows_its_line():
    rows = unpack(FILE, 10, ["0AJJ", "", "2CJJ", "4E"])
    assert [rows.line(point) for point in range(5)] == [10, 10, 10, 12, 12]
    assert rows.line_x.tolist() == [0, 2, 4]
    assert rows.x_at.tolist() == [0, 2, 4]


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("0 1 #", "'#'"),
        ("0 J1", "'J1' where a line begins"),
        ("@1", "'@1' where a line begins"),
        ("0", "an x without ordinates"),
        ("0AST", "'T' that follows no ordinate"),
        ("0AS.5", "a count of 1.5 repeated values"),
        ("0A1.2.3", "'11.2.3'"),
        ("0 1e200", "'1e200'"),
        ("0 " + "1" * 70, "a number of 70 characters"),
        ("0 1 \x00", "'\\x00'"),
    ],
)
def test_what_is_no_code_is_refused_with_its_line(line, found):
    told = line_of(line)
    assert told.startswith("trace, line 1: found ")
    # a repr of control characters is escaped by the message
    assert found in told


def test_a_count_that_claims_millions_is_refused_without_allocating_them():
    started = time.perf_counter()
    assert "more than 4,000,000 points" in line_of("0As99999999")
    assert "a count of 1999999999 repeated values" not in line_of("0AS999", most=100)
    assert "repeated values" in line_of("0AS9999999999999999999999")
    assert time.perf_counter() - started < 0.5


def test_sums_of_differences_stay_numbers():
    assert np.isfinite(values("0 1E+100 R" + "9" * 60 + "s9999")).all()


@pytest.mark.parametrize(
    "lines",
    [
        ("1,2; 3,4",),
        ("1 2", "3 4"),
        ("1,2 3,4",),
        ("1;2;3;4",),
        ("1+2+3+4",),
        ("(1, 2) (3, 4)",),
        ("", "1.0E0\t2", " 3 , 4 ", ""),
    ],
)
def test_pairs_are_read_however_they_are_parted(lines):
    assert groups(*lines) == [[1, 2], [3, 4]]


def test_signs_part_pairs_and_belong_to_exponents():
    assert groups("10-2 1E-1+3") == [[10, -2], [0.1, 3]]


def test_groups_of_three_and_words_in_brackets_are_read():
    assert groups("14 30 0.5", "19 30 0.6", width=3) == [[14, 30, 0.5], [19, 30, 0.6]]
    assert groups("(14, 30, <CH2 1+>)", "(19, 30, <>)") == [[14, 30], [19, 30]]


def test_a_decimal_comma_does_not_become_another_point():
    assert "found 3 numbers on a line; expected groups of 2" in line_of("12,5 30", reader=unpack_groups, width=2)


@pytest.mark.parametrize("line", ["1 x", "1 nan", "1 inf", "1 1_0", "1 1e", "1 +", "1 0x5", "1 ٣"])
def test_words_and_what_only_looks_like_numbers_are_refused(line):
    assert line_of(line, reader=unpack_groups, width=2).startswith("trace, line 1")


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.integers(-999, 999) | st.just(7), min_size=1, max_size=60),
    st.sampled_from(["PAC", "SQZ", "DIF"]),
    st.integers(1, 20),
)
def test_what_is_encoded_is_decoded(ordinates, form, width):
    assert values(*encode(ordinates, form, width)).tolist() == ordinates


@settings(max_examples=300, deadline=1000)
@given(st.data())
def test_damaged_tables_are_refused_or_read_but_never_crash(data):
    ordinates = data.draw(st.lists(st.integers(-99, 99), min_size=1, max_size=40))
    text = bytearray("\n".join(encode(ordinates, data.draw(st.sampled_from(["PAC", "SQZ", "DIF"])), 8)).encode())
    for _ in range(data.draw(st.integers(1, 4))):
        text[data.draw(st.integers(0, len(text) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    lines = bytes(text[: data.draw(st.integers(1, len(text)))]).decode("latin-1").split("\n")
    for reader in (lambda: unpack(FILE, 1, lines, 10_000), lambda: unpack_groups(FILE, 1, lines, 2, 10_000)):
        try:
            assert len(reader().values) <= 10_000
        except InputError as refused:
            assert "\n" not in str(refused)


@settings(max_examples=300, deadline=1000)
@given(st.lists(st.text(alphabet="0123456789+-.eE@AJjST%s? ,;()<>", max_size=40), max_size=6))
def test_no_row_of_code_letters_does_worse_than_be_refused(lines):
    for reader in (lambda: unpack(FILE, 1, lines, 10_000), lambda: unpack_groups(FILE, 1, lines, 2, 10_000)):
        try:
            found = reader().values
        except InputError as refused:
            assert "\n" not in str(refused)
        else:
            assert not np.isinf(found).any()


@pytest.mark.parametrize("piece", ["1", "1.", "<", " ", "E+", "1E", "?", "@", "+", ".", "("])
def test_long_lines_take_time_in_proportion(piece):
    started = time.perf_counter()
    for ending in ("", "#"):
        for read in (unpack, lambda *given: unpack_groups(*given, 2)):
            try:
                read(FILE, 1, ["0 " + piece * 200_000 + ending])
            except InputError:
                continue
    assert time.perf_counter() - started < 3.0
