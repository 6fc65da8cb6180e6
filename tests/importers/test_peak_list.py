"""Lists of peaks in place of a trace."""

import pytest
from importer_contract import line_of, read, write
from test_workbook_columns import book

from cutbook.importers.recognise import read_signal, read_trace
from cutbook.model.errors import InputError
from cutbook.model.trace import ListedPeaks

PEAKS = [("toluene", 3.412, 120.5), ("", 5.104, 1033.25), ("styrene", 6.87, 45.125), ("=1+1", 9.0, 0.5)]


def rows(mark="\t", comma=False, factor=1.0):
    found = [mark.join([str(n), f"{t * factor:.4f}", f"{a:.3f}", name]) for n, (name, t, a) in enumerate(PEAKS, 1)]
    return [row.replace(".", ",") for row in found] if comma else found


def text(mark="\t", head=("#", "RT (min)", "Area (pA*s)", "Name"), above=(), below=(), **more):
    return "\n".join([*above, mark.join(head), *rows(mark, **more), *below, ""])


def assert_is_the_list(found):
    assert isinstance(found, ListedPeaks)
    assert [one.apex_min for one in found.peaks] == pytest.approx([t for _, t, _ in PEAKS], abs=1e-4)
    assert [one.area for one in found.peaks] == pytest.approx([a for _, _, a in PEAKS])


@pytest.mark.parametrize("mark", ["\t", ";", "|", ",", "   "])
def test_any_delimiter_is_found(tmp_path, mark):
    assert_is_the_list(read(tmp_path, text(mark)))


@pytest.mark.parametrize("mark", ["\t", ";"])
def test_german_headings_and_decimal_commas_are_read(tmp_path, mark):
    found = read(tmp_path, text(mark, ("Nr.", "Retentionszeit [min]", "Fläche [mV*min]", "Name"), comma=True))
    assert_is_the_list(found)
    assert [one.name for one in found.peaks] == [name for name, _, _ in PEAKS]


def test_seconds_are_seconds_and_names_may_come_first(tmp_path):
    lines = ["Compound\tRT [s]\tArea", *(f"{name}\t{t * 60:.3f}\t{a}" for name, t, a in PEAKS)]
    assert_is_the_list(read(tmp_path, "\n".join(lines)))


def test_what_stands_above_and_the_sum_below_are_no_peaks(tmp_path):
    found = read(tmp_path, text(above=["Sample: oil 3", "Detector: FID", ""], below=["", "Total\t\t1199.375\t"]))
    assert_is_the_list(found)
    assert found.detector == "FID"
    assert [(one.code, dict(one.facts)) for one in found.step.cautions] == [
        ("peaks.listed_line_after", {"line": 10, "text": "Total 1199.375"})
    ]


def test_a_line_of_units_and_repeated_headings_are_skipped(tmp_path):
    head = ["#", "RT", "Area", "Name"]
    lines = ["\t".join(head), "\tmin\tpA*s\t", *rows()[:2], "\t".join(head), *rows()[2:]]
    found = read(tmp_path, "\n".join(lines))
    assert_is_the_list(found)
    assert [one.code for one in found.step.cautions] == ["trace.time_unit_assumed"]


def test_areas_come_before_shares_of_the_area(tmp_path):
    lines = ["RT (min)\tArea %\tArea", *(f"{t}\t{a / 12:.2f}\t{a}" for _, t, a in PEAKS)]
    assert_is_the_list(read(tmp_path, "\n".join(lines)))
    shares = read(tmp_path, "\n".join(["RT (min)\tArea %", *(f"{t}\t{a}" for _, t, a in PEAKS)]))
    assert_is_the_list(shares)
    assert [one.code for one in shares.step.cautions] == ["peaks.listed_shares"]


def test_peaks_without_an_area_are_left_out_and_counted(tmp_path):
    found = read(tmp_path, text(below=["5\t9.5\tn.a.\txylene"]))
    assert_is_the_list(found)
    assert [(one.code, dict(one.facts)) for one in found.step.cautions] == [
        ("peaks.listed_without_area", {"count": 1, "first": 6})
    ]


def test_limits_are_taken_where_they_enclose_the_apex(tmp_path):
    lines = ["RT (min)\tStart (min)\tEnd (min)\tArea", "3.4\t3.3\t3.5\t10", "5.1\t5.2\t5.3\t20"]
    found = read(tmp_path, "\n".join(lines))
    first, second = found.peaks
    assert (first.start_min, first.end_min) == pytest.approx((3.3, 3.5))
    assert (second.start_min, second.end_min) == (None, pytest.approx(5.3))
    assert [(one.code, dict(one.facts)) for one in found.step.cautions] == [
        ("peaks.listed_odd_limits", {"count": 1, "first": "5.100"})
    ]


def test_a_workbook_may_hold_the_list(tmp_path):
    content = book([[n, t, a, name] for n, (name, t, a) in enumerate(PEAKS, 1)], ("#", "RT (min)", "Area", "Name"))
    found = read(tmp_path, content)
    assert_is_the_list(found)
    assert found.step.settings["format"] == "XLSX peak list"


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (text()[:40].splitlines()[0], "headings of a peak list without a peak"),
        (text().replace("5.1040\t1033.250", "remark\tx"), "between peaks; expected a peak like the others"),
        (text().replace("RT (min)", "RT").replace("9.0000", "900.0"), "times up to 900 without a unit"),
        (text().replace("120.500", "1e400"), "no finite number"),
        (text().replace("3.4120", "-3.4120"), "a time or an area that is no finite number"),
    ],
)
def test_what_is_no_list_is_refused(tmp_path, content, told):
    assert told in line_of(tmp_path, content)


def test_a_list_will_not_do_where_a_trace_is_needed(tmp_path):
    one = write(tmp_path, "list", text())
    assert isinstance(read_signal(tmp_path, one), ListedPeaks)
    with pytest.raises(InputError, match="found a list of 4 peaks; expected a trace"):
        read_trace(tmp_path, one)


def test_peaks_of_several_injections_are_not_taken_for_one_sample(tmp_path):
    lines = ["Sample\tRT (min)\tArea", "oil\t1.5\t10", "oil\t2.5\t20", "wax\t1.5\t30"]
    assert "line 4: found peaks of 2 samples ('oil', 'wax' …); expected the peaks of one injection" in line_of(
        tmp_path, "\n".join(lines)
    )
    assert len(read(tmp_path, "\n".join(lines[:3])).peaks) == 2
