"""Chlorinated compounds in a simulated still: Rayleigh's and Kremser's closed forms, conservation, order, bounds."""

import math

import numpy as np
import pytest
from screened import a_cluster, a_run, a_screened, a_target

from cutbook.chlorine.concentration import quantify
from cutbook.chlorine.organic_chlorine import organic_chlorine
from cutbook.chlorine.surrogate import surrogate
from cutbook.chlorine.where_distilled import PLACED, WhereDistilledSettings, where_distilled
from cutbook.chlorine.where_simulated import traces_to_follow, where_simulated
from cutbook.fractions.batch_still import StillSettings
from cutbook.fractions.column_stages import Column
from cutbook.fractions.cut_schemes import cut_scheme
from cutbook.fractions.pseudo_components import PseudoComponentSettings, pseudo_components
from cutbook.fractions.staged_still import Receiver, StagedSettings, charge_of, distil_in_stages
from cutbook.fractions.still_plan import PlanSettings, plan_fractionation
from cutbook.fractions.vapour_pressure import vapour_pressure_kpa
from cutbook.model.amount import measured
from cutbook.model.boiling import BoilingCurve, CurvePoint
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.reporting.cautions import put_into_words

CL = 35.45
STEP = Step("made for a test/1")
SCHEME = cut_scheme("boiling-36-200-350")
RECOVERED = (0.5, *(float(p) for p in range(1, 100)), 99.5)
KINDS = [
    a_screened("chlorobenzene", "confirmed", 40.0, 0.0),
    a_screened("1,4-dichlorobenzene", "indicated", 20.0, 0.0, time=11.0),
    a_screened("1,2,4-trichlorobenzene", "confirmed", 20.0, 0.0, time=14.0),
    a_screened("2-chlorotoluene", limit_area=4.0),
]


def a_curve(low_c=40.0, high_c=460.0, u_c=2.0):
    points = tuple(
        CurvePoint(p, Result(f"{p:g} %", measured(low_c + (high_c - low_c) * p / 100, u_c, "curve"), "°C", "oil", STEP))
        for p in RECOVERED
    )
    return BoilingCurve("oil", points, "for a test", True, STEP)


def a_plan(traces=(), wanted=("gasoline", "diesel"), curve=None, **changed):
    coarse = PseudoComponentSettings(most=25)
    return plan_fractionation(
        curve or a_curve(), 0.79, 100.0, SCHEME, wanted, (), PlanSettings(components=coarse, **changed), "oil", traces
    )


def sums_of(screened, unknown=()):
    oil = a_run(screened, current=1e6)
    by = surrogate(oil)
    targets = quantify(oil, by_surrogate=by)
    return organic_chlorine("oil", targets, unknown, by), targets


def placed(screened=KINDS, unknown=(), settings=PLACED, **changed):
    sums, targets = sums_of(screened, unknown)
    plan = a_plan(traces_to_follow(sums, targets, settings), **changed)
    found = where_simulated(sums, targets, plan, settings)
    return found, {one.cut: one for one in found.cuts}, sums, targets, plan


# the trace in the still


def in_one_liquid(traces_c, column):
    """States of a liquid that boils at 150 °C throughout, with traces in it; and relative volatilities."""
    made = pseudo_components(a_curve(150.0, 150.0, 0.0), 0.8, [])
    charge = charge_of(made, [], traces_c=traces_c)
    receiver = Receiver("all", -math.inf, math.inf)
    (piece,) = distil_in_stages(charge, column, [receiver], made.watson_k, StagedSettings(), StillSettings())
    alpha = vapour_pressure_kpa(150.0, np.array(traces_c), made.watson_k) / 101.325
    left = np.array([state.log_left - charge.log_moles for state in piece.states])
    return left[:, 0], left[:, -len(traces_c) :], alpha


TRACES = (105.0, 131.7, 149.0, 150.0, 173.0, 213.5)


def test_simple_distillation_of_a_trace_is_rayleighs():
    # Rayleigh, Phil. Mag. 4 (1902) 521: at constant relative volatility ln(n/n0) = alpha ln(W/W0) for a trace
    solvent, traces, alpha = in_one_liquid(TRACES, Column(0, 0.0, 101.325))
    assert solvent[-1] == pytest.approx(math.log(1e-3), abs=1e-6)
    assert traces == pytest.approx(solvent[:, None] * alpha[None, :], abs=2e-4)
    assert traces[-1, 3] == pytest.approx(solvent[-1], abs=1e-6)


@pytest.mark.parametrize(("plates", "reflux"), [(1, 1.0), (5, 3.0), (12, 8.0)])
def test_trace_in_a_column_is_enriched_as_the_absorption_equation_says(plates, reflux):
    # a straight operating line over a straight equilibrium y = alpha x (Kremser, Nat. Petrol. News 22 (1930) 43):
    # y(n + 1) = (r/alpha) y(n) + (1 - r) x_D with r = R/(R + 1) and y(1) = x_D; the pot is one stage more
    solvent, traces, alpha = in_one_liquid(TRACES, Column(plates, reflux, 101.325))
    r = reflux / (reflux + 1.0)
    fixed = (1.0 - r) / (1.0 - r / alpha)
    enriched = alpha / (fixed + (r / alpha) ** plates * (1.0 - fixed))  # x_D over x of the pot
    assert traces[-1] == pytest.approx(solvent[-1] * enriched, rel=2e-3, abs=2e-3)


def test_trace_goes_where_a_pseudo_component_of_its_boiling_point_goes():
    made = pseudo_components(a_curve(), 0.79, [36.0, 200.0, 350.0], settings=PseudoComponentSettings(most=30))
    boiling = [part.boiling_c for part in made.components if part.volatile]
    charge = charge_of(made, [], traces_c=boiling)
    receivers = [Receiver(cut.cut, cut.lower, cut.upper) for cut in SCHEME.cuts[:3]]
    column = Column(5, 3.0, 101.325)
    pieces = distil_in_stages(charge, column, receivers, made.watson_k, StagedSettings(), StillSettings())
    for piece in pieces:
        gone = piece.states[-1].log_left - charge.log_moles
        assert gone[-len(boiling) :] == pytest.approx(gone[: len(boiling)], abs=1e-8)


def test_every_trace_is_conserved_and_lighter_ones_come_over_first():
    boiling = [-13.0, 40.0, *np.linspace(100.0, 480.0, 39)]
    plan = a_plan(boiling)
    shares = np.array([[share.nominal_value for _, share in way.shares] for way in plan.ways])
    assert [way.boiling_c for way in plan.ways] == boiling
    assert [cut for cut, _ in plan.ways[0].shares] == [cut.cut for cut in plan.cuts]
    assert shares.sum(axis=1) == pytest.approx(np.full(len(boiling), 100.0), abs=1e-6)
    assert np.all(shares >= 0.0)
    come_over = np.cumsum(shares, axis=1)
    assert np.all(np.diff(come_over[:, :-1], axis=0) <= 1e-6)
    assert shares[1, 1] > 99.0  # far below the limit of gasoline
    assert shares[-1, -1] > 99.0


def test_traces_move_neither_temperatures_nor_cuts():
    with_traces, without = a_plan((50.0, 131.7, 300.0)), a_plan()
    for one, other in zip(with_traces.cuts, without.cuts, strict=True):
        assert one.share.value == pytest.approx(other.share.value, abs=2e-3)
    assert with_traces.points[0].head_c == pytest.approx(without.points[0].head_c, abs=1e-6)
    assert without.ways == ()


# chlorine of the cuts


def test_chlorine_of_receivers_and_pot_is_that_of_the_oil():
    found, cuts, sums, _, plan = placed(screened=KINDS[:3])
    assert found.by == "simulated still"
    grams = {cut.cut: cut.share.value / 100.0 for cut in plan.cuts}
    told = [name for name in cuts if cuts[name].best.value is not None]
    assert set(told) == {"gasoline", "diesel", "residue"}
    whole = sum(cuts[name].best.value * grams[name] for name in told)
    assert whole == pytest.approx(sums.best.value, rel=1e-6)
    for way in found.ways:
        assert sum(share.value for _, share in way.shares) == pytest.approx(100.0, abs=1e-6)
    assert [way.name for way in found.ways] == ["chlorobenzene", "1,4-dichlorobenzene", "1,2,4-trichlorobenzene"]
    assert [way.mainly_in for way in found.ways] == ["gasoline", "gasoline", "diesel"]


def test_chlorine_is_told_on_the_mass_of_the_receiver():
    _, cuts, _, _, plan = placed(screened=KINDS[:1])  # all of it far below the limit at 200 °C
    (gasoline,) = [cut for cut in plan.cuts if cut.cut == "gasoline"]
    assert cuts["gasoline"].best.value == pytest.approx(100 * CL / 112.557 / (gasoline.share.value / 100), rel=1e-3)
    assert cuts["gasoline"].compounds == ("chlorobenzene",)
    assert cuts["residue"].compounds == ()


def test_best_lies_between_bounds_and_a_compound_near_a_limit_is_smeared():
    target = a_target("1,2,4-trichlorobenzene", boiling_c=203.0)
    near = [a_screened("1,2,4-trichlorobenzene", "confirmed", 40.0, 0.0, target=target)]
    found, cuts, _, _, _ = placed(screened=near)
    for name in ("gasoline", "diesel"):
        one = cuts[name]
        assert one.compounds == ("1,2,4-trichlorobenzene",)
        assert 0.0 < one.lower.value < 0.7 * one.best.value
        assert one.upper.value > 1.3 * one.best.value
    _, exact, _, _, _ = placed(screened=near, settings=WhereDistilledSettings(edge_c=0.0))
    assert exact["diesel"].lower.value == pytest.approx(exact["diesel"].best.value)
    assert exact["diesel"].upper.value == pytest.approx(exact["diesel"].best.value)
    assert {"activity of compounds in the mixture", "boiling curve"} <= {tag for tag, _ in cuts["diesel"].best.budget}


def test_a_sharp_column_comes_to_what_boiling_points_alone_say():
    only = ("gasoline",)
    found, cuts, sums, targets, plan = placed(screened=KINDS[:3], wanted=only, plates=12, reflux=8.0)
    shares = {cut.cut: cut.share for cut in plan.cuts}
    ideal = {one.cut: one for one in where_distilled(sums, targets, SCHEME, shares).cuts}
    assert cuts["gasoline"].best.value == pytest.approx(ideal["gasoline"].best.value, rel=0.05)
    _, blurred, _, _, simple = placed(screened=KINDS[:3], wanted=only, plates=0, reflux=0.0)
    shares = {cut.cut: cut.share for cut in simple.cuts}
    ideal = {one.cut: one for one in where_distilled(sums, targets, SCHEME, shares).cuts}
    assert blurred["gasoline"].best.value != pytest.approx(ideal["gasoline"].best.value, rel=0.1)


def test_what_was_indicated_or_stayed_below_its_limit_is_in_no_lower_bound():
    _, cuts, sums, _, plan = placed()
    grams = {cut.cut: cut.share.value / 100.0 for cut in plan.cuts}
    lower = sum(cuts[name].lower.value * grams[name] for name in ("gasoline", "diesel", "residue"))
    assert lower <= sums.lower.value * (1 + 1e-9)
    best = sum(cuts[name].best.value * grams[name] for name in ("gasoline", "diesel", "residue"))
    assert best == pytest.approx(sums.best.value, rel=1e-6)
    assert cuts["gasoline"].upper.value * grams["gasoline"] > best * 0.5
    upper = sum(cuts[name].upper.value * grams[name] for name in ("gasoline", "diesel", "residue"))
    assert upper >= sums.upper.value * (1 - 1e-9)


def test_nothing_found_is_below_a_limit_and_no_zero():
    _, cuts, _, _, _ = placed(screened=KINDS[3:])
    assert cuts["gasoline"].best.value is None
    assert cuts["gasoline"].best.status == "below limit"
    assert cuts["gasoline"].best.limit == pytest.approx(cuts["gasoline"].upper.value)
    _, cuts, _, _, _ = placed(screened=[a_screened("chlorobenzene", "masked", limit_area=None)])
    assert cuts["gasoline"].best.reason == "chlorine.no_upper_bound"
    assert cuts["residue"].upper.value == 0.0  # none of it is there, however much the oil holds


def test_unknown_cluster_is_followed_by_its_index_and_named_without_one():
    found, cuts, _, _, _ = placed(screened=[], unknown=(a_cluster(),))
    assert cuts["diesel"].compounds != ()
    assert found.ways[0].verdict == "unknown"
    found, _, _, _, _ = placed(screened=KINDS[:1], unknown=(a_cluster(retention_index=None),))
    assert len(found.unplaced) == 1
    assert "chlorine.unplaced" in {one.code for one in found.step.cautions}


def test_cut_without_a_share_is_not_told():
    _, cuts, _, _, _ = placed(screened=KINDS[:1], wanted=("gasoline", "diesel", "wax"), curve=a_curve(60.0, 340.0))
    assert cuts["gas"].best.reason == "chlorine.cut_unknown"
    assert cuts["gas"].compounds == ()


def test_dangers_name_what_comes_over_and_what_gives_acid():
    benzylic = a_target("2-chlorotoluene", hazards=("benzyl chloride",))
    screened = [*KINDS[:1], a_screened("2-chlorotoluene", "indicated", 5.0, 0.0, time=9.9, target=benzylic)]
    found, _, _, _, _ = placed(screened=screened)
    told = {one.code: put_into_words(one) for one in found.step.cautions}
    assert told["chlorine.acid_from_pot"].level == "danger"
    assert "2-chlorotoluene" in told["chlorine.acid_from_pot"].text
    assert "chlorobenzene" not in told["chlorine.acid_from_pot"].text
    assert "in gasoline: chlorobenzene; 2-chlorotoluene" in told["chlorine.comes_over"].text
    assert "10 °C either way" in told["chlorine.placed_by_still"].text
    quiet, _, _, _, _ = placed(screened=KINDS[3:])
    assert {one.code for one in quiet.step.cautions} == {"chlorine.placed_by_still", "chlorine.dioxins_unseen"}


def test_plan_that_followed_other_traces_is_refused():
    sums, targets = sums_of(KINDS)
    with pytest.raises(ValueError, match=r"did not follow what boils at 121.7 °C"):
        where_simulated(sums, targets, a_plan())
