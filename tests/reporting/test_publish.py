"""A results folder appears whole or not at all."""

import hashlib
import json

import pytest
from reporting_builders import a_run

from cutbook.model.errors import InputError, MissingExtraError
from cutbook.reporting import in_place
from cutbook.reporting import publish as publishing
from cutbook.reporting.numbers import OutputSettings
from cutbook.reporting.publish import publish


@pytest.fixture(scope="module")
def small():
    return a_run(points=1500)


@pytest.fixture(scope="module")
def produced(small):
    """What each producer gave once."""
    settings = OutputSettings()
    drawn = publishing.figures(small, settings)
    return {
        "figures": drawn,
        "page": publishing.page(small, settings, drawn),
        "results": publishing.results(small),
        "workbook": publishing.workbook(small, settings),
        "peaks_csv": publishing.peaks_csv(small, settings),
    }


@pytest.fixture(autouse=True)
def quick(request, monkeypatch):
    """Producers that give again what they gave once; their own tests stand elsewhere."""
    for name, what in request.getfixturevalue("produced").items():
        monkeypatch.setattr(publishing, name, lambda *_args, _what=what: _what)


def state(folder):
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_all_files_of_the_contract_are_written_and_told(small, tmp_path):
    out = tmp_path / "deep" / "results"
    written = publish(small, out)
    assert {"results.json", "workbook.xlsx", "report.html", "peaks.csv", "figures/yields.svg"} <= set(written)
    assert all(path.is_file() and path.stat().st_size > 100 for path in written.values())
    assert set(state(out)) == set(written)
    assert [entry.name for entry in out.parent.iterdir()] == ["results"]
    assert json.loads(written["results.json"].read_text(encoding="utf-8"))["run"]["id"] == "QY-07"


def test_a_second_time_replaces_the_first_and_gives_the_same_bytes(small, tmp_path):
    out = tmp_path / "results"
    publish(small, out)
    before = state(out)
    (out / "figures" / "old-sample.svg").write_text("<svg/>")
    publish(small, out)
    assert state(out) == before
    assert [entry.name for entry in tmp_path.iterdir()] == ["results"]


@pytest.mark.parametrize("at", ["figures", "page", "results", "workbook", "peaks_csv", "sync_folder"])
@pytest.mark.parametrize("former", [False, True])
def test_whatever_fails_leaves_things_as_they_were(small, tmp_path, monkeypatch, at, former):
    out = tmp_path / "results"
    if former:
        publish(small, out)
    before = state(tmp_path)

    def broken(*_args, **_more):
        raise RuntimeError("in the middle")

    monkeypatch.setattr(publishing, at, broken)
    with pytest.raises(RuntimeError, match="in the middle"):
        publish(small, out)
    assert state(tmp_path) == before
    assert [entry.name for entry in tmp_path.iterdir()] == (["results"] if former else [])


def test_a_rename_that_fails_puts_the_former_folder_back(small, tmp_path, monkeypatch):
    out = tmp_path / "results"
    publish(small, out)
    before = state(tmp_path)
    rename = publishing.os.rename
    monkeypatch.setattr(in_place, "_exchange", lambda *_: False)

    def refuse_new(source, target):
        if "writing" in str(source):
            raise OSError(28, "No space left on device")
        rename(source, target)

    monkeypatch.setattr(publishing.os, "rename", refuse_new)
    with pytest.raises(InputError, match="No space left on device"):
        publish(small, out)
    assert state(tmp_path) == before


@pytest.mark.parametrize("name", ["notes.txt", "workbook.xlsx", "figures/photo.png"])
def test_a_folder_with_anything_foreign_is_refused_and_untouched(small, tmp_path, name):
    out = tmp_path / "results"
    (out / name).parent.mkdir(parents=True)
    (out / name).write_text("mine")
    before = state(tmp_path)
    with pytest.raises(InputError, match="results folder"):
        publish(small, out)
    assert state(tmp_path) == before


def test_former_results_with_a_foreign_file_beside_them_are_refused(small, tmp_path):
    out = tmp_path / "results"
    publish(small, out)
    (out / ".~lock.workbook.xlsx#").write_text("somebody has it open")
    with pytest.raises(InputError, match="lock"):
        publish(small, out)


def test_a_results_json_of_something_else_is_refused(small, tmp_path):
    out = tmp_path / "results"
    out.mkdir()
    (out / "results.json").write_text('{"schema": "their own"}')
    with pytest.raises(InputError, match="results.json of this program"):
        publish(small, out)


def test_a_link_is_refused(small, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    out = tmp_path / "results"
    out.symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    with pytest.raises(InputError, match="a link"):
        publish(small, out)
    assert not list((tmp_path / "elsewhere").iterdir())


def test_a_file_is_refused(small, tmp_path):
    out = tmp_path / "results"
    out.write_text("mine")
    with pytest.raises(InputError, match="a file"):
        publish(small, out)
    assert out.read_text() == "mine"


def test_the_run_folder_itself_and_those_above_are_refused(small, tmp_path):
    from dataclasses import replace

    run_folder = tmp_path / "above" / "run"
    run_folder.mkdir(parents=True)
    (run_folder / "run.toml").write_text("input")
    here = replace(small, run=replace(small.run, folder=run_folder))
    for out in (run_folder, run_folder.parent):
        with pytest.raises(InputError, match="results folder"):
            publish(here, out)
    publish(here, run_folder / "results")
    assert (run_folder / "run.toml").read_text() == "input"


def test_a_pdf_without_its_extra_is_one_line_that_says_what_to_do(small, tmp_path, monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(MissingExtraError, match="print report.html from the browser, or pip install") as told:
        publish(small, tmp_path / "results", OutputSettings(pdf=True))
    assert "\n" not in str(told.value)
    assert not list(tmp_path.iterdir())
