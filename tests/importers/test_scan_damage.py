"""Damaged files of mass spectra, the same damage in every format: one clear line, or a caution, never a wrong series."""

import re
import tracemalloc
import zlib
from base64 import b64encode

import jcamp_files as jcamp
import numpy as np
import pytest
from importer_contract import scans_of, scans_refused
from scan_files import andi_ms, mzml, mzml_array, mzxml, some_scans, zipped

TIMES, SCANS = some_scans(40)
GOOD = {
    "mzML": mzml(TIMES, SCANS),
    "mzML, not packed": mzml(TIMES, SCANS, zipped=False),
    "mzXML": mzxml(TIMES, SCANS),
    "mzXML, not packed": mzxml(TIMES, SCANS, zipped=False),
}
LONGEST = re.compile(rb"(<binary>|contentType=\"m/z-int\" compressionType=\"(?:zlib|none)\">)([A-Za-z0-9+/=]{40,})")


def cut_base64(content, keep):
    """The first array cut off after a share of its letters."""
    found = LONGEST.search(content)
    text = found.group(2)
    return content.replace(text, text[: int(keep * len(text))], 1)


@pytest.mark.parametrize("name", GOOD)
@pytest.mark.parametrize("keep", [0.99, 0.5, 0.1])
def test_a_truncated_array_is_one_line_with_its_scan(tmp_path, name, keep):
    line = scans_refused(tmp_path, cut_base64(GOOD[name], keep))
    assert re.search(r"(spectrum|scan) 1\b", line), line
    assert re.search(r"cannot be unpacked|values; expected", line), line


@pytest.mark.parametrize("name", GOOD)
def test_letters_that_are_no_base64_are_one_line_with_their_scan(tmp_path, name):
    found = LONGEST.search(GOOD[name])
    text = found.group(2)
    line = scans_refused(tmp_path, GOOD[name].replace(text, text[:11] + b"\xc3\xa9*" + text[13:], 1))
    assert re.search(r"(spectrum|scan) 1\b", line), line


def test_arrays_of_unequal_length_are_one_line(tmp_path):
    for bits in (32, 64):
        for values in (SCANS[3][1][:-1], np.append(SCANS[3][1], 7.0), np.empty(0)):
            whole = mzml_array(SCANS[3][1], "MS:1000515", bits)
            content = mzml(TIMES, SCANS, bits)
            assert whole.encode() in content
            line = scans_refused(
                tmp_path, content.replace(whole.encode(), mzml_array(values, "MS:1000515", bits).encode(), 1)
            )
            assert "spectrum 4" in line and "intensity values" in line and "expected 20" in line


WITHOUT_TIME = {
    "mzML": re.sub(rb'<cvParam cvRef="MS" accession="MS:1000016"[^>]*/>', b"", GOOD["mzML"]),
    "mzML, one scan": re.sub(rb'<cvParam cvRef="MS" accession="MS:1000016"[^>]*/>', b"", GOOD["mzML"], count=1),
    "mzXML": re.sub(rb'retentionTime="[^"]*"', b"", GOOD["mzXML"]),
    "mzXML, one scan": re.sub(rb'retentionTime="[^"]*"', b"", GOOD["mzXML"], count=1),
    "ANDI": andi_ms(TIMES, SCANS).replace(b"scan_acquisition_time", b"scan_acquisition_tims"),
    "ANDI, fillers": andi_ms(np.full(len(TIMES), -9999.0 / 60), SCANS),
    "JCAMP-DX": re.sub(r"##\.RETENTION TIME=.*\n", "", jcamp.scans()).encode(),
    "JCAMP-DX, one scan": jcamp.scans().replace("##.RETENTION TIME= 63 s\n", "", 1).encode(),
}


@pytest.mark.parametrize("name", WITHOUT_TIME)
def test_scans_without_a_time_are_one_line(tmp_path, name):
    line = scans_refused(tmp_path, WITHOUT_TIME[name])
    assert re.search(r"time|mass spectra", line), line
    if "one scan" in name:
        assert re.search(r"(spectrum|scan|line) \d+", line), line


@pytest.mark.parametrize("write", [mzml, mzxml, andi_ms], ids=["mzML", "mzXML", "ANDI"])
def test_negative_intensities_are_kept_and_counted(tmp_path, write):
    changed = [(mz, intensity.copy()) for mz, intensity in SCANS]
    for number in (3, 9):
        changed[number][1][:4] = -5.0
    series = scans_of(tmp_path, write(TIMES, changed))
    assert (series.intensity < 0).sum() == 8
    assert [dict(one.facts) for one in series.step.cautions if one.code == "scans.negative"] == [{"count": 8}]


@pytest.mark.parametrize("value", [-3, 2**31 - 1, 10**6])
def test_a_place_outside_the_file_is_one_line(tmp_path, value):
    content = andi_ms(TIMES, SCANS)
    index = np.cumsum([0] + [len(mz) for mz, _ in SCANS[:-1]]).astype(">i4")
    assert index.tobytes() in content
    wrong = index.copy()
    wrong[-1] = value
    line = scans_refused(tmp_path, content.replace(index.tobytes(), wrong.tobytes()))
    assert "lie outside the" in line


ENTITIES = '<!DOCTYPE x [<!ENTITY a "' + "ha" * 500 + '">' + "".join(
    f'<!ENTITY {chr(98 + n)} "{10 * f"&{chr(97 + n)};"}">' for n in range(8)
) + "]>"  # fmt: skip


def filled(name):
    """A good file whose first array unpacks to 80 MB."""
    zeros = b64encode(zlib.compress(b"\0" * 80_000_000))
    return GOOD[name].replace(LONGEST.search(GOOD[name]).group(2), zeros, 1)


BOMBS = {
    "entities in mzML": lambda: mzml(TIMES, SCANS, prolog=ENTITIES),
    "entities in mzXML": lambda: GOOD["mzXML"].replace(b"\n<mzXML", b"\n" + ENTITIES.encode() + b"<mzXML", 1),
    "entities in a packed mzML": lambda: zipped(mzml(TIMES, SCANS, prolog=ENTITIES)),
    "an array of mzXML": lambda: filled("mzXML"),
    "an array of mzML": lambda: filled("mzML"),
    "a packed file": lambda: zipped(b"<mzML " + b" " * 300_000_000),
}


@pytest.mark.parametrize("name", BOMBS)
def test_bombs_are_one_line_within_little_memory(tmp_path, name):
    content = BOMBS[name]()
    tracemalloc.start()
    scans_refused(tmp_path, content)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    # a packed file may unpack to 256 MiB, which are held twice while they grow
    assert peak < (600 if name == "a packed file" else 20) * 2**20, f"{peak / 2**20:.0f} MiB"
