"""mzML files."""

import io
import socket
import zlib
from pathlib import Path

import numpy as np
import pytest
from importer_contract import line_of, read, scans_of, scans_refused
from scan_files import assert_same, mzml, mzml_array, some_scans, zipped

REAL = Path(__file__).resolve().parents[3] / "shared" / "data" / "mzml-format"
TIMES, SCANS = some_scans()


@pytest.mark.parametrize("bits", [32, 64])
@pytest.mark.parametrize("packed", [True, False])
@pytest.mark.parametrize("more", [{}, {"seconds": True}, {"group": True}, {"index": True}, {"total": False}])
def test_scans_come_back_whatever_the_packing(tmp_path, bits, packed, more):
    series = scans_of(tmp_path, mzml(TIMES, SCANS, bits, packed, **more))
    assert_same(series, TIMES, SCANS)
    assert series.kind == "centroid"
    assert series.total == pytest.approx([np.sum(one) for _, one in SCANS])
    assert series.step.cautions == ()
    assert series.mz.dtype.itemsize == bits // 8
    assert not series.mz.flags.writeable


@pytest.mark.parametrize("bits", ["i32", "i64"])
def test_whole_numbers_are_read_too(tmp_path, bits):
    whole = [(np.round(mz), intensity) for mz, intensity in SCANS]
    assert_same(scans_of(tmp_path, mzml(TIMES, whole, bits)), TIMES, whole)


def test_profiles_are_called_so(tmp_path):
    assert scans_of(tmp_path, mzml(TIMES, SCANS, kind="MS:1000128")).kind == "profile"
    mixed = mzml(TIMES, SCANS).replace(b"MS:1000127", b"MS:1000128", 40)
    assert [one.code for one in scans_of(tmp_path, mixed).step.cautions] == ["scans.mixed_kinds"]


def test_a_compressed_file_is_unpacked_and_hashed_as_it_lies(tmp_path):
    import hashlib

    content = zipped(mzml(TIMES, SCANS))
    series = scans_of(tmp_path, content)
    assert_same(series, TIMES, SCANS)
    assert series.step.source.sha256 == hashlib.sha256(content).hexdigest()


def test_fragments_are_left_out_and_counted(tmp_path):
    level = [1 + (number % 3 == 2) for number in range(len(TIMES))]
    series = scans_of(tmp_path, mzml(TIMES, SCANS, level=level))
    kept = [number for number, one in enumerate(level) if one == 1]
    assert_same(series, TIMES[kept], [SCANS[number] for number in kept])
    assert [(one.code, dict(one.facts)) for one in series.step.cautions] == [
        ("scans.fragments_left_out", {"count": level.count(2)})
    ]


def test_ions_out_of_order_are_sorted_within_their_scan(tmp_path):
    turned = [(mz[::-1], intensity[::-1]) for mz, intensity in SCANS]
    assert_same(scans_of(tmp_path, mzml(TIMES, turned)), TIMES, turned)


def test_the_trace_is_the_chromatogram_of_the_file_or_else_the_total_of_its_scans(tmp_path):
    totals = [np.sum(one) for _, one in SCANS]
    for content, chromatogram in ((mzml(TIMES, SCANS), "TIC"), (mzml(TIMES, SCANS, chromatogram=False), None)):
        trace = read(tmp_path, content)
        assert trace.time_min == pytest.approx(TIMES)
        assert trace.signal == pytest.approx(totals)
        assert trace.detector == "MS"
        assert trace.step.settings.get("chromatogram") == chromatogram
    trace = read(tmp_path, mzml(TIMES, SCANS, spectra=False))
    assert trace.signal == pytest.approx(totals)


def test_one_of_several_chromatograms_is_chosen_by_name_or_number(tmp_path):
    content = mzml(TIMES, SCANS, spectra=False)
    start = content.index(b"<chromatogram ")
    end = content.index(b"</chromatogram>") + len(b"</chromatogram>")
    second = content[start:end].replace(b'id="TIC"', b'id="FID A"').replace(b"MS:1000235", b"MS:1000626")
    both = content[:end] + second + content[end:]
    assert read(tmp_path, both, columns={"signal": "FID A"}).detector == "FID"
    assert read(tmp_path, both, columns={"signal": "1"}).detector == "MS"
    assert "found 'FID B'; expected one of 'TIC', 'FID A'. Was 'FID A' meant?" in line_of(
        tmp_path, both, columns={"signal": "FID B"}
    )
    beside_scans = mzml(TIMES, SCANS).replace(b"</chromatogram>", b"</chromatogram>" + second)
    assert read(tmp_path, beside_scans, columns={"signal": "FID A"}).detector == "FID"
    neither = both.replace(b"MS:1000235", b"MS:1000626")
    assert "found 2 chromatograms; expected one of 'TIC', 'FID A'. Choose with columns" in line_of(tmp_path, neither)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda c: c[: len(c) // 2], "XML that cannot be read"),
        (lambda c: c.replace(b'unitAccession="UO:0000031"/></scan>', b"/></scan>", 1), "times without a unit"),
        (lambda c: c.replace(b"UO:0000031", b"UO:0000099"), "times in 'UO:0000099'"),
        (lambda c: c.replace(b'defaultArrayLength="20"', b'defaultArrayLength="21"', 1), "20 m/z values; expected 21"),
        (lambda c: c.replace(b'defaultArrayLength="20"', b'defaultArrayLength="19"', 1), "more than 19 m/z values"),
        (lambda c: c.replace(b'defaultArrayLength="20"', b'defaultArrayLength="-1"', 1), "'-1'; expected a whole"),
        (
            lambda c: c.replace(b'defaultArrayLength="20"', b'defaultArrayLength="999999999999"', 1),
            "more than 30,000,000 in all",
        ),
        (lambda c: c.replace(b'value="1"', b'value="one"', 1), "'one'; expected a whole number"),
        (lambda c: c.replace(b"<binary>eJ", b"<binary>zz", 1), "values that cannot be unpacked"),
        (lambda c: c.replace(b"MS:1000574", b"MS:1002312"), "values packed in a way that cannot be read"),
        (lambda c: c.replace(b"MS:1000514", b"MS:1000617"), "no m/z array"),
        (lambda c: c.replace(b"utf-8", b"utf-7", 1), "XML in the encoding utf-7"),
        (lambda c: c.decode().encode("utf-16"), "a format without mass spectra"),
    ],
)
def test_damage_gives_one_clear_line(tmp_path, change, told):
    assert told in scans_refused(tmp_path, change(mzml(TIMES, SCANS)))


def test_times_that_fall_back_are_two_injections(tmp_path):
    times = TIMES.copy()
    times[100:] -= 1.0
    line = scans_refused(tmp_path, mzml(times, SCANS))
    assert "spectrum 101: found time 1.8333333 min after 2.825 min; expected rising times" in line


@pytest.mark.parametrize(
    ("mz", "intensity", "told"),
    [
        ([50.0, np.nan], [1.0, 1.0], "spectrum 1: found m/z nan; expected an m/z above 0"),
        ([50.0, -3.0], [1.0, 1.0], "spectrum 1: found m/z -3; expected an m/z above 0"),
        ([50.0, 51.0], [1.0, np.inf], "spectrum 1: found intensity inf; expected a finite intensity"),
    ],
)
def test_ions_that_are_no_numbers_are_scans_refused(tmp_path, mz, intensity, told):
    assert told in scans_refused(tmp_path, mzml(TIMES[:2], [(np.array(mz), np.array(intensity)), SCANS[0]]))


def test_entities_are_refused_before_any_parser_sees_them(tmp_path):
    bomb = '<!DOCTYPE mzML [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]>'
    outside = '<!DOCTYPE mzML [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
    for prolog in (bomb, outside, "<!-- harmless -->" + outside, "<?x y?>\n" + bomb):
        assert "XML document type (entities)" in scans_refused(tmp_path, mzml(TIMES, SCANS, prolog=prolog))


def test_a_bomb_in_an_array_does_not_go_off(tmp_path):
    small = mzml_array([1.0] * 20, "MS:1000514")
    text = small[small.index("<binary>") + 8 : small.index("</binary>")]
    import base64

    bomb = base64.b64encode(zlib.compress(b"\0" * 50_000_000)).decode()
    scan = (np.ones(20), np.ones(20))
    content = mzml(TIMES[:1], [scan]).replace(text.encode(), bomb.encode(), 1)
    assert "more than 20 m/z values; expected 20, as declared" in scans_refused(tmp_path, content)


def test_a_compressed_bomb_and_a_cut_one_are_scans_refused(tmp_path, monkeypatch):
    from cutbook.importers import packed_file, trace_file

    monkeypatch.setattr(trace_file, "unpacked", lambda content: packed_file.unpacked(content, 10 * 2**20))
    assert "more than 10 MiB after unpacking" in scans_refused(tmp_path, zipped(b" " * 20_000_000))
    assert "compressed data that end too early" in scans_refused(tmp_path, zipped(mzml(TIMES, SCANS))[:-2000])
    assert "damaged compressed data" in scans_refused(tmp_path, b"\x1f\x8b\x08\x00" + b"\xff" * 40)


def test_nothing_is_asked_of_the_network(tmp_path, monkeypatch):
    def never(*args, **kwargs):
        raise AssertionError("a look-up on the network")

    monkeypatch.setattr(socket, "getaddrinfo", never)
    monkeypatch.setattr(socket.socket, "connect", never)
    assert_same(scans_of(tmp_path, mzml(TIMES, SCANS)), TIMES, SCANS)
    from cutbook.importers.mzml_reader import Vocabulary

    assert Vocabulary()["MS:1000514"].name == "m/z array"


def test_pyteomics_by_its_own_path_reads_the_same(tmp_path):
    from pyteomics import mzml as pyteomics_mzml

    from cutbook.importers.mzml_reader import Vocabulary

    for content in (mzml(TIMES, SCANS), mzml(TIMES, SCANS, 32, False, group=True, index=True)):
        series = scans_of(tmp_path, content)
        with pyteomics_mzml.MzML(io.BytesIO(content), use_index=False, cv=Vocabulary()) as reader:
            for number, one in enumerate(reader):
                assert np.array_equal(one["m/z array"], series.scan(number)[0])
                assert np.array_equal(one["intensity array"], series.scan(number)[1])


def test_a_second_library_reads_the_same_of_the_real_sample(tmp_path):
    if not REAL.exists():
        pytest.skip("the open data set mzml-format is not beside the checkout")
    from pyteomics import mzml as pyteomics_mzml

    from cutbook.importers.mzml_reader import Vocabulary

    content = (REAL / "test.mzML").read_bytes()
    series = scans_of(tmp_path, content)
    with pyteomics_mzml.MzML(io.BytesIO(content), use_index=False, cv=Vocabulary()) as reader:
        full = [one for one in reader if one["ms level"] == 1]
    assert len(series) == len(full) > 0
    for number, one in enumerate(full):
        assert np.array_equal(one["m/z array"], series.scan(number)[0])
        assert one["scanList"]["scan"][0]["scan start time"] == pytest.approx(series.time_min[number])


def test_the_small_example_of_the_standard_is_refused_for_its_times(tmp_path):
    if not REAL.exists():
        pytest.skip("the open data set mzml-format is not beside the checkout")
    # its scans run 5.89 min, none, 0.70 min
    line = scans_refused(tmp_path, (REAL / "tiny.pwiz.1.1.mzML").read_bytes())
    assert "spectrum 4: found time 0.70083333 min after 5.8905 min; expected rising times" in line
