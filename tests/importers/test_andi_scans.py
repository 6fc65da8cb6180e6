"""Scans of ANDI mass spectrometry files."""

from pathlib import Path

import numpy as np
import pytest
from importer_contract import read, scans_of, scans_refused
from scan_files import andi_ms, assert_same, some_scans

REAL = Path(__file__).resolve().parents[3] / "shared" / "data" / "ms-netcdf" / "ko15.CDF"
TIMES, SCANS = some_scans()


@pytest.mark.parametrize(
    "more",
    [{}, {"mass": "f4", "intensity": "f4"}, {"reverse": True}, {"gap": 3}, {"total": False}, {"version": 2},
     {"index": False}, {"counts": False}, {"intensity": "i4"}, {"intensity": "i2"},
     {"mass": "i2", "scale": (0.05, 1.0)}, {"mass": "i4", "scale": (0.01, 1.0), "offset": 35.0},
     {"attributes": {"experiment_type": "No Chromatography"}}],
    ids=str,
)  # fmt: skip
def test_scans_come_back_however_they_are_stored(tmp_path, more):
    series = scans_of(tmp_path, andi_ms(TIMES, SCANS, **more))
    assert_same(series, TIMES, SCANS)
    assert series.total == pytest.approx([np.sum(one) for _, one in SCANS])
    assert series.kind == ("" if "attributes" in more else "centroid")
    unused = 3 * len(SCANS) if "gap" in more else 0
    assert [dict(one.facts) for one in series.step.cautions] == ([{"count": unused}] if unused else [])


def test_ions_that_belong_to_no_scan_are_counted(tmp_path):
    series = scans_of(tmp_path, andi_ms(TIMES, SCANS[:-1] + [(np.empty(0), np.empty(0))], gap=0, index=False))
    assert series.step.cautions == ()
    content = andi_ms(TIMES, SCANS, index=False)
    count = np.array([len(mz) for mz, _ in SCANS], ">i4").tobytes()
    fewer = np.array([len(mz) for mz, _ in SCANS[:-1]] + [15], ">i4").tobytes()
    series = scans_of(tmp_path, content.replace(count, fewer))
    assert [(one.code, dict(one.facts)) for one in series.step.cautions] == [("scans.points_of_no_scan", {"count": 5})]


def test_the_trace_of_a_file_without_totals_is_the_sum_of_its_scans(tmp_path):
    totals = [np.sum(one) for _, one in SCANS]
    for total in (True, False):
        trace = read(tmp_path, andi_ms(TIMES, SCANS, total=total))
        assert trace.signal == pytest.approx(totals)
        assert trace.time_min == pytest.approx(TIMES)


def test_counts_that_do_not_fit_the_places_give_way_to_them(tmp_path):
    content = andi_ms(TIMES, SCANS)
    count = np.array([len(mz) for mz, _ in SCANS], ">i4").tobytes()
    for wrong in ([10**6] * len(SCANS), [-5] * len(SCANS), [21] * len(SCANS)):
        series = scans_of(tmp_path, content.replace(count, np.array(wrong, ">i4").tobytes()))
        assert_same(series, TIMES, SCANS)
        assert [one.code for one in series.step.cautions] == ["scans.counts_differ"]


def test_lists_that_contradict_each_other_are_scans_refused(tmp_path):
    content = andi_ms(TIMES, SCANS)
    index = np.cumsum([0] + [len(mz) for mz, _ in SCANS[:-1]]).astype(">i4").tobytes()
    for wrong in ([10**8] * len(SCANS), [0, 5] * (len(SCANS) // 2), [-1] * len(SCANS)):
        line = scans_refused(tmp_path, content.replace(index, np.array(wrong, ">i4").tobytes()))
        assert "scans that overlap or lie outside the 2980 ions of the file" in line
    assert "neither scan_index nor point_count" in scans_refused(
        tmp_path, andi_ms(TIMES, SCANS, index=False, counts=False)
    )
    other = content.replace(b"scan_acquisition_time", b"scan_acquisition_tims")
    assert "netCDF without mass spectra" in scans_refused(tmp_path, other)


def test_a_second_library_reads_the_same_of_the_real_run(tmp_path):
    if not REAL.exists():
        pytest.skip("the open data set ms-netcdf is not beside the checkout")
    from scipy.io import netcdf_file

    series = scans_of(tmp_path, REAL.read_bytes())
    with netcdf_file(str(REAL), mmap=False) as other:
        mz, intensity = other.variables["mass_values"][:], other.variables["intensity_values"][:]
        assert len(series) == 1278
        assert len(series.mz) == len(mz) == 445769
        # the counts of this file add up to 1,200,799 ions; its places are right
        assert [one.code for one in series.step.cautions] == ["scans.counts_differ", "scans.total_differs"]
        assert np.array_equal(series.mz, mz)
        assert np.array_equal(series.intensity, intensity)
        assert np.array_equal(series.starts[:-1], other.variables["scan_index"][:])
        assert series.time_min * 60 == pytest.approx(other.variables["scan_acquisition_time"][:])
    assert (60 * series.time_min[0], 60 * series.time_min[-1]) == pytest.approx((2501.378, 4499.824), abs=1e-3)
