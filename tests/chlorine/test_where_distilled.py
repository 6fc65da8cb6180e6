"""Chlorinated compounds in the cuts by boiling point, with bounds that allow for the limits being smeared."""

import pytest
from screened import a_cluster, a_run, a_screened, a_target

from cutbook.chlorine.concentration import quantify
from cutbook.chlorine.organic_chlorine import organic_chlorine
from cutbook.chlorine.surrogate import surrogate
from cutbook.chlorine.where_distilled import boiling_by_index, where_distilled
from cutbook.fractions.cut_schemes import cut_scheme
from cutbook.model.amount import measured
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.tables import reference

CL = 35.45
SCHEME = cut_scheme("boiling-36-200-350")


def shares(**percent):
    return {
        cut: Result(f"share of {cut}", measured(value, 0.4, f"share of {cut}"), "%", "oil", Step("cut/1"))
        for cut, value in percent.items()
    }


def placed(*screened, unknown=(), **percent):
    oil = a_run(screened, current=1e6)
    by = surrogate(oil)
    targets = quantify(oil, by_surrogate=by)
    sums = organic_chlorine("oil", targets, unknown, by)
    found = where_distilled(sums, targets, SCHEME, shares(**(percent or {"gasoline": 40.0, "diesel": 50.0})))
    return found, {one.cut: one for one in found.cuts}, sums


def test_compound_goes_into_the_cut_of_its_boiling_point_and_is_told_on_that_cuts_mass():
    _, cuts, _ = placed(a_screened("chlorobenzene", "confirmed", 40.0, 0.0))  # 131.7 °C, 100 mg/kg of the oil
    assert cuts["gasoline"].best.value == pytest.approx(100 * CL / 112.557 / 0.40)
    assert cuts["gasoline"].lower.value == cuts["gasoline"].best.value
    assert cuts["gasoline"].compounds == ("chlorobenzene",)
    assert cuts["diesel"].best.value == 0.0


def test_compound_at_a_limit_is_in_no_lower_bound_and_in_the_upper_one_of_both_cuts():
    target = a_target("1,2,4-trichlorobenzene", boiling_c=205.0)  # 5 °C above the limit
    _, cuts, _ = placed(a_screened("1,2,4-trichlorobenzene", "confirmed", 40.0, 0.0, target=target))
    grams = 100 * 3 * CL / 181.447
    assert cuts["diesel"].lower.value == 0.0
    assert cuts["diesel"].best.value == pytest.approx(grams / 0.50)
    assert cuts["gasoline"].best.value == 0.0
    assert cuts["gasoline"].upper.value == pytest.approx(grams / 0.40)


def test_limits_count_in_the_upper_bound_of_their_cut_alone():
    _, cuts, sums = placed(a_screened("chlorobenzene", limit_area=4.0))
    assert cuts["gasoline"].best.value == 0.0
    assert cuts["gasoline"].upper.value == pytest.approx(sums.upper.value / 0.40)
    assert cuts["diesel"].upper.value == 0.0


def test_cut_of_unknown_or_no_share_has_no_figure_and_keeps_its_compounds():
    _, cuts, _ = placed(a_screened("chlorobenzene", "confirmed", 40.0, 0.0), gasoline=0.3, diesel=99.0)
    assert cuts["gasoline"].best.value is None
    assert cuts["gasoline"].best.reason == "chlorine.cut_unknown"
    assert cuts["gasoline"].compounds == ("chlorobenzene",)


def test_unknown_cluster_is_placed_by_its_index_and_left_out_without_one():
    # index 1250 lies between dodecane (216.3 °C) and tridecane (235.5 °C)
    found, cuts, _ = placed(unknown=(a_cluster(),))
    assert cuts["diesel"].compounds != ()
    assert found.unplaced == ()
    found, cuts, _ = placed(unknown=(a_cluster(retention_index=None),))
    assert len(found.unplaced) == 1
    assert all(one.compounds == () for one in cuts.values())


@pytest.mark.parametrize("name", ["chlorobenzene", "1,2-dichlorobenzene", "1,2,4-trichlorobenzene"])
def test_boiling_point_by_index_is_near_that_of_the_table(name):
    row = reference("chlorinated_targets").by("name")[name]
    assert boiling_by_index(float(row["index"])) == pytest.approx(float(row["boiling_c"]), abs=10.0)


def test_chlorine_of_all_cuts_is_that_of_the_oil_where_everything_is_placed():
    both = (
        a_screened("chlorobenzene", "confirmed", 40.0, 0.0),
        a_screened("1,2,4-trichlorobenzene", "indicated", 20.0, 0.0),
    )
    _, cuts, sums = placed(*both, gasoline=40.0, diesel=50.0)
    whole = sum(cuts[name].best.value * share for name, share in (("gasoline", 0.4), ("diesel", 0.5)))
    assert whole == pytest.approx(sums.best.value)
