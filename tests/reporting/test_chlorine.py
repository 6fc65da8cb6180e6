"""Organic chlorine and its ledger in results, workbook, page and figures: no verdict without its limit."""

import ast
import io
import json
import math
import re
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from element_runs import SCRUBBER
from element_runs import a_run as a_sheet
from screened import a_cluster, a_quantity, a_run, a_screened, a_signal

from cutbook.balance.propagation_check import MonteCarloSettings
from cutbook.chlorine.concentration import quantify
from cutbook.chlorine.hazards import chlorine_cautions
from cutbook.chlorine.organic_chlorine import organic_chlorine
from cutbook.chlorine.orientation import orientation_caution
from cutbook.chlorine.standard_limits import line_limit_cautions, standard_limits
from cutbook.chlorine.surrogate import surrogate
from cutbook.chlorine.where_distilled import where_distilled
from cutbook.chlorine.workplace_air import workplace_air, workplace_cautions
from cutbook.fractions.cut_schemes import cut_scheme
from cutbook.model.amount import measured
from cutbook.model.chlorine import Evidence, ScreenedOil
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.quantitation.calibration import CalibrationPoint, calibrate
from cutbook.reporting.chlorine_figure import MOST, drawn_targets, flow_figure, target_figure
from cutbook.reporting.chlorine_words import chlorine_words, evidence_text, target_rows
from cutbook.reporting.explanation import explain
from cutbook.reporting.figures import figures
from cutbook.reporting.methods import methods_paragraph
from cutbook.reporting.numbers import OutputSettings
from cutbook.reporting.page import page
from cutbook.reporting.results_json import as_text, results
from cutbook.reporting.workbook import workbook
from cutbook.workup.chlorine_findings import ChlorineFindings
from cutbook.workup.elements import work_up_elements, work_up_scrubber
from cutbook.workup.method import Method
from cutbook.workup.monte_carlo import monte_carlo
from cutbook.workup.work_up import work_up

PRODUCTS = [
    {"fraction": "oil", "mass": "20.0 g", "chlorine": "464 mg/kg", "chlorine_method": "combustion ion chromatography"},
    {"fraction": "char", "mass": "10.0 g", "chlorine": "2.0 %"},
    {"fraction": "water", "mass": "3.0 g", "chlorine": "4.0 %"},
]
MORE = SCRUBBER.format(method="argentometric") + '[chlorine]\nwalls = "0.12 g"\nreference_oil = "900 mg/kg"\n'


def an_oil():
    screened = [
        a_screened("chlorobenzene", "confirmed", 40.0, 1.0, signal=a_signal()),
        a_screened("1,4-dichlorobenzene", "indicated", 10.0, 1.0, signal=a_signal(ions=(146, 148, 111))),
        a_screened("2-chlorotoluene", "masked", limit_area=300.0, signal=a_signal(height=0.0)),
        a_screened("4-chlorotoluene", "masked", limit_area=None, signal=a_signal(height=0.0)),
        a_screened("1,2,4-trichlorobenzene", limit_area=4.0, signal=a_signal(height=0.0)),
        a_screened("dichloromethane", "confirmed", 1e5, 10.0, signal=a_signal()),
    ]
    run = a_run(screened, current=1e6)
    by = surrogate(run)
    points = [(1.0, 60.0), (1.0, 61.0), (1.0, 58.0), (1.0, 62.0), (1.0, 59.0), (1.0, 60.5), (1.0, 61.5), (20.0, 1190.0)]
    line = calibrate("chlorobenzene", [CalibrationPoint(*one) for one in points])
    of_standards = standard_limits("chlorobenzene", line, 1.0, "mg/kg", "oil")
    targets = tuple(
        replace(one, standards=of_standards) if one.screened.target.name == "chlorobenzene" else one
        for one in quantify(run, by_surrogate=by)
    )
    clusters = (a_cluster(),)
    bulk = a_quantity("464 ± 10 mg/kg", "fraction")
    sums = organic_chlorine("oil", targets, clusters, by, bulk, "combustion ion chromatography")
    step = Step("screen oil/1", inputs=(sums.step,))
    bromine = (a_cluster(chlorine=0, bromine=2, mz=(250, 252, 254), retention_index=None),)
    shares = {
        name: Result(name, measured(value, 0.5, name), "%", "oil", step)
        for name, value in {"gasoline": 40.0, "diesel": 50.0}.items()
    }
    where = where_distilled(sums, targets, cut_scheme("boiling-36-200-350"), shares)
    return ChlorineFindings((ScreenedOil("oil", "oil.mzML", targets, clusters, bromine, step),), (sums,), (where,))


@pytest.fixture(scope="module")
def findings(tmp_path_factory):
    run = a_sheet(tmp_path_factory.mktemp("chlorine") / "run", [{"material": "PVC", "mass": "100.0 g"}], PRODUCTS, MORE)
    found, oil = work_up(run), an_oil()
    raised = [one for part in oil.organic for one in part.step.all_cautions()]
    raised += [one for part in oil.distilled for one in part.step.all_cautions()]
    raised += [one for target in oil.screened[0].targets for one in target.concentration.step.all_cautions()]
    raised += chlorine_cautions([one.screened.target for one in oil.screened[0].targets[:1]], "oil", True, False)
    raised.append(orientation_caution(oil.organic[0].best.value, oil.organic[0].best.u, "oil"))
    raised += line_limit_cautions(oil.screened[0].targets, "oil")
    molar = Result("molar_mass", measured(180.0, 9.0, "molar mass of oil"), "g/mol", "oil", Step("by hand/1"))
    air = workplace_air(oil.screened[0], molar)
    raised += workplace_cautions(air, "oil")
    return replace(found, chlorine=oil, workplace_air=(*air, *found.workplace_air),
                   cautions=tuple(dict.fromkeys([*found.cautions, *raised])))  # fmt: skip


@pytest.fixture(scope="module")
def told(findings):
    return json.loads(as_text(results(findings)))["chlorine"]


@pytest.fixture(scope="module")
def shown(findings):
    text = page(findings)
    return text[text.index('<section id="chlorine">') : text.index('<section id="cuts">')]


@pytest.fixture(scope="module")
def book(findings):
    return openpyxl.load_workbook(io.BytesIO(workbook(findings)), data_only=True)


def test_results_hold_the_names_of_the_contract(told):
    assert {"screen", "unknown_chlorinated", "organic_chlorine", "balance"} <= set(told)
    for row in told["screen"]:
        assert {"compound", "formula", "chlorine_atoms", "retention_index", "verdict", "concentration",
                "detection_limit", "evidence"} <= set(row)  # fmt: skip
        assert row["verdict"] in ("confirmed", "indicated", "not detected", "masked")
    for row in told["unknown_chlorinated"]:
        assert {"retention_index", "chlorine_atoms", "mz", "evidence"} <= set(row)
    for key in ("fed", "scrubber", "oil", "char", "unaccounted"):
        assert told["balance"][key]["unit"] == "g"
    assert told["organic_chlorine"]["unit"] == "mg/kg"


def test_results_tell_values_limits_and_evidence(told):
    rows = {row["compound"]: row for row in told["screen"]}
    assert rows["chlorobenzene"]["concentration"]["value"] == pytest.approx(100.0)
    assert rows["chlorobenzene"]["evidence"]["isotope ratio"] == {
        "outcome": "for", "found": 0.318, "expected": 0.32, "u": 0.004, "unit": "1",
    }  # fmt: skip
    assert rows["1,2,4-trichlorobenzene"]["concentration"] is None
    assert rows["1,2,4-trichlorobenzene"]["detection_limit"]["value"] > 0
    assert rows["4-chlorotoluene"]["detection_limit"] is None
    assert rows["dichloromethane"]["concentration"] is None
    assert told["organic_chlorine_bounds"]["upper"] is None
    assert [row["name"] for row in told["efficiencies"]] == ["caught", "solid", "oil"]


def test_every_missing_number_has_its_reason(findings):
    whole = json.loads(as_text(results(findings)))
    missing = {row["name"]: row for row in whole["missing"]}
    for name in ("chlorine.screen.4-chlorotoluene.detection_limit", "chlorine.organic_chlorine_bounds.upper",
                 "chlorine.screen.2-chlorotoluene.concentration"):  # fmt: skip
        assert missing[name]["text"], name


def test_numbers_can_be_explained_down_to_their_budget(findings):
    text = explain(findings, "chlorine.screen.chlorobenzene.concentration")
    assert "peak area of chlorobenzene in oil.mzML" in text
    assert "quantify target/1" in text
    assert "chlorine.organic_chlorine" in findings.named()
    assert "chlorine.cuts.gasoline.best" in findings.named()
    assert "chlorine.efficiencies.oil" in findings.named()


def test_no_verdict_is_shown_without_its_limit_or_why_there_is_none(shown):
    rows = re.findall(r"<tr><th[^>]*>([^<]+)</th><td class=\"l\">(?:<b>)?(confirmed|indicated|masked|not detected)"
                      r"(?:</b>)?</td><td class=\"l\">([^<]*)</td><td class=\"l\">([^<]*)</td>", shown)  # fmt: skip
    found = {name: (verdict, value, limit) for name, verdict, value, limit in rows}
    assert len(found) == 6
    assert found["1,2,4-trichlorobenzene"][1].startswith("&lt; ")
    assert found["2-chlorotoluene"][1].startswith("seen from ")
    assert found["4-chlorotoluene"][1:] == ("no level proven", "none proven")
    assert found["dichloromethane"][1] == "not counted"
    assert all(limit for name, (_, _, limit) in found.items() if name != "dichloromethane")


def test_page_says_what_cannot_be_seen_and_never_that_anything_is_safe(shown):
    words = re.sub(r"<[^>]+>", " ", shown)
    assert "dioxins and furans cannot be seen" in words
    assert not re.search(r"\bsafe\b|dioxin-free|free of", words.lower())
    assert "A laboratory found 464 ± 20 mg/kg" in words.replace("\N{NO-BREAK SPACE}", " ")
    assert "1 − chlorine left in the solid ÷ chlorine fed" in words


def test_dangers_and_orientation_stand_beside_the_screen_that_they_are_about(shown):
    assert "not purged" in shown
    assert "For orientation, organic chlorine of oil" in shown


def test_words_of_evidence_are_there_for_every_test_that_the_code_makes():
    made = set()
    for path in (Path(__file__).parents[2] / "analysis" / "cutbook" / "chlorine").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Evidence" and node.args:
                if isinstance(node.args[0], ast.Constant):
                    made.add(node.args[0].value)
    assert made <= set(chlorine_words()["evidence"]), made - set(chlorine_words()["evidence"])


def test_what_the_run_cannot_show_has_no_window_and_says_so():
    unseen = a_screened("chlorobenzene", "masked", limit_area=None, evidence=(Evidence("window recorded", "open"),))
    run = a_run([unseen], current=1e6)
    targets = quantify(run, by_surrogate=surrogate(run))
    (row,) = target_rows(ScreenedOil("oil", "oil.mzML", targets, (), (), Step("screen oil/1")), lambda result: "")
    assert (row.window, row.concentration, row.basis) == ("", "not recorded", "")


def test_evidence_is_a_line_with_expanded_uncertainty():
    line = evidence_text(Evidence("isotope ratio", "for", 0.318, 0.32, 0.004, "1"))
    assert line == "ratio of the isotope partner 0.318 ± 0.008, expected 0.32: for it"
    assert evidence_text(Evidence("blank", "open")) == "blank at the same time, share of the signal: open"


def test_workbook_sums_are_formulas_over_the_screen(findings):
    raw = openpyxl.load_workbook(io.BytesIO(workbook(findings)))["Chlorine screen"]
    column = next(cell.column for cell in raw[4] if str(cell.value).startswith("chlorine, at the limit"))
    rows = {row[0].value: row[column - 1].value for row in raw.iter_rows(min_row=5) if row[0].value}
    assert str(rows["chlorobenzene"]).startswith("=")
    assert str(rows["organic chlorine, lower"]).startswith("=")
    assert str(rows["organic chlorine, best"]).count("+") == 2  # confirmed, indicated, unknown


def test_workbook_tells_every_test_on_a_row_of_its_own(findings, book):
    rows = [row for row in book["Chlorine evidence"].iter_rows(min_row=5, values_only=True) if row[0]]
    evidence = [
        (one.screened.target.name, test)
        for one in findings.chlorine.screened[0].targets
        for test in one.screened.evidence
    ]
    assert len(rows) == len(evidence)
    words = chlorine_words()
    name, test = next((name, test) for name, test in evidence if test.test == "isotope ratio")
    told = next(row for row in rows if row[1] == name and row[2] == words["evidence"]["isotope ratio"])
    assert told[3:6] == (test.found, test.u, test.expected)
    assert told[7] == words["outcome"][test.outcome]


def test_workbook_holds_the_values_that_its_formulas_give(findings, book):
    sums = findings.chlorine.organic[0]
    sheet = book["Chlorine screen"]
    column = next(cell.column for cell in sheet[4] if str(cell.value).startswith("chlorine, at the limit"))
    rows = {row[0].value: row[column - 1].value for row in sheet.iter_rows(min_row=5) if row[0].value}
    assert rows["organic chlorine, best"] == pytest.approx(sums.best.value)
    ledger = {row[0].value: row[1].value for row in book["Chlorine ledger"].iter_rows(min_row=5) if row[0].value}
    assert ledger["unaccounted for"] == pytest.approx(findings.elements.chlorine.unaccounted.value)
    raw = openpyxl.load_workbook(io.BytesIO(workbook(findings)))["Chlorine ledger"]
    formulas = {row[0].value: row[1].value for row in raw.iter_rows(min_row=5) if row[0].value}
    assert formulas["unaccounted for"].startswith("=")
    assert formulas["hydrogen chloride caught ÷ chlorine fed"].startswith("=100*")


def test_figures_are_drawn_of_what_was_found_or_is_masked_and_of_nothing_else(findings):
    (oil,) = findings.chlorine.screened
    assert [one.screened.target.name for one in drawn_targets(oil)] == [
        "chlorobenzene", "1,4-dichlorobenzene", "2-chlorotoluene", "4-chlorotoluene",
    ]  # fmt: skip
    kinds = [one.kind for one in figures(findings)]
    assert kinds.count("chlorine ions") == 4
    assert kinds.count("chlorine") == 1
    assert len(drawn_targets(replace(oil, targets=oil.targets * 5))) == MOST


def test_figures_are_the_same_bytes_twice_and_take_a_comma(findings):
    one = findings.chlorine.screened[0].targets[0]
    assert target_figure(one) == target_figure(one)
    ledger = findings.elements.chlorine
    assert flow_figure(ledger) == flow_figure(ledger)
    assert flow_figure(ledger, OutputSettings(decimal="comma")) != flow_figure(ledger)


def test_target_without_a_signal_has_no_figure():
    (one,) = quantify(a_run([a_screened("chlorobenzene", "masked")], current=1e6))
    assert target_figure(one) == ""


def test_run_without_chlorine_shows_nothing_of_it(tmp_path):
    found = work_up(a_sheet(tmp_path / "run"))
    assert json.loads(as_text(results(found)))["chlorine"] is None
    assert '<section id="chlorine">' not in page(found)
    assert "Chlorine screen" not in openpyxl.load_workbook(io.BytesIO(workbook(found))).sheetnames


def test_table_of_the_screen_holds_every_compound_and_no_number_for_what_was_not_found(findings):
    table = findings.table("chlorine").set_index("compound")
    assert len(table) == len(findings.chlorine.screened[0].targets)
    assert table.loc["chlorobenzene", "concentration_mg_kg"] == pytest.approx(100.0)
    assert math.isnan(table.loc["1,2,4-trichlorobenzene", "concentration_mg_kg"])
    assert table.loc["1,2,4-trichlorobenzene", "detection_limit_mg_kg"] > 0


def test_methods_paragraph_says_how_limits_were_shown(findings):
    told = methods_paragraph(findings)
    assert "screened for 6 chlorinated compounds" in told
    assert "found in 95 % of trials" in told
    assert "a surrogate response" in told


def test_random_draws_go_through_the_ledger_with_the_chlorine_of_compounds(findings, tmp_path):
    rows = [{key: value for key, value in row.items() if not key.startswith("chlorine")} for row in PRODUCTS[:1]]
    run = a_sheet(tmp_path / "run", [{"material": "PVC", "mass": "100.0 ± 1.0 g"}], [*rows, *PRODUCTS[1:]], MORE)
    method = Method(monte_carlo=MonteCarloSettings(draws=400))
    base = work_up(run)
    scrubber, _, _ = work_up_scrubber(run, method)
    elements, _ = work_up_elements(run, base.balance, (), None, scrubber, method, findings.chlorine.organic)
    assert elements.chlorine.oil_from == "chlorinated compounds found"
    whole = replace(base, elements=elements, chlorine=findings.chlorine, method=method)
    held = {one.name: one for one in monte_carlo(whole).results}
    assert held["chlorine.balance.unaccounted"].agrees
    assert "chlorine.efficiencies.caught" in held


def test_workplace_limits_stand_in_results_page_and_sheet_with_source_and_date(findings, told, shown, book):
    rows = {row["compound"]: row for row in told["workplace_air"]}
    assert list(rows) == ["chlorobenzene", "1,4-dichlorobenzene", "hydrogen chloride"]  # found; acid, as PVC was fed
    assert rows["chlorobenzene"]["vapour_over_oil"]["unit"] == "ppm"
    assert rows["hydrogen chloride"]["vapour_over_oil"] is None
    for row in rows.values():
        assert row["limits"]
        for limit in row["limits"]:
            assert limit["limit"]["value"] > 0
            assert limit["source"]
            assert limit["as_of"]
    part = shown[shown.index("Workplace limits of air, for orientation") :]
    assert "8 h mean 75 ppm (United States, OSHA, 2026)" in part
    assert "ceiling 5 ppm (United States, OSHA and NIOSH, 2025)" in part
    assert "no measure of an exposure" in part
    assert "the law of the place and day decides" in part
    sheet = book["Chlorine ledger"]
    cells = [row for row in sheet.iter_rows(values_only=True) if row[0] and "chloride, ceiling" in str(row[0])]
    assert {row[1] for row in cells} == {2, 5}
    assert all(row[4] == "ppm" and row[5] and row[6] for row in cells)
    name = "chlorine.workplace_air.oil.chlorobenzene.vapour"
    assert "activity in the oil" in explain(findings, name)
    assert {"chlorine.workplace_air"} <= {one.code for one in findings.cautions}


def test_limits_of_the_standards_stand_beside_that_in_the_oil(findings, told, shown, book):
    row = {row["compound"]: row for row in told["screen"]}["chlorobenzene"]
    assert 0 < row["of_standards"]["line_limit"]["value"] < row["detection_limit"]["value"]
    assert row["of_standards"]["replicates"] == 7
    low, high = row["of_standards"]["method_limit_interval"]
    assert low < row["of_standards"]["method_limit"]["value"] < high
    assert all(one["of_standards"] is None for one in told["screen"] if one["compound"] != "chlorobenzene")
    sheet = book["Chlorine screen"]
    heads = {cell.value: cell.column for line in sheet.iter_rows(max_row=6) for cell in line if cell.value}
    column = heads["limit of its standards, in clean solvent (mg/kg)"]
    cells = {line[0].value: line[column - 1].value for line in sheet.iter_rows()}
    assert cells["chlorobenzene"] == pytest.approx(row["of_standards"]["line_limit"]["value"])
    assert "By 7 replicates of one standard" in shown
    assert "(in this oil " in next(
        one["text"] for one in results(findings)["cautions"] if one["code"] == "chlorine.limit_of_standards"
    )
    assert "calibrate/1" in explain(findings, "chlorine.screen.chlorobenzene.standards.line_limit")
