"""Conversions of boiling curves against the worked examples of their procedures."""

import csv
from pathlib import Path

import pytest

from cutbook.fractions.curve_conversions import convert_curve

DATA = Path(__file__).parent / "data"


def rows(name):
    with (DATA / name).open(encoding="utf-8") as table:
        return list(csv.DictReader(table))


def example(name, procedure, quantity, fahrenheit=False):
    """Input and expected curve of a worked example, in °C."""
    given, expected = {}, {}
    for row in rows(name):
        if row["procedure"].startswith(procedure) and row["quantity"].startswith(quantity) and row["value"]:
            value = float(row["recomputed"] or row["value"])
            at = float(row["at"])
            given[at], expected[at] = float(row["input"]), value
    if fahrenheit:
        given, expected = ({at: (t - 32) / 1.8 for at, t in curve.items()} for curve in (given, expected))
    return given, expected


CASES = [
    ("02b_simdist_published.csv", "SD->D86 Daubert 1994 (degF)", "worked example", True, "SD to D86", 0.06),
    ("02b_simdist_published.csv", "SD->D86 Daubert 1994", "worked example", False, "SD to D86", 0.1),
    ("02_distillation_curve_conversions.csv", "SD->TBP Daubert", "computed example", False, "SD to TBP", 0.05),
    ("02_distillation_curve_conversions.csv", "D86->TBP Daubert", "worked example TBP", False, "D86 to TBP", 0.6),
    ("02_distillation_curve_conversions.csv", "SD->TBP Daubert", "OUT OF RANGE", False, "SD to TBP", 0.05),
]


@pytest.mark.parametrize(("name", "procedure", "quantity", "fahrenheit", "conversion", "within"), CASES)
def test_worked_examples_are_reproduced(name, procedure, quantity, fahrenheit, conversion, within):
    if procedure == "SD->D86 Daubert 1994":
        given, expected = {}, {}
        for row in rows(name):
            if row["procedure"] == procedure and row["quantity"] == quantity:
                given[float(row["at"])], expected[float(row["at"])] = float(row["input"]), float(row["value"])
    else:
        given, expected = example(name, procedure, quantity, fahrenheit)
    assert 50.0 in given
    found = convert_curve(given, conversion)
    assert len(found) >= 5
    for at in found:
        assert found[at] == pytest.approx(expected[at], abs=within), at


def test_a_measured_pair_of_curves_agrees_within_what_the_method_is_good_for():
    given = {float(r["at"]): float(r["input"]) for r in rows("02_distillation_curve_conversions.csv")
             if r["procedure"] == "experimental pair, kerosene"}  # fmt: skip
    found = convert_curve(given, "D86 to TBP")
    values = {float(r["at"]): float(r["value"]) for r in rows("02_distillation_curve_conversions.csv")
              if r["procedure"] == "experimental pair, kerosene"}  # fmt: skip
    for at in (10.0, 30.0, 50.0, 70.0, 90.0):
        assert found[at] == pytest.approx(values[at], abs=3.5), at


def test_a_curve_with_a_gap_is_converted_up_to_the_gap():
    found = convert_curve({10.0: 120.0, 30.0: 200.0, 50.0: 260.0, 90.0: 380.0}, "SD to D86")
    assert sorted(found) == [10.0, 30.0, 50.0]


def test_a_curve_without_its_middle_or_that_falls_is_refused():
    with pytest.raises(ValueError, match="without its 50 %"):
        convert_curve({10.0: 100.0}, "SD to D86")
    level = convert_curve({10.0: 145.0, 30.0: 145.0, 50.0: 200.0}, "SD to D86")
    assert level[10.0] == pytest.approx(level[30.0])
    with pytest.raises(ValueError, match="falls between 10 and 30 %"):
        convert_curve({10.0: 120.0, 30.0: 110.0, 50.0: 200.0}, "SD to D86")
