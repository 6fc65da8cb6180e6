"""Uncertainties against published worked examples."""

import math

import numpy as np
import pytest
from uncertainties import correlation_matrix

from cutbook.model.amount import budget, doubt, measured, nominal, standard_uncertainty, total


def test_correlated_inputs_give_correlated_results():
    """JCGM 100:2008, annex H.2 (values remembered; recomputed here with numpy)."""
    volts = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
    milliamperes = np.array([19.663, 19.639, 19.640, 19.685, 19.678])
    radians = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])
    observed = np.array([volts, milliamperes * 1e-3, radians])
    root = np.linalg.cholesky(np.cov(observed) / 5)
    causes = [doubt(f"cause {number}") for number in range(3)]
    volt, ampere, radian = (
        float(row.mean()) + total(float(root[i, j]) * causes[j] for j in range(3)) for i, row in enumerate(observed)
    )
    from uncertainties.umath import cos, sin

    results = (volt / ampere * cos(radian), volt / ampere * sin(radian), volt / ampere)
    for result, value, u in zip(results, (127.732, 219.847, 254.260), (0.071, 0.295, 0.236), strict=True):
        assert nominal(result) == pytest.approx(value, abs=0.001)
        assert standard_uncertainty(result) == pytest.approx(u, abs=0.001)
    correlation = correlation_matrix(results)
    assert [correlation[0][1], correlation[0][2], correlation[1][2]] == pytest.approx(
        [-0.588, -0.485, 0.993], abs=0.001
    )


def test_a_titration_gives_value_uncertainty_and_budget():
    """Eurachem/CITAC QUAM:2012, example A2, sodium hydroxide against potassium hydrogen phthalate (remembered)."""
    mass, purity = measured(0.3888, 0.00013, "mass"), measured(1.0, 0.00029, "purity")
    molar, volume = measured(204.2212, 0.0038, "molar mass"), measured(18.64, 0.013, "volume")
    repeat = measured(1.0, 0.0005, "repeatability")
    concentration = 1000 * repeat * mass * purity / (molar * volume)
    assert nominal(concentration) == pytest.approx(0.10214, abs=1e-5)
    assert standard_uncertainty(concentration) == pytest.approx(0.0001, abs=1e-5)
    parts = budget(concentration)
    assert [tag for tag, _ in parts][:2] == ["volume", "repeatability"]
    assert math.sqrt(sum(part**2 for _, part in parts)) == pytest.approx(standard_uncertainty(concentration))


def test_an_exact_entry_has_no_part_in_the_budget():
    assert budget(measured(5.0, 0.0, "exact") * measured(2.0, 0.1, "length")) == (("length", pytest.approx(0.5)),)


def test_what_cancels_leaves_no_trace_in_the_budget():
    one, other = measured(5.0, 0.1, "one"), measured(7.0, 0.1, "other")
    share = one / (one + other) + other / (one + other)
    assert budget(100 * share + measured(0.0, 1.0, "rest")) == (("rest", pytest.approx(1.0)),)


@pytest.mark.parametrize(("value", "u"), [(math.nan, 1.0), (1.0, math.inf), (1.0, -0.1)])
def test_what_is_no_measurement_is_refused(value, u):
    with pytest.raises(ValueError, match="is not a measurement"):
        measured(value, u, "thing")
