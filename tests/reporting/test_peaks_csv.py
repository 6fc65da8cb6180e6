"""peaks.csv: readable by scripts, harmless in a spreadsheet."""

import csv
import io
from dataclasses import replace

import pytest

from cutbook.reporting.numbers import OutputSettings
from cutbook.reporting.peaks_csv import peaks_csv, text_cell


def test_every_peak_stands_there_with_its_numbers(findings):
    rows = list(csv.DictReader(io.StringIO(peaks_csv(findings))))
    peaks = [peak for sample in findings.samples for peak in sample.peaks]
    assert len(rows) == len(peaks)
    for row, peak in zip(rows, peaks, strict=True):
        assert float(row["apex_min"]) == pytest.approx(peak.apex_min, rel=1e-8)
        assert float(row["area"]) == pytest.approx(peak.area, rel=1e-8)
        assert (row["retention_index"] == "") == (peak.retention_index is None)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\tx", "\rx"])
def test_text_that_a_spreadsheet_would_run_gets_an_apostrophe(text):
    assert text_cell(text).startswith("'")


def test_ordinary_text_is_left_alone():
    assert text_cell("n-C16, shoulder") == "n-C16, shoulder"


def test_a_hostile_sample_name_is_armed_in_the_file(findings):
    run = replace(findings, samples=(replace(findings.samples[0], name='=cmd|"/c calc"!A1'),))
    rows = list(csv.reader(io.StringIO(peaks_csv(run))))
    assert rows[1][0] == '\'=cmd|"/c calc"!A1'


def test_numbers_are_not_armed(findings):
    text = peaks_csv(findings)
    assert not any(cell.startswith("'") for row in csv.reader(io.StringIO(text)) for cell in row)


def test_the_decimal_comma_comes_with_semicolons(findings):
    rows = list(csv.reader(io.StringIO(peaks_csv(findings, OutputSettings(decimal="comma"))), delimiter=";"))
    assert len({len(row) for row in rows}) == 1
    peak = findings.samples[0].peaks.peaks[0]
    assert float(rows[1][3].replace(",", ".")) == pytest.approx(peak.apex_min)
