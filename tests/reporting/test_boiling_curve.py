"""The boiling curve in every output."""

import io
import json
import xml.etree.ElementTree as ET
from dataclasses import replace

import openpyxl
import pytest

from cutbook.reporting.boiling_figure import boiling_figure
from cutbook.reporting.figures import figures
from cutbook.reporting.page import page
from cutbook.reporting.results_json import as_text, results
from cutbook.reporting.workbook import workbook


def test_results_hold_every_point_and_null_where_there_is_none(findings):
    found = json.loads(as_text(results(findings)))["samples"][0]["boiling_curve"]
    assert [one["recovered"] for one in found] == [0.5, *range(1, 100), 99.5]
    assert found[50]["temperature"] == {"value": pytest.approx(240.0), "u": pytest.approx(1.2), "unit": "°C"}
    assert found[-1]["temperature"] is None


def test_the_sheet_has_a_row_a_point_with_the_reason_where_it_is_missing(findings):
    book = openpyxl.load_workbook(io.BytesIO(workbook(findings)))
    rows = list(book["Boiling curve"].iter_rows(values_only=True))
    head = next(at for at, row in enumerate(rows) if row[0] == "sample")
    assert rows[head][:3] == ("sample", "recovered mass (%)", "temperature (°C)")
    of_oil = [row for row in rows[head + 1 :] if row[0] == findings.samples[0].name]
    assert len(of_oil) == 101
    assert of_oil[0][5] == "initial boiling point"
    assert of_oil[50][2] == pytest.approx(240.0)
    assert of_oil[-1][2] is None
    # the caution itself is among those of the sample in a real run, and its words stand here then
    assert "did_not_elute" in of_oil[-1][5]


def test_the_page_shows_the_figure_and_a_short_table(findings):
    html = page(findings)
    assert html.count("Boiling curve as a table") == sum(one.boiling_curve is not None for one in findings.samples)
    assert "boiling-curve" not in html  # the figure is inside the page
    assert sum(one.kind == "boiling curve" for one in figures(findings)) >= 1


def test_the_figure_ends_where_the_curve_does_and_is_absent_without_one(findings):
    sample = findings.samples[0]
    ET.fromstring(boiling_figure(sample))
    assert boiling_figure(replace(sample, boiling_curve=None)) == ""


def test_every_point_has_a_name_of_its_own(findings):
    named = findings.named()
    assert named[f"samples.{findings.samples[0].name}.boiling_curve.50.temperature"].value == pytest.approx(240.0)
