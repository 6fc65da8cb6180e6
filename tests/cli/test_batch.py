"""Many runs: one that goes wrong, or kills its process, costs only itself; the same comes out however it is done."""

import json
import os
import shutil
import subprocess
import sys
import time
from concurrent.futures import Future
from pathlib import Path

import pytest
from click.testing import CliRunner
from small_runs import call_apart, command, small_run

from cutbook.cli import batch
from cutbook.cli.job import Done, Job
from cutbook.cli.main import main
from cutbook.cli.workup import tell
from cutbook.model.errors import InputError

DEADLY = """\
import os, sys

def strike(event, words):
    if event == "open" and str(words[0]).endswith(os.path.join("{name}", "run.toml")):
        marks = [mark for mark in {marks!r} if not os.path.exists(mark)]
        if marks:
            os.close(os.open(marks[0], os.O_CREAT | os.O_WRONLY))
            os.kill(os.getpid(), 9)

sys.addaudithook(strike)
"""
POSIX = pytest.mark.skipif(os.name != "posix", reason="signals and terminals of POSIX")


@pytest.fixture
def runs(tmp_path):
    """Five small runs, the second wrong."""
    masses = ("20.1 g", "120 mL", "30.3 g", "40.4 g", "50.5 g")
    return [small_run(tmp_path / f"run-{number}", mass=mass) for number, mass in enumerate(masses, 1)]


def results(folders):
    return {
        folder.name: (folder / "results" / "results.json").read_bytes()
        for folder in folders
        if (folder / "results").exists()
    }


def deadly(tmp_path, name, times):
    """A folder for PYTHONPATH that makes every process that opens the run sheet of `name` die, so many times."""
    hooks = tmp_path / "hooks"
    hooks.mkdir()
    marks = [str(tmp_path / f"mark-{number}") for number in range(times)]
    (hooks / "sitecustomize.py").write_text(DEADLY.format(name=name, marks=marks), encoding="utf-8")
    return os.pathsep.join(filter(None, (str(hooks), os.environ.get("PYTHONPATH"))))


def test_side_by_side_gives_what_one_by_one_gives_and_names_the_bad_again(runs):
    one = CliRunner().invoke(main, ["workup", *map(str, runs)])
    expected = results(runs)
    for folder in runs:
        shutil.rmtree(folder / "results", ignore_errors=True)
    two = call_apart(*runs, "--jobs", "2")
    assert (one.exit_code, one.stdout, one.stderr) == (two.returncode, two.stdout, two.stderr)
    assert results(runs) == expected
    assert sorted(expected) == ["run-1", "run-3", "run-4", "run-5"]
    assert one.exit_code == 1
    first, last = one.stderr.splitlines()
    assert first.startswith(f"{runs[1]}: run.toml, ")
    assert last == f"1 of 5 runs was not worked up: {runs[1]}"


@POSIX
def test_a_run_that_kills_its_process_is_one_line_and_the_rest_are_done(runs, tmp_path):
    done = call_apart(*runs[:4], "--jobs", "2", PYTHONPATH=deadly(tmp_path, "run-3", 9))
    assert done.returncode == 1
    assert sorted(results(runs)) == ["run-1", "run-4"]
    assert done.stderr.splitlines()[1:] == [
        f"{runs[2]}: found that the process working it up dies, time and again; expected a run that a process can "
        "finish. Is there memory enough? See how large its traces are, and work it up alone.",
        f"2 of 4 runs were not worked up: {runs[1]}, {runs[2]}",
    ]


@POSIX
def test_a_process_killed_once_costs_nothing(runs, tmp_path):
    done = call_apart(*runs[3:], "--jobs", "2", PYTHONPATH=deadly(tmp_path, "run-4", 1))
    assert (tmp_path / "mark-0").exists()
    assert sorted(results(runs)) == ["run-4", "run-5"]
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
def test_no_process_outlives_a_command_that_was_killed(runs):
    started = subprocess.Popen(
        command(*runs, "--jobs", "2"), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )  # fmt: skip
    listing = Path(f"/proc/{started.pid}/task/{started.pid}/children")
    children = []
    while started.poll() is None and len(children) < 2:
        children = listing.read_text().split()
        time.sleep(0.01)
    assert len(children) > 1, "ended before its workers were seen"
    started.kill()
    started.wait()
    for _ in range(6000):
        if not any(Path(f"/proc/{child}/cmdline").exists() and Path(f"/proc/{child}/cmdline").read_bytes()
                   for child in children):  # fmt: skip
            return
        time.sleep(0.01)
    pytest.fail("a worker is still there")


def test_a_fault_of_the_program_costs_one_run(runs, monkeypatch):
    work_up_folder = batch.work_up_folder

    def broken(job, told=None):
        if job.folder.name == "run-3":
            raise KeyError("surprise")
        return work_up_folder(job, told)

    monkeypatch.setattr(batch, "work_up_folder", broken)
    done = CliRunner().invoke(main, ["workup", *map(str, runs)])
    assert done.exit_code == 3
    assert sorted(results(runs)) == ["run-1", "run-4", "run-5"]
    assert f"{runs[2]}: a fault of the program: KeyError: 'surprise'. Please report it" in done.stderr
    shown = json.loads(CliRunner().invoke(main, ["workup", "--json", *map(str, runs)]).output)
    assert [one.get("error", {}).get("code") for one in shown] == [None, "input", "program", None, None]


def test_only_a_few_jobs_are_given_out_at_once_and_all_are_done():
    waiting, most = [], 0

    def submit(job):
        nonlocal most
        future = Future()
        waiting.append((future, job))
        most = max(most, sum(not one.done() for one, _ in waiting))
        if len(waiting) % 3 == 0:
            for one, its in waiting:
                if not one.done():
                    one.set_result(Done(lines=(str(its.folder),)))
        return future

    left = {number: Job(Path(str(number)), Path("out")) for number in range(300)}
    ended = dict(batch.given_out(left, submit, 3))
    assert most == 3
    assert {number: done.lines for number, done in ended.items()} == {n: (str(n),) for n in range(300)}


def test_lines_come_in_the_order_of_the_folders_and_many_bad_ones_are_counted(capsys):
    todo = [Job(Path(f"r{number}"), Path("out")) for number in range(30)]
    wrong = InputError.single("f", "", "x", "y")
    came = [(n, Done(error=wrong) if n >= 5 else Done(lines=(f"line {n}",))) for n in reversed(range(30))]
    assert tell(todo, iter(came)) == 1
    shown = capsys.readouterr()
    assert shown.out.splitlines() == [f"line {n}" for n in range(5)]
    listed = ", ".join(f"r{n}" for n in range(5, 25))
    assert shown.err.splitlines()[-1] == f"25 of 30 runs were not worked up: {listed} and 5 more"


@POSIX
def test_a_terminal_shows_how_many_are_done(runs, tmp_path):
    import pty

    ours, theirs = pty.openpty()
    with (tmp_path / "printed").open("wb") as printed:
        process = subprocess.Popen(
            command(*runs), stdout=printed, stderr=theirs, env={**os.environ, "PYTHONUTF8": "1", "TERM": "xterm"}
        )
    os.close(theirs)
    seen = b""
    try:
        while piece := os.read(ours, 65536):
            seen += piece
    except OSError:  # the other end is closed
        pass
    os.close(ours)
    assert process.wait() == 1
    assert b"5 runs" in seen
    assert b"left" in seen
    assert (tmp_path / "printed").read_text(encoding="utf-8").startswith("run-1\n")


def test_the_same_results_folder_by_two_names_is_refused(runs):
    done = call_apart(runs[0], runs[0].parent / "run-2" / ".." / "run-1", "--jobs", "2")
    assert done.returncode == 2


def closed(run, value):
    return Done((f"{run}",), {"run": run, "closure": {"value": value, "u": 0.1, "unit": "%"}})


@pytest.mark.parametrize("as_json", [False, True])
def test_closures_that_are_exact_in_every_run_are_told_after_all_of_them(tmp_path, capsys, as_json):
    todo = [Job(tmp_path / name, tmp_path / name / "results") for name in "abcd"]
    exact = enumerate(closed(f"R-{value}", value) for value in (100.0, 100.04, 99.98, 100.01))
    assert tell(todo, exact, as_json) == 0
    out = capsys.readouterr().out
    if as_json:
        (told,) = json.loads(out)[0]["cautions_of_series"]
        assert told["code"] == "balance.series_by_difference" and "4 of 4 runs" in told["text"]
    else:
        assert out.splitlines()[-1].startswith("warning: 4 of 4 runs close to within 0.1 %")
    honest = enumerate(closed(f"R-{value}", value) for value in (97.0, 101.3, 98.2, 100.0))
    tell(todo, honest)
    assert "warning" not in capsys.readouterr().out
