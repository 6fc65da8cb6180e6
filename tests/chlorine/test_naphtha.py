"""The laboratory's figure of a washed naphtha against what boils with it."""

import pytest
from screened import a_quantity, a_run, a_screened

from cutbook.chlorine.concentration import quantify
from cutbook.chlorine.naphtha import against_naphtha, boiled_up_to
from cutbook.chlorine.organic_chlorine import organic_chlorine
from cutbook.chlorine.surrogate import surrogate
from cutbook.model.amount import measured
from cutbook.model.boiling import BoilingCurve, CurvePoint
from cutbook.model.lineage import Step
from cutbook.model.result import Result

CL = 35.45


def a_curve(low=54.0, per_percent=3.0, u=6.0, last=100):
    """Straight: `low` °C at 0 %, 204 °C at 50 % where nothing else is said."""
    step = Step("curve/1")
    points = [
        CurvePoint(float(n), Result(f"{n}", measured(low + per_percent * n, u, "curve"), "°C", "oil", step))
        for n in range(1, last)
    ]
    return BoilingCurve("oil", tuple(points), "boiling_c", True, step)


def an_oil(bulk, method="washed naphtha"):
    oil = a_run(
        [a_screened("chlorobenzene", "confirmed", 40.0, 0.0), a_screened("1,2,4-trichlorobenzene", "confirmed", 40.0, 0.0)],
        current=1e6,
    )  # fmt: skip
    by = surrogate(oil)
    targets = quantify(oil, by_surrogate=by)
    return organic_chlorine("oil", targets, (), by, a_quantity(bulk, "fraction"), method), targets


def test_share_is_where_the_curve_passes_the_temperature_with_u_by_its_slope():
    share = boiled_up_to(a_curve(), 204.0)
    assert share.value == pytest.approx(50.0)
    assert share.u == pytest.approx(6.0 / 3.0)
    assert boiled_up_to(a_curve(last=40), 204.0) is None  # ends at 171 °C
    assert boiled_up_to(a_curve(low=300.0), 204.0) is None


def test_naphtha_is_held_against_what_boils_up_to_204_degrees_on_its_own_mass():
    # 100 mg/kg of the oil of chlorobenzene (131.7 °C), in half of it; trichlorobenzene boils at 213.5 °C
    sums, targets = an_oil("60 ± 5 mg/kg")
    assert sums.bulk.verdict == "not compared"
    held = against_naphtha(sums, targets, a_curve())
    expected = 100 * CL / 112.557 / 0.5
    assert held.bulk.difference.value == pytest.approx(60.0 - expected)
    assert held.bulk.verdict == "between the bounds"
    told = {one.code for one in held.all_cautions()}
    assert {"chlorine.naphtha_compared", "chlorine.bulk_of_naphtha", "chlorine.sum_is_not_total"} <= told


def test_far_too_much_in_the_naphtha_is_told():
    sums, targets = an_oil("4000 ± 5 mg/kg")
    assert against_naphtha(sums, targets, a_curve()).bulk.verdict == "above the upper bound"


def test_without_a_curve_or_another_method_nothing_changes():
    sums, targets = an_oil("60 mg/kg")
    assert against_naphtha(sums, targets, None) is sums
    whole, targets = an_oil("60 mg/kg", "x-ray fluorescence")
    assert against_naphtha(whole, targets, a_curve()) is whole
