"""A distillation in results.json, workbook, page, figure and methods: the same numbers, and every repair told."""

import io
import re

import openpyxl
import pytest
import still_pairs
from still_builders import a_distillation
from still_logs import curve_of

from cutbook.fractions.agreement import compare_still_with_trace
from cutbook.fractions.plan_comparison import compare_with_plan
from cutbook.model.lineage import Source
from cutbook.model.plan import PlannedShare, PlanOnPaper, PlanPoint
from cutbook.reporting.agreement_words import conversion_label
from cutbook.reporting.distillation_results import distillation_result
from cutbook.reporting.figures import figures
from cutbook.reporting.methods import methods_paragraph
from cutbook.reporting.numbers import AS_WRITTEN
from cutbook.reporting.page import page
from cutbook.reporting.repair_names import together
from cutbook.reporting.still_figure import still_figure
from cutbook.reporting.summary import summary_lines, summary_record
from cutbook.reporting.workbook import workbook


@pytest.fixture(scope="module")
def still():
    return a_distillation()


@pytest.fixture(scope="module")
def found(still):
    return distillation_result(still)


def test_the_keys_of_the_contract_are_there(found):
    assert {"of", "file", "rows", "loss", "residue", "cuts", "properties"} <= set(found)
    row = found["rows"][2]
    assert {"mass_recovered", "volume_recovered", "head_temperature", "pressure", "equivalent_temperature"} <= set(row)
    assert row["volume_recovered"]["value"] == pytest.approx(50.0)
    assert row["reading"]["head_temperature"] == 160.0
    # 160 °C at 100.2 kPa: 0.0009 x 1.1 x 433
    assert row["equivalent_temperature"]["value"] == pytest.approx(160.0 + 0.0009 * 1.1 * 433)


def test_a_reading_left_out_is_null_and_the_repair_says_so(found):
    assert found["rows"][3]["volume_recovered"] is None
    told = next(one for one in found["repairs"] if one["kind"] == "backward")
    assert (told["place"], told["found"], told["read_as"]) == ("line 5", "40", None)
    assert "left out" in told["text"]


def test_cuts_stand_by_mass_and_by_volume(found, still):
    cut = next(one for one in found["cuts"] if one["cut"] == "gasoline")
    assert cut["mass"]["value"] != cut["volume"]["value"]
    by_volume = next(one.mass for one in still.curve.cuts_by_volume if one.cut == "gasoline")
    assert cut["volume"]["value"] == by_volume.value


def test_a_log_without_any_density_has_no_cuts_by_mass():
    from dataclasses import replace

    curve = curve_of("head °C,volume mL\n80,0\n160,50\n240,90\n", None, charge_volume="100 mL")
    told = distillation_result(replace(a_distillation(), curve=curve))
    assert told["basis"] == "volume"
    assert {one["mass"] is None for one in told["cuts"]} == {True}
    assert any(one["volume"] is not None for one in told["cuts"])


def test_weighed_and_charged_add_up(found):
    whole = found["recovered"]["value"] + found["residue"]["value"] + found["loss"]["value"]
    assert whole == pytest.approx(100.0)


def sheet_of(findings):
    book = openpyxl.load_workbook(io.BytesIO(workbook(findings)))
    return book["Still log"], openpyxl.load_workbook(io.BytesIO(workbook(findings)), data_only=True)["Still log"]


def test_the_sheet_recomputes_what_follows_from_a_row(findings):
    formulas, values = sheet_of(findings)
    heads = next(row for row in formulas.iter_rows() if row[0].value == "place in the log")
    columns = {cell.value: cell.column for cell in heads if cell.value}
    first = heads[0].row + 1
    volume = formulas.cell(first + 2, columns["recovered volume (%)"]).value
    assert str(volume).startswith("=100*")
    equivalent = formulas.cell(first + 2, columns["at 101.325 kPa (°C)"]).value
    assert str(equivalent).startswith("=")
    stored = values.cell(first + 2, columns["at 101.325 kPa (°C)"]).value
    assert stored == pytest.approx(findings.distillations[0].curve.points[2].equivalent_temperature.value)
    in_vacuum = formulas.cell(first + 6, columns["at 101.325 kPa (°C)"]).value
    assert not str(in_vacuum).startswith("=")  # by the equation of equivalent temperature, which no cell repeats


def test_a_run_without_a_distillation_says_so(findings):
    from dataclasses import replace

    formulas, _ = sheet_of(replace(findings, distillations=()))
    assert "no distillation" in " ".join(str(cell.value) for row in formulas.iter_rows() for cell in row)


def test_the_page_shows_log_parts_and_repairs(findings):
    html = page(findings)
    section = html[html.index('id="still-1"') : html.index('id="method"')]
    for told in ("Where the charge went", "receiver 2", "ditto mark, read as the cell above", "as_written", "line 5"):
        assert told in section
    assert '<img src="data:image/svg+xml' in section


def test_the_methods_tell_kind_log_and_correction(findings):
    told = methods_paragraph(findings)
    assert "simple still; log still.csv, 7 readings" in told
    assert "Sydney Young, in vacuum equivalent temperature after Maxwell and Bonnell" in told


def test_every_number_of_a_distillation_can_be_explained(findings):
    from cutbook.reporting.explanation import explain

    told = explain(findings, "distillations.oil.rows.3.equivalent_temperature")
    assert "still.csv" in told
    assert "thermometer" in told


def test_the_figure_draws_every_point_and_none_without_a_curve(still):
    from dataclasses import replace

    svg = still_figure(still)
    assert svg.startswith("<?xml")
    assert svg == still_figure(still)
    one = replace(
        still.curve, points=still.curve.points[:1], log=replace(still.curve.log, readings=still.curve.log.readings[:1])
    )
    assert still_figure(replace(still, curve=one)) == ""


@pytest.fixture(scope="module")
def compared(findings):
    """The run with a distillation held against a trace whose ladder is off by one, and against a plan."""
    from dataclasses import replace

    pair = still_pairs.ladder(200)
    agreement = compare_still_with_trace(pair.still, pair.curve, pair.pressure_given)
    (still,) = findings.distillations
    places = [PlanPoint(float(p), 80.0 + p, 80.0 + p, 120.0 + p, 101.325, "gasoline", 1) for p in range(0, 90, 10)]
    shares = (PlannedShare("gasoline", 30.0, 1.0),)
    plan = PlanOnPaper(Source("plan/plan.json", "0" * 64), "oil", "boiling-36-200-350", tuple(places), shares)
    found = replace(still, agreement=agreement, plan=compare_with_plan(still.curve, plan))
    more = (*findings.cautions, *agreement.step.cautions, *found.plan.step.cautions)
    return replace(findings, distillations=(found,), cautions=more)


def test_agreement_and_plan_stand_in_results_page_sheet_and_summary(compared):
    (still,) = compared.distillations
    found = distillation_result(still)
    sentence = found["agreement"]["sentence"]
    assert "the ladder is numbered one carbon too" in sentence
    assert found["agreement"]["culprit"] == "ladder"
    assert found["agreement"]["suspects"][0]["odd_one"] == "trace"
    assert found["plan"]["cuts"][0]["planned"]["value"] == 30.0
    html = page(compared)
    assert sentence in html
    assert "Still and plan" in html
    label, validity = conversion_label(still.agreement)
    assert f"{label[0].upper()}{label[1:]}; {validity}." in html
    told = list(summary_lines(compared, AS_WRITTEN))
    assert any(line == f"  oil, distilled: {sentence}" for line in told)
    assert summary_record(compared)["agreement"][0]["verdict"] == "differ"
    formulas, _ = sheet_of(compared)
    cells = [str(cell.value) for row in formulas.iter_rows() for cell in row if cell.value is not None]
    assert sentence in cells
    assert any(re.fullmatch(r"=\$[A-Z]+\$\d+-\$[A-Z]+\$\d+", cell) for cell in cells)


def test_differences_can_be_explained(compared):
    names = compared.named()
    assert {"distillations.oil.agreement.median", "distillations.oil.agreement.points.50.difference",
            "distillations.oil.agreement.light_end.trace", "distillations.oil.plan.gasoline.difference"} <= set(names)  # fmt: skip
    assert "agreement" in {one.kind for one in figures(compared)}


def test_ditto_marks_stand_on_one_line(still):
    lines = together(still.curve.log.repairs)
    dittos = [one for one in lines if one.kind == "ditto" and one.column == "pressure (mbar)"]
    assert [one.place for one in dittos] == ["line 3 to 6", "line 8"]
    assert sum(one.kind == "backward" for one in lines) == 1
