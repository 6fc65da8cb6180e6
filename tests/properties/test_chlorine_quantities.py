"""What must hold of concentrations and sums whatever the numbers are."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from screened import a_run, a_screened

from cutbook.chlorine.concentration import quantify
from cutbook.chlorine.organic_chlorine import organic_chlorine
from cutbook.chlorine.surrogate import surrogate

LEVELS = (1.0, 3.0, 10.0, 30.0)
amounts = st.floats(0.01, 1e4)
verdicts = st.sampled_from(["confirmed", "indicated", "masked", "not detected"])
NAMES = ("chlorobenzene", "2-chlorotoluene", "1,4-dichlorobenzene", "1,2,4-trichlorobenzene")


def standards(gain, blank):
    return [
        a_run([a_screened("chlorobenzene", "confirmed", gain * (blank + level * 50.0), 1.0)], file=f"{level}",
              role="standard", of="", amounts=(("chlorobenzene", f"{level:.4f} mg/kg"),))
        for level in LEVELS
    ]  # fmt: skip


@settings(deadline=None, max_examples=30)
@given(gain=st.floats(1e-3, 1e6), area=st.floats(30.0, 5e3), blank=st.floats(0.0, 20.0))
def test_gain_of_the_detector_leaves_concentrations_and_limits_alone(gain, area, blank):
    def found(factor):
        oil = a_run([a_screened("chlorobenzene", "confirmed", factor * area, factor * 0.1, limit_area=factor * 20.0)])
        (one,) = quantify(oil, standards(factor, blank))
        return one

    plain, scaled = found(1.0), found(gain)
    assert scaled.concentration.value == pytest.approx(plain.concentration.value, rel=1e-6)
    assert scaled.detection_limit.value == pytest.approx(plain.detection_limit.value, rel=1e-6)


@settings(deadline=None, max_examples=30)
@given(low=amounts, more=st.floats(1.0, 100.0))
def test_larger_area_limit_is_never_a_lower_concentration_limit(low, more):
    limits = []
    for area in (low, low * more):
        oil = a_run([a_screened("chlorobenzene", limit_area=area)], current=1e6)
        (one,) = quantify(oil, by_surrogate=surrogate(oil))
        limits.append(math.inf if one.detection_limit.value is None else one.detection_limit.value)
    assert limits[0] <= limits[1] * (1 + 1e-12)


@settings(deadline=None, max_examples=50)
@given(st.lists(st.tuples(verdicts, amounts, amounts), min_size=4, max_size=4))
def test_lower_best_and_upper_never_cross(drawn):
    screened = [
        a_screened(name, verdict, area if verdict in ("confirmed", "indicated") else None, 0.1 * area, limit_area=limit,
                   time=5.0 + place)
        for place, (name, (verdict, area, limit)) in enumerate(zip(NAMES, drawn, strict=True))
    ]  # fmt: skip
    oil = a_run(screened, current=1e6)
    by = surrogate(oil)
    sums = organic_chlorine("oil", quantify(oil, by_surrogate=by), (), by)
    known = [one for one in (sums.lower, sums.best, sums.upper) if one.value is not None]
    assert 0.0 <= known[0].value and [one.value for one in known] == sorted(one.value for one in known)
    assert all(math.isfinite(one.u) for one in known)
    found = any(verdict in ("confirmed", "indicated") for verdict, _, _ in drawn)
    assert (sums.best.value is not None) == found
    assert sums.upper.value is not None or sums.upper.reason == "chlorine.no_upper_bound"
