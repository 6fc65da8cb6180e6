"""Cut schemes, and carbon-number distributions summed into them."""

import math

import pytest

from cutbook.fractions.carbon_cuts import carbon_cuts
from cutbook.fractions.cut_schemes import HEADLINE_BOILING, HEADLINE_CARBON, cut_scheme, define_scheme, scheme_names
from cutbook.model.amount import doubt
from cutbook.model.carbon import CarbonDistribution, CarbonShare
from cutbook.model.cuts import CutLimits
from cutbook.model.errors import InputError
from cutbook.model.lineage import Step
from cutbook.model.result import Result

STEP = Step("test")


def percent(amount):
    return Result("share", amount, "%", "oil", STEP)


def distribution(shares, residue=None, beyond=None):
    """Shares in % by carbon number, from the first of the ladder to the last."""
    entries = [CarbonShare(n, "carbon number", percent(value)) for n, value in sorted(shares.items())]
    if residue is not None:
        entries.append(CarbonShare(None, "did not elute", percent(residue)))
    if beyond is not None:
        entries.append(CarbonShare(None, "beyond the ladder", percent(beyond)))
    edges = list(range(len(shares) + 1))
    return CarbonDistribution(
        "oil",
        "after",
        "equal mass response",
        tuple(entries),
        edges,
        residue is not None,
        percent(0.0),
        percent(0.0),
        STEP,
    )


def by_name(cuts):
    return {cut.cut: cut.mass for cut in cuts}


def test_every_share_is_counted_once_and_the_cuts_sum_to_the_whole():
    even = distribution({n: 2.5 for n in range(1, 37)}, residue=6.0, beyond=4.0)
    cuts = by_name(carbon_cuts(even, cut_scheme(HEADLINE_CARBON), "carbon-number"))
    # C1–C4: 4 bins, C5–C12: 8, C13–C20: 8, C21–C36: 16 and what lies beyond the ladder
    assert {name: mass.value for name, mass in cuts.items()} == pytest.approx(
        {"gas": 10.0, "gasoline": 20.0, "diesel": 20.0, "wax": 44.0, "residue": 6.0}
    )


@pytest.mark.parametrize("name", [n for n in scheme_names() if n.startswith("carbon")])
def test_every_scheme_sums_to_the_same_whole(name):
    even = distribution({n: 100 / 60 for n in range(1, 61)}, beyond=0.0)
    assert sum(cut.mass.value for cut in carbon_cuts(even, cut_scheme(name), name)) == pytest.approx(100.0)


def test_a_pure_alkane_lies_wholly_in_its_cut():
    pure = distribution({n: 100.0 if n == 12 else 0.0 for n in range(1, 31)}, beyond=0.0)
    assert by_name(carbon_cuts(pure, cut_scheme(HEADLINE_CARBON), "carbon-number"))["gasoline"].value == 100.0


def test_a_cut_before_the_ladder_is_missing_and_not_zero():
    late = distribution({n: 5.0 for n in range(7, 27)}, beyond=0.0)
    cuts = by_name(carbon_cuts(late, cut_scheme(HEADLINE_CARBON), "carbon-number"))
    assert cuts["gas"].value is None and cuts["gas"].reason == "cuts.before_ladder"
    assert sum(mass.value for mass in cuts.values() if mass.value is not None) == pytest.approx(100.0)


def test_cuts_that_the_ladder_does_not_reach_are_missing():
    short = distribution({n: 10.0 for n in range(5, 15)}, beyond=7.0)
    cuts = by_name(carbon_cuts(short, cut_scheme(HEADLINE_CARBON), "carbon-number"))
    assert cuts["diesel"].value is None and cuts["diesel"].reason == "cuts.beyond_ladder"
    assert cuts["wax"].value is None
    assert cuts["gasoline"].value == pytest.approx(80.0)


def test_what_two_bins_have_in_common_cancels_in_their_cut():
    edge = doubt("ladder")  # moving the edge between C6 and C7 gives to one what it takes from the other
    shares = {n: 10.0 for n in range(1, 31)} | {6: 10.0 + 0.3 * edge, 7: 10.0 - 0.3 * edge}
    cuts = by_name(carbon_cuts(distribution(shares, beyond=0.0), cut_scheme(HEADLINE_CARBON), "carbon-number"))
    assert cuts["gasoline"].u == pytest.approx(0.0, abs=1e-12)
    across = {n: 10.0 for n in range(1, 31)} | {12: 10.0 + 0.3 * edge, 13: 10.0 - 0.3 * edge}
    cuts = by_name(carbon_cuts(distribution(across, beyond=0.0), cut_scheme(HEADLINE_CARBON), "carbon-number"))
    assert cuts["gasoline"].u == pytest.approx(0.3)
    assert cuts["gasoline"].budget == (("ladder", pytest.approx(0.3)),)


def test_without_a_standard_the_basis_is_the_eluted_part():
    plain = carbon_cuts(distribution({n: 5.0 for n in range(1, 21)}, beyond=0.0), cut_scheme(HEADLINE_CARBON), "x")
    assert {cut.mass.basis for cut in plain} == {"eluted part of oil"}


def test_limits_are_printed_as_a_chemist_writes_them():
    carbon, boiling = cut_scheme(HEADLINE_CARBON), cut_scheme(HEADLINE_BOILING)
    assert [cut.text(carbon.kind) for cut in carbon.cuts] == ["C1–C4", "C5–C12", "C13–C20", "C21+"]
    assert [cut.text(boiling.kind) for cut in boiling.cuts] == ["< 36 °C", "36–200 °C", "200–350 °C", "> 350 °C"]


def test_an_unknown_scheme_is_one_line_with_the_nearest_name():
    with pytest.raises(InputError, match="Did you mean 'carbon-4-11-20'") as caught:
        cut_scheme("carbon-4-11-21")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("cuts", "message"),
    [
        (
            [CutLimits("a", 1, 5), CutLimits("b", 7, math.inf)],
            "lower limit 7 after an upper limit of 5; expected 6",
        ),
        ([CutLimits("a", 1, 5), CutLimits("b", 5, math.inf)], "counted twice"),
        ([CutLimits("a", 9, 5)], "a lower limit below the upper one"),
        ([CutLimits("a", 1, 5), CutLimits("a", 6, 9)], "a name of its own"),
        ([], "no cuts"),
    ],
)
def test_gaps_overlaps_and_doubles_in_a_scheme_of_ones_own_are_refused(cuts, message):
    with pytest.raises(InputError, match=message):
        define_scheme("mine", "carbon number", cuts)


def test_a_scheme_of_ones_own_is_found_first():
    mine = define_scheme("mine", "carbon number", [CutLimits("light", 1, 9), CutLimits("heavy", 10, math.inf)])
    assert cut_scheme("mine", own=[mine]) is mine
