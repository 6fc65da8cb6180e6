"""Every value that a real file declares is in the record or named in a caution, by a second way of reading it."""

import io
import re
from pathlib import Path

import numpy as np
import pytest

from cutbook.importers.recognise import read_scans, read_trace
from cutbook.model.run import TraceEntry

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"


def real(name):
    path = DATA / name
    if not path.exists():
        pytest.skip(f"the open data set {name.split('/')[0]} is not beside the checkout")
    return path


def entry(path):
    return TraceEntry(file=path.name, place="", role="sample")


def test_all_ions_times_and_totals_of_the_andi_run():
    from scipy.io import netcdf_file

    path = real("ms-netcdf/ko15.CDF")
    series, trace = read_scans(path.parent, path.name), read_trace(path.parent, entry(path))
    with netcdf_file(str(path), mmap=False) as other:
        stored = {name: variable[:] for name, variable in other.variables.items() if variable.shape}
    assert np.array_equal(series.mz, stored["mass_values"])
    assert np.array_equal(series.intensity, stored["intensity_values"])
    assert np.array_equal(series.total, stored["total_intensity"])
    assert np.array_equal(trace.signal, stored["total_intensity"])
    assert trace.time_min * 60 == pytest.approx(stored["scan_acquisition_time"], rel=1e-14)


def test_all_samples_and_peaks_of_the_andi_chromatogram():
    from scipy.io import netcdf_file

    path = real("chrom-netcdf/uv-channel.cdf")
    trace = read_trace(path.parent, entry(path))
    with netcdf_file(str(path), mmap=False) as other:
        samples = other.variables["ordinate_values"][:].astype(float)
        areas = other.variables["peak_area"][:].astype(float)
        times = other.variables["peak_retention_time"][:].astype(float)
    assert np.array_equal(trace.signal, samples)
    assert [one.area * 60 for one in trace.stored_peaks] == pytest.approx(areas)
    assert [one.apex_min * 60 for one in trace.stored_peaks] == pytest.approx(times)
    (named,) = [one.facts["names"] for one in trace.step.cautions if one.code == "andi.not_used"]
    assert {"peak_width", "peak_height", "peak_asymmetry"} <= set(named.split(" and ")[0].split(", "))


def test_all_pairs_of_the_jcamp_run():
    path = real("gcms-jcamp/gcms.jdx")
    series = read_scans(path.parent, path.name)
    text = path.read_text(encoding="latin-1")
    pairs = [
        tuple(map(float, pair.split(",")[:2]))
        for block in re.split(r"##XYDATA=[^\n]*\n", text)[1:]
        for line in block.split("##")[0].splitlines()
        for pair in re.findall(r"[\d.]+\s*,\s*[\d.]+", line)
    ]
    assert len(series.mz) == len(pairs)
    assert sorted(series.mz.tolist()) == sorted(mz for mz, _ in pairs)
    assert float(series.intensity.sum()) == pytest.approx(sum(intensity for _, intensity in pairs))
    times = [float(value) for value in re.findall(r"##RETENTION_TIME=\s*([\d.]+)", text)]
    assert series.time_min * 60 == pytest.approx(times)


@pytest.mark.parametrize("name", ["test.mzML", "test.mzXML"])
def test_all_spectra_of_the_format_samples(name):
    from pyteomics import mzml, mzxml

    from cutbook.importers.mzml_reader import Vocabulary

    path = real(f"mzml-format/{name}")
    series = read_scans(path.parent, path.name)
    content = io.BytesIO(path.read_bytes())
    reader = (
        mzml.MzML(content, use_index=False, cv=Vocabulary())
        if name.endswith("mzML")
        else mzxml.MzXML(content, use_index=False)
    )
    level = {"test.mzML": "ms level", "test.mzXML": "msLevel"}[name]
    spectra = list(reader)
    full = [one for one in spectra if one[level] == 1]
    assert len(series.mz) == sum(len(one["m/z array"]) for one in full)
    assert np.array_equal(series.mz, np.concatenate([one["m/z array"] for one in full]))
    assert np.array_equal(series.intensity, np.concatenate([one["intensity array"] for one in full]))
    left = [dict(one.facts)["count"] for one in series.step.cautions if one.code == "scans.fragments_left_out"]
    assert sum(left) == len(spectra) - len(full)
