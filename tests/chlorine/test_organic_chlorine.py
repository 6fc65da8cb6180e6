"""The organic chlorine of an oil: three sums, correlations, isomers counted once, the laboratory's figure beside."""

import math

import pytest
from screened import a_cluster, a_quantity, a_run, a_screened

from cutbook.chlorine.concentration import quantify
from cutbook.chlorine.organic_chlorine import organic_chlorine
from cutbook.chlorine.surrogate import surrogate
from cutbook.model.amount import nominal
from cutbook.model.chlorine import Evidence

CL = 35.45
"""Conventional atomic mass of chlorine, IUPAC 2021."""


def quantified(*screened, current=1e6, **entry):
    oil = a_run(screened, current=current, **entry)
    found = surrogate(oil)
    return quantify(oil, by_surrogate=found), found


def codes(found):
    return {one.code for one in found.step.cautions}


def area(mg_kg):
    """Quantifier area that the whole current of 1e6 turns into so many mg/kg: 0.4 of the ions."""
    return 0.4 * mg_kg


def test_three_sums_take_what_is_sure_then_likely_then_possible():
    targets, by = quantified(
        a_screened("chlorobenzene", "confirmed", area(100), 0.0),
        a_screened("1,4-dichlorobenzene", "indicated", area(10), 0.0),
        a_screened("1,2,4-trichlorobenzene", limit_area=area(2)),
    )
    found = organic_chlorine("oil", targets, by_surrogate=by)
    sure = 100 * CL / 112.557
    likely = 10 * 2 * CL / 147.002
    # the limit of the third, at the upper end of its response, holds 3 × 35.45/181.447 of chlorine
    possible = targets[2].detection_limit.value * 3 * CL / 181.447
    assert found.lower.value == pytest.approx(sure)
    assert found.best.value == pytest.approx(sure + likely)
    assert found.upper.value == pytest.approx(sure + likely + possible)
    assert [one.counted for one in found.parts] == ["lower", "best", "upper"]
    assert "chlorine.sum_is_not_total" in codes(found)


def test_masked_compounds_count_with_the_level_that_would_have_been_seen():
    targets, by = quantified(a_screened("chlorobenzene", "masked", limit_area=area(30)))
    found = organic_chlorine("oil", targets, by_surrogate=by)
    assert found.lower.value == 0.0
    assert (found.best.status, found.best.limit) == ("below limit", found.upper.value)
    assert found.upper.value == pytest.approx(targets[0].detection_limit.value * CL / 112.557)


def test_compound_without_a_limit_leaves_no_upper_bound():
    targets, by = quantified(
        a_screened("chlorobenzene", "confirmed", area(100), 0.0),
        a_screened("1,4-dichlorobenzene", "masked", limit_area=None),
    )
    found = organic_chlorine("oil", targets, by_surrogate=by)
    assert found.best.value > 0
    assert found.upper.value is None
    assert found.upper.reason == "chlorine.no_upper_bound"


def test_what_compounds_share_stays_correlated_in_the_sum():
    # two like compounds by one surrogate: shared parts add up as they are, own parts in quadrature
    targets, by = quantified(
        a_screened("2-chlorotoluene", "confirmed", area(100), 0.0, time=8.0),
        a_screened("4-chlorotoluene", "confirmed", area(100), 0.0, time=9.0),
    )
    one = targets[0].concentration
    own = math.hypot(0.36 / math.sqrt(2), 0.2) * 100  # response of the compound, share of its quantifier
    shared = 0.3 * 100  # what stands for the oil
    assert one.u == pytest.approx(math.hypot(own, shared))
    found = organic_chlorine("oil", targets, by_surrogate=by)
    share = CL / 126.583
    assert found.lower.u == pytest.approx(share * math.hypot(math.sqrt(2) * own, 2 * shared), rel=1e-4)


def test_signal_that_could_as_well_be_an_isomer_counts_once_by_the_surer_verdict():
    targets, by = quantified(
        a_screened("2-chlorotoluene", "indicated", area(100), 0.0, time=9.00, apart_from=("4-chlorotoluene",)),
        a_screened("4-chlorotoluene", "confirmed", area(98), 0.0, time=9.01, apart_from=("2-chlorotoluene",)),
    )
    found = organic_chlorine("oil", targets, by_surrogate=by)
    assert found.best.value == pytest.approx(98 * CL / 126.583)
    assert [(one.counted, one.instead) for one in found.parts] == [("not counted", "4-chlorotoluene"), ("lower", "")]


def test_two_isomers_with_signals_of_their_own_both_count():
    targets, by = quantified(
        a_screened("2-chlorotoluene", "confirmed", area(100), 0.0, time=8.90, apart_from=("4-chlorotoluene",)),
        a_screened("4-chlorotoluene", "confirmed", area(98), 0.0, time=9.00, apart_from=("2-chlorotoluene",)),
    )
    assert organic_chlorine("oil", targets, by_surrogate=by).best.value == pytest.approx(198 * CL / 126.583)


def test_limits_of_isomers_that_share_a_place_count_once_and_not_beside_a_signal():
    pair = {"apart_from": ("4-chlorotoluene",)}
    targets, by = quantified(
        a_screened("2-chlorotoluene", limit_area=area(2), **pair), a_screened("4-chlorotoluene", limit_area=area(5))
    )
    found = organic_chlorine("oil", targets, by_surrogate=by)
    assert found.upper.value == pytest.approx(targets[1].detection_limit.value * CL / 126.583)
    seen, by = quantified(
        a_screened("2-chlorotoluene", "confirmed", area(20), 0.0, **pair),
        a_screened("4-chlorotoluene", limit_area=area(5)),
    )
    found = organic_chlorine("oil", seen, by_surrogate=by)
    assert found.upper.value == pytest.approx(found.lower.value)


def test_unknown_clusters_count_in_the_best_figure_by_the_surrogate():
    # 400 counts·min of 1e6 are 400 mg/kg; two chlorines in a molecule of 190 g/mol
    targets, by = quantified(a_screened("chlorobenzene", "confirmed", area(100), 0.0))
    found = organic_chlorine("oil", targets, (a_cluster(),), by)
    unknown = next(one for one in found.parts if one.verdict == "unknown")
    assert unknown.chlorine.value == pytest.approx(400 * 2 * CL / 190)
    assert found.best.value == pytest.approx(found.lower.value + unknown.chlorine.value)
    assert unknown.chlorine.u >= 0.3 * unknown.chlorine.value


def test_clusters_without_chlorine_are_no_chlorine():
    targets, by = quantified(a_screened("chlorobenzene", "confirmed", area(100), 0.0))
    found = organic_chlorine("oil", targets, (a_cluster(chlorine=0, bromine=2),), by)
    assert found.best.value == found.lower.value


def test_unknown_clusters_without_a_surrogate_leave_the_upper_bound_open():
    found = organic_chlorine("oil", (), (a_cluster(),))
    assert found.best.value is None
    assert found.upper.value is None
    assert "chlorine.unknown_not_counted" in codes(found)


def test_reagents_never_count():
    targets, by = quantified(
        a_screened("dichloromethane", "confirmed", area(90000), 0.0),
        a_screened("chlorobenzene-d5", "confirmed", area(500), 0.0),
    )
    found = organic_chlorine("oil", targets, by_surrogate=by)
    assert (found.lower.value, found.best.value, found.upper.value) == (0.0, None, 0.0)
    assert found.parts == ()


@pytest.mark.parametrize(
    ("bulk", "verdict", "code"),
    [
        ("2 ± 1 mg/kg", "below the lower bound", "chlorine.bulk_below"),
        ("40 ± 3 mg/kg", "between the bounds", "chlorine.bulk_counts_all"),
        ("400 ± 10 mg/kg", "above the upper bound", "chlorine.bulk_above"),
    ],
)
def test_figure_of_a_laboratory_is_held_against_the_bounds(bulk, verdict, code):
    targets, by = quantified(
        a_screened("chlorobenzene", "confirmed", area(100), 0.0), a_screened("1,4-dichlorobenzene", limit_area=area(20))
    )
    entered = a_quantity(bulk, "fraction")
    found = organic_chlorine("oil", targets, (), by, entered, "combustion ion chromatography")
    assert found.bulk.verdict == verdict
    assert code in {one.code for one in found.bulk.value.step.cautions}
    assert found.bulk.difference.value == pytest.approx(1e6 * entered.value - nominal(found.best.amount))


def test_figure_of_washed_naphtha_is_not_compared_with_the_oil():
    targets, by = quantified(a_screened("chlorobenzene", "confirmed", area(100), 0.0))
    found = organic_chlorine("oil", targets, (), by, a_quantity("400 mg/kg", "fraction"), "washed naphtha")
    assert found.bulk.verdict == "not compared"
    assert found.bulk.difference.value is None
    assert "chlorine.bulk_of_naphtha" in {one.code for one in found.bulk.value.step.cautions}


def test_what_the_run_cannot_show_is_in_no_sum_and_named():
    unseen = a_screened(
        "1,2,4-trichlorobenzene", "masked", limit_area=None, evidence=(Evidence("window recorded", "open"),)
    )
    targets, by = quantified(a_screened("chlorobenzene", limit_area=area(2)), unseen)
    assert targets[1].concentration.reason == "chlorine.not_recorded"
    found = organic_chlorine("oil", targets, by_surrogate=by)
    assert found.upper.value == pytest.approx(targets[0].detection_limit.value * CL / 112.557)
    (told,) = (one for one in found.step.all_cautions() if one.code == "chlorine.not_recorded")
    assert told.facts["names"] == "1,2,4-trichlorobenzene"


def test_a_level_that_bounds_nothing_leaves_the_upper_bound_open():
    targets, by = quantified(
        a_screened("chlorobenzene", "masked", limit_area=area(20_000)),
        a_screened("1,2,4-trichlorobenzene", "masked", limit_area=area(20)),
    )
    found = organic_chlorine("oil", targets, by_surrogate=by)
    assert (found.upper.value, found.upper.reason) == (None, "chlorine.no_upper_bound")
    assert [part.counted for part in found.parts] == ["not counted", "upper"]
