"""Closures of a series that are too exact to have been weighed."""

import numpy as np

from cutbook.balance.by_difference import Closure, closures_by_difference
from cutbook.reporting.cautions import in_order

# Singh 2018, J. Anal. Appl. Pyrolysis 134, 150-161: sums of oil, gas and residue of eight HDPE runs, in %
SINGH = (100.00, 100.03, 100.00, 100.07, 100.00, 100.04, 100.00, 100.00)


def series(values, u=0.05):
    return [Closure(f"R{number}", value, u) for number, value in enumerate(values, 1)]


def test_the_published_series_is_recognised_as_by_difference():
    found = closures_by_difference(series(SINGH))
    (worded,) = in_order([found])
    # erf(0.1 / (0.5 √2)) = 0.1585 for each of eight: 0.1585⁸ = 4e-7
    assert found.facts["chance"] == "4e-07" and worded.level == "warning"
    assert found.about == ", ".join(f"R{n}" for n in range(1, 9)) and "8 of 8 runs" in worded.text


def test_a_few_exact_closures_among_many_honest_ones_are_chance():
    assert closures_by_difference(series((97.1, 99.95, 98.4, 101.2, 96.8, 99.0))) is None
    assert closures_by_difference(series((100.0, 100.0))) is None, "two runs are no series"
    assert closures_by_difference(series((97.0, 98.0, 99.0))) is None


def test_exact_closures_among_others_are_named():
    found = closures_by_difference(series((97.1, 100.0, 100.02, 100.0, 99.99, 98.4)))
    assert found.about == "R2, R3, R4, R5"


def test_honest_closures_are_rarely_accused():
    rng = np.random.default_rng(4)
    accused = sum(
        closures_by_difference(series(100.0 + 0.5 * rng.standard_normal(8))) is not None for _ in range(2000)
    )  # fmt: skip
    assert accused / 2000 < 0.01
