"""Results are known by what they were made from: what has not changed is not worked up again."""

import json
import os
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from cutbook.cli.job import UNCHANGED
from cutbook.cli.main import main
from cutbook.importers.run_sheet import read_run
from cutbook.reporting import made_from
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings
from cutbook.reporting.publish import publish
from cutbook.workup.method import Method
from cutbook.workup.read_method import read_method
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TRACE = "traces/Öl.csv"


def call(*words):
    return CliRunner().invoke(main, ["workup", *(str(word) for word in words)])


@pytest.fixture(scope="module")
def worked_up(tmp_path_factory):
    """A run folder with its results, and what was printed; not to be changed."""
    folder = tmp_path_factory.mktemp("unchanged") / "film"
    shutil.copytree(EXAMPLES / "mixed-film", folder, ignore=shutil.ignore_patterns("results"))
    first = call(folder)
    assert first.exit_code == 0
    return folder, first.output


@pytest.fixture
def film(worked_up, tmp_path):
    shutil.copytree(worked_up[0], tmp_path / "film")
    return tmp_path / "film"


@pytest.fixture
def weighed(tmp_path):
    """A run of weighings alone, quick to work up, with its results."""
    folder = tmp_path / "weighed"
    folder.mkdir()
    (folder / "run.toml").write_text(
        '[run]\nid = "W"\n[[feed]]\nmaterial = "HDPE"\nmass = "100.0 g"\n'
        '[[product]]\nfraction = "char"\nmass = "20.0 g"\n[[product]]\nfraction = "wax"\nmass = "70.0 g"\n',
        encoding="utf-8",
    )
    assert call(folder).exit_code == 0
    return folder


def known(folder, output=AS_WRITTEN, settings=None):
    return made_from.known(read_run(folder), read_method(folder, settings), output, folder / "results")


def every_stamp(folder):
    return {str(path): (path.stat().st_mtime_ns, path.stat().st_ino) for path in [folder, *folder.rglob("*")]}


def test_a_second_time_prints_the_same_and_touches_nothing(worked_up):
    folder, first = worked_up
    before = every_stamp(folder)
    again = call(folder)
    assert again.exit_code == 0
    assert again.output == f"{first}  {UNCHANGED}\n"
    assert every_stamp(folder) == before


def test_a_second_time_pulls_in_nothing_heavy(worked_up):
    code = (
        "import sys\n"
        "from cutbook.cli.main import main\n"
        "try: main()\n"
        "except SystemExit as left: assert not left.code\n"
        "print([m for m in ('scipy', 'pandas', 'matplotlib', 'rdkit', 'rich', 'multiprocessing') if m in sys.modules])"
    )
    shown = subprocess.run(
        [sys.executable, "-c", code, "workup", str(worked_up[0])],
        capture_output=True, text=True, check=True, encoding="utf-8", env={**os.environ, "PYTHONUTF8": "1"},
    )  # fmt: skip
    assert shown.stdout.splitlines()[-2:] == [f"  {UNCHANGED}", "[]"]


def test_under_json_the_record_is_the_same_and_says_so(film):
    again = json.loads(call(film, "--json").output)[0]
    fresh = json.loads(call(film, "--json", "--fresh").output)[0]
    assert (again.pop("unchanged"), fresh.pop("unchanged")) == (True, False)
    assert again == fresh


def test_a_folder_that_was_moved_is_known_in_its_new_place(film):
    assert str(film / "results" / "report.html") in call(film).output
    assert UNCHANGED in call(film).output


def add(name, text):
    def change(film):
        with (film / name).open("a", encoding="utf-8") as stream:
            stream.write(text)

    return change


@pytest.mark.parametrize(
    "change",
    [
        add("run.toml", "# a remark\n"),
        add(TRACE, "\n"),
        add("traces/Leiter.csv", "\n"),
        add("method.toml", '[bins]\nconvention = "midpoint"\n'),
        add("method.toml", "# all as it is\n"),
        add("results/workbook.xlsx", "x"),
        add("results/report.html", "<!-- mine -->"),
        add("results/results.json", "\n"),
        add("results/figures/more.svg", "<svg/>"),
        lambda film: (film / "results" / "peaks.csv").unlink(),
        lambda film: next((film / "results" / "figures").iterdir()).unlink(),
        lambda film: (film / "results" / "results.json").write_text("[" * 100_000, encoding="utf-8"),
        lambda film: (film / "results" / "results.json").write_text('{"made_from": 1}', encoding="utf-8"),
        lambda film: shutil.rmtree(film / "results"),
    ],
)  # fmt: skip
def test_whatever_changes_is_noticed(film, change):
    assert known(film) is not None
    change(film)
    assert known(film) is None


def test_a_number_altered_by_hand_is_noticed(film):
    path = film / "results" / "results.json"
    text = path.read_text(encoding="utf-8")
    changed = json.loads(text)
    changed["balance"]["feed"]["value"] += 1
    path.write_text(json.dumps(changed, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    assert known(film) is None
    path.write_text(text, encoding="utf-8")
    assert known(film) is not None


def test_another_output_another_settings_file_and_another_program_are_noticed(film, tmp_path, monkeypatch):
    assert known(film, OutputSettings("comma")) is None
    assert known(film, OutputSettings(pdf=True)) is None
    (tmp_path / "other.toml").write_text("", encoding="utf-8")
    assert known(film, settings=tmp_path / "other.toml") is None
    monkeypatch.setattr(made_from, "program", lambda: "another")
    assert known(film) is None


def test_the_digest_of_the_program_covers_source_and_data(monkeypatch, tmp_path):
    program = made_from.program.__wrapped__
    for package in made_from.PACKAGES:
        copy = tmp_path / package
        shutil.copytree(str(made_from.package_files(package)), copy, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(made_from, "package_files", lambda package: tmp_path / package)
    before = program()
    assert program() == before
    for package, name in [("cutbook", "cli/main.py"), ("cutbook.reference", "README.md"), ("cutbook.reports", "x.css")]:
        with (tmp_path / package / name).open("a") as stream:
            stream.write("\n")
        assert program() != before
        before = program()


def test_an_edited_workbook_is_made_anew_and_fresh_forces(weighed):
    workbook = weighed / "results" / "workbook.xlsx"
    whole = workbook.stat().st_size
    workbook.write_bytes(b"")
    assert UNCHANGED not in call(weighed).output
    assert workbook.stat().st_size == pytest.approx(whole, rel=0.01)
    before = workbook.stat().st_ino
    assert UNCHANGED not in call(weighed, "--fresh").output
    assert workbook.stat().st_ino != before
    assert UNCHANGED in call(weighed).output


def test_a_file_that_is_gone_is_told_though_the_results_are_there(film):
    (film / TRACE).unlink()
    done = call(film)
    assert done.exit_code == 1
    assert "no such file" in done.stderr


def test_an_input_that_changes_after_it_was_read_is_noticed_the_next_time(film, monkeypatch):
    from cutbook.reporting import publish as publishing

    def late(*words, **more):
        add(TRACE, "\n")(film)
        return publish(*words, **more)

    monkeypatch.setattr(publishing, "publish", late)
    add("run.toml", "# a remark\n")(film)
    assert UNCHANGED not in call(film).output
    monkeypatch.undo()
    assert known(film) is None


def test_an_input_that_changes_while_it_is_read_is_one_line(film, monkeypatch):
    fstat = os.fstat
    trace = (film / TRACE).stat()

    def writing_goes_on(handle):
        found = fstat(handle)
        if found.st_ino == trace.st_ino:
            add(TRACE, "\n")(film)
        return found

    add("run.toml", "# a remark\n")(film)
    before = (film / "results" / "results.json").read_bytes()
    monkeypatch.setattr(os, "fstat", writing_goes_on)
    done = call(film)
    assert done.exit_code == 1
    assert (
        done.stderr
        == f"{TRACE}: found a file that changed while it was read; expected a finished file. Wait for the export to end\n"
    )
    assert (film / "results" / "results.json").read_bytes() == before


def test_settings_and_weighings_that_came_from_no_file_are_not_taken_for_those_of_the_files(weighed):
    run = read_run(weighed)
    method = Method()
    publish(work_up(run, replace(method, bins=replace(method.bins, convention="midpoint"))), weighed / "results")
    assert known(weighed) is None
    publish(work_up(replace(run, products=run.products[:-1]), method), weighed / "results")
    assert known(weighed) is None
    publish(work_up(run, method), weighed / "results")
    assert known(weighed) is not None


@pytest.mark.parametrize("name", ["crate-oil", "foam-oil"])
def test_every_file_that_is_read_is_named_so_that_every_example_is_known_again(tmp_path, name):
    shutil.copytree(EXAMPLES / name, tmp_path / name, ignore=shutil.ignore_patterns("results"))
    assert UNCHANGED not in call(tmp_path / name).output
    assert UNCHANGED in call(tmp_path / name).output
