"""Numbers as printed: GUM rounding, never finer than their uncertainty."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutbook.model.amount import measured
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.reporting.numbers import (
    OutputSettings,
    decimals,
    expanded_text,
    figure,
    plain,
    value_text,
    with_uncertainty,
)

STEP = Step("weigh/1")
COMMA = OutputSettings(decimal="comma")


def a_result(value, u, unit="g"):
    return Result("mass", measured(value, u, "weighing"), unit, "", STEP)


@pytest.mark.parametrize(
    ("value", "u", "unit", "printed"),
    [
        # 7.2.2 of JCGM 100:2008 gives m = 100.021 47 g, U = 0.000 79 g for k = 2.26; here k = 2 and u = 0.000 35 g
        (100.02147, 0.00035, "g", "100.0215 ± 0.0007 g"),
        (49.5, 0.3, "%", "49.5 ± 0.6 %"),
        (12.3456, 0.09, "g", "12.35 ± 0.18 g"),
        (12.3456, 0.49, "g", "12.3 ± 1.0 g"),  # U = 0.98 is rounded to 1.0 and keeps its two digits
        (1234.0, 71.0, "g", "1230 ± 140 g"),
        (-0.04, 0.1, "g", "−0.04 ± 0.20 g"),
        (0.0, 0.05, "%", "0.00 ± 0.10 %"),
    ],
)
def test_value_and_expanded_uncertainty_are_printed_to_the_same_place(value, u, unit, printed):
    assert with_uncertainty(a_result(value, u, unit)).replace("\N{NO-BREAK SPACE}", " ") == printed


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e4))
def test_no_value_is_printed_finer_than_its_uncertainty(value, u):
    result = a_result(value, u)
    value_places = -Decimal(value_text(result).replace("−", "-")).as_tuple().exponent
    u_places = -Decimal(expanded_text(result)).as_tuple().exponent
    assert value_places == u_places
    assert len(Decimal(expanded_text(result)).normalize().as_tuple().digits) <= 2


@given(st.floats(1e-9, 1e9))
def test_rounding_changes_an_uncertainty_by_a_fifth_at_most(u):
    assert abs(round(u, decimals(u)) / u - 1) <= 0.2 + 1e-9


@given(st.floats(1e-3, 1e3))
def test_decimals_keep_one_or_two_digits_of_u(u):
    digits = len(Decimal(str(round(u, decimals(u)))).normalize().as_tuple().digits)
    assert digits <= 2


@pytest.mark.parametrize(
    ("u", "places"), [(0.10, 2), (0.24, 2), (0.26, 1), (0.94, 1), (2.4, 1), (2.6, 0), (24.0, 0), (26.0, -1)]
)
def test_two_digits_are_kept_up_to_24_and_one_above(u, places):
    assert decimals(u) == places


def test_percentages_are_not_printed_finer_than_hundredths():
    assert with_uncertainty(a_result(12.34567, 0.006, "%")).startswith("12.35\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}0.01")


def test_a_percentage_whose_uncertainty_would_vanish_keeps_its_digits():
    assert expanded_text(a_result(99.99876, 0.0004, "%")) == "0.0008"


def test_the_decimal_comma_is_used_in_value_and_uncertainty():
    assert with_uncertainty(a_result(49.5, 0.3, "%"), COMMA).replace("\N{NO-BREAK SPACE}", " ") == "49,5 ± 0,6 %"
    assert plain(1.02, 3, COMMA) == "1,02"


def test_a_missing_result_says_so_and_is_no_number():
    assert with_uncertainty(Result.missing("mass", "g", "", STEP, "balance.not_measured")) == "not determined"


def test_a_result_below_its_limit_prints_the_limit():
    below = Result("chloride", None, "mg/kg", "", STEP, "below limit", 0.06)
    assert with_uncertainty(below).replace("\N{NO-BREAK SPACE}", " ") == "< 0.0600 mg/kg"


def test_a_value_without_uncertainty_is_printed_without_plus_minus():
    bare = Result("mass", 12.3456, "g", "", STEP, has_u=False)
    assert with_uncertainty(bare).replace("\N{NO-BREAK SPACE}", " ") == "12.3 g"


def test_rounding_to_zero_leaves_no_minus_sign():
    assert figure(-0.0004, 2) == "0.00"


@pytest.mark.parametrize("u", [0.0, -1.0, math.nan, math.inf])
def test_an_uncertainty_that_is_none_is_refused(u):
    with pytest.raises(ValueError, match="not a positive number"):
        decimals(u)
