"""New run folders, and the sheet in them."""

from pathlib import Path

import pytest

from cutbook.importers.new_run import new_run
from cutbook.importers.run_sheet import read_run
from cutbook.model.errors import RunSheetError


def test_a_new_run_is_a_sheet_that_is_accepted_and_never_overwritten(tmp_path):
    sheet = new_run(tmp_path / "first")
    assert read_run(tmp_path / "first").id == "RUN-01"
    before = sheet.read_bytes()
    with pytest.raises(RunSheetError, match="It is not overwritten; choose another folder."):
        new_run(tmp_path / "first")
    assert sheet.read_bytes() == before
    assert sorted(p.name for p in (tmp_path / "first").iterdir()) == ["run.toml", "traces"]


def test_every_commented_line_of_the_template_is_accepted_when_uncommented(tmp_path):
    folder = tmp_path / "whole"
    text = new_run(folder).read_text(encoding="utf-8")
    begun = text.index("[run]")
    kept = [line[2:] if line.startswith("# ") else line for line in text[begun:].splitlines()]
    body = "\n".join(line for line in kept if not line.startswith("#"))
    body = body.replace("by_difference = true", "").replace('volume = "212 L"', "")  # the meter gives it
    (folder / "run.toml").write_text(body, encoding="utf-8")
    traces = ("oil.cdf", "ladder.cdf", "blank.cdf", "gas-tcd.txt", "standard-tcd.txt")
    for name in (*(f"traces/{name}" for name in traces), "gas.csv", "still.csv", "meter.csv"):
        (folder / name).write_bytes(b"x")
    run = read_run(folder)
    assert len(run.traces) == 4
    assert set(run.further) == {"scrubber", "chlorine", "reactor", "gas_analysis", "gas_meter", "storage"}


def test_a_folder_that_cannot_be_made_is_one_line(tmp_path):
    Path(tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(RunSheetError, match="expected a folder that can be written"):
        new_run(tmp_path / "file" / "run")
