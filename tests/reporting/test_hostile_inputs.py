"""Text from instrument files that wants to be a formula, a tag, a path or a terminal command, through to every output."""

import csv
import io
import json
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from reporting_builders import FORMULA, NAME, TAG

from cutbook.importers.run_sheet import read_run
from cutbook.reporting.publish import publish
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TEXTS = [
    FORMULA,
    TAG,
    NAME,
    '=HYPERLINK("http://localhost","x")',
    "@SUM(A1)",
    "+1",
    "</script ><u>",
    "{{ 7*7 }}",
    "\u202egnp.exe",
]


def alkane_time(n):
    return 2.0 + 22.0 * np.log(n / 4.0)


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    """A run whose oil is a list of peaks with such names on such a sheet of a workbook, read against such a ladder."""
    folder = tmp_path_factory.mktemp("hostile")
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "=A1+<u>"
    sheet.append(["RT (min)", "Area (=cmd|x)", "Name"])
    for n, name in zip(range(6, 6 + len(TEXTS)), TEXTS, strict=True):
        sheet.append([float(alkane_time(n)), 10.0 + n, None])
        # kept as text by the library, as an instrument would write it
        cell = sheet.cell(sheet.max_row, 3, re.sub(r"[\x00-\x1f]", " ", name))
        cell.data_type = "s"
    book.save(folder / "oil.xlsx")
    ladder = [
        "RT (min)\tArea\tName",
        *(f"{alkane_time(n):.4f}\t{40 if n in (10, 20) else 20}\t{TAG}" for n in range(5, 27)),
    ]
    (folder / "ladder.txt").write_text("\n".join(ladder), encoding="utf-8")
    carbons = ", ".join(map(str, range(5, 27)))
    (folder / "run.toml").write_text(
        f"""[run]
id = "x"
title = '''{TAG}'''
[[feed]]
material = "PE-HD"
mass = "100 g"
[[product]]
fraction = "oil"
mass = "80 g"
[[trace]]
file = "oil.xlsx"
role = "sample"
of = "oil"
ladder = "ladder.txt"
[[trace]]
file = "ladder.txt"
role = "ladder"
ladder_carbons = [{carbons}]
""",
        encoding="utf-8",
    )
    return publish(work_up(read_run(folder)), folder / "results")


def test_no_cell_of_the_workbook_becomes_a_formula_of_the_input(results):
    book = openpyxl.load_workbook(results["workbook.xlsx"])
    texts = [str(cell.value) for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert any("HYPERLINK" in text for text in texts)
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    assert not re.search(r"HYPERLINK|cmd|http|SUM\(A1\)", str(cell.value)), cell.coordinate
    with zipfile.ZipFile(results["workbook.xlsx"]) as archive:
        assert not [name for name in archive.namelist() if "externalLink" in name]


def test_no_cell_of_the_csv_runs_in_a_spreadsheet(results):
    rows = list(csv.reader(io.StringIO(results["peaks.csv"].read_text(encoding="utf-8"))))
    names = [row[rows[0].index("name")] for row in rows[1:]]
    assert len(names) == len(TEXTS)
    for row in rows[1:]:
        for cell in row:
            assert not cell.startswith(("=", "@", "+")), cell


def test_no_text_of_the_input_is_a_tag_or_a_template_of_the_page(results):
    page = results["report.html"].read_text(encoding="utf-8")
    assert page.count("<script") == 3
    assert TAG not in page
    assert "<u>" not in page
    assert "{{ 7*7 }}" in page
    assert "\u202e" not in page


def test_results_are_json_whatever_the_names(results):
    assert json.loads(results["results.json"].read_text(encoding="utf-8"))["run"]["title"]


WATCH = """
import os, sys
out = os.path.realpath(sys.argv[1])
import matplotlib.font_manager  # the library keeps a list of fonts of its own
def watch(event, args):
    if event.startswith("socket.") and event not in ("socket.__new__",):
        raise SystemExit(f"network: {event} {args}")
    if event == "open" and isinstance(args[0], str) and args[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
        where = os.path.realpath(args[0])
        if not where.startswith(out) and "__pycache__" not in where and where != "/dev/null":
            raise SystemExit(f"a write outside: {where}")
    if event in ("os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.link", "os.symlink", "os.chmod"):
        where = os.path.realpath(str(args[0]))
        if not where.startswith(out) and "__pycache__" not in where:
            raise SystemExit(f"{event} outside: {where}")
    if event in ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn"):
        raise SystemExit(f"a process: {event} {args}")
sys.addaudithook(watch)
from cutbook.cli.main import main
main(["workup", sys.argv[2], "--out", sys.argv[1] + "/results"])
"""


@pytest.mark.parametrize("name", ["crate-oil", "foam-oil"])
def test_a_work_up_writes_nothing_elsewhere_and_asks_nobody(tmp_path, name):
    out = tmp_path / "out"
    out.mkdir()
    done = subprocess.run(
        [sys.executable, "-B", "-c", WATCH, str(out), str(EXAMPLES / name)],
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    assert (out / "results" / "results.json").exists()
    assert not (EXAMPLES / name / "results").exists()
