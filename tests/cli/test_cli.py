"""The command line: exact text, exit status, nothing half-written."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from cutbook import __version__
from cutbook.cli.main import main

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def film(tmp_path):
    shutil.copytree(EXAMPLES / "mixed-film", tmp_path / "mixed-film", ignore=shutil.ignore_patterns("results"))
    return tmp_path / "mixed-film"


def test_help_and_version_pull_in_nothing_heavy():
    code = (
        "import sys; sys.argv = ['cutbook', '--help']\n"
        "from cutbook.cli.main import main\n"
        "try: main()\n"
        "except SystemExit as left: assert left.code == 0\n"
        "print([m for m in ('numpy', 'pandas', 'scipy', 'matplotlib', 'rich', 'uncertainties') if m in sys.modules])"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, encoding="utf-8")
    assert shown.stdout.strip().endswith("[]")
    assert call("--version").output == f"cutbook, version {__version__}\n"


@pytest.mark.parametrize("command", ["new", "check", "workup", "explain", "reference", "demo"])
def test_every_command_explains_itself(command):
    shown = call(command, "--help")
    assert shown.exit_code == 0
    assert shown.output.startswith(f"Usage: main {command}")


def test_new_check_and_workup_lead_from_nothing_to_results(tmp_path):
    folder = tmp_path / "first"
    made = call("new", folder)
    assert (made.exit_code, made.output) == (
        0,
        f"{folder / 'run.toml'}: fill it in, put the instrument files beside it, then: cutbook check {folder}\n",
    )
    checked = call("check", folder)
    assert checked.exit_code == 0
    assert f"{folder}: run RUN-01, 1 files read, nothing wrong" in checked.output
    assert (
        "    oil: with a trace of it, its part in the carbon-number and boiling cuts of the whole run.\n"
        in checked.output
    )
    assert sorted(p.name for p in folder.iterdir()) == ["run.toml", "traces"]
    assert call("workup", folder).exit_code == 0
    assert (folder / "results" / "results.json").is_file()


def test_workup_writes_every_result_and_says_where(film):
    done = call("workup", film)
    assert done.exit_code == 0
    results = film / "results"
    assert {p.name for p in results.iterdir()} == {
        "results.json",
        "workbook.xlsx",
        "report.html",
        "peaks.csv",
        "figures",
    }
    found = json.loads((results / "results.json").read_text(encoding="utf-8"))
    assert found["run"]["id"] == "LB-06"
    assert {one["path"] for one in found["inputs"]} == {"run.toml", "traces/Öl.csv", "traces/Leiter.csv"}
    lines = done.output.splitlines()
    assert lines[0] == "LB-06, household film, first try"
    assert "  closure not determined (not tested)" in lines
    assert lines[-3:] == [f"  {results / name}" for name in ("report.html", "workbook.xlsx", "results.json")]
    assert any(line.startswith("  danger: The feed holds chlorine (PVC)") for line in lines)


def test_json_output_is_json_alone(film):
    done = call("workup", film, "--json")
    (record,) = json.loads(done.output)
    assert record["run"] == "LB-06"
    assert record["closure"] is None
    gasoline = next(c for c in record["cuts"] if (c["scheme"], c["cut"]) == ("carbon-number", "gasoline"))
    assert set(gasoline["yield"]) == {"value", "u", "unit"}


def test_a_run_worked_up_twice_gives_the_same_results(film, tmp_path):
    call("workup", film, "--out", tmp_path / "one")
    call("workup", film, "--out", tmp_path / "two")
    for name in ("results.json", "peaks.csv", "figures/yields.svg", "report.html"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_several_runs_side_by_side_and_one_that_is_wrong(film, tmp_path):
    bad = tmp_path / "bad"
    shutil.copytree(film, bad)
    (bad / "traces" / "Öl.csv").write_text("nothing", encoding="utf-8")
    command = [
        sys.executable,
        "-m",
        "cutbook.cli",
        "workup",
        str(film),
        str(bad),
        "--jobs",
        "2",
        "--out",
        str(tmp_path / "all"),
    ]
    done = subprocess.run(
        command, capture_output=True, text=True, encoding="utf-8", env={**os.environ, "PYTHONUTF8": "1"}
    )
    assert done.returncode == 1
    assert (tmp_path / "all" / "mixed-film" / "results.json").is_file()
    assert not (tmp_path / "all" / "bad").exists()
    assert done.stderr == (
        f"{bad}: traces/Öl.csv: found no table of numbers; expected columns of time and signal. Export the trace as "
        "text columns\n"
        f"1 of 2 runs was not worked up: {bad}\n"
    )


@pytest.mark.parametrize("command", ["check", "workup", "explain"])
def test_a_wrong_input_is_one_line_each_and_status_1(film, command):
    sheet = film / "run.toml"
    sheet.write_text(
        sheet.read_text(encoding="utf-8").replace('"88 g"', '"88 mL"').replace("[run]", "[run]\nx = 1"),
        encoding="utf-8",
    )
    done = call(command, film)
    assert done.exit_code == 1
    assert done.stderr.splitlines() == [
        "run.toml, [run]: found unknown key 'x'; expected one of id, date, operator, title, notes",
        'run.toml, [[product]] 2, mass: found "88 mL", a volume; expected a mass with its unit, such as "812.4 g". Give '
        "the volume as volume, with a density (or, for a gas, temperature and pressure).",
    ]
    assert not (film / "results").exists()


def test_under_json_an_error_is_json_too(film):
    (film / "run.toml").write_text("[run]\n", encoding="utf-8")
    done = call("explain", film, "--json")
    assert done.exit_code == 1
    record = json.loads(done.output)
    assert record["error"] == {
        "code": "input", "file": "run.toml", "line": "[run], id", "message": "found nothing; expected a text", "hint": None,
    }  # fmt: skip
    assert len(record["faults"]) == 2


def test_former_results_stay_when_a_later_workup_fails(film):
    call("workup", film)
    before = (film / "results" / "results.json").read_bytes()
    sheet = film / "run.toml"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace('"41 g"', '"4100 g"'), encoding="utf-8")
    done = call("workup", film)
    assert done.exit_code == 1
    assert done.stderr.count("\n") == 1
    assert (film / "results" / "results.json").read_bytes() == before


def test_a_decimal_comma_is_written_on_request(film):
    call("workup", film, "--decimal", "comma")
    assert ";" in (film / "results" / "peaks.csv").read_text(encoding="utf-8-sig").splitlines()[0]


def test_settings_of_another_file_are_used_and_listed(film, tmp_path):
    other = tmp_path / "mine.toml"
    other.write_text('[bins]\nconvention = "midpoint"\n', encoding="utf-8")
    call("workup", film, "--settings", other)
    found = json.loads((film / "results" / "results.json").read_text(encoding="utf-8"))
    assert found["settings"]["bins"]["convention"] == "midpoint"
    assert "mine.toml" in {one["path"] for one in found["inputs"]}


def test_explain_prints_the_number_its_budget_and_its_files(film):
    shown = call("explain", film, "samples.oil.cuts.carbon-number.diesel.mass")
    assert shown.exit_code == 0
    lines = shown.output.splitlines()
    assert lines[0] == "samples.oil.cuts.carbon-number.diesel.mass"
    assert "share of diesel of eluted part of oil" in lines[1]
    assert any("detector response C16–C20" in line for line in lines)
    assert any("file traces/Öl.csv, sha256 " in line for line in lines)


def test_explain_lists_names_and_offers_the_nearest(film):
    assert "balance.products.oil.yield  " in call("explain", film).output
    shown = call("explain", film, "cuts.carbon-number.gasolin.yield")
    assert shown.exit_code == 1
    assert shown.stderr == (
        "name of a result: found 'cuts.carbon-number.gasolin.yield'; expected a name from the list that `cutbook explain "
        "FOLDER` prints. Did you mean 'cuts.carbon-number.gasoline.yield'?\n"
    )


def test_reference_prints_tables_with_their_source():
    assert "n_alkanes" in call("reference").output
    shown = call("reference", "polymers").output
    assert "ISO 1043-1" in shown
    assert "poly(vinyl chloride)" in shown
    assert json.loads(call("reference", "polymers", "--json").output)["name"] == "polymers"
    wrong = call("reference", "polymer")
    assert wrong.exit_code == 1
    assert wrong.stderr.endswith("Did you mean 'polymers'?\n")


def test_demo_writes_the_examples_and_keeps_what_is_there(tmp_path):
    first = call("demo", tmp_path / "demo")
    assert first.exit_code == 0
    names = sorted(p.name for p in (tmp_path / "demo").iterdir())
    assert names == ["bottle-caps", "clean-crates", "crate-oil", "film-and-pvc", "foam-oil", "mixed-film"]
    for name in names:
        assert str(tmp_path / "demo" / name / "results" / "workbook.xlsx") in first.output
    sheet = tmp_path / "demo" / "foam-oil" / "run.toml"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("LB-05", "MINE"), encoding="utf-8")
    again = call("demo", tmp_path / "demo")
    assert again.exit_code == 0
    assert "MINE" in sheet.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "words", [("workup",), ("chekc", "x"), ("workup", "x", "--jobs", "0"), ("workup", "x", "--decimal", "dot")]
)
def test_a_command_typed_wrong_is_status_2(words):
    assert call(*words).exit_code == 2


def test_a_fault_of_the_program_is_status_3_and_one_line(film, monkeypatch):
    import cutbook.workup.readiness as readiness

    def broken(run):
        raise KeyError("surprise")

    monkeypatch.setattr("cutbook.reporting.readiness_words.readiness", broken)
    assert readiness
    done = call("check", film)
    assert done.exit_code == 3
    assert done.stderr == (
        "cutbook: a fault of the program: KeyError: 'surprise'. Please report it with the command and, if you can, the "
        "files; CUTBOOK_TRACEBACK=1 shows where it arose.\n"
    )


def test_two_folders_of_one_name_cannot_share_a_results_folder(film, tmp_path):
    shutil.copytree(film, tmp_path / "other" / "mixed-film")
    done = call("workup", film, tmp_path / "other" / "mixed-film", "--out", tmp_path / "all")
    assert done.exit_code == 2
