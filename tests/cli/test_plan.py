"""`cutbook plan` on an example run: files, exit status, exact text of what is refused."""

import csv
import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from cutbook.cli.main import main
from cutbook.importers.plan_file import read_plan

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def oil(tmp_path_factory):
    folder = tmp_path_factory.mktemp("plan") / "crate-oil"
    shutil.copytree(EXAMPLES / "crate-oil", folder, ignore=shutil.ignore_patterns("results", "plan"))
    return folder


@pytest.fixture(scope="module")
def done(oil):
    return call("plan", oil, "--cuts", "gasoline,diesel", "--plates", 5, "--reflux", 3, "--compound",
                "chlorobenzene=0.2 %", "--compound", "indene")  # fmt: skip


def test_a_plan_is_told_and_written(oil, done):
    assert done.exit_code == 0, done.output
    lines = done.output.replace("\N{NO-BREAK SPACE}", " ").splitlines()
    assert lines[0] == (
        "LB-03: plan for oil, 431.2 ± 1.0 g charged; 5 theoretical plates, reflux ratio 3, "
        "limits of boiling-36-200-350"
    )  # fmt: skip
    assert any(line.startswith("  stage 1: 101.325 kPa, 0.0 to ") for line in lines)
    assert any(line.startswith("  danger: oil: never distil it to dryness") for line in lines)
    assert any(line.startswith("  chlorobenzene: mainly in gasoline") for line in lines)
    assert any(line.startswith("    change the receiver when the head reads 200 °C at 101.325 kPa") for line in lines)
    assert sorted(p.relative_to(oil).as_posix() for p in (oil / "plan").rglob("*") if p.is_file()) == [
        "plan/figures/plan.svg", "plan/plan.csv", "plan/plan.json",
    ]  # fmt: skip
    assert not (oil / "results").exists()


def test_plan_json_holds_everything_and_is_read_back(oil, done):
    found = json.loads((oil / "plan" / "plan.json").read_text(encoding="utf-8"))
    assert found["run"] == "LB-03"
    assert sum(cut["share"]["value"] for cut in found["cuts"]) == pytest.approx(100.0, abs=1e-7)
    assert found["plan"]["charge"]["value"] == pytest.approx(431.2)
    assert max(point["pot_c"] for point in found["course"]) <= 340.001
    assert {one["name"] for one in found["compounds"]} == {"benzene", "styrene", "chlorobenzene", "indene",
                                                            "naphthalene"}  # fmt: skip
    for cut in found["cuts"]:
        for key in ("share", "mass", "purity", "recovery"):
            assert (cut[key] is None) == any(m["cut"] == cut["cut"] and key in m["measurand"] for m in found["missing"])
    codes = {one["code"] for one in found["cautions"]}
    assert {"safety.still_dry", "safety.still_vacuum", "safety.still_benzene", "plan.ideal"} <= codes
    assert ("plan.assumed_watson" in codes) is not found["composition"]["density_known"]
    ids = {step["id"] for step in found["steps"]}
    assert found["plan"]["step"] in ids
    assert all(set(step["inputs"]) <= ids for step in found["steps"])
    assert any(step["path"] == "traces/oil-fid.cdf" for step in found["steps"])
    plan = read_plan(oil)
    assert len(plan.points) == len(found["course"])
    assert {one.cut for one in plan.shares} == {"gas", "gasoline", "diesel", "residue"}


def test_plan_csv_has_a_line_for_each_cut_and_adds_up(oil, done):
    with (oil / "plan" / "plan.csv").open(encoding="utf-8", newline="") as table:
        rows = list(csv.DictReader(table))
    assert [row["cut"] for row in rows] == ["gas", "gasoline", "diesel", "residue"]
    assert sum(float(row["mass_g"]) for row in rows) == pytest.approx(431.2, abs=2.0)  # each rounded to its U
    assert sum(float(row["of_naphthalene_percent"]) for row in rows) == pytest.approx(100.0, abs=1.0)
    assert rows[1]["kept"] == "yes"
    assert rows[3]["kept"] == "no"


def test_the_figure_is_plain_svg(oil, done):
    text = (oil / "plan" / "figures" / "plan.svg").read_text(encoding="utf-8")
    assert text.lstrip().startswith("<?xml")
    assert "<script" not in text


def test_the_same_plan_gives_the_same_bytes_and_replaces_the_former(oil, done):
    before = {p.name: p.read_bytes() for p in (oil / "plan").rglob("*") if p.is_file()}
    again = call("plan", oil, "--cuts", "gasoline,diesel", "--compound", "chlorobenzene=0.2 %", "--compound", "indene")
    assert again.exit_code == 0
    assert {p.name: p.read_bytes() for p in (oil / "plan").rglob("*") if p.is_file()} == before


def test_json_and_decimal_comma(oil, tmp_path):
    shown = call("plan", oil, "--cuts", "gasoline", "--charge", "0.25 kg", "--out", tmp_path / "p", "--json")
    assert shown.exit_code == 0
    assert json.loads(shown.output)["plan"]["charge"]["value"] == 250.0
    comma = call("plan", oil, "--cuts", "gasoline", "--charge", "250 g", "--out", tmp_path / "p", "--decimal", "comma")
    assert "stage 1: 101,325 kPa" in comma.output
    assert (tmp_path / "p" / "plan.csv").read_text(encoding="utf-8").startswith("cut;limits;kept;")


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            ["--cuts", "petrol"],
            "cuts of 'boiling-36-200-350': found 'petrol'; expected one of gas, gasoline, diesel, wax",
        ),
        (["--cuts", " , "], "found none; expected one at least of gas, gasoline, diesel, wax"),
        (["--cuts", "gasoline", "--scheme", "carbon-4-12-20"], "by carbon number; expected one by boiling range"),
        (["--cuts", "gasoline", "--scheme", "nothing"], "cut scheme: found 'nothing'"),
        (["--cuts", "gasoline", "--product", "char"], "found 'char'; expected one with a boiling curve: oil, wax"),
        (["--cuts", "gasoline", "--plates", "500"], "plates: found 500; expected 0 to 60"),
        (["--cuts", "gasoline", "--reflux", "nan"], "reflux: found nan; expected 0 to 200"),
        (["--cuts", "gasoline", "--pressure", "20"], '--pressure: found "20", no unit; expected a pressure'),
        (["--cuts", "gasoline", "--pressure", "0 kPa"], "pressure: found 0 kPa; expected 0.1 to 120 kPa, absolute"),
        (["--cuts", "gasoline", "--pot-limit", "900 °C"], "pot limit: found 900 °C; expected 60 to 400 °C"),
        (["--cuts", "gasoline", "--hold-up", "60 %"], "hold-up: found 60 %; expected 0 to 30 % of the charge"),
        (["--cuts", "gasoline", "--charge", "0 g"], "charge: found 0 g; expected more than 0"),
        (["--cuts", "gasoline", "--compound", "chlorobenzen"], "Did you mean 'chlorobenzene'?"),
        (["--cuts", "gasoline", "--compound", "=2 %"], "compound: found '=2 %'"),
        (["--cuts", "gasoline", "--compound", "styrene=0 %"], "compound styrene: found 0 %"),
        (["--cuts", "gasoline", "--compound", "styrene", "--compound", "styrol"], "found 'styrene' twice"),
        (["--cuts", "gasoline", "--compound", "styrene=60 %", "--compound", "benzene=60 %"], "found 120 % together"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(oil, tmp_path, options, message):
    shown = call("plan", oil, *options, "--out", tmp_path / "plan")
    assert shown.exit_code == 1, shown.output
    assert message in shown.output
    assert len(shown.output.splitlines()) == 1
    assert not (tmp_path / "plan").exists()


def test_the_command_explains_itself():
    shown = call("plan", "--help")
    assert shown.exit_code == 0
    assert shown.output.startswith("Usage: main plan [OPTIONS] FOLDER")
    assert "not a permit" in " ".join(shown.output.split())


def test_a_command_typed_wrong_has_status_two(oil):
    assert call("plan", oil).exit_code == 2
    assert call("plan", oil, "--cuts", "gasoline", "--plates", "many").exit_code == 2


def test_a_place_that_holds_something_else_is_refused_and_left_alone(oil, tmp_path):
    out = tmp_path / "results"
    out.mkdir()
    (out / "results.json").write_text("{}", encoding="utf-8")
    shown = call("plan", oil, "--cuts", "gasoline", "--out", out)
    assert shown.exit_code == 1
    assert "plan folder: found 'results.json' in it" in shown.output
    assert (out / "results.json").read_text(encoding="utf-8") == "{}"
    assert call("plan", oil, "--cuts", "gasoline", "--out", oil).exit_code == 1
    assert (oil / "run.toml").is_file()


def test_a_run_without_a_boiling_curve_is_refused(tmp_path):
    folder = tmp_path / "first"
    call("new", folder)
    shown = call("plan", folder, "--cuts", "gasoline")
    assert shown.exit_code == 1
    assert "samples: found no boiling curve; expected a sample with a ladder" in shown.output
