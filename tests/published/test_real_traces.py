"""Sixteen real chromatograms of one calibration series: peak counts and shifts (detector and times not stated).

Source: data set `gaschrom` of the R package ptw 1.9-17 (GPL >= 2), read where it lies beside the project; the check
values (9 peaks of a prominence over 50 in each trace, the largest at point 2273 to 2293) were counted in the data.
"""

from pathlib import Path

import numpy as np
import pytest
from crowds import trace_of
from scipy.signal import find_peaks

from cutbook.chromatogram.integration import integrate

REAL = Path(__file__).resolve().parents[3] / "shared" / "data" / "chrom-csv" / "gaschrom.RData"
pytestmark = pytest.mark.skipif(not REAL.is_file(), reason="the open data sets are not beside the project")
POINTS_A_MINUTE = 100.0
"""The file has an index axis only; a rate is assumed so that there are minutes."""


@pytest.fixture(scope="module")
def read():
    import warnings

    import rdata

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        data = np.asarray(rdata.read_rda(REAL)["gaschrom"], dtype=float)
    assert data.shape == (16, 5000)
    return [integrate(trace_of(np.arange(5000) / POINTS_A_MINUTE, signal, unit="")) for signal in data]


@pytest.mark.parametrize("number", range(16))
def test_the_nine_peaks_of_each_trace_are_found(read, number):
    one = read[number]
    strong = [peak for peak in one.peaks if peak.height > 50 and "shoulder" not in peak.flags]
    assert len(strong) == 9
    counted, _ = find_peaks(one.trace.signal, prominence=50)
    assert [peak.apex_min * POINTS_A_MINUTE for peak in strong] == pytest.approx(list(counted), abs=2)


def test_the_largest_peak_shifts_as_counted(read):
    apexes = [max(one.peaks, key=lambda peak: peak.height).apex_min * POINTS_A_MINUTE for one in read]
    assert round(min(apexes)) == pytest.approx(2273, abs=1)
    assert round(max(apexes)) == pytest.approx(2293, abs=1)


def test_areas_are_those_of_plain_summation(read):
    """Between the limits found, above the baseline found: the trapezoid rule of a general library."""
    for one in read:
        peak = max((p for p in one.peaks if p.area_rule == "isolated"), key=lambda p: p.area, default=None)
        if peak is None:
            continue
        time, signal = one.trace.time_min, one.trace.signal - one.following.values
        here = slice(*np.searchsorted(time, [peak.start_min - 1e-9, peak.end_min + 1e-9]))
        assert peak.area == pytest.approx(float(np.trapezoid(signal[here], time[here])), rel=1e-9)


def test_the_main_job_runs_on_real_traces(tmp_path, read):
    """From a run folder to every result: two of the sixteen as text, and the real ANDI file; no ladder, and said so."""
    import json
    import shutil

    from click.testing import CliRunner

    from cutbook.cli.main import main

    folder = tmp_path / "real"
    folder.mkdir()
    shutil.copyfile(REAL.parents[1] / "chrom-netcdf" / "uv-channel.cdf", folder / "channel.cdf")
    for number in (0, 9):
        trace = read[number].trace
        rows = [f"{t:.4f}\t{y:.6g}" for t, y in zip(trace.time_min, trace.signal, strict=True)]
        (folder / f"trace-{number}.txt").write_text("\n".join(["time (min)\tsignal", *rows]), encoding="utf-8")
    entries = "".join(
        f'[[product]]\nfraction = "{name}"\nmass = "10.0 g"\n[[trace]]\nfile = "{file}"\nrole = "sample"\nof = "{name}"\n'
        for name, file in (("first", "trace-0.txt"), ("tenth", "trace-9.txt"), ("channel", "channel.cdf"))
    )
    sheet = f'[run]\nid = "real"\n[[feed]]\nmaterial = "unknown"\nmass = "31.0 g"\n{entries}'
    (folder / "run.toml").write_text(sheet, encoding="utf-8")
    done = CliRunner().invoke(main, ["workup", str(folder)])
    assert done.exit_code == 0, done.output
    found = json.loads((folder / "results" / "results.json").read_text(encoding="utf-8"))
    assert [sample["carbon_numbers"] for sample in found["samples"]] == [[], [], []]
    assert found["cuts"] == []
    assert [one["about"] for one in found["cautions"] if one["code"] == "report.no_ladder"] == [
        "first",
        "tenth",
        "channel",
    ]
    assert len((folder / "results" / "peaks.csv").read_text(encoding="utf-8-sig").splitlines()) > 30
