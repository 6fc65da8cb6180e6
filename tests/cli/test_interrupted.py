"""Killed, refused or raced at any moment, a results folder holds the old results or the new ones, whole.

The suite kills the command at 12 moments; CUTBOOK_LONG=1 in the environment makes that 200.
"""

import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import replace

import pytest
from click.testing import CliRunner
from reporting_builders import a_run
from small_runs import command, small_run

from cutbook.cli.main import main
from cutbook.reporting import in_place
from cutbook.reporting import publish as publishing
from cutbook.reporting.in_place import ASIDE, aside, put_right
from cutbook.reporting.publish import publish

MOMENTS = 200 if os.environ.get("CUTBOOK_LONG") else 12
POSIX = pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")


def start(*words):
    return subprocess.Popen(command(*words), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def call(*words):
    return CliRunner().invoke(main, ["workup", *(str(word) for word in words)])


def run_of(out):
    """Which run a results folder is of, after making sure that it is whole."""
    found = json.loads((out / "results.json").read_text(encoding="utf-8"))
    there = {
        path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in out.rglob("*")
        if path.is_file() and path.name != "results.json"
    }
    assert there == found["made_from"]["files"]
    assert {"workbook.xlsx", "report.html", "peaks.csv"} <= set(there)
    return found["run"]["id"]


@pytest.fixture(scope="module")
def small():
    return a_run(points=1500)


@pytest.fixture(scope="module")
def made(small):
    """What takes time, made once: a figure and results.json."""
    return publishing.figures(small, publishing.AS_WRITTEN)[:1], publishing.results(small)


@pytest.fixture
def quick(small, made, monkeypatch):
    """Publish a run of any name at once."""
    drawn, whole = made
    monkeypatch.setattr(publishing, "figures", lambda *_: drawn)
    for name in ("page", "peaks_csv"):
        monkeypatch.setattr(publishing, name, lambda findings, *_: f"of {findings.run.id}")
    monkeypatch.setattr(publishing, "workbook", lambda findings, *_: f"of {findings.run.id}".encode())

    def published(name, out):
        named = replace(small, run=replace(small.run, id=name))
        monkeypatch.setattr(publishing, "results", lambda _: {**whole, "run": {"id": name}})
        return publish(named, out)

    return published


def in_a_child(what, before=lambda: None):
    """Do something in a child process; its number."""
    child = os.fork()
    if child == 0:
        try:
            before()
            what()
        except BaseException:
            os._exit(1)
        os._exit(0)
    return child


def killed_at(step):
    """Make this process die at the so-manieth thing that it asks of the file system."""
    left = step

    def strike(event, _words):
        nonlocal left
        if event in ("open", "os.rename", "os.mkdir", "os.remove", "os.rmdir", "os.listdir", "os.scandir", "os.chmod"):
            left -= 1
            if left < 0:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(strike)


@POSIX
@pytest.mark.parametrize("way", ["one stroke", "two renames"])
@pytest.mark.parametrize("former", [True, False])
def test_a_kill_at_every_step_leaves_one_or_the_other_whole(quick, tmp_path, monkeypatch, way, former):
    out = tmp_path / "run" / "results"
    if way == "two renames":
        monkeypatch.setattr(in_place, "_exchange", lambda *_: False)
    elif in_place._renameat2() is None:
        pytest.skip("this system does not exchange folders")
    out.parent.mkdir()
    quick("old", tmp_path / "old")
    seen, step = set(), 0
    while True:
        shutil.rmtree(out, ignore_errors=True)
        if former:
            shutil.copytree(tmp_path / "old", out)
        child = in_a_child(lambda: quick("new", out), lambda step=step: killed_at(step))
        if os.waitpid(child, 0)[1] == 0:
            break
        if way == "two renames":
            put_right(out)  # as the next work-up does before anything else
        if former or out.exists():
            seen.add(run_of(out))
        if step % 5 == 0:
            quick("next", out)
            assert run_of(out) == "next"
        put_right(out)
        assert {entry.name for entry in out.parent.iterdir()} <= {"results"}
        step += 1
    assert step > (30 if former else 10)
    assert seen == ({"old", "new"} if former else {"new"})


@POSIX
def test_a_command_killed_at_any_moment_leaves_one_or_the_other_whole(tmp_path):
    folder = small_run(tmp_path / "run", "first")
    began = time.monotonic()
    assert start(folder).wait() == 0
    lasts = time.monotonic() - began
    chance = random.Random(20)
    known = run_of(folder / "results")
    for moment in range(MOMENTS):
        small_run(tmp_path / "run", f"number-{moment}")
        started = start(folder)
        # every other one in the last part, in which files are written
        time.sleep(chance.uniform(0.7 if moment % 2 else 0, 1.1) * lasts)
        started.kill()
        started.wait()
        now = run_of(folder / "results")
        assert now in (known, f"number-{moment}")
        known = now
    assert start(folder).wait() == 0
    assert run_of(folder / "results") == f"number-{MOMENTS - 1}"
    assert sorted(entry.name for entry in folder.iterdir()) == ["results", "run.toml"]


def test_two_commands_at_once_do_not_mix(tmp_path):
    folder = small_run(tmp_path / "run", "both")
    for _ in range(2):
        both = [start(folder, "--fresh", "--decimal", decimal) for decimal in ("point", "comma")]
        assert [one.wait() for one in both] == [0, 0]
        assert run_of(folder / "results") == "both"
    assert sorted(entry.name for entry in folder.iterdir()) == ["results", "run.toml"]


@POSIX
@pytest.mark.parametrize("way", ["one stroke", "two renames"])
def test_many_that_end_at_once_do_not_mix(quick, tmp_path, monkeypatch, way):
    if way == "two renames":
        monkeypatch.setattr(in_place, "_exchange", lambda *_: False)
    out = tmp_path / "run" / "results"

    def often(name):
        for _ in range(8):
            quick(name, out)

    children = [in_a_child(lambda name=name: often(name)) for name in "abcd"]
    assert [os.waitpid(child, 0)[1] for child in children] == [0] * 4
    assert run_of(out) in "abcd"
    assert [entry.name for entry in out.parent.iterdir()] == ["results"]


def left_by(out, pid, age_s=0, what="writing"):
    """A name such as another process would have taken."""
    name = aside(out, what).name
    mark = ASIDE.fullmatch(name)
    return out.parent / name.replace(f"-{mark['pid']}-{mark['since']}-", f"-{pid}-{int(mark['since']) - age_s}-")


@pytest.fixture
def gone():
    """The number of a process that has ended."""
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    return ended.pid


@POSIX
def test_only_what_is_ours_and_left_is_swept(tmp_path, gone):
    out = tmp_path / "results"
    swept = [left_by(out, gone), left_by(out, os.getpid(), age_s=90_000), left_by(out, gone, what="former")]
    kept = [
        left_by(out, os.getpid()),
        left_by(tmp_path / "other", gone),
        tmp_path / ".results.writing-notes",
        tmp_path / ".results.former-2024",
    ]
    out.mkdir()
    for folder in (*swept, *kept):
        folder.mkdir()
        (folder / "peaks.csv").write_text("x")
    strange, linked = left_by(out, gone), left_by(out, gone)
    strange.mkdir()
    (strange / "thesis.docx").write_text("mine")
    linked.symlink_to(kept[0], target_is_directory=True)
    put_right(out)
    assert {entry.name for entry in tmp_path.iterdir()} == {path.name for path in (out, *kept, strange, linked)}
    assert all((folder / "peaks.csv").exists() for folder in kept)


@POSIX
def test_former_results_that_a_kill_left_aside_come_back(tmp_path, gone):
    folder = small_run(tmp_path / "run", "one")
    assert call(folder).exit_code == 0
    out = folder / "results"
    out.rename(left_by(out, gone, what="former"))
    again = call(folder)
    assert again.exit_code == 0
    assert "unchanged" in again.output
    assert run_of(out) == "one"
    assert sorted(entry.name for entry in folder.iterdir()) == ["results", "run.toml"]


def test_a_file_laid_into_the_former_results_at_the_last_moment_is_not_lost(quick, tmp_path, monkeypatch):
    out = tmp_path / "results"
    quick("old", out)
    put_in_place = publishing.put_in_place

    def late(new, place):
        if not (place / "notes.txt").exists() and not (new / "notes.txt").exists():
            (place / "notes.txt").write_text("mine")
        return put_in_place(new, place)

    monkeypatch.setattr(publishing, "put_in_place", late)
    with pytest.raises(publishing.InputError, match="notes"):
        quick("new", out)
    assert (out / "notes.txt").read_text() == "mine"
    assert json.loads((out / "results.json").read_text(encoding="utf-8"))["run"]["id"] == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["results"]


@pytest.fixture
def worked_up(tmp_path):
    folder = small_run(tmp_path / "run", "old")
    assert call(folder).exit_code == 0
    small_run(tmp_path / "run", "new")
    return folder


def assert_untouched(folder, done, reason):
    assert done.exit_code == 1
    assert done.stderr == (
        f"{folder / 'results'}, results folder: found {reason}; expected a folder that can be written\n"
    )
    assert run_of(folder / "results") == "old"
    assert sorted(entry.name for entry in folder.iterdir()) == ["results", "run.toml"]


@pytest.mark.parametrize(
    ("function", "number"),
    [("mkdir", "EROFS"), ("mkdir", "EACCES"), ("open", "ENOSPC"), ("fsync", "EIO"), ("rename", "EACCES")],
)
def test_a_place_that_refuses_is_one_line(worked_up, monkeypatch, function, number):
    import errno

    code = getattr(errno, number)

    def refuse(*_words, **_more):
        raise OSError(code, os.strerror(code))

    if function == "open":
        monkeypatch.setattr(publishing, "open", refuse, raising=False)
    else:
        monkeypatch.setattr(in_place, "_exchange", lambda *_: False)
        monkeypatch.setattr(os, function, refuse)
    done = call(worked_up)
    monkeypatch.undo()
    assert_untouched(worked_up, done, os.strerror(code))


def test_a_file_where_a_folder_is_needed_is_one_line(worked_up):
    done = call(worked_up, "--out", worked_up / "run.toml" / "results")
    assert done.exit_code == 1
    assert done.stderr.count("\n") == 1
    assert "results folder: found a file where a folder is needed;" in done.stderr


@POSIX
@pytest.mark.parametrize("limit", [0, 20_000])
def test_a_full_disk_is_one_line_and_leaves_the_old_results(worked_up, limit):
    import resource

    done = subprocess.run(
        command(worked_up), capture_output=True, text=True, encoding="utf-8", env={**os.environ, "PYTHONUTF8": "1"},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)),
    )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr == (
        f"{worked_up / 'results'}, results folder: found File too large; expected a folder that can be written\n"
    )
    assert run_of(worked_up / "results") == "old"
    assert sorted(entry.name for entry in worked_up.iterdir()) == ["results", "run.toml"]
