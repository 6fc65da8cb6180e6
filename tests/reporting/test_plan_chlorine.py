"""The chlorine of planned cuts on the terminal, in plan.json and in plan.csv, told beside that by boiling point."""

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from screened import a_run, a_screened, a_target

from cutbook import read_run, work_up
from cutbook.chlorine.concentration import quantify
from cutbook.chlorine.organic_chlorine import organic_chlorine
from cutbook.chlorine.surrogate import surrogate
from cutbook.chlorine.where_distilled import where_distilled
from cutbook.fractions.cut_schemes import cut_scheme
from cutbook.fractions.pseudo_components import PseudoComponentSettings
from cutbook.fractions.still_plan import PlanSettings
from cutbook.model.chlorine import ScreenedOil
from cutbook.reporting.numbers import OutputSettings
from cutbook.reporting.plan_csv import CHLORINE, plan_csv
from cutbook.reporting.plan_json import plan_record
from cutbook.reporting.plan_words import plan_lines
from cutbook.reporting.results_json import as_text
from cutbook.workup.chlorine_findings import ChlorineFindings
from cutbook.workup.plan_run import PlanRequest, plan_run

EXAMPLE = Path(__file__).parents[2] / "examples" / "crate-oil"
COARSE = PlanSettings(components=PseudoComponentSettings(most=25))


@pytest.fixture(scope="module")
def crates():
    return work_up(read_run(EXAMPLE))


def screened(findings, *targets):
    """The run as if a mass spectrometer had found targets in its oil."""
    run = a_run(targets, current=1e6)
    by = surrogate(run)
    quantified = quantify(run, by_surrogate=by)
    sums = organic_chlorine("oil", quantified, (), by)
    (sample,) = [one for one in findings.samples if one.of == "oil"]
    shares = {cut.cut: cut.mass for cut in sample.cuts if cut.scheme == "boiling-range"}
    where = where_distilled(sums, quantified, cut_scheme("boiling-36-200-350"), shares)
    oil = ScreenedOil("oil", "oil.mzML", quantified, (), (), sums.step)
    return replace(findings, chlorine=ChlorineFindings((oil,), (sums,), (where,)))


@pytest.fixture(scope="module")
def plan(crates):
    benzylic = a_target("4-chlorotoluene", hazards=("benzyl chloride",))
    oil = screened(
        crates,
        a_screened("chlorobenzene", "confirmed", 40.0, 1.0),
        a_screened("4-chlorotoluene", "indicated", 8.0, 1.0, time=9.5, target=benzylic),
        a_screened("1,2,4-trichlorobenzene", "confirmed", 20.0, 1.0, time=14.0),
    )
    return plan_run(oil, PlanRequest(("gasoline", "diesel"), settings=COARSE))


def test_each_cut_tells_its_chlorine_by_both_ways(plan):
    assert [where.by for where in plan.chlorine] == ["simulated still", "boiling point"]
    lines = [line.replace("\N{NO-BREAK SPACE}", " ") for line in plan_lines(plan, "LB-03")]
    (gasoline,) = [line for line in lines if line.startswith("  chlorine of gasoline")]
    still, boiling = plan.chlorine_of("gasoline")
    assert gasoline.startswith("  chlorine of gasoline by the simulated still: ")
    assert "; by boiling point alone " in gasoline
    assert "at least " in gasoline
    assert "at most " in gasoline
    assert gasoline.index("chlorobenzene (") < gasoline.index("4-chlorotoluene (")
    assert still.best.value != boiling.best.value
    (residue,) = [line for line in lines if line.startswith("  chlorine of residue by the simulated still: ")]
    assert "hardly any of what was found, at most " in residue
    assert not any("chlorine of gas by" in line for line in lines)  # an empty receiver
    dangers = [line for line in lines if line.startswith("  danger: ")]
    assert any("lose hydrogen chloride in a hot pot: 4-chlorotoluene" in line for line in dangers)
    assert any("in gasoline: chlorobenzene; 4-chlorotoluene; in diesel: 1,2,4-tri" in line for line in dangers)


def test_plan_json_tells_cuts_compounds_and_reasons(plan):
    found = json.loads(as_text(plan_record(plan, "LB-03")))
    still, boiling = found["chlorine"]
    assert (still["by"], boiling["by"]) == ("simulated still", "boiling point")
    cuts = {cut["cut"]: cut for cut in still["cuts"]}
    assert list(cuts) == ["gas", "gasoline", "diesel", "residue"]
    assert cuts["gas"]["chlorine"] is None
    assert {"cut": "gas", "measurand": "chlorine of gas", "code": "chlorine.cut_unknown"} in found["missing"]
    assert cuts["gasoline"]["chlorine"]["unit"] == "mg/kg"
    assert cuts["gasoline"]["bounds"]["lower"]["value"] <= cuts["gasoline"]["chlorine"]["value"]
    assert [one["name"] for one in still["compounds"]] == ["chlorobenzene", "4-chlorotoluene", "1,2,4-trichlorobenzene"]
    for one in still["compounds"]:
        assert sum(share["share"]["value"] for share in one["shares"]) == pytest.approx(100.0, abs=1e-4)
        assert one["mainly_in"] in cuts
    # what the cuts hold is what the oil was charged with
    mass = {cut["cut"]: cut["mass"]["value"] for cut in found["cuts"]}
    grams = sum(cut["chlorine"]["value"] * mass[name] for name, cut in cuts.items() if cut["chlorine"])
    charged = sum(one["chlorine"]["value"] for one in still["compounds"]) * found["plan"]["charge"]["value"]
    assert grams == pytest.approx(charged, rel=1e-6)
    codes = {one["code"] for one in found["cautions"]}
    assert {
        "chlorine.comes_over",
        "chlorine.acid_from_pot",
        "chlorine.placed_by_still",
        "chlorine.by_surrogate",
    } <= codes
    ids = {step["id"] for step in found["steps"]}
    assert {still["step"], boiling["step"]} <= ids
    assert all(set(step["inputs"]) <= ids for step in found["steps"])


def test_plan_csv_has_columns_of_chlorine_for_a_screened_oil_alone(plan, crates):
    rows = list(csv.DictReader(io.StringIO(plan_csv(plan))))
    assert set(CHLORINE) <= set(rows[0])
    gasoline = rows[1]
    assert float(gasoline["chlorine_at_least_mg_kg"]) <= float(gasoline["chlorine_mg_kg"])
    assert float(gasoline["chlorine_by_boiling_point_mg_kg"]) > 0
    assert gasoline["chlorinated_compounds"].startswith("chlorobenzene; 4-chlorotoluene")
    assert rows[0]["chlorine_mg_kg"] == ""
    comma = plan_csv(plan, OutputSettings("comma")).splitlines()
    assert all(line.count(";") >= len(rows[0]) - 1 for line in comma)
    plain = plan_run(crates, PlanRequest(("gasoline",), settings=COARSE))
    assert plain.chlorine == ()
    assert not set(CHLORINE) & set(next(csv.reader(io.StringIO(plan_csv(plain)))))
    assert not any("chlorine of" in line for line in plan_lines(plain, "LB-03"))


def test_another_scheme_has_no_figure_by_boiling_point_beside_it(crates):
    oil = screened(crates, a_screened("chlorobenzene", "confirmed", 40.0, 1.0))
    other = plan_run(oil, PlanRequest(("naphtha",), "boiling-naphtha-204", settings=COARSE))
    assert [where.by for where in other.chlorine] == ["simulated still"]
    (line,) = [line for line in plan_lines(other, "LB-03") if "chlorine of naphtha" in line]
    assert "boiling point" not in line
    assert all(row["chlorine_by_boiling_point_mg_kg"] == "" for row in csv.DictReader(io.StringIO(plan_csv(other))))
