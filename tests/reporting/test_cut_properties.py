"""The properties of the cuts in every output."""

import io
import json

import openpyxl
import pytest

from cutbook.reporting.page import page
from cutbook.reporting.results_json import as_text, results
from cutbook.reporting.workbook import workbook


def test_results_hold_them_beside_the_share_of_each_cut(findings):
    sample = json.loads(as_text(results(findings)))["samples"][0]
    by_scheme = {}
    for cut in sample["cuts"]:
        by_scheme.setdefault(cut["scheme"], []).append(cut)
    for cut in by_scheme["boiling-range"]:
        assert cut["properties"]["density"] == {"value": pytest.approx(0.81), "u": pytest.approx(0.02), "unit": "g/mL"}
        assert cut["property_methods"]["density"] == {"estimate": True, "method": "Watson factor 12.1"}
        assert cut["properties"]["watson_k"] is None
    assert all(cut["properties"] == {} for cut in by_scheme["carbon-number"])


def test_each_can_be_explained_and_a_missing_one_has_its_reason(findings):
    name = f"samples.{findings.samples[0].name}.cuts.boiling-range.gasoline.properties"
    named = findings.named()
    assert named[f"{name}.density"].value == pytest.approx(0.81)
    missing = {one["name"]: one["code"] for one in results(findings)["missing"]}
    assert missing[f"{name}.watson_k"] == "properties.curve_too_short"


def test_the_sheet_lists_them_below_those_of_the_sample(findings):
    book = openpyxl.load_workbook(io.BytesIO(workbook(findings)))
    rows = [row for row in book["Properties"].iter_rows(values_only=True) if row[0] == findings.samples[0].name]
    own = [row for row in rows if not row[1]]
    of_cuts = [row for row in rows if row[1]]
    sample = findings.samples[0]
    assert len(own) == len(sample.properties)
    assert len(of_cuts) == sum(len(cut.properties) for cut in sample.cut_properties)
    assert any(row[1].startswith("gasoline 36") and row[2] == "density at 15 °C" and row[3] == pytest.approx(0.81)
               and row[7] == "estimate" for row in of_cuts)  # fmt: skip


def test_the_page_shows_them_as_a_table(findings):
    html = page(findings)
    assert html.count("Properties of the cuts, all of them estimates") == sum(
        bool(sample.cut_properties) for sample in findings.samples
    )
