"""Fed, found and closure of each element, and what each product would have to hold."""

import pytest
from element_streams import STEP, a_stream
from hypothesis import given, settings
from hypothesis import strategies as st

from cutbook.balance.element_balance import element_lines
from cutbook.balance.implied_composition import implied_shares
from cutbook.balance.impossible_hydrogen import corrections, impossible_compositions
from cutbook.model.amount import measured
from cutbook.model.elements import ELEMENTS, ElementShare, Stream
from cutbook.model.result import Result

H2_IN_CH2 = 2 * 1.008 / (12.011 + 2 * 1.008)
"""Hydrogen in polyethylene."""
H_IN_METHANE = 4 * 1.008 / (12.011 + 4 * 1.008)


def line(streams, element):
    return next(one for one in element_lines(streams) if one.element == element)


def implied(streams, name, element="H", hydrogen=None):
    found = implied_shares(streams, element_lines(streams), hydrogen or ranges(streams))
    return next(one for one in found if (one.name, one.element) == (name, element))


def ranges(streams):
    of = {"gas": (0.0, H_IN_METHANE), "oil": (0.05, 0.168), "wax": (0.05, 0.168), "char": (0.0, 0.08)}
    return {stream.name: of[stream.name] for stream in streams if stream.name in of}


shares = st.lists(st.floats(0.01, 1.0), min_size=5, max_size=5)
masses = st.lists(st.floats(0.1, 1000.0), min_size=1, max_size=6)


@given(masses, st.data())
@settings(max_examples=200, deadline=None)
def test_a_run_that_is_built_to_close_closes(grams, data):
    products = []
    fed = dict.fromkeys(ELEMENTS, 0.0)
    for number, mass in enumerate(grams):
        parts = data.draw(shares)
        held = {e: part / sum(parts) for e, part in zip(ELEMENTS, parts, strict=True)}
        for element in ELEMENTS:
            fed[element] += mass * held[element]
        products.append(a_stream(f"product {number}", mass, held, u_mass=0.01 * mass, u_share=0.01))
    whole = sum(grams)
    streams = [a_stream("feed", whole, {e: fed[e] / whole for e in ELEMENTS}, feed=True, u_mass=0.1), *products]
    for element in ELEMENTS:
        assert line(streams, element).closure.value == pytest.approx(100.0, abs=1e-9 * 100)
        for product in products:
            one = implied(streams, product.name, element, {each.name: (0.0, 1.0) for each in products})
            held = product.elements[element].share.nominal_value
            scale = whole / product.mass.value
            assert one.share.value / 100 == pytest.approx(held, abs=1e-9 * max(1.0, scale))


def test_the_same_weighing_on_both_sides_cancels():
    # all of the feed is found in one product whose mass is the feed's own weighing: the closure is exact
    mass = measured(500.0, 5.0, "weighing")
    share = {e: ElementShare(0.5 if e == "C" else 0.0) for e in ELEMENTS}
    fed = Stream("feed", True, Result("m", mass, "g", "", STEP), False, share, STEP)
    found = Stream("oil", False, Result("m", mass, "g", "", STEP), False, share, STEP)
    closure = line([fed, found], "C").closure
    assert closure.value == pytest.approx(100)
    assert closure.u == pytest.approx(0.0, abs=1e-12)
    # two weighings of the same uncertainty: 1 % each, so the square root of 2 together
    other = Stream("oil", False, Result("m", measured(500.0, 5.0, "oil"), "g", "", STEP), False, share, STEP)
    assert line([fed, other], "C").closure.u == pytest.approx(2**0.5, rel=1e-6)


def test_one_analysis_of_two_streams_stays_one_variable():
    carbon = measured(0.8, 0.01, "carbon analysis")
    share = {e: ElementShare(carbon if e == "C" else 0.0) for e in ELEMENTS}
    two = [Stream(n, False, Result("m", 100.0, "g", "", STEP), False, share, STEP) for n in ("first", "second")]
    fed = a_stream("feed", 200.0, {"C": 0.8}, feed=True)
    assert line([fed, *two], "C").found.u == pytest.approx(200 * 0.01)


def test_an_unknown_stream_leaves_the_closure_open_with_what_is_found():
    streams = [a_stream("PE", 100.0, {"C": 0.8}, feed=True), a_stream("oil", 90.0, {"C": 0.8}),
               a_stream("char", 10.0, {"C": (0.0, 1.0)})]  # fmt: skip
    one = line(streams, "C")
    assert one.closure.value is None
    assert one.closure.reason == "elements.open"
    assert one.found.value == pytest.approx(72.0)
    assert one.open == ("char",)


def test_an_unknown_of_no_weight_counts_by_its_bounds():
    streams = [a_stream("PE", 1000.0, {"C": 0.8}, feed=True), a_stream("oil", 1000.0, {"C": 0.8}),
               a_stream("dust", 1.0, {"C": (0.0, 1.0)})]  # fmt: skip
    closure = line(streams, "C").closure
    assert closure.value == pytest.approx(100 * 800.5 / 800)  # the middle of 0 to 1 g
    assert closure.u == pytest.approx(100 / 800 / 12**0.5, rel=1e-6)  # a rectangle one gram wide


def test_a_product_by_difference_closes_nothing():
    streams = [a_stream("PE", 100.0, {"C": 0.8}, feed=True), a_stream("gas", 100.0, {"C": 0.8}, by_difference=True)]
    assert line(streams, "C").closure.reason == "elements.by_difference"
    assert line(streams, "N").closure.reason == "elements.none_fed"


def test_more_chlorine_found_than_fed_is_a_danger_and_carbon_a_warning():
    streams = [a_stream("PVC", 100.0, {"C": 0.38, "Cl": 0.567}, feed=True),
               a_stream("hydrogen chloride", 65.0, {"C": 0.0, "Cl": 0.97}), a_stream("oil", 50.0, {"C": 0.86})]  # fmt: skip
    told = {one.code for each in element_lines(streams) for one in each.closure.step.cautions}
    assert {"elements.chlorine_exceeds", "elements.found_exceeds"} <= told


def test_what_others_leave_is_the_implied_share():
    # 100 g of polyethylene, 80 g oil with 14 % H, 5 g char with 2 % H: 15 g gas take the rest
    streams = [a_stream("PE", 100.0, {"H": H2_IN_CH2}, feed=True), a_stream("oil", 80.0, {"H": 0.14}),
               a_stream("char", 5.0, {"H": 0.02}), a_stream("gas", 15.0, {"H": (0.0, H_IN_METHANE)})]  # fmt: skip
    one = implied(streams, "gas")
    assert one.share.value == pytest.approx(100 * (100 * H2_IN_CH2 - 80 * 0.14 - 5 * 0.02) / 15)
    assert one.possible


def test_lost_mass_may_have_taken_hydrogen_along():
    # a tenth of the feed is lost; the oil then need not hold all hydrogen
    streams = [a_stream("PE", 100.0, {"H": H2_IN_CH2}, feed=True), a_stream("oil", 90.0, {"H": 0.14})]
    one = implied(streams, "oil")
    assert one.high == pytest.approx(100 * H2_IN_CH2 / 0.9)
    assert one.low == pytest.approx(100 * (100 * H2_IN_CH2 - 10 * H_IN_METHANE) / 90)


def polyethylene(oil_hydrogen, gas=150.0, oil=800.0, char=50.0, gas_share=(0.0, H_IN_METHANE)):
    return [
        a_stream("PE", 1000.0, {"C": 1 - H2_IN_CH2, "H": H2_IN_CH2}, feed=True, u_mass=0.5, u_share=0.0007),
        a_stream("oil", oil, {"C": 1 - oil_hydrogen, "H": oil_hydrogen}, u_mass=0.5, u_share=0.001),
        a_stream("char", char, {"C": 0.95, "H": 0.01}, u_mass=0.3, u_share=0.001),
        a_stream("gas", gas, {"C": (0.0, 1.0), "H": gas_share}, u_mass=2.0),
    ]


def dangers(streams):
    found = implied_shares(streams, element_lines(streams), ranges(streams))
    return [one for one in impossible_compositions(found, streams, ["gas"])]


def test_masses_that_add_up_hide_an_oil_analysis_that_cannot_be():
    # No publication of an impossible hydrogen balance is at hand; the run is made by the rule that the hydrogen of a
    # gas cannot exceed that of methane, 25.1 %. Masses add up to 100 %, hydrogen of the oil was read 11 for 14 %.
    assert dangers(polyethylene(0.14)) == []
    (danger,) = dangers(polyethylene(0.11))
    assert danger.code == "elements.hydrogen_impossible"
    assert danger.about == "gas"
    # 1000 x 14.37 % - 800 x 11 % - 50 x 1 % = 55.2 g in 150 g of gas: 36.8 %, less and more twice its uncertainty
    assert danger.facts["low"] < 100 * (1000 * H2_IN_CH2 - 88 - 0.5) / 150 < danger.facts["high"]
    assert danger.facts["most"] == pytest.approx(25.1, abs=0.05)
    assert danger.facts["first"].startswith("oil (hydrogen off by")
    assert danger.facts["second"].startswith("feed PE")


def test_an_oil_that_holds_more_hydrogen_than_was_fed_leaves_less_than_nothing():
    (danger, *_) = [one for one in dangers(polyethylene(0.16, gas=20.0, oil=930.0)) if "hydrogen" in one.code]
    assert danger.facts["high"] < 0
    assert danger.facts["first"].startswith(("oil", "feed PE"))


def test_the_mass_of_the_gas_is_a_culprit_where_it_was_metered_badly():
    # too little gas for the hydrogen that is left: its own mass, known to 20 %, is the easiest to be wrong
    streams = polyethylene(0.13, gas=100.0, oil=850.0)
    streams[3] = a_stream("gas", 100.0, {"C": (0.0, 1.0), "H": (0.0, H_IN_METHANE)}, u_mass=0.0)
    wrong = implied(streams, "gas")
    found = {one.name: one for one in corrections(wrong, streams)}
    gap = wrong.low / 100 * 100.0 - H_IN_METHANE * 100.0
    if gap > 0:
        assert found["gas"].what == "mass"
        assert found["gas"].share == pytest.approx(gap / H_IN_METHANE / 100.0)
    assert found["oil"].share == pytest.approx(gap / (850.0 * 0.13))


@pytest.mark.parametrize("hydrogen", [0.10, 0.105, 0.11, 0.115])
def test_the_stream_that_was_put_wrong_is_among_the_two_named(hydrogen):
    (danger,) = dangers(polyethylene(hydrogen))
    assert any(danger.facts[place].startswith("oil") for place in ("first", "second"))


def test_carbon_that_no_stream_can_hold_is_told():
    # 1000 g of carbon-free mass cannot take the carbon: 100 g of gas would have to be more than carbon
    streams = [a_stream("PE", 1000.0, {"C": 0.857}, feed=True, u_mass=0.5), a_stream("oil", 900.0, {"C": 0.5}),
               a_stream("gas", 100.0, {"C": (0.0, 1.0)})]  # fmt: skip
    assert "elements.share_impossible" in {one.code for one in dangers(streams)}
