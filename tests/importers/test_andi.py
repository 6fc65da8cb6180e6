"""ANDI/netCDF-3 files."""

import io
from pathlib import Path

import numpy as np
import pytest
from importer_contract import entry, line_of, read
from scipy.io import netcdf_file

from cutbook.importers.recognise import read_trace

REAL = Path(__file__).resolve().parents[3] / "shared" / "data" / "chrom-netcdf"
SIGNAL = 10 + 5 * np.exp(-0.5 * ((np.arange(600) - 300) / 8.0) ** 2)


def andi(signal=SIGNAL, kind="f4", scalars=None, attributes=None, arrays=None, of_signal=None, version=1):
    """The bytes of an ANDI file with the names of ASTM E1947."""
    buffer = io.BytesIO()
    out = netcdf_file(buffer, "w", version=version)
    for name, value in {
        "retention_unit": "seconds",
        "detector_unit": "pA",
        "detector_name": "FID",
        **(attributes or {}),
    }.items():
        setattr(out, name, value)
    out.createDimension("point_number", len(signal))
    values = out.createVariable("ordinate_values", kind, ("point_number",))
    values[:] = signal
    for name, value in (of_signal or {}).items():
        setattr(values, name, value)
    for name, value in {"actual_delay_time": 0.0, "actual_sampling_interval": 0.5, **(scalars or {})}.items():
        if value is not None:
            out.createVariable(name, "f4", ()).data = np.array(value, dtype=">f4")
    for name, (dimension, data, of_kind) in (arrays or {}).items():
        if dimension not in out.dimensions:
            out.createDimension(dimension, len(data))
        out.createVariable(name, of_kind, (dimension,))[:] = data
    out.flush()
    content = buffer.getvalue()
    out.close()
    return content


@pytest.mark.parametrize("version", [1, 2])
def test_times_are_delay_and_whole_intervals(tmp_path, version):
    trace = read(tmp_path, andi(scalars={"actual_delay_time": 30.0}, version=version))
    assert trace.time_min == pytest.approx((30.0 + 0.5 * np.arange(600)) / 60)
    assert trace.signal == pytest.approx(SIGNAL, rel=1e-6)
    assert (trace.signal_unit, trace.detector) == ("pA", "FID")


def test_minutes_are_taken_as_the_file_says(tmp_path):
    trace = read(tmp_path, andi(scalars={"actual_sampling_interval": 0.01}, attributes={"retention_unit": "minutes"}))
    assert trace.time_min[-1] == pytest.approx(5.99)


def test_scale_offset_and_whole_numbers_are_applied(tmp_path):
    counts = np.round(SIGNAL * 100).astype(int)
    trace = read(
        tmp_path, andi(counts, "i2", of_signal={"scale_factor": np.float32(0.01), "add_offset": np.float32(3.0)})
    )
    assert trace.signal == pytest.approx(SIGNAL + 3, abs=0.006)


def test_times_of_the_file_itself_come_first(tmp_path):
    own = np.cumsum(np.full(600, 0.7))
    trace = read(tmp_path, andi(arrays={"raw_data_retention": ("point_number", own, "f4")}))
    assert trace.time_min == pytest.approx(own / 60, rel=1e-6)


@pytest.mark.parametrize("filler", [-9999.0, 9.969209968386869e36, 9.96921e36, np.nan])
def test_fillers_in_the_signal_are_refused_not_integrated(tmp_path, filler):
    broken = SIGNAL.copy()
    broken[[100, 101]] = filler
    assert line_of(tmp_path, andi(broken)) == (
        "trace, point 101: found no finite signal, the first of 2 such points; expected a finite signal at every point. "
        "Export the file again; missing values are not filled in"
    )


def test_fillers_in_stored_peaks_are_no_values(tmp_path):
    peaks = {
        "peak_retention_time": ("peak_number", [150.0, -9999.0], "f4"),
        "peak_area": ("peak_number", [120.0, 9.96921e36], "f4"),
    }
    stored = read(tmp_path, andi(arrays=peaks)).stored_peaks
    assert [peak.apex_min for peak in stored] == [2.5, None]
    assert stored[0].area == pytest.approx(2.0)  # 120 pA s are 2 pA min
    assert stored[1].area is None


@pytest.mark.parametrize(
    ("scalars", "line"),
    [
        (
            {"actual_sampling_interval": None},
            "trace, actual_sampling_interval: found no sampling interval and no times; expected an interval above 0, or a time for every sample",
        ),
        (
            {"actual_sampling_interval": 0.0},
            "trace, actual_sampling_interval: found a sampling interval of 0; expected an interval above 0, or a time for every sample",
        ),
    ],
)
def test_without_times_or_interval_a_file_is_refused(tmp_path, scalars, line):
    assert line_of(tmp_path, andi(scalars=scalars)) == line


def test_a_length_that_contradicts_the_samples_is_said(tmp_path):
    trace = read(tmp_path, andi(scalars={"actual_run_time_length": 900.0}))
    assert [one.code for one in trace.step.cautions] == ["trace.length_differs"]


def test_a_missing_delay_is_said(tmp_path):
    trace = read(tmp_path, andi(scalars={"actual_delay_time": None}))
    assert [one.code for one in trace.step.cautions] == ["trace.no_delay"]


def test_the_run_sheet_and_the_file_may_differ_about_the_detector(tmp_path):
    trace = read(tmp_path, andi(attributes={"detector_name": "TCD 1"}), detector="FID")
    assert trace.detector == "FID"
    assert [one.code for one in trace.step.cautions] == ["trace.detector_differs"]


def test_netcdf_without_a_chromatogram_is_refused(tmp_path):
    buffer = io.BytesIO()
    out = netcdf_file(buffer, "w")
    out.createDimension("x", 3)
    out.createVariable("temperature", "f4", ("x",))[:] = [1, 2, 3]
    out.flush()
    assert line_of(tmp_path, buffer.getvalue()).startswith(
        "trace: found netCDF without a chromatogram (variables: temperature)"
    )


def test_a_header_that_claims_gigabytes_is_refused_without_allocating_them(tmp_path):
    content = andi()
    at = content.index(b"point_number") + len("point_number")
    hostile = content[:at] + (2**31 - 8).to_bytes(4, "big") + content[at + 4 :]
    assert line_of(tmp_path, hostile).startswith("trace")


@pytest.mark.parametrize("share", [0.02, 0.1, 0.3, 0.6, 0.95])
def test_a_file_cut_short_is_refused(tmp_path, share):
    content = andi()
    assert line_of(tmp_path, content[: int(share * len(content))]).startswith("trace")


@pytest.mark.skipif(not REAL.is_dir(), reason="the open data sets are not beside the project")
def test_a_real_file_gives_its_own_stored_peak_areas():
    """Areas in the file are mAU s; ours are mAU min. Its peaks have limits and baseline ends of their own."""
    trace = read_trace(REAL, entry("uv-channel.cdf"))
    assert len(trace.signal) == 4651
    assert len(trace.stored_peaks) == 8
    for peak in trace.stored_peaks:
        first, last = np.searchsorted(trace.time_min, [peak.start_min - 1e-9, peak.end_min + 1e-9])
        time, signal = trace.time_min[first:last], trace.signal[first:last]
        floor = np.interp(time, [peak.start_min, peak.end_min], [peak.start_baseline, peak.end_baseline])
        assert np.trapezoid(signal - floor, time) == pytest.approx(peak.area, rel=0.02)


@pytest.mark.skipif(not REAL.is_dir(), reason="the open data sets are not beside the project")
def test_our_own_peaks_of_a_real_file_have_its_stored_areas():
    """The two large peaks; under the small ones the file draws another baseline than we do."""
    from cutbook.chromatogram.integration import integrate

    trace = read_trace(REAL, entry("uv-channel.cdf"))
    found = list(integrate(trace).peaks)
    strong = [peak for peak in trace.stored_peaks if peak.area > 0.2 * max(p.area for p in trace.stored_peaks)]
    assert len(strong) == 2
    for stored in strong:
        mine = min(found, key=lambda peak, at=stored.apex_min: abs(peak.apex_min - at))
        assert mine.apex_min == pytest.approx(stored.apex_min, abs=0.05)
        assert mine.area == pytest.approx(stored.area, rel=0.02)
