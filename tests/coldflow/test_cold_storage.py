"""What an oil does in store, on wax formers written down by hand."""

import numpy as np
import pytest
from oils import an_oil

from cutbook.coldflow.cold_doubts import ColdSettings
from cutbook.coldflow.cold_storage import STATES, cold_storage, state_of, warm_to_c
from cutbook.coldflow.gelling import gelling, gelling_shares
from cutbook.coldflow.mixtures import blended, components_of, without
from cutbook.coldflow.solid_liquid import appearance_k, solid_curve
from cutbook.coldflow.solid_properties import constant
from cutbook.model.amount import doubt, measured
from cutbook.model.cold import ChainShare, WaxFormers
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.reporting.cold_words import cold_sentence

SHEET = Source("run.toml", "0" * 64)
STEP = Step("by hand/1")


def formers(chains, rest=(), common=0.0, own=0.0, heavy=None):
    """chains : n -> %. common, own : relative standard uncertainties of all together and of each alone."""
    shared = doubt("integration of the wax peaks")
    made = []
    for n, value in chains.items():
        amount = measured(value, own * value, "areas of the wax peaks") * (1 + common * shared)
        made.append(ChainShare(n, "n-alkane", Result(f"n-C{n}", amount, "%", "oil", STEP), "peak"))
    return WaxFormers("oil", tuple(made), tuple(rest), max(chains, default=0), heavy, STEP)


def waxy(**kwargs):
    return formers(
        {n: 2.0 * float(np.exp(-(n - 16) / 4)) for n in range(14, 33)}, [(10.0, 60.0), (18.0, 28.0)], **kwargs
    )


def entered(value):
    return Entered(value, 0.5, "°C", f"{value} °C", True)


def codes(answer):
    return [caution.code for caution in answer.step.cautions]


def test_the_appearance_is_that_of_the_equilibrium():
    answer = cold_storage(waxy(), {}, None, SHEET)
    assert answer.appearance.value == pytest.approx(appearance_k(components_of(waxy())) - 273.15)
    assert answer.shown is answer.appearance
    # nothing but the equilibrium is in doubt
    assert answer.appearance.u == pytest.approx(constant("model_u"))


def test_solid_is_listed_at_every_degree_down_to_minus_forty():
    answer = cold_storage(waxy(), {}, None, SHEET)
    listed = [point.temperature_c for point in answer.points]
    assert listed == list(range(int(listed[0]), -41, -1))
    assert answer.points[0].mass.value == 0.0
    assert np.all(np.diff([point.mass.value for point in answer.points]) >= 0)
    for point in answer.points[5:]:
        assert sum(share for _, share in point.by_carbon) == pytest.approx(100.0)


def test_the_first_crystals_are_the_long_chains():
    answer = cold_storage(waxy(), {}, None, SHEET)
    first = next(point for point in answer.points if point.by_carbon)
    mean = sum(n * share for n, share in first.by_carbon) / 100.0
    last = sum(n * share for n, share in answer.points[-1].by_carbon) / 100.0
    assert mean > last + 2


def test_doubts_of_chains_reach_the_answers_under_their_names():
    answer = cold_storage(waxy(common=0.1, own=0.1), {}, None, SHEET)
    parts = dict(answer.appearance.budget)
    assert set(parts) == {"equilibrium of wax and oil", "integration of the wax peaks", "areas of the wax peaks"}
    # a tenth more of every chain is x 1.1: the van 't Hoff slope of the mixture, by an independent difference
    up = appearance_k(components_of(waxy(), {at: 0.1 * c.mass.value for at, c in enumerate(waxy().chains)}))
    assert parts["integration of the wax peaks"] == pytest.approx(up - 273.15 - answer.appearance.value, rel=0.15)
    at_zero = next(point for point in answer.points if point.temperature_c == 0)
    assert at_zero.mass.u > 0


def test_the_seed_is_fixed():
    first, again = (cold_storage(waxy(own=0.2), {}, None, SHEET) for _ in range(2))
    assert first.appearance.u == again.appearance.u


@pytest.mark.parametrize(
    ("solid", "state"), [(0.0, 0), (0.1, 1), (0.29, 1), (0.31, 2), (0.99, 2), (1.01, 3), (30.0, 3)]
)
def test_advice_changes_at_the_limits(solid, state):
    assert state_of(solid, liquid=False) == STATES[state]
    assert state_of(solid, liquid=True) == "liquid"


def test_the_state_in_store_gets_worse_as_it_gets_colder():
    answer = cold_storage(waxy(), {}, None, SHEET)
    order = []
    for temperature in (40.0, *(point.temperature_c for point in answer.points[::4])):
        at = cold_storage(waxy(), {}, entered(temperature), SHEET).at_storage
        order.append(STATES.index(at.state))
        assert STATES.index(at.worst) >= STATES.index(at.state)
    assert order == sorted(order)
    assert order[0] == 0 and order[-1] == 3


def test_warm_to_lies_above_where_the_last_wax_goes():
    answer = cold_storage(waxy(), {}, entered(-20.0), SHEET)
    assert warm_to_c(answer) == int(np.ceil(answer.appearance.value + 2 * answer.appearance.u))
    assert "cold.sets" in codes(answer) and "safety.warming" in codes(answer)
    told = next(caution for caution in answer.step.cautions if caution.code == "cold.sets")
    assert told.facts["warm"] == warm_to_c(answer)


def test_a_measured_cloud_point_takes_the_place_of_the_estimate_and_is_compared():
    estimate = cold_storage(waxy(), {}, entered(0.0), SHEET)
    cloud = round(estimate.appearance.value) - 3.0  # as much lower as a cloud point reads on cooling
    answer = cold_storage(waxy(), {"cloud_point": entered(cloud)}, entered(0.0), SHEET)
    assert answer.shown.value == cloud
    assert answer.appearance.value == estimate.appearance.value
    assert answer.difference.value == pytest.approx(cloud - estimate.appearance.value)
    assert "cold.cloud_point_differs" not in codes(answer)
    # on warming the wax goes 3.2 degrees above it
    assert answer.at_storage.warm_to.value == pytest.approx(cloud + 3.2)
    # the entry's 0.5 and the 0.6 of the lag, at right angles
    assert answer.at_storage.warm_to.u == pytest.approx((0.5**2 + 0.6**2) ** 0.5)
    assert dict(answer.at_storage.warm_to.budget)["lag of a cloud point on cooling"] == pytest.approx(0.6)
    far = cold_storage(waxy(), {"cloud_point": entered(cloud - 25.0)}, entered(0.0), SHEET)
    assert "cold.cloud_point_differs" in codes(far)
    assert STATES.index(far.at_storage.state) < STATES.index(estimate.at_storage.state)


def test_a_measured_pour_point_decides_what_is_set():
    sets = cold_storage(waxy(), {"pour_point": entered(5.0)}, entered(4.0), SHEET)
    assert sets.at_storage.state == "likely to set"
    pours = cold_storage(waxy(), {"pour_point": entered(-30.0)}, entered(-20.0), SHEET)
    assert pours.at_storage.state == "likely to block a narrow line"
    wrong = cold_storage(waxy(), {"pour_point": entered(9.0), "cloud_point": entered(3.0)}, None, SHEET)
    assert "cold.pour_above_cloud" in codes(wrong)


def test_without_a_storage_temperature_the_question_stays_open_and_is_said():
    assert "cold.no_storage" in codes(cold_storage(waxy(), {}, None, SHEET))


def test_below_what_is_listed_nothing_is_extrapolated():
    answer = cold_storage(waxy(), {}, entered(-60.0), SHEET)
    assert answer.at_storage.solid.value is None and "cold.below_range" in codes(answer)
    # too little wax to set at the end of the list; how much more comes further down is not known
    little = formers({16: 0.7}, [(10.0, 99.3)])
    assert cold_storage(little, {}, entered(-40.0), SHEET).at_storage.worst != "likely to set"
    below = cold_storage(little, {}, entered(-60.0), SHEET).at_storage
    assert below.state != "likely to set" and below.worst == "likely to set"
    pours = cold_storage(little, {"pour_point": entered(-75.0)}, entered(-60.0), SHEET).at_storage
    assert pours.worst == "likely to block a narrow line"


def test_an_oil_without_chains_has_no_wax_and_says_so():
    answer = cold_storage(formers({}, [(9.0, 100.0)]), {}, entered(-10.0), SHEET)
    assert answer.appearance.value is None and answer.appearance.reason == "cold.no_wax"
    assert answer.at_storage.state == "liquid"
    assert warm_to_c(answer) is None
    assert "cold.no_wax" in codes(answer)


def test_an_oil_without_wax_that_is_below_its_measured_pour_point_is_told_to_set():
    answer = cold_storage(formers({}, [(9.0, 100.0)]), {"pour_point": entered(3.0)}, entered(0.0), SHEET)
    assert answer.at_storage.state == "likely to set"
    assert {"cold.no_wax", "cold.sets_without_wax", "safety.warming"} <= set(codes(answer))
    assert "at 0 °C in store it is likely to set" in cold_sentence(answer)
    warmer = cold_storage(formers({}, [(9.0, 100.0)]), {"pour_point": entered(3.0)}, entered(4.0), SHEET)
    assert "cold.sets_without_wax" not in codes(warmer) and "in store" not in cold_sentence(warmer)


def test_gelling_temperatures_are_where_the_curve_has_the_shares():
    oil = an_oil({n: float(np.exp(-(n - 16) / 4)) for n in range(14, 33)}, rest=20.0)
    curve = solid_curve(oil, np.arange(330.0, 232.0, -1.0))
    found = gelling("oil", curve)
    for share, temperature in zip(gelling_shares(), found.temperatures_k, strict=True):
        assert solid_curve(oil, [temperature]).solid[0] == pytest.approx(share, rel=0.03)
    few = gelling("oil", solid_curve(an_oil({20: 0.4}, rest=99.6), np.arange(330.0, 232.0, -1.0)))
    assert few.temperatures_k == (None, None, None)
    assert [caution.code for caution in few.cautions] == ["cold.too_little_wax"]


def test_an_oil_that_may_not_reach_the_first_share_within_its_doubt_is_told():
    kinds = set()
    for share in (1.0, 1.4, 3.0):  # so chosen that each kind occurs
        chains = {n: share * 0.17 * float(np.exp(-(n - 20) / 4)) for n in range(18, 36)}
        answer = cold_storage(formers(chains, [(10.0, 100.0)], own=0.1), {}, None, SHEET)
        first = answer.gel[0].temperature
        told = "cold.hardly_enough_wax" in codes(answer)
        assert told is (first.value is not None and first.value - 2 * first.u < -40)
        assert ("cold.too_little_wax" in codes(answer)) is (first.value is None)
        kinds.add((first.value is not None, told))
    assert kinds == {(False, False), (True, True), (True, False)}


def test_much_wax_that_is_badly_known_is_not_called_little():
    # at -40 °C twice the doubt is more than there is, at the temperature of 1 % it is not: the curve is steep there
    unsure = cold_storage(waxy(common=0.6), {}, None, SHEET)
    last = unsure.points[-1].mass
    assert last.value > 5 and last.value - 2 * last.u < 1
    assert "cold.hardly_enough_wax" not in codes(unsure)


def test_taking_the_wax_cut_out_and_blending_lower_the_appearance():
    oil = components_of(waxy())
    lighter, taken = without(oil, 24)
    chains = np.asarray(oil.carbons) > 24
    assert taken == pytest.approx(float(np.asarray(oil.mass_fraction)[chains].sum()))
    assert appearance_k(lighter) < appearance_k(oil)
    blend = blended(oil, an_oil({10: 0.2}, rest=0.8, rest_carbons=9.0), 0.5)
    assert float(np.sum(blend.mass_fraction)) == pytest.approx(1.0)
    assert appearance_k(blend) < appearance_k(oil)


def test_settings_reach_the_equilibrium():
    from cutbook.coldflow.solid_liquid import EquilibriumSettings

    ideal = cold_storage(waxy(), {}, None, SHEET)
    free = cold_storage(waxy(), {}, None, SHEET, ColdSettings(EquilibriumSettings(liquid="free volume")))
    assert free.appearance.value < ideal.appearance.value


def test_an_oil_half_of_which_is_heavy_and_no_chains_may_be_too_thick_to_pour():
    chains = {n: 0.5 for n in range(20, 30)}
    # 5 % of chains; of the rest the part above n-C36 decides, from 45 % of the oil on
    thick = cold_storage(formers(chains, [(12.0, 45.0), (45.0, 50.0)]), {}, None, SHEET)
    thin = cold_storage(formers(chains, [(12.0, 55.0), (45.0, 40.0)]), {}, None, SHEET)
    medium = cold_storage(formers(chains, [(12.0, 45.0), (36.0, 50.0)]), {}, None, SHEET)
    assert "cold.thick_oil" in codes(thick)
    assert "cold.thick_oil" not in codes(thin) + codes(medium)


def test_long_chains_make_an_oil_waxy_and_not_thick():
    wax = cold_storage(formers({n: 4.0 for n in range(37, 50)}, [(12.0, 48.0)]), {}, None, SHEET)
    assert "cold.thick_oil" not in codes(wax)
