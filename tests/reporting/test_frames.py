"""Findings as pandas tables."""

import math

import pytest
from reporting_builders import a_run

from cutbook.model.errors import InputError


def test_the_cuts_table_holds_the_numbers_of_the_findings(findings):
    table = findings.table("cuts").set_index(["scheme", "cut"])
    wanted = findings.named()["cuts.boiling-range.diesel.yield"]
    row = table.loc[("boiling-range", "diesel")]
    assert row["yield_as_charged_percent"] == wanted.value
    assert row["u_yield_as_charged_percent"] == wanted.u


def test_a_missing_value_is_nan_with_its_reason():
    table = a_run(gas="not determined", points=1500).table("balance").set_index("fraction")
    assert math.isnan(table.loc["gas", "mass_g"])
    assert table.loc["gas", "reason"] == "balance.not_measured"


def test_bins_and_peaks_are_all_there(findings):
    assert len(findings.table("peaks")) == sum(len(s.peaks) for s in findings.samples)
    assert len(findings.table("carbon_numbers")) == sum(len(s.carbons.shares) for s in findings.samples)
    assert len(findings.table("sample_cuts")) == sum(len(s.cuts) for s in findings.samples)


def test_an_empty_table_keeps_its_columns():
    table = a_run(ladder=False, points=1500).table("cuts")
    assert len(table) == 0
    assert "yield_as_charged_percent" in table.columns


def test_an_unknown_table_names_the_nearest(findings):
    with pytest.raises(InputError, match="Did you mean 'carbon_numbers'"):
        findings.table("carbon_number")


def test_the_elements_table_holds_every_stream_by_every_element(findings):
    balance = findings.elements.balance if findings.elements is not None else None
    assert len(findings.table("elements")) == (5 * len(balance.streams) if balance is not None else 0)
