"""Calibration lines: the fit against a general library, coverage by simulation, what is refused and what is told."""

import math

import numpy as np
import pytest

from cutbook.model.errors import InputError
from cutbook.quantitation.calibration import CalibrationPoint, CalibrationSettings, calibrate, read_off

LEVELS = np.array([0.5, 1.0, 2.0, 5.0, 10.0, 20.0])
POWER = {"equal": 0.0, "1/x": 0.5, "1/x²": 1.0}
"""Scatter of a response goes with this power of the amount where the weighting is right."""


def points(x, y, **more):
    return [CalibrationPoint(float(one), float(two), **more) for one, two in zip(x, y, strict=True)]


def codes(line):
    return {one.code for one in line.step.cautions}


@pytest.mark.parametrize("weighting", ["equal", "1/x", "1/x²"])
def test_weighted_line_is_that_of_numpy(weighting):
    rng = np.random.default_rng(1)
    y = 3.0 + 40.0 * LEVELS + rng.normal(0, 2.0, len(LEVELS))
    line = calibrate("a", points(LEVELS, y), CalibrationSettings(weighting=weighting))
    w = LEVELS ** -(2 * POWER[weighting])
    # numpy weighs residuals before they are squared
    (slope, start), covariance = np.polyfit(LEVELS, y, 1, w=np.sqrt(w), cov=True)
    assert (line.slope, line.intercept) == pytest.approx((slope, start), rel=1e-9)
    assert (line.u_slope, line.u_intercept) == pytest.approx(np.sqrt(np.diag(covariance)), rel=1e-9)
    assert line.covariance == pytest.approx(covariance[0, 1], rel=1e-9)


def test_uncertainty_of_an_amount_is_that_of_the_closed_formula_for_equal_weights():
    # Eurachem/CITAC CG 4, E.4: u = s/b √(1/p + 1/n + (x - x̄)²/S_xx), here without the widening for few standards
    x = np.repeat(LEVELS, 12)
    y = 5.0 + 10.0 * x + np.random.default_rng(2).normal(0, 1.0, len(x))
    line = calibrate("a", points(x, y), CalibrationSettings(weighting="equal"))
    found = read_off(line, 85.0, injections=3)
    squares = np.sum((x - x.mean()) ** 2)
    expected = line.residual / line.slope * math.sqrt(1 / 3 + 1 / len(x) + (found.amount - x.mean()) ** 2 / squares)
    assert found.u == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("weighting", ["equal", "1/x", "1/x²"])
@pytest.mark.parametrize("count", [3, 4, 6, 18])
def test_interval_of_twice_u_covers_the_truth_in_90_to_98_percent(weighting, count):
    rng = np.random.default_rng(3)
    x = np.resize(LEVELS[[0, 2, 4, 5, 3, 1]], count)
    inside, trials = 0, 1500
    for _ in range(trials):
        truth = rng.uniform(0.8, 18.0)
        y = 2.0 + 30.0 * x + 0.8 * x ** POWER[weighting] * rng.normal(size=count)
        sample = 2.0 + 30.0 * truth + 0.8 * truth ** POWER[weighting] * rng.normal()
        found = read_off(calibrate("a", points(x, y), CalibrationSettings(weighting=weighting)), sample)
        inside += abs(found.amount - truth) <= 2 * found.u
    assert 0.90 <= inside / trials <= 0.98


def test_line_through_zero_has_no_intercept():
    y = 30.0 * LEVELS
    line = calibrate("a", points(LEVELS, y * [1.02, 0.99, 1.0, 1.01, 0.98, 1.0]), CalibrationSettings(intercept=False))
    assert (line.intercept, line.u_intercept) == (0.0, 0.0)
    assert line.degrees == len(LEVELS) - 1


def test_one_point_is_allowed_and_told():
    line = calibrate("a", points([5.0], [150.0]))
    found = read_off(line, 75.0)
    assert found.amount == pytest.approx(2.5)
    assert found.u >= 0.15 * 2.5
    assert "calibration.one_point" in codes(line)


def test_two_levels_give_a_line_through_zero_and_say_so():
    line = calibrate("a", points([5.0, 10.0], [150.0, 302.0]))
    assert line.intercept == 0.0
    assert {"calibration.through_zero", "calibration.linearity_untested"} <= codes(line)


@pytest.mark.parametrize(
    ("x", "y"),
    [
        ([1.0, 2.0, 5.0, 10.0], [300.0, 150.0, 60.0, 30.0]),  # falls: files interchanged
        ([1.0, 2.0, 5.0, 10.0], [30.0, 31.0, 29.0, 30.5]),  # does not answer
        ([0.0, 0.0], [1.0, 2.0]),
        ([], []),
        ([-1.0, 2.0], [1.0, 2.0]),
    ],
)
def test_nonsense_is_refused_in_one_line(x, y):
    with pytest.raises(InputError) as refused:
        calibrate("chlorobenzene", points(x, y, file="std.mzML"))
    assert "calibration of chlorobenzene: found" in str(refused.value)
    assert "\n" not in str(refused.value)


def test_amounts_outside_the_standards_are_marked():
    line = calibrate("a", points(LEVELS, 30.0 * LEVELS + [0.1, -0.1, 0.2, -0.2, 0.1, 0.0]))
    assert [read_off(line, 30.0 * x).reach for x in (0.2, 3.0, 30.0)] == ["below", "inside", "above"]


def test_curved_standards_are_called_not_linear_and_straight_ones_are_not():
    rng = np.random.default_rng(4)
    straight = 30.0 * LEVELS * (1 + 0.005 * rng.normal(size=6))
    assert "calibration.not_linear" not in codes(calibrate("a", points(LEVELS, straight)))
    curved = straight * (1 - 0.015 * LEVELS)
    assert "calibration.not_linear" in codes(calibrate("a", points(LEVELS, curved)))
    x = np.repeat(LEVELS, 2)
    twice = 30.0 * x * (1 - 0.015 * x) * (1 + 0.005 * rng.normal(size=12))
    found = calibrate("a", points(x, twice))
    assert found.linearity.kind == "lack of fit"
    assert "calibration.not_linear" in codes(found)


def test_lack_of_fit_is_claimed_of_straight_lines_in_about_one_of_twenty():
    rng = np.random.default_rng(5)
    x = np.repeat(LEVELS, 2)
    fails = sum(
        not calibrate("a", points(x, 3.0 + 30.0 * x + rng.normal(0, 0.5, len(x))),
                      CalibrationSettings(weighting="equal")).linearity.passed
        for _ in range(600)
    )  # fmt: skip
    assert 0.02 <= fails / 600 <= 0.08


def test_replicates_weigh_by_their_own_scatter_and_must_be_there():
    settings = CalibrationSettings(weighting="replicates")
    x = np.repeat(LEVELS, 3)
    y = 30.0 * x + np.tile([-1.0, 0.0, 1.0], 6) * 0.02 * 30 * x
    line = calibrate("a", points(x, y), settings)
    alike = calibrate("a", points(x, y), CalibrationSettings(weighting="1/x²"))
    assert line.slope == pytest.approx(alike.slope, rel=1e-9)  # scatter goes with x, so both weigh alike
    assert read_off(line, 200.0).u == pytest.approx(read_off(alike, 200.0).u, rel=0.05)
    with pytest.raises(InputError, match="two differing responses"):
        calibrate("a", points(LEVELS, 30 * LEVELS), settings)


def test_uncertainty_of_the_stock_is_carried_in_full():
    exact = points(LEVELS, 30.0 * LEVELS)
    stock = [CalibrationPoint(one.amount, one.response, 0.04 * one.amount) for one in exact]
    assert read_off(calibrate("a", stock), 150.0).u == pytest.approx(0.04 * 5.0, rel=1e-6)
