"""Detection limits and a calibration line against the printed factors and examples of `data/11_detection_limits.csv`."""

import csv
import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import chi2, t

from cutbook.model.errors import InputError
from cutbook.quantitation.calibration import CalibrationPoint, CalibrationSettings, calibrate
from cutbook.quantitation.detection_limit import limits_of_line, limits_of_scatter, method_limit

with (Path(__file__).parent / "data" / "11_detection_limits.csv").open(encoding="utf-8") as table:
    ROWS = {(row["item"], row["inputs"]): row for row in csv.DictReader(table)}
STUDENT = [int(re.match(r"\d+", inputs)[0]) for item, inputs in ROWS if item.startswith("Student")]
(LINE,) = (row for (item, _), row in ROWS.items() if item == "calibration line")
X, Y = (
    [float(one) for one in part.split("=")[1].split(",")] for part in LINE["inputs"].split(";")
)  # "x=0,1,…; y=0.12,…"


def value(item):
    (row,) = (row for (name, _), row in ROWS.items() if name.startswith(item))
    return float(row["value"])


def the_line(weighting="equal", of=lambda x, y: y):
    points = [CalibrationPoint(x, of(x, y)) for x, y in zip(X, Y, strict=True)]
    return calibrate("example", points, CalibrationSettings(weighting=weighting))


def test_currie_factors_are_the_printed_ones():
    plain = limits_of_scatter(1.0)
    assert plain.critical == pytest.approx(value("critical level factor"), abs=1e-3)
    assert plain.detection == pytest.approx(value("detection limit factor"), abs=1e-3)
    assert plain.quantitation == pytest.approx(value("quantification factor"), abs=1e-3)
    assert limits_of_scatter(1.0, paired=True).detection == pytest.approx(value("paired blank"), abs=1e-3)


@pytest.mark.parametrize("count", STUDENT)
def test_method_limits_take_the_printed_t(count):
    (row,) = (row for (_, inputs), row in ROWS.items() if inputs.startswith(f"{count} rep"))
    one = np.arange(count, dtype=float)
    assert method_limit(one).value / one.std(ddof=1) == pytest.approx(float(row["value"]), abs=float(row["tolerance"]))


def test_method_limit_of_seven_replicates_and_its_confidence():
    (row,) = (row for (item, _), row in ROWS.items() if item.startswith("MDL = "))
    found = method_limit(json.loads(row["inputs"]))
    assert found.value == pytest.approx(float(row["value"]), abs=float(row["tolerance"]))
    # chi-square gives 0.644 and 2.202; the state copy that prints 0.69 and 1.92 is called wrong by the table
    low, high = (math.sqrt(6 / chi2.ppf(part, 6)) for part in (0.975, 0.025))
    assert (found.low / found.value, found.high / found.value) == pytest.approx((low, high), abs=1e-9)
    (printed,) = (row for (item, _), row in ROWS.items() if item.startswith("chi-square"))
    assert [round(found.low / found.value, 3), round(found.high / found.value, 3)] == [
        float(one) for one in printed["value"].split(" / ")
    ]


def test_line_of_the_example_has_its_slope_intercept_and_scatter():
    line = the_line()
    assert line.slope == pytest.approx(float(LINE["value"]), abs=float(LINE["tolerance"]))
    assert line.intercept == pytest.approx(float(LINE["value2"]), abs=float(LINE["tolerance"]))
    assert line.residual == pytest.approx(value("residual standard deviation"), abs=1e-5)
    assert 3.3 * line.residual / line.slope == pytest.approx(value("ICH Q2 detection limit"), abs=1e-4)
    assert 10 * line.residual / line.slope == pytest.approx(value("ICH Q2 quantitation limit"), abs=1e-4)


def test_limits_of_the_prediction_band_are_those_of_the_example():
    critical, detection = limits_of_line(the_line())
    assert critical == pytest.approx(value("Hubaux-Vos critical response"), abs=1e-3)
    assert detection == pytest.approx(value("Hubaux-Vos detection limit"), abs=1e-3)


def test_detection_limit_of_a_line_is_where_its_lower_band_meets_the_critical_response():
    # by its definition (Hubaux and Vos 1970): y_C = b0 + b x_D - t s √(1 + 1/n + (x_D - x̄)²/S_xx)
    critical, detection = limits_of_line(the_line())
    x, y = np.array(X), np.array(Y)
    slope, start = np.polyfit(x, y, 1)
    scatter = math.sqrt(np.sum((y - start - slope * x) ** 2) / (len(x) - 2))
    squares = np.sum((x - x.mean()) ** 2)
    band = t.ppf(0.95, len(x) - 2) * scatter * math.sqrt(1 + 1 / len(x) + (detection - x.mean()) ** 2 / squares)
    assert start + slope * detection - band == pytest.approx(critical, abs=1e-9)


def test_weighted_band_is_that_of_the_weighted_fit():
    # the same definition with the weights of the fit, from numpy's own weighted fit and covariance
    x, y = np.array([0.5, 1.0, 2.0, 5.0, 10.0, 20.0]), np.array([5.2, 9.7, 20.5, 49.0, 102.0, 197.0])
    points = [CalibrationPoint(*one) for one in zip(x, y, strict=True)]
    critical, detection = limits_of_line(calibrate("weighted", points, CalibrationSettings(weighting="1/x")))
    weights = (1 / x) / np.mean(1 / x)
    (slope, start), scaled = np.polyfit(x, y, 1, w=np.sqrt(weights), cov="unscaled")
    variance = np.sum(weights * (y - start - slope * x) ** 2) / (len(x) - 2)
    student = t.ppf(0.95, len(x) - 2)

    def band(at):
        row = np.array([at, 1.0])
        own = max(at, 0.5) / np.mean(1 / x) ** -1  # 1/w(x) with w = (1/x)/mean, no lower than the lowest standard
        return student * math.sqrt(variance * (own + row @ scaled @ row))

    assert critical == pytest.approx(start + band(0.0), rel=1e-9)
    assert start + slope * detection - band(detection) == pytest.approx(critical, rel=1e-9)


def test_a_line_of_too_few_standards_or_of_scatter_alone_has_no_limit():
    with pytest.raises(InputError, match="three at least"):
        limits_of_line(calibrate("one", [CalibrationPoint(1.0, 10.0)]))
    wild = [CalibrationPoint(x, y) for x, y in ((1.0, 10.0), (2.0, 45.0), (3.0, 12.0), (4.0, 60.0))]
    loose = CalibrationSettings(weighting="equal", significance=0.5)
    with pytest.raises(InputError, match="a line whose band rises above that of a blank"):
        limits_of_line(calibrate("wild", wild, loose))
