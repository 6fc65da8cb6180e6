"""Arithmetic on random draws against what is known of the distributions."""

import math

import numpy as np
import pytest

from cutbook.model.amount import applied, doubt, measured, nominal, standard_uncertainty, tabulated
from cutbook.model.draws import Drawn, drawing, in_force
from cutbook.model.entered import Entered

MANY = 200_000


def test_sum_product_quotient_and_power_have_the_moments_of_theory():
    with drawing(MANY, 1):
        x, y = measured(10.0, 1.0, "x"), measured(4.0, 0.5, "y")
        assert standard_uncertainty(x + 2 * y - 3) == pytest.approx(math.hypot(1.0, 1.0), rel=0.01)
        # Var(xy) = x²u_y² + y²u_x² + u_x²u_y², which is beyond first order
        assert standard_uncertainty(x * y) == pytest.approx((25 + 16 + 0.25) ** 0.5, rel=0.01)
        # E(x²) = x² + u²; E(1/y) = 1/y (1 + (u/y)² + 3 (u/y)⁴ …)
        assert np.mean((x**2).values) == pytest.approx(101.0, rel=0.003)
        assert np.mean((1 / y).values) == pytest.approx(0.25 * (1 + 1 / 64 + 3 / 64**2), rel=0.003)
        assert nominal(x / y) == 2.5 and nominal(-x) == -10.0 and nominal(abs(-x)) == 10.0
        assert standard_uncertainty(7 - x) == pytest.approx(1.0, rel=0.01)
        assert standard_uncertainty(np.float64(3.0) * x) == pytest.approx(3.0, rel=0.01)


def test_what_cancels_cancels_in_every_draw():
    with drawing(1000, 2):
        x = measured(5.0, 0.3, "x")
        assert standard_uncertainty(x - x) == 0.0
        assert standard_uncertainty(x / x) == pytest.approx(0.0, abs=1e-15)


def test_an_amount_of_before_draws_alike_wherever_it_enters():
    before = tabulated(2.0, 0.1, "from a table")
    also = 3 * before + tabulated(1.0, 0.2, "another")
    with drawing(MANY, 3):
        x = measured(1.0, 0.01, "x")
        assert standard_uncertainty(x * before - before * x) == pytest.approx(0.0, abs=1e-12)
        assert standard_uncertainty(also + x * 0 - 3 * before) == pytest.approx(0.2, rel=0.01)
        assert standard_uncertainty(before - x) == pytest.approx(math.hypot(0.1, 0.01), rel=0.01)


def test_a_last_digit_is_rectangular_and_a_stated_uncertainty_normal():
    with drawing(MANY, 4):
        digit = measured(88.0, 1 / 12**0.5, "read", rectangular=True)
        stated = measured(88.0, 1 / 12**0.5, "stated")
    assert digit.values.min() >= 87.5 and digit.values.max() <= 88.5
    assert digit.std_dev == pytest.approx(1 / 12**0.5, rel=0.01)
    assert stated.values.max() > 88.5 + 0.5


def test_functions_of_plain_numbers_are_drawn_and_carried():
    x = measured(1.0, 0.2, "x")
    assert standard_uncertainty(applied(math.exp, x)) == pytest.approx(0.2 * math.e, rel=1e-4)
    with drawing(MANY, 5):
        found = applied(math.exp, measured(1.0, 0.2, "x"))
        # lognormal: standard deviation e^(μ + σ²/2) √(e^σ² − 1)
        assert standard_uncertainty(found) == pytest.approx(math.exp(1.02) * math.sqrt(math.expm1(0.04)), rel=0.02)


def test_draws_come_again_with_their_seed_and_end_with_their_block():
    def values(seed):
        with drawing(10, seed):
            return (measured(1.0, 0.1, "x") + doubt("d")).values

    assert (values(6) == values(6)).all() and (values(6) != values(7)).any()
    assert in_force() is None
    assert not isinstance(measured(1.0, 0.1, "x"), Drawn)


def test_figures_of_tables_stay_to_first_order_so_that_they_may_be_kept():
    with drawing(10, 8):
        assert not isinstance(tabulated(1.0, 0.1, "t"), Drawn)
        assert not isinstance(measured(1.0, 0.0, "exact"), Drawn)


def test_what_was_entered_once_is_one_variable_and_draws_alike():
    read = Entered(88.0, 1 / 12**0.5, "g", "88 g", False)
    assert standard_uncertainty(read.amount("here") - read.amount("there")) == 0.0
    before = 2 * read.amount("before")
    with drawing(MANY, 9):
        now = read.amount("now")
        assert isinstance(now, Drawn) and standard_uncertainty(now - read.amount("again")) == 0.0
        assert standard_uncertainty(now - before / 2) == pytest.approx(0.0, abs=1e-12)
        assert now.values.min() >= 87.5 and now.values.max() <= 88.5
    # an equal entry is another reading
    other = Entered(88.0, 1 / 12**0.5, "g", "88 g", False)
    assert standard_uncertainty(read.amount("here") - other.amount("there")) == pytest.approx((2 / 12) ** 0.5)
