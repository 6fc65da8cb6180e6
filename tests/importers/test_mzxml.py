"""mzXML files."""

import io
from pathlib import Path

import numpy as np
import pytest
from importer_contract import read, scans_of, scans_refused
from scan_files import assert_same, mzxml, some_scans, zipped

REAL = Path(__file__).resolve().parents[3] / "shared" / "data" / "mzml-format"
TIMES, SCANS = some_scans()


@pytest.mark.parametrize("bits", [32, 64])
@pytest.mark.parametrize("packed", [True, False])
@pytest.mark.parametrize("minutes", [True, False])
def test_scans_come_back_whatever_the_packing(tmp_path, bits, packed, minutes):
    series = scans_of(tmp_path, mzxml(TIMES, SCANS, bits, packed, minutes=minutes))
    assert_same(series, TIMES, SCANS)
    assert series.kind == "centroid"
    assert series.step.cautions == ()


def test_nested_fragments_are_left_out_and_compressed_files_unpacked(tmp_path):
    series = scans_of(tmp_path, zipped(mzxml(TIMES, SCANS, nested=True)))
    assert_same(series, TIMES, SCANS)
    assert [(one.code, dict(one.facts)) for one in series.step.cautions] == [
        ("scans.fragments_left_out", {"count": 15})
    ]


def test_the_trace_is_the_total_of_the_scans(tmp_path):
    trace = read(tmp_path, mzxml(TIMES, SCANS))
    assert trace.signal == pytest.approx([np.sum(one) for _, one in SCANS], rel=1e-5)
    assert trace.detector == "MS"


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda c: c[: len(c) // 2], "XML that cannot be read"),
        (lambda c: c.replace(b'peaksCount="20"', b'peaksCount="21"', 1), "ion values; expected 42"),
        (lambda c: c.replace(b'byteOrder="network"', b'byteOrder="little"'), "byte order 'little'"),
        (lambda c: c.replace(b'contentType="m/z-int"', b'contentType="m/z"'), "a list of 'm/z'"),
        (lambda c: c.replace(b'precision="32"', b'precision="16"'), "precision '16'"),
        (lambda c: c.replace(b'"zlib"', b'"lzma"'), "compression 'lzma'"),
        (lambda c: c.replace(b'"PT120.000000S"', b'"120 s"', 1), "retention time '120 s'; expected a duration"),
        (lambda c: c.replace(b'"PT120.000000S"', b'"PT"', 1), "retention time 'PT'"),
        (lambda c: c.replace(b"\n<mzXML", b'\n<!DOCTYPE a [<!ENTITY b "c">]><mzXML', 1), "XML document type"),
    ],
)
def test_damage_gives_one_clear_line(tmp_path, change, told):
    assert told in scans_refused(tmp_path, change(mzxml(TIMES, SCANS)))


def test_pyteomics_reads_the_same_of_the_real_sample(tmp_path):
    if not REAL.exists():
        pytest.skip("the open data set mzml-format is not beside the checkout")
    from pyteomics import mzxml as pyteomics_mzxml

    content = (REAL / "test.mzXML").read_bytes()
    series = scans_of(tmp_path, content)
    with pyteomics_mzxml.MzXML(io.BytesIO(content), use_index=False) as reader:
        full = [one for one in reader if one["msLevel"] == 1]
    assert len(series) == len(full) > 0
    for number, one in enumerate(full):
        assert np.array_equal(one["m/z array"], series.scan(number)[0])
        assert np.array_equal(one["intensity array"], series.scan(number)[1])
        assert float(one["retentionTime"]) == pytest.approx(series.time_min[number])
