"""A run whose oil and ladder came as lists of peaks: shares by hand, and everything that a list cannot tell said."""

import json
import shutil

import numpy as np
import pytest

from cutbook.importers.run_sheet import read_run
from cutbook.reporting.publish import publish
from cutbook.workup.work_up import work_up

AREAS = {6: 10.0, 7: 20.0, 8: 30.0, 9: 40.0, 10: 50.0, 12: 60.0, 14: 40.0, 17: 30.0, 20: 15.0, 24: 5.0}
SHEET = """
[run]
id = "LP-01"
[[feed]]
material = "PE-HD"
mass = "100.0 ± 0.1 g"
[[product]]
fraction = "oil"
mass = "80.0 ± 0.1 g"
[[product]]
fraction = "char"
mass = "5.0 ± 0.1 g"
[[trace]]
file = "oil.csv"
detector = "FID"
role = "sample"
of = "oil"
ladder = "ladder.csv"
blank = "blank.csv"
solvent = "carbon disulfide"
[[trace]]
file = "ladder.csv"
role = "ladder"
ladder_carbons = [5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26]
"""


def alkane_time(n):
    return 2.0 + 22.0 * np.log(n / 4.0)


def alkane_list(areas, extra=()):
    rows = ["Peak;RT (min);Area (pA*min);Name", *extra]
    for number, (n, area) in enumerate(areas.items(), 1):
        rows.append(f"{number};{alkane_time(n):.4f};{area};n-C{n}")
    return "\n".join(rows) + "\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("runs") / "listed"
    folder.mkdir()
    (folder / "run.toml").write_text(SHEET, encoding="utf-8")
    # a peak beside each alkane, too: it elutes before it and counts with it
    oil = alkane_list(AREAS, ["0;1.2000;5000;Carbon disulfide", f"0;{alkane_time(9.6):.4f};50.0;"])
    (folder / "oil.csv").write_text(oil, encoding="utf-8")
    doubled = {n: 40.0 if n in (10, 20) else 20.0 for n in range(5, 27)}
    (folder / "ladder.csv").write_text(alkane_list(doubled), encoding="utf-8")
    (folder / "blank.csv").write_text(alkane_list({30: 1.0}), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def findings(folder):
    return work_up(read_run(folder))


def test_shares_are_those_of_the_listed_areas(findings):
    (oil,) = findings.samples
    found = {share.n: share.mass.value for share in oil.carbons.numbered()}
    whole = sum(AREAS.values()) + 50.0
    for n in range(5, 27):
        area = AREAS.get(n, 0.0) + (50.0 if n == 10 else 0.0)
        assert found[n] == pytest.approx(100 * area / whole, abs=1e-9), n
    cuts = {cut.cut: cut.mass.value for cut in oil.cuts if cut.scheme == "carbon-number"}
    assert sum(value for value in cuts.values() if value is not None) == pytest.approx(100.0)


def test_the_solvent_is_left_out_by_its_name(findings):
    (oil,) = findings.samples
    assert [peak.name for peak in oil.peaks if "solvent" in peak.flags] == ["Carbon disulfide"]


def test_what_a_list_cannot_tell_is_said_and_not_zero(findings):
    codes = {one.code for one in findings.cautions}
    assert {"peaks.as_listed", "peaks.listed_no_blank"} <= codes
    (oil,) = findings.samples
    assert oil.curves is None
    assert oil.carbons.hump.value is None
    assert oil.carbons.hump.reason == "peaks.list_has_no_baseline"
    assert all(peak.height is None and peak.half_width_min is None for peak in oil.peaks)


def test_the_uncertainty_of_a_share_is_that_of_its_areas_and_responses(findings):
    (oil,) = findings.samples
    share = next(one.mass for one in oil.carbons.shares if one.n == 24)
    # 3 % of the area and 3 % of the response of its block, against a whole that is better known
    assert share.u / share.value == pytest.approx(np.hypot(0.03, 0.03), rel=0.25)


def test_every_result_is_written_without_a_chromatogram(findings, tmp_path):
    paths = publish(findings, tmp_path / "results")
    assert not any("chromatogram" in name for name in paths)
    results = json.loads(paths["results.json"].read_text(encoding="utf-8"))
    (sample,) = results["samples"]
    assert (sample["points"], sample["baseline"]) == (None, None)
    page = paths["report.html"].read_text(encoding="utf-8")
    assert "A list of peaks stands in place of a trace" in page
    assert "as listed: Carbon disulfide" in page
    lines = paths["peaks.csv"].read_text(encoding="utf-8").splitlines()
    assert lines[1].split(",")[2:5] == ["", "1.2", ""]


def test_a_trace_may_be_read_against_a_listed_ladder(folder, tmp_path):
    from simulated_trace import Compounds, render

    again = tmp_path / "mixed"
    shutil.copytree(folder, again)
    t = np.arange(0, 45, 1 / 600)
    times = np.array([alkane_time(n) for n in AREAS])
    sigma = np.full(len(times), 0.02)
    signal = render(t, Compounds(times, np.array(list(AREAS.values())), sigma, 0.1 * sigma)) + 6
    signal = signal + np.random.default_rng(4).normal(0, 0.02, len(t))
    rows = [f"{a:.5f}\t{b:.4f}" for a, b in zip(t, signal, strict=True)]
    (again / "oil.csv").write_text("\n".join(["time (min)\tFID (pA)", *rows]), encoding="utf-8")
    sheet = (again / "run.toml").read_text(encoding="utf-8")
    (again / "run.toml").write_text(
        sheet.replace('blank = "blank.csv"\n', "").replace('solvent = "carbon disulfide"\n', ""), encoding="utf-8"
    )
    (oil,) = work_up(read_run(again)).samples
    whole = sum(AREAS.values())
    for share in oil.carbons.numbered():
        assert share.mass.value == pytest.approx(100 * AREAS.get(share.n, 0.0) / whole, abs=0.5), share.n


def test_a_listed_blank_is_refused_where_a_trace_needs_one(folder, tmp_path):
    again = tmp_path / "blank"
    shutil.copytree(folder, again)
    t = np.arange(0, 45, 1 / 60)
    rows = [f"{a:.5f}\t{6 + 0.01 * np.sin(7 * a) + 50 * np.exp(-((a - 20) ** 2) / 0.01):.4f}" for a in t]
    (again / "oil.csv").write_text("\n".join(["time (min)\tFID (pA)", *rows]), encoding="utf-8")
    with pytest.raises(ValueError, match="blank.csv: found a list of 1 peaks; expected the trace of the blank run"):
        work_up(read_run(again))


@pytest.mark.parametrize("decimal", ["point", "comma"])
def test_the_peaks_that_are_written_can_be_read_again(findings, tmp_path, decimal):
    from cutbook.importers.recognise import read_signal
    from cutbook.model.run import TraceEntry
    from cutbook.reporting.numbers import OutputSettings

    publish(findings, tmp_path / "results", OutputSettings(decimal))
    again = read_signal(tmp_path / "results", TraceEntry("peaks.csv", "", "sample"))
    (oil,) = findings.samples
    assert [one.name for one in again.peaks] == [one.name for one in oil.peaks]
    assert [one.apex_min for one in again.peaks] == pytest.approx([one.apex_min for one in oil.peaks], rel=1e-8)
    assert [one.area for one in again.peaks] == pytest.approx([one.area for one in oil.peaks], rel=1e-8)
