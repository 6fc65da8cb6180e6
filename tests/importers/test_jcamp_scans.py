"""Series of mass spectra from JCAMP-DX files, and their total ion currents."""

from pathlib import Path

import numpy as np
import pytest
from importer_contract import entry
from jcamp_files import chromatogram, codes, line_of, pages, read, scans, series

from cutbook.importers import jcamp_dx
from cutbook.importers.trace_file import open_trace_file

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"


def test_the_total_ion_current_of_scans_is_a_trace():
    for text in (scans(), scans(total=False)):
        trace = read(text)
        assert trace.time_min == pytest.approx((60 + np.arange(200)) / 60)
        assert trace.signal == pytest.approx(150 + np.arange(200) % 7)
        assert (trace.detector, trace.signal_unit) == ("MS", "")


def test_the_total_ion_current_of_pages_is_a_trace():
    trace = read(pages())
    assert trace.time_min[[0, -1]] == pytest.approx([1, 259 / 60])
    assert trace.signal == pytest.approx(150 + np.arange(200) % 5)


def test_a_chromatogram_beside_scans_must_be_chosen_and_needs_none_of_them():
    text = chromatogram("fid") + scans().replace("##.RETENTION TIME= 62 s", "##.RETENTION TIME= soon")
    assert "1 'fid' (GAS CHROMATOGRAM), 2 'run' (total ion current of 200 scans)" in line_of(text)
    assert read(text, columns={"signal": "fid"}).detector == "FID"
    assert "found a retention time 'soon'" in line_of(text, columns={"signal": "run"})


def test_scans_are_read_with_rising_mz():
    found = series(scans())
    assert len(found) == 200
    mz, intensity = found.scan(3)
    assert mz.tolist() == [43.1, 57.0, 91.1]
    assert intensity.tolist() == [10, 100, 43]
    assert found.total[3] == 153
    assert found.kind == "centroid"
    assert found.step.operation == "read scans/1"
    assert codes(found) == []


@pytest.mark.parametrize(
    "text",
    [
        pages(),
        pages(page="##PAGE= RETENTION TIME={time}\n"),
        pages(page="##PAGE= N=1\n##RETENTION TIME= {time} s\n"),
        pages(page="##PAGE= T={time}\n", name="TIME"),
    ],
)
def test_pages_are_read_however_their_time_is_written(text):
    found = series(text)
    assert found.time_min[[0, -1]] == pytest.approx([1, 259 / 60])
    assert found.scan(1)[0].tolist() == [43, 57]
    assert found.kind == "centroid"


def test_a_single_scan_and_an_empty_scan_are_scans():
    assert len(series(scans(1))) == 1
    text = scans(3).replace("##TIC= 151\n##NPOINTS= 3", "##TIC= 0\n##NPOINTS= 0", 1)
    at = text.index("##PEAK TABLE", text.index("##NPOINTS= 0")) + len("##PEAK TABLE= (XY..XY)\n")
    text = text[:at] + text[text.index("##SCAN", at) :]
    assert np.diff(series(text).starts).tolist() == [3, 0, 3]


def test_spectra_that_are_curves_are_known_for_such():
    curve = "".join(f"{40 + 0.1 * at:.1f}, {at % 10}\n" for at in range(300))
    text = "##TITLE=\n##XUNITS= m/z\n##RETENTION TIME= 1 min\n##XYDATA= (XY..XY)\n" + curve
    assert series(text).kind == "profile"
    sticks = "".join(f"{40 + at + 0.1 * (at % 3):.1f}, {at % 10}\n" for at in range(0, 300, 2))
    assert series(text.replace(curve, sticks)).kind == "centroid"


def test_totals_that_are_not_the_sums_are_told_once():
    found = series(scans().replace("##TIC= 151\n", "##TIC= 302\n"))
    assert codes(found) == ["jcamp.total_differs"]
    assert dict(found.step.cautions[0].facts) == {
        "count": 29,
        "scans": 200,
        "time_min": pytest.approx(61 / 60),
        "stated": 302,
        "found": 151,
    }
    assert found.total[1] == 302


def test_without_a_unit_the_scan_delay_or_minutes_are_taken_with_a_caution():
    delay = "##SCAN DELAY UNITS= seconds\n"
    found = series(scans(unit="").replace("##DATA TYPE", delay + "##DATA TYPE"))
    assert found.time_min[1] == pytest.approx(61 / 60)
    assert codes(found) == ["jcamp.time_unit_of_delay"]
    found = series(scans(unit="", step=0.01))
    assert found.time_min[1] == pytest.approx(60.01)
    assert codes(found) == ["trace.time_unit_assumed"]
    assert "without a unit" in line_of(scans(unit=""), series)


@pytest.mark.parametrize(
    ("change", "found"),
    [
        (("TIME= 63 s", "TIME= 62 s"), "a scan at 1.0333333 min after one at 1.0333333 min; expected rising times"),
        (("TIME= 63 s", "TIME= 63 h"), "retention times in h, s"),
        (("TIME= 63 s", "TIME= late"), "a retention time 'late'"),
        (("##.RETENTION TIME= 63 s\n", ""), "a spectrum without a retention time among others that have one"),
        (("57.0, 100", "57.0, ?"), "a value missing or below 0"),
        (("57.0, 100", "-57.0, 100"), "a value missing or below 0"),
    ],
)
def test_scans_that_cannot_be_defended_are_refused(change, found):
    assert found in line_of(scans().replace(*change), series)


@pytest.mark.skipif(not (DATA / "gcms-jcamp").is_dir(), reason="the open data sets are not beside the project")
def test_a_real_run_of_scans_is_read_whole():
    file = open_trace_file(DATA / "gcms-jcamp", "gcms.jdx")
    found = jcamp_dx.read_scans(file)
    assert len(found) == 2420
    assert found.time_min[[0, -1]] * 60 == pytest.approx([125.207, 1799.596], abs=1e-9)
    assert found.starts[1] == 78
    assert found.scan(0)[0][[0, -1]].tolist() == [31.1, 309.0]
    assert found.total.tolist() == np.add.reduceat(found.intensity, found.starts[:-1]).tolist()
    assert found.kind == "centroid"
    assert codes(found) == ["jcamp.time_unit_of_delay"]
    trace = jcamp_dx.read(file, entry("gcms.jdx"))
    assert trace.signal.tolist() == found.total.tolist()
    assert trace.detector == "MS"
