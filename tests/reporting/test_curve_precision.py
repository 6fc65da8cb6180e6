"""Two traces of one product in every output."""

import io
import json
from dataclasses import replace

import openpyxl
import pytest

from cutbook.model.amount import measured
from cutbook.model.result import Result
from cutbook.reporting.results_json import as_text, results
from cutbook.reporting.workbook import workbook
from cutbook.workup.run_cautions import doubts_of_run


@pytest.fixture(scope="module")
def repeated(findings):
    """A run whose oil was injected twice, the second curve 1.5 °C higher at 50 %."""
    first = findings.samples[0]
    points = []
    for point in first.boiling_curve.points:
        found = point.temperature
        if point.recovered == 50 and found.value is not None:
            found = Result(found.measurand, measured(found.value + 1.5, 1.2, "again"), "°C", found.basis, found.step)
        points.append(replace(point, temperature=found))
    curve = replace(first.boiling_curve, of=f"{first.name}-2", points=tuple(points))
    return replace(findings, samples=(*findings.samples, replace(first, name=f"{first.name}-2", boiling_curve=curve)))


def test_results_hold_difference_limit_and_verdict(repeated):
    (found,) = json.loads(as_text(results(repeated)))["curve_precision"]
    assert (found["first"], found["second"], found["limit"]) == ("oil", "oil-2", "repeatability")
    by_place = {one["recovered"]: one for one in found["points"]}
    assert by_place[50]["difference"]["value"] == pytest.approx(1.5)
    assert by_place[50]["allowed"] == {"value": 1.0, "u": None, "unit": "°C"}
    assert by_place[50]["within"] is False
    assert by_place[40]["within"] is True
    assert by_place[99.5]["difference"] is None  # that curve stays open
    assert by_place[99.5]["within"] is None


def test_one_trace_of_a_product_is_compared_with_nothing(findings):
    assert json.loads(as_text(results(findings)))["curve_precision"] == []


def test_each_difference_can_be_explained(repeated):
    assert repeated.named()["curve_precision.oil-2.50.difference"].value == pytest.approx(1.5)


def test_the_run_is_cautioned_once(repeated, findings):
    told = [one.code for one in doubts_of_run(repeated.run, repeated.samples, repeated.cuts)]
    assert told.count("boiling.precision_exceeded") == 1
    calm = [one.code for one in doubts_of_run(findings.run, findings.samples, findings.cuts)]
    assert "boiling.precision_exceeded" not in calm


def test_the_sheet_says_it_beside_the_point(repeated):
    book = openpyxl.load_workbook(io.BytesIO(workbook(repeated)))
    remarks = [(row[0], row[1], row[5] or "") for row in book["Boiling curve"].iter_rows(values_only=True)]
    (told,) = [text for name, at, text in remarks if name == "oil-2" and at == 50]
    assert told == "+1.5 °C against oil, beyond the repeatability of 1.0 °C"
    assert not any("against" in text for name, _, text in remarks if name == "oil")


def test_the_page_shows_the_two_side_by_side(repeated, findings):
    from cutbook.reporting.page import page

    html = page(repeated)
    assert "Beside the trace of oil" in html
    assert "repeatability allows" in html
    assert '<td class="l v-fails">beyond</td>' in html
    assert "Beside the trace of" not in page(findings)
