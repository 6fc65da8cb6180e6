"""Crashes once found stay fixed, and the seeds that fuzzing begins from are good files."""

import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE)]

import seeds as seeds_module  # noqa: E402
from targets import TARGETS  # noqa: E402

CRASHES = sorted(path for path in (HERE / "crashes").glob("*/*") if path.is_file())
SEEDS = seeds_module.seeds()
FILES = set(TARGETS) - {"run-sheet", "settings", "quantities"}  # a sheet alone is refused, its traces are not there


def test_every_target_has_seeds():
    assert set(SEEDS) == set(TARGETS)


@pytest.mark.parametrize("name", list(TARGETS))
def test_seeds_are_taken(name):
    refused = [content for content in SEEDS[name] if not TARGETS[name](content)]
    if name in FILES:
        assert refused in ([], [seeds_module.SEVERAL.encode()])


@pytest.mark.parametrize("path", CRASHES, ids=lambda path: f"{path.parent.name}-{path.name[:18]}")
def test_what_once_crashed_is_refused_in_a_line(path):
    assert not TARGETS[path.parent.name](path.read_bytes())


def test_a_target_notices_what_is_no_refusal(monkeypatch):
    from cutbook.importers import text_columns

    def crashes(file, entry):
        raise KeyError("x")

    monkeypatch.setattr(text_columns, "read", crashes)
    with pytest.raises(KeyError):
        TARGETS["by-content"](b"time (min)\tsignal\n1\t2\n")
