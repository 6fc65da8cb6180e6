"""The batch still against what follows from the equations of Rayleigh, Fenske and McCabe and Thiele by hand."""

import math
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutbook.fractions.batch_still import Ending, StillSettings, distil
from cutbook.fractions.column_stages import Column, bubble_c, column_stages, tabled
from cutbook.fractions.vapour_pressure import vapour_pressure_kpa

SIMPLE = Column(plates=0, reflux=0.0, pressure_kpa=101.325)
FINE = StillSettings(tolerance=1e-8)
VOLATILITIES = st.lists(st.floats(1.1, 20.0), min_size=1, max_size=6)


def constant_volatilities(*volatilities):
    """Vapour pressures whose ratios do not change with temperature."""
    log = np.log(np.array(volatilities, dtype=float))

    def law(temperature_c):
        return log + 0.03 * temperature_c[:, None], np.full((len(temperature_c), log.size), 0.03)

    return law


def until_left(share, charged):
    """Stop when this share of the moles is left."""
    whole = sum(charged)
    return Ending("left", lambda state: share * whole - float(state.left.sum()))


@given(st.floats(1.05, 30.0), st.floats(0.05, 0.95), st.floats(0.05, 0.95))
@settings(deadline=None)
def test_one_stage_reproduces_the_analytic_solution_of_rayleigh(alpha, x_0, left):
    charged = [100.0 * x_0, 100.0 * (1 - x_0)]
    run = distil(np.log(charged), SIMPLE, constant_volatilities(alpha, 1.0), [until_left(left, charged)])
    moles = run.states[-1].left
    x = moles[0] / moles.sum()
    # ln(W/W0) = [ln(x/x0) + alpha ln((1-x0)/(1-x))]/(alpha - 1)
    analytic = (math.log(x / x_0) + alpha * math.log((1 - x_0) / (1 - x))) / (alpha - 1)
    assert moles.sum() / sum(charged) == pytest.approx(left, rel=1e-3)
    assert math.exp(analytic) == pytest.approx(moles.sum() / sum(charged), rel=1e-4)


@given(VOLATILITIES, st.floats(0.1, 0.9))
@settings(deadline=None)
def test_the_components_of_one_stage_follow_powers_of_each_other(volatilities, left):
    charged = np.linspace(1.0, 2.0, len(volatilities) + 1)
    law = constant_volatilities(*volatilities, 1.0)
    run = distil(np.log(charged), SIMPLE, law, [until_left(left, charged)], FINE)
    share_left = run.states[-1].left / charged
    # d ln n_i = alpha_i d ln n_ref
    assert share_left[:-1] == pytest.approx(share_left[-1] ** np.array(volatilities), abs=1e-6)


@given(VOLATILITIES, st.integers(0, 12), st.floats(0.1, 20), st.floats(0.05, 0.95), st.floats(0.0, 0.04))
@settings(max_examples=40, deadline=None)
def test_nothing_is_lost(volatilities, plates, reflux, left, held):
    charged = np.linspace(2.0, 1.0, len(volatilities) + 1)
    column = Column(plates, reflux, 50.0, 0.1, held * charged.sum())
    law = constant_volatilities(*volatilities, 1.0)
    run = distil(np.log(charged), column, law, [until_left(left, charged)])
    moles = np.array([state.left for state in run.states])
    over = -np.diff(moles, axis=0)
    assert np.all(over > -1e-12)
    assert over.sum(axis=0) + moles[-1] == pytest.approx(charged, rel=1e-9)
    # what comes over has the composition of the vapour: its mole fractions, integrated on their own, add up to it
    taken = -np.diff(moles.sum(axis=1))
    fractions = np.array([state.distillate for state in run.states])
    assert fractions.sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    assert (0.5 * (fractions[1:] + fractions[:-1]) * taken[:, None]).sum(axis=0) == pytest.approx(
        over.sum(axis=0), abs=0.02 * charged.sum()
    )


@given(st.floats(1.1, 4.0), st.floats(0.1, 0.9), st.integers(1, 15))
@settings(deadline=None)
def test_at_total_reflux_the_column_parts_as_fenske_says(alpha, x, plates):
    stages = column_stages(np.log([x, 1 - x]), Column(plates, math.inf, 101.325), constant_volatilities(alpha, 1.0))
    enrichment = stages.leaving_ratio[0] / stages.leaving_ratio[1]
    assert enrichment == pytest.approx(alpha ** (plates + 1), rel=1e-6)
    near = column_stages(np.log([x, 1 - x]), Column(plates, 1e9, 101.325), constant_volatilities(alpha, 1.0))
    assert near.leaving_ratio[0] / near.leaving_ratio[1] == pytest.approx(alpha ** (plates + 1), rel=1e-3)


@given(st.floats(1.1, 6.0), st.floats(0.05, 0.95), st.integers(1, 12), st.floats(0.2, 30))
@settings(deadline=None)
def test_the_plates_can_be_stepped_off_between_equilibrium_and_operating_line(alpha, x_pot, plates, reflux):
    law = constant_volatilities(alpha, 1.0)
    stages = column_stages(np.log([x_pot, 1 - x_pot]), Column(plates, reflux, 101.325), law)
    distillate = float(stages.leaving_ratio[0]) * x_pot
    y = distillate
    for _ in range(plates):
        x = y / (alpha - (alpha - 1) * y)  # the liquid in equilibrium with y
        y = (reflux * x + distillate) / (reflux + 1)
    assert y == pytest.approx(alpha * x_pot / (1 + (alpha - 1) * x_pot), abs=1e-6)


def light_recovered(volatilities, plates, reflux, left=0.5):
    """Share of the lightest component that is over when half of the moles are."""
    charged = np.ones(len(volatilities))
    run = distil(np.log(charged), Column(plates, reflux, 101.325), constant_volatilities(*volatilities),
                 [until_left(left, charged)])  # fmt: skip
    return 1.0 - float(run.states[-1].left[0])


@given(st.floats(1.2, 5.0), st.floats(1.2, 5.0), st.integers(0, 8), st.floats(0.2, 8.0))
@settings(max_examples=40, deadline=None)
def test_more_plates_or_more_reflux_never_blur_the_split(one, other, plates, reflux):
    volatilities = (one * other, other, 1.0)
    here = light_recovered(volatilities, plates, reflux)
    assert light_recovered(volatilities, plates + 1, reflux) >= here - 1e-6
    assert light_recovered(volatilities, plates, 2.0 * reflux) >= here - 1e-6


def test_without_reflux_plates_part_nothing():
    assert light_recovered((2.0, 1.0), 10, 0.0) == pytest.approx(light_recovered((2.0, 1.0), 0, 0.0), rel=1e-9)


def test_what_the_plates_hold_stays_in_the_still():
    charged = np.array([1.0, 1.0])
    run = distil(np.log(charged), Column(5, 3.0, 101.325, 0.0, 0.2), constant_volatilities(2.0, 1.0))
    assert run.ended_by == "dry"
    assert run.states[-1].left.sum() == pytest.approx(0.2 + 0.001 * 2.0, rel=1e-9)
    with pytest.raises(ValueError, match="the plates hold more"):
        column_stages(np.log([0.05, 0.05]), Column(5, 3.0, 101.325, 0.0, 0.2), constant_volatilities(2.0, 1.0))


def test_what_the_plates_hold_is_richer_in_the_light_than_the_pot():
    law = constant_volatilities(3.0, 1.0)
    without = column_stages(np.log([1.0, 1.0]), Column(5, 3.0, 101.325), law)
    held = column_stages(np.log([1.0, 1.0]), Column(5, 3.0, 101.325, 0.0, 0.5), law)
    assert held.pot[0] < without.pot[0]
    assert held.pot.sum() == pytest.approx(1.0, abs=1e-8)


def test_a_trace_goes_where_a_known_amount_of_the_same_goes():
    law = constant_volatilities(4.0, 2.0, 2.0, 1.0)
    charged = np.array([1.0, 1.0, 1e-15, 1.0])
    run = distil(np.log(charged), Column(4, 3.0, 101.325), law, [until_left(0.4, charged)])
    share_left = run.states[-1].left / charged
    assert share_left[2] == pytest.approx(share_left[1], rel=1e-9)


def test_an_ending_is_met_exactly_and_the_first_of_two_counts():
    law = constant_volatilities(3.0, 1.0)
    hot = 150.0
    at = bubble_c(np.log([0.5, 0.5]), 101.325, law)
    endings = [Ending("hot", lambda s: s.stages.pot_c - (at + 10.0)), Ending("never", lambda s: s.stages.pot_c - hot)]
    run = distil(np.log([1.0, 1.0]), SIMPLE, law, endings)
    assert run.ended_by == "hot"
    assert run.states[-1].stages.pot_c == pytest.approx(at + 10.0, abs=1e-5)
    assert distil(np.log([1.0, 1.0]), SIMPLE, law, [Ending("now", lambda s: 1.0)]).ended_by == "now"


def test_a_pressure_drop_makes_the_pot_hotter():
    law = constant_volatilities(3.0, 1.0)
    flat = column_stages(np.log([1.0, 1.0]), Column(10, 3.0, 10.0), law)
    steep = column_stages(np.log([1.0, 1.0]), Column(10, 3.0, 10.0, 0.2), law)
    assert steep.pot_c > flat.pot_c + 1.0


@pytest.mark.parametrize(
    ("field", "value"),
    [("plates", -1), ("reflux", -0.1), ("reflux", math.nan), ("pressure_kpa", 0.0), ("pressure_kpa", math.inf),
     ("pressure_kpa", math.nan), ("drop_kpa", -1.0), ("held_mol", -1.0)],
)  # fmt: skip
def test_a_column_that_cannot_be_is_refused(field, value):
    with pytest.raises(ValueError, match="no column"):
        Column(**({"plates": 2, "reflux": 1.0, "pressure_kpa": 100.0} | {field: value}))


def test_nothing_comes_over_at_total_reflux():
    with pytest.raises(ValueError, match="nothing comes over"):
        distil(np.log([1.0, 1.0]), Column(3, math.inf, 101.325), constant_volatilities(2.0, 1.0))


def test_a_wide_oil_of_60_components_over_10_plates_is_distilled_in_less_than_two_seconds():
    boiling = np.linspace(30.0, 500.0, 60)
    began = time.perf_counter()
    law = tabled(lambda at: vapour_pressure_kpa(at, boiling, 11.8), -60.0, 650.0)
    run = distil(np.log(np.ones(60)), Column(10, 3.0, 101.325), law)
    assert time.perf_counter() - began < 2.0
    heads = np.array([state.stages.head_c for state in run.states])
    assert np.all(np.diff(heads) > -1e-6)
    assert heads[0] == pytest.approx(30.0, abs=10.0)
    assert heads[-1] == pytest.approx(500.0, abs=5.0)


def test_the_table_of_pressures_is_the_law():
    boiling = np.array([36.0, 150.0, 400.0])
    law = tabled(lambda at: vapour_pressure_kpa(at, boiling, 11.8), -60.0, 650.0)
    at = np.linspace(-59.0, 649.0, 401)
    log_p, slope = law(at)
    exact = np.log(vapour_pressure_kpa(at[:, None], boiling, 11.8))
    assert np.max(np.abs(log_p - exact)) < 2e-3
    assert slope == pytest.approx((law(at + 1e-4)[0] - law(at - 1e-4)[0]) / 2e-4, rel=1e-5, abs=1e-9)
