"""Retention indices against the worked examples of their papers and an independent computation."""

import math

import numpy as np
import pytest

from cutbook.identification.retention_index import isothermal_index, programmed_index


def test_worked_examples_of_both_equations():
    # van den Dool & Kratz 1963 and Kováts 1958, as worked in the published check values
    assert programmed_index(8.35, (9, 10), np.array([7.80, 9.40])) == pytest.approx(934.375, abs=0.01)
    assert isothermal_index(8.35, (9, 10), np.array([7.80, 9.40]), 1.20) == pytest.approx(936.875, abs=0.01)
    assert programmed_index(12.0, (9, 12), np.array([7.80, 13.20])) == pytest.approx(1133.333, abs=0.01)


def test_rungs_have_their_own_index_and_nothing_is_extrapolated():
    carbons, times = (8, 9, 11), np.array([5.0, 7.0, 12.0])
    assert [programmed_index(t, carbons, times) for t in times] == [800.0, 900.0, 1100.0]
    assert programmed_index(4.99, carbons, times) is None
    assert programmed_index(12.01, carbons, times) is None
    assert isothermal_index(5.5, carbons, times, 6.0) is None


def test_isothermal_index_is_linear_in_the_logarithm_of_adjusted_time():
    hold_up = 1.0
    times = hold_up + np.array([math.exp(0.5 * n) for n in (8, 9, 10)])
    halfway = hold_up + math.exp(0.5 * 8.5)
    assert isothermal_index(halfway, (8, 9, 10), times, hold_up) == pytest.approx(850.0)
