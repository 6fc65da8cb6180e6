"""Traces and series of mass spectra from JCAMP-DX files."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from importer_contract import entry, try_importer

from cutbook.importers import jcamp_dx, text_columns
from cutbook.importers.trace_file import TraceFile, open_trace_file
from cutbook.model.errors import InputError

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT.parent / "shared" / "data"
SIGNAL = np.round(1000 + 500 * np.exp(-0.5 * ((np.arange(600) - 300) / 8.0) ** 2)).astype(int)


def chromatogram(title="oil", signal=SIGNAL, first=0.0, step=0.5, falling=False, **labels):
    """A chromatogram over seconds; a label of None is left out."""
    times = first + step * np.arange(len(signal))
    if falling:
        times, signal = times[::-1], signal[::-1]
    labels = {
        "DATA TYPE": "GAS CHROMATOGRAM",
        "XUNITS": "SECONDS",
        "YUNITS": "pA",
        "DETECTOR": "FID",
        "FIRSTX": times[0],
        "LASTX": times[-1],
        "NPOINTS": len(signal),
    } | labels
    lines = [
        f"{times[at]:.6g} " + " ".join(map(str, signal[at : at + 10].tolist())) + "\n"
        for at in range(0, len(signal), 10)
    ]
    head = "".join(f"##{name}= {value}\n" for name, value in labels.items() if value is not None)
    return f"##TITLE= {title}\n##JCAMP-DX= 4.24\n{head}##XYDATA= (X++(Y..Y))\n{''.join(lines)}##END=\n"


def scans(count=200, unit=" s", step=1.0, total=True):
    """One table a scan, m/z falling."""
    text = "##TITLE= run\n##JCAMP-DX= 5.00\n##DATA TYPE= MASS SPECTRUM\n##XUNITS= m/z\n"
    for at in range(count):
        ions = [(91.1, 40 + at % 7), (57.0, 100), (43.1, 10)]
        text += f"##SCAN NUMBER= {at + 1}\n##.RETENTION TIME= {60 + step * at:.6g}{unit}\n"
        text += f"##TIC= {sum(i for _, i in ions)}\n" if total else ""
        text += "##NPOINTS= 3\n##PEAK TABLE= (XY..XY)\n" + "".join(f"{m}, {i}\n" for m, i in ions)
    return text + "##END=\n"


def pages(count=200, units="M/Z, COUNTS, SECONDS", page="##PAGE= T={time}\n", name="RETENTION TIME"):
    """A series with one page a scan."""
    text = "##TITLE= run\n##JCAMP-DX= 5.00\n##DATA TYPE= MASS SPECTRUM\n##DATA CLASS= NTUPLES\n"
    text += f"##NTUPLES= MASS SPECTRUM\n##VAR_NAME= MASS, INTENSITY, {name}\n##SYMBOL= X, Y, T\n##UNITS= {units}\n"
    for at in range(count):
        text += page.format(time=60 + at)
        text += f"##NPOINTS= 2\n##DATA TABLE= (XY..XY), PEAKS\n57,{100 + at % 5}; 43,50\n"
    return text + "##END NTUPLES= MASS SPECTRUM\n##END=\n"


def file_of(text):
    return TraceFile("trace", text if isinstance(text, bytes) else text.encode(), "0" * 64)


def read(text, **more):
    return jcamp_dx.read(file_of(text), entry("trace", **more))


def series(text):
    return jcamp_dx.read_scans(file_of(text))


def line_of(text, reader=read, **more):
    with pytest.raises(InputError) as refused:
        reader(text, **more)
    assert "\n" not in str(refused.value)
    return str(refused.value)


def codes(result):
    return [one.code for one in result.step.cautions]


def test_a_chromatogram_is_read_with_its_units_and_its_detector():
    trace = read(chromatogram(YFACTOR=0.5))
    assert trace.time_min == pytest.approx(0.5 * np.arange(600) / 60)
    assert trace.signal == pytest.approx(SIGNAL / 2)
    assert (trace.signal_unit, trace.detector) == ("pA", "FID")
    assert trace.step.operation == "read trace/1"
    assert trace.step.source.sha256 == "0" * 64
    assert codes(trace) == []


@pytest.mark.parametrize("text", [chromatogram(), scans(), pages()], ids=["chromatogram", "scans", "pages"])
def test_the_contract_of_importers_is_kept(tmp_path, text):
    try_importer(jcamp_dx, tmp_path, text.encode())


@pytest.mark.parametrize(
    ("unit", "first", "step", "last_min"),
    [
        ("SECONDS", 0, 0.5, 299.5 / 60),
        ("MINUTES", 0, 0.01, 5.99),
        ("ms", 0, 500, 299.5 / 60),
        ("Time (min)", 1, 0.01, 6.99),
        ("RETENTION TIME/S", 0, 0.5, 299.5 / 60),
    ],
)
def test_times_are_taken_in_the_unit_that_is_stated(unit, first, step, last_min):
    trace = read(chromatogram(first=first, step=step, XUNITS=unit))
    assert trace.time_min[-1] == pytest.approx(last_min)
    assert codes(trace) == []


@pytest.mark.parametrize("unit", [None, "TIME"])
def test_without_a_unit_minutes_are_assumed_with_a_caution(unit):
    trace = read(chromatogram(step=0.01, XUNITS=unit))
    assert codes(trace) == ["trace.time_unit_assumed"]
    assert dict(trace.step.cautions[0].facts) == {"column": "x", "last": 5.99}
    assert "found times up to 299.5 without a unit" in line_of(chromatogram(XUNITS=unit))


def test_another_unit_than_one_of_time_is_refused():
    assert "line 10: found x in '1/CM'; expected seconds" in line_of(chromatogram(XUNITS="1/CM"))


def test_falling_times_are_turned_round():
    trace = read(chromatogram(falling=True))
    assert trace.time_min == pytest.approx(0.5 * np.arange(600) / 60)
    assert trace.signal.tolist() == SIGNAL.tolist()


def test_a_missing_value_is_refused_with_its_line_also_where_times_fall():
    for falling, line in ((False, 12), (True, 69)):
        text = chromatogram(falling=falling)
        at = text.index("\n", text.index("(X++")) + 1  # the second line of numbers, or the last but one, holds point 15
        lines = text[at:].split("\n")
        row = 1 if not falling else 58
        words = lines[row].split(" ")
        words[6 if not falling else 5] = "?"
        lines[row] = " ".join(words)
        told = line_of(text[:at] + "\n".join(lines))
        assert told.startswith(f"trace, line {line}: found no finite signal")


def test_the_run_sheet_and_the_file_may_differ_about_the_detector():
    trace = read(chromatogram(), detector="TCD")
    assert (trace.detector, codes(trace)) == ("TCD", ["trace.detector_differs"])


def test_of_several_chromatograms_one_must_be_chosen():
    text = chromatogram("front") + chromatogram("back", SIGNAL + 7)
    assert line_of(text) == (
        "trace: found 2 signals: 1 'front' (GAS CHROMATOGRAM), 2 'back' (GAS CHROMATOGRAM); expected one, or a choice. "
        "Choose with columns = { signal = … }"
    )
    for choice in ("back", "BACK", "2"):
        trace = read(text, columns={"signal": choice})
        assert trace.signal[0] == SIGNAL[0] + 7
        assert trace.step.settings["signal"] == {"number": 2, "title": "back"}
    assert "found no signal '3'; expected one of 1 'front'" in line_of(text, columns={"signal": "3"})
    twice = chromatogram("a") + chromatogram("a")
    assert "found 2 signals 'a'" in line_of(twice, columns={"signal": "a"})


def test_a_peak_table_beside_the_samples_is_no_second_signal():
    peaks = "##TITLE= peaks\n##DATA TYPE= GAS CHROMATOGRAM\n##XUNITS= SECONDS\n##PEAK TABLE= (XY..XY)\n150,4\n##END=\n"
    assert len(read(chromatogram() + peaks).signal) == 600


def test_labels_that_contradict_the_numbers_become_cautions():
    trace = read(chromatogram(MAXY=9999, DELTAX=0.7))
    assert codes(trace) == ["jcamp.label_differs", "jcamp.label_differs"]
    assert dict(trace.step.cautions[0].facts) == {
        "label": "MAXY",
        "stated": 9999,
        "found": 1500,
        "line": 12,
        "count": 1,
    }
    trace = read(chromatogram().replace("\n50 ", "\n77 "))
    assert codes(trace) == ["jcamp.line_x_differs"]
    assert dict(trace.step.cautions[0].facts) == {"stated": 77, "found": 50, "line": 21, "count": 1}


def test_lost_points_are_refused():
    text = chromatogram()
    at = text.index("\n50 ")
    assert "found 590 points; expected the 600" in line_of(text[:at] + text[text.index("\n", at + 1) :])


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


def test_a_series_of_a_total_ion_current_over_time_is_a_chromatogram():
    text = "##TITLE= run\n##DATA TYPE= MASS SPECTRUM\n##NTUPLES= MASS SPECTRUM\n"
    text += "##VAR_NAME= RETENTION TIME, TOTAL ION CURRENT\n##SYMBOL= T, I\n##UNITS= SECONDS, COUNTS\n"
    text += "##PAGE= N=1\n##DATA TABLE= (TI..TI), PROFILE\n"
    text += "".join(f"{0.5 * at},{value}\n" for at, value in enumerate(SIGNAL)) + "##END NTUPLES=\n##END=\n"
    trace = read(text)
    assert (trace.detector, trace.signal_unit) == ("MS", "COUNTS")
    assert trace.time_min[-1] == pytest.approx(299.5 / 60)


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


def test_a_chromatogram_declared_a_mass_spectrum_is_taken_only_when_it_is_named():
    text = chromatogram(**{"DATA TYPE": "MASS SPECTRUM"})
    assert line_of(text, series) == (
        "trace, line 11: found a table declared a mass spectrum, but its x are times (0 to 299.5 SECONDS); expected "
        "mass spectra with their retention times. Read it as a trace"
    ).replace("line 11", f"line {text[: text.index('##XYDATA')].count(chr(10)) + 1}")
    assert "declared a mass spectrum, but its x are times" in line_of(text)
    assert "columns = { signal = '1' }" in line_of(text)
    assert len(read(text, columns={"signal": "1"}).signal) == 600
    assert len(read(text, columns={"signal": "oil"}).signal) == 600


def test_a_long_even_run_of_fractions_without_a_unit_is_not_taken_for_a_spectrum():
    text = chromatogram(step=0.01, XUNITS=None, **{"DATA TYPE": "MASS SPECTRUM"})
    assert "but its x are times (0 to 5.99)" in line_of(text, series)
    assert codes(read(text, columns={"signal": "1"})) == ["trace.time_unit_assumed"]
    spectrum = chromatogram(step=0.01, XUNITS="M/Z", **{"DATA TYPE": "MASS SPECTRUM"})
    assert "found one mass spectrum (600 values of m/z)" in line_of(spectrum)


def test_other_files_are_refused_in_one_line():
    assert "JCAMP-DX without a table of numbers" in line_of("##TITLE= x\n##END=\n")
    infrared = chromatogram(XUNITS="1/CM", **{"DATA TYPE": "INFRARED SPECTRUM"})
    assert "1 tables without times (INFRARED SPECTRUM)" in line_of(infrared)
    assert "JCAMP-DX without mass spectra" in line_of(infrared, series)
    decay = chromatogram(**{"DATA TYPE": "NMR FID"})
    assert "without times" in line_of(decay)
    assert "found a chromatogram" in line_of(chromatogram(), series)


@pytest.mark.parametrize(
    ("head", "known"),
    [
        (b"##TITLE= x\n##JCAMP-DX= 5\n", True),
        (b"\xef\xbb\xbf\r\n$$ written by hand\r\n## title =\r\n", True),
        (b"##jcampdx=4.24\r##TITLE=\r", True),
        (b"## sample = oil\n1,2\n", False),
        (b"time,signal\n##TITLE=\n", False),
        (b"$$" * 2000, False),
        (b"", False),
    ],
)
def test_files_are_recognised_by_their_first_labels(head, known):
    assert jcamp_dx.recognises(head) == known


def test_text_columns_do_not_take_these_files():
    assert not text_columns.recognises(chromatogram().encode()[:4096])


def test_every_caution_has_its_words_and_facts():
    words = tomllib.loads((ROOT / "reports" / "cautions.d-jcamp.toml").read_text(encoding="utf-8"))
    facts = {"label": "MAXY", "stated": 1.0, "found": 2.0, "line": 3, "count": 4}
    facts |= {"unit": "s", "last": 5.0, "scans": 6, "time_min": 7.0}
    for code, one in words.items():
        assert set(one) == {"level", "text", "means", "do"}
        assert one["text"].format(about="trace", **facts).startswith("trace: ")
        assert code.startswith("jcamp.")
    sources = (ROOT / "analysis" / "cutbook" / "importers").glob("jcamp_*.py")
    used = {code for source in sources for code in words if f'"{code}"' in source.read_text(encoding="utf-8")}
    assert used == set(words)


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


@pytest.mark.skipif(not (DATA / "ei-jcamp").is_dir(), reason="the open data sets are not beside the project")
def test_a_real_single_spectrum_is_no_trace_and_no_run():
    file = open_trace_file(DATA / "ei-jcamp", "ethanol_ms.jdx")
    with pytest.raises(
        InputError, match=r"found one mass spectrum \(12 values of m/z\).* A single spectrum is no trace"
    ):
        jcamp_dx.read(file, entry("ethanol_ms.jdx"))
    with pytest.raises(InputError, match="found one mass spectrum without a retention time"):
        jcamp_dx.read_scans(file)


GOOD = [chromatogram(signal=SIGNAL[:120]), scans(12), pages(12), chromatogram("a") + chromatogram("b")]


@settings(max_examples=300, deadline=1000)
@given(st.data())
def test_damaged_files_are_refused_or_read_but_never_crash(data):
    content = bytearray(data.draw(st.sampled_from(GOOD)).encode())
    for _ in range(data.draw(st.integers(0, 5))):
        content[data.draw(st.integers(0, len(content) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    content = bytes(content[: data.draw(st.integers(1, len(content)))])
    jcamp_dx.recognises(content[:4096])
    for reader in (read, series):
        try:
            found = reader(content)
        except InputError as refused:
            assert "\n" not in str(refused)
        else:
            assert np.isfinite(found.time_min).all()
