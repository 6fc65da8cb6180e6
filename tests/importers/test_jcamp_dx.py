"""Traces from JCAMP-DX files, and what in them is no trace."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from importer_contract import assert_keeps_the_contract, entry
from jcamp_files import SIGNAL, chromatogram, codes, line_of, pages, read, scans, series

from cutbook.importers import jcamp_dx, text_columns
from cutbook.importers.trace_file import open_trace_file
from cutbook.model.errors import InputError

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT.parent / "shared" / "data"


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
    assert_keeps_the_contract(jcamp_dx, tmp_path, text.encode())


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


def test_a_series_of_a_total_ion_current_over_time_is_a_chromatogram():
    text = "##TITLE= run\n##DATA TYPE= MASS SPECTRUM\n##NTUPLES= MASS SPECTRUM\n"
    text += "##VAR_NAME= RETENTION TIME, TOTAL ION CURRENT\n##SYMBOL= T, I\n##UNITS= SECONDS, COUNTS\n"
    text += "##PAGE= N=1\n##DATA TABLE= (TI..TI), PROFILE\n"
    text += "".join(f"{0.5 * at},{value}\n" for at, value in enumerate(SIGNAL)) + "##END NTUPLES=\n##END=\n"
    trace = read(text)
    assert (trace.detector, trace.signal_unit) == ("MS", "COUNTS")
    assert trace.time_min[-1] == pytest.approx(299.5 / 60)


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
