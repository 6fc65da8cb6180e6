"""Plans of distillations: what is charged comes out, pressures keep the pot cool, doubts and dangers are told."""

import math
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from liquids import watson

from cutbook.fractions.batch_still import StillSettings
from cutbook.fractions.column_stages import Column
from cutbook.fractions.compound_boiling import compound_boiling
from cutbook.fractions.cut_schemes import cut_scheme
from cutbook.fractions.method_ranges import ranges_of
from cutbook.fractions.pseudo_components import ChargedCompound, PseudoComponentSettings, pseudo_components
from cutbook.fractions.staged_still import (
    Receiver,
    StagedSettings,
    boiling_at_one_atmosphere_c,
    charge_of,
    distil_in_stages,
)
from cutbook.fractions.still_plan import ALWAYS_TOLD, PlanSettings, plan_fractionation
from cutbook.model.amount import measured
from cutbook.model.boiling import BoilingCurve, CurvePoint
from cutbook.model.errors import InputError
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.reporting.cautions import put_into_words

RECOVERED = (0.5, *(float(p) for p in range(1, 100)), 99.5)
STEP = Step("made for a test/1")
HEADLINE = cut_scheme("boiling-36-200-350")


def a_curve(low_c=40.0, high_c=460.0, u_c=2.0, known=lambda p: True, whole=True, shape=1.0):
    """A curve from `low_c` to `high_c`, straight for shape 1."""
    points = []
    for p in RECOVERED:
        measurand = f"boiling point at {p:g} %"
        if known(p):
            at = low_c + (high_c - low_c) * (p / 100.0) ** shape
            result = Result(measurand, measured(at, u_c, "curve"), "°C", "oil", STEP)
        else:
            result = Result.missing(measurand, "°C", "oil", STEP, "boiling.did_not_elute")
        points.append(CurvePoint(p, result))
    return BoilingCurve("oil", tuple(points), "for a test", whole, STEP)


def a_plan(curve=None, wanted=("gasoline", "diesel"), compounds=(), density=0.79, **changed):
    return plan_fractionation(curve or a_curve(), density, 100.0, HEADLINE, wanted, compounds, PlanSettings(**changed))


def named(*names):
    return [ChargedCompound(compound_boiling(name)) for name in names]


def codes(step):
    return {one.code for one in step.cautions}


# what is charged


@given(st.floats(0, 150), st.floats(60, 450), st.floats(0.4, 2.5), st.integers(4, 80))
@settings(deadline=None)
def test_the_shares_of_the_pseudo_components_add_up_and_none_reaches_over_a_limit(low, wide, shape, most):
    made = pseudo_components(a_curve(low, low + wide, shape=shape), 0.8, [36.0, 200.0, 350.0],
                             settings=PseudoComponentSettings(most=most))  # fmt: skip
    assert sum(part.mass_share for part in made.components) == pytest.approx(1.0, abs=1e-12)
    assert all(part.molar_mass > 0 for part in made.components)
    for part in made.components:
        assert part.lower_c <= part.boiling_c <= part.upper_c
        for limit in (36.0, 200.0, 350.0):
            assert not part.lower_c + 1e-9 < limit < part.upper_c - 1e-9


def test_the_mean_boiling_point_of_the_curve_is_kept():
    made = pseudo_components(a_curve(40.0, 460.0), 0.8, [])
    mean = sum(part.mass_share * part.boiling_c for part in made.components)
    assert mean == pytest.approx(250.0, abs=0.5)  # of a straight curve from 40 to 460 °C


def test_the_volumes_add_up_to_that_of_the_measured_density():
    made = pseudo_components(a_curve(), 0.781, [])
    assert 1.0 / sum(part.mass_share / part.density_g_ml for part in made.components) == pytest.approx(0.781, rel=1e-9)
    for part in made.components:
        gravity = part.density_g_ml / 0.999016  # of water at 60 °F in g/mL
        assert (1.8 * (part.boiling_c + 273.15)) ** (1 / 3) / gravity == pytest.approx(made.watson_k, rel=1e-9)


def test_without_a_density_the_factor_is_assumed_and_that_is_told():
    made = pseudo_components(a_curve(), watson(11.3, 0.4), [])
    assert made.watson_k == 11.3
    assert not made.density_known
    (told,) = made.step.cautions
    assert "a Watson factor of 11.3, assumed for oil of PE, was taken" in put_into_words(told).text
    assert "assume/1" in {step.operation for step in made.step.walk()}


def test_open_ends_of_a_curve_are_told_and_kept():
    made = pseudo_components(a_curve(known=lambda p: 5 <= p <= 90, whole=False), 0.8, [])
    assert {"plan.heavy_end", "plan.light_end", "plan.residue_unknown"} == codes(made.step)
    assert made.heavy_share == pytest.approx(0.10)
    assert made.light_share == pytest.approx(0.05)
    assert sum(part.mass_share for part in made.components) == pytest.approx(1.0)
    (heavy,) = [part for part in made.components if not part.volatile]
    assert heavy.mass_share == pytest.approx(0.10)


def test_a_known_amount_is_taken_out_of_the_curve_and_one_that_is_not_there_is_told():
    styrene = ChargedCompound(compound_boiling("styrene"), 0.02)
    made = pseudo_components(a_curve(), 0.8, [], [styrene])
    assert sum(part.mass_share for part in made.components) == pytest.approx(1.0, abs=1e-12)
    assert made.components[-1].mass_share == 0.02
    plain = pseudo_components(a_curve(), 0.8, [])
    near = [sum(p.mass_share for p in one.components if not p.compound and 125 < p.boiling_c < 165)
            for one in (plain, made)]  # fmt: skip
    assert near[0] - near[1] == pytest.approx(0.02, abs=0.011)  # stretches of 1 % at the edges of the window
    too_much = pseudo_components(a_curve(), 0.8, [], [ChargedCompound(compound_boiling("styrene"), 0.5)])
    assert "plan.compound_not_in_curve" in codes(too_much.step)
    assert sum(part.mass_share for part in too_much.components) == pytest.approx(1.0, abs=1e-12)


def test_a_curve_of_less_than_two_points_is_refused():
    with pytest.raises(InputError, match="1 points of it; expected two at least"):
        pseudo_components(a_curve(known=lambda p: p == 50), 0.8, [])


# pressures


def test_the_pot_stays_below_its_limit_and_pressures_only_fall():
    plan = a_plan(staged=StagedSettings(pot_limit_c=250.0))
    assert max(point.pot_c for point in plan.points) <= 250.0 + 1e-3
    pressures = [stage.pressure_kpa for stage in plan.stages]
    assert len(pressures) >= 2
    assert pressures == sorted(pressures, reverse=True)
    assert all(cut.complete for cut in plan.cuts)
    assert "safety.still_vacuum" in codes(plan.step)


def test_the_pressure_found_is_the_highest_to_two_digits_that_will_do():
    made = pseudo_components(a_curve(), 0.79, [36.0, 200.0, 350.0])
    charge = charge_of(made, [])
    receivers = [Receiver("whole", -math.inf, 350.0)]
    column = Column(5, 3.0, 101.325)
    staged = StagedSettings(pot_limit_c=300.0)
    pieces = distil_in_stages(charge, column, receivers, made.watson_k, staged, StillSettings())
    assert [piece.ended_by for piece in pieces] == ["pot", "receiver"]
    found = pieces[-1].column.pressure_kpa
    hottest = max(state.stages.pot_c for state in pieces[-1].states)
    assert 300.0 - 3.0 * staged.held_below_c < hottest <= 300.0
    higher = distil_in_stages(charge, column, receivers, made.watson_k, staged, StillSettings(), [1.3 * found])
    assert max(state.stages.pot_c for state in higher[-1].states) > 300.0


def test_where_no_pressure_is_low_enough_the_plan_ends_and_says_so():
    plan = a_plan(staged=StagedSettings(pot_limit_c=200.0, lowest_kpa=20.0))
    diesel = plan.cuts[2]
    assert not diesel.complete
    assert "plan.pot_limit_reached" in codes(plan.step)
    assert max(point.pot_c for point in plan.points) <= 200.0 + 1e-3
    assert sum(cut.share.value for cut in plan.cuts) == pytest.approx(100.0, abs=1e-7)


def test_a_pot_that_would_run_dry_is_told_as_that():
    plan = a_plan(a_curve(40.0, 250.0), ("diesel",))
    assert {"safety.still_runs_dry"} <= codes(plan.step)
    assert "plan.pot_limit_reached" not in codes(plan.step)
    assert plan.cuts[2].ended_by == "dry"
    assert plan.cuts[3].share.value < 1.0
    further = a_plan(a_curve(40.0, 180.0), ("diesel",))
    assert [cut.ended_by for cut in further.cuts] == ["head", "dry", "not begun", ""]
    assert "plan.pot_limit_reached" not in codes(further.step)


def test_a_light_charge_needs_no_vacuum():
    plan = a_plan(a_curve(40.0, 250.0), ("gasoline",))
    assert [stage.pressure_kpa for stage in plan.stages] == [101.325]
    assert "safety.still_vacuum" not in codes(plan.step)
    high_up = a_plan(a_curve(40.0, 250.0), ("gasoline",), pressure_kpa=80.0)  # at 2000 m
    assert "safety.still_vacuum" not in codes(high_up.step)
    assert "safety.still_vacuum" in codes(a_plan(a_curve(40.0, 250.0), ("gasoline",), pressure_kpa=20.0).step)


def test_a_head_is_read_at_one_atmosphere_as_it_would_boil_there():
    at = boiling_at_one_atmosphere_c(np.array([150.0, 200.0]), np.full(2, 10 / 760 * 101.325), 12.0)
    assert at == pytest.approx([289.13, 348.82], abs=0.05)  # 03_physical_distillation.csv, from the constants


# cuts


def test_the_cuts_add_up_to_the_charge_and_so_do_compounds():
    plan = a_plan(compounds=[ChargedCompound(compound_boiling("styrene"), 0.03)])
    assert sum(cut.share.value for cut in plan.cuts) == pytest.approx(100.0, abs=1e-7)
    assert sum(cut.mass.value for cut in plan.cuts) == pytest.approx(100.0, abs=1e-7)
    for fate in plan.compounds:
        assert sum(share.value for _, share in fate.shares) == pytest.approx(100.0, abs=1e-7)
    (styrene,) = [fate for fate in plan.compounds if fate.name == "styrene"]
    grams = sum(content.value / 100.0 * cut.mass.value
                for (_, content), cut in zip(styrene.contents, [c for c in plan.cuts if c.share.value > 1e-7],
                                             strict=True))  # fmt: skip
    assert grams == pytest.approx(3.0, abs=1e-6)


def test_a_perfect_column_gives_the_cuts_of_the_curve():
    plan = a_plan(plates=20, reflux=15.0)
    # straight from 40 to 460 °C: 38.1 % boil below 200 °C, 35.7 % from 200 to 350 °C
    assert plan.cuts[1].share.value == pytest.approx(100.0 * 160.0 / 420.0, abs=1.5)
    assert plan.cuts[2].share.value == pytest.approx(100.0 * 150.0 / 420.0, abs=1.5)
    for cut in plan.cuts[1:]:
        assert cut.purity.value > 97.0
        assert cut.recovery.value > 97.0


def test_more_plates_make_purer_cuts():
    purities = [min(a_plan(plates=n).cuts[1].purity.value, a_plan(plates=n).cuts[2].purity.value) for n in (0, 3, 10)]
    assert purities == sorted(purities)


def test_compounds_go_where_they_boil():
    plan = a_plan(plates=15, reflux=10.0, compounds=named("phenanthrene"))
    mainly = {fate.name: fate.mainly_in for fate in plan.compounds}
    assert mainly == {"benzene": "gasoline", "chlorobenzene": "gasoline", "styrene": "gasoline",
                      "naphthalene": "diesel", "phenanthrene": "diesel"}  # fmt: skip
    assert set(ALWAYS_TOLD) < set(mainly)
    assert [fate.boiling_c for fate in plan.compounds] == sorted(fate.boiling_c for fate in plan.compounds)


def test_one_plate_smears_a_compound_over_two_cuts():
    simple = {f.name: dict(f.shares) for f in a_plan(plates=0, reflux=0.0).compounds}["styrene"]
    column = {f.name: dict(f.shares) for f in a_plan(plates=10).compounds}["styrene"]
    assert simple["diesel"].value > 5.0 > column["diesel"].value


def test_what_boils_near_a_limit_has_a_wide_uncertainty():
    fates = {f.name: dict(f.shares) for f in a_plan(compounds=named("indene", "toluene")).compounds}
    assert fates["indene"]["gasoline"].u > 10.0 * fates["toluene"]["gasoline"].u
    assert {tag for tag, _ in fates["indene"]["gasoline"].budget} == {
        "activity of compounds in the mixture", "boiling curve", "calculation", "number of plates",
    }  # fmt: skip


def test_a_wider_curve_uncertainty_widens_the_cuts():
    narrow, wide = (a_plan(a_curve(u_c=u)).cuts[1].share for u in (1.0, 4.0))
    assert wide.u > 2.0 * narrow.u
    # a straight curve moved by u moves the share below a limit by u over its slope of 4.2 °C a percent
    by_tag = dict(wide.budget)
    assert by_tag["boiling curve"] == pytest.approx(4.0 / 4.2, rel=0.15)


def test_an_empty_cut_is_told_and_has_no_purity():
    plan = a_plan(a_curve(220.0, 460.0), plates=10)
    gasoline = plan.cuts[1]
    assert gasoline.share.value == pytest.approx(0.0, abs=1e-7)
    assert gasoline.purity.value is None
    assert (gasoline.first, gasoline.last) == (None, None)
    assert {"plan.empty_cut", "plan.nothing_within"} <= codes(plan.step)


def test_the_heaviest_cut_of_a_scheme_may_be_asked_for():
    plan = a_plan(wanted=("wax",))
    assert plan.cuts[3].cut == "wax"
    assert plan.stages[-1].pressure_kpa == 0.1
    assert plan.cuts[-1].limits == "what did not come over"
    assert plan.cuts[-1].purity.reason == "plan.nothing_within"
    assert [cut.kept for cut in plan.cuts] == [False, False, False, True, False]
    assert sum(cut.share.value for cut in plan.cuts) == pytest.approx(100.0, abs=1e-7)


def test_a_hold_up_is_told_and_nothing_is_lost():
    plan = a_plan(hold_up=0.1)
    assert "plan.hold_up" in codes(plan.step)
    assert sum(cut.share.value for cut in plan.cuts) == pytest.approx(100.0, abs=1e-7)


def test_dangers_are_told():
    plan = a_plan(staged=StagedSettings(pot_limit_c=360.0))
    assert {"safety.still_dry", "safety.still_light_ends", "safety.still_benzene", "safety.still_hot",
            "plan.ideal"} <= codes(plan.step)  # fmt: skip
    assert not {"safety.still_light_ends", "safety.still_hot"} & codes(a_plan(a_curve(90.0, 460.0)).step)


def test_what_is_warned_of_is_what_the_table_says():
    assert StagedSettings().pot_limit_c < ranges_of("still_pot")["cracking"][1]
    (told,) = [one for one in a_plan(staged=StagedSettings(pot_limit_c=360.0)).step.cautions
               if one.code == "safety.still_hot"]  # fmt: skip
    assert "oils crack in the pot from about 350 °C" in put_into_words(told).text
    # the standard atmosphere of ISO 2533 at 3600 m, 288.15 K and 6.5 K a km from the sea upward
    barometer = 101.325 * (1.0 - 6.5 * 3.6 / 288.15) ** (9.80665 * 0.0289644 / (8.31446 * 0.0065))
    lowest = ranges_of("still_vacuum")["pressure"][0]
    assert lowest == pytest.approx(barometer, abs=0.2)
    for pressure, there in ((lowest - 0.5, True), (lowest, False)):
        plan = a_plan(a_curve(40.0, 200.0), ("gasoline",), pressure_kpa=pressure)
        assert ("safety.still_vacuum" in codes(plan.step)) == there
    light = ranges_of("still_receiver")["light_end"][1]
    for first, there in ((light - 5.0, True), (light + 0.1, False)):
        assert ("safety.still_light_ends" in codes(a_plan(a_curve(first, 300.0), ("gasoline",)).step)) == there


def test_a_density_that_no_oil_has_is_told():
    assert "plan.odd_watson" in codes(a_plan(density=1.3).step)
    assert "plan.odd_watson" not in codes(a_plan(density=0.79).step)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"plates": -1}, "plates: found -1; expected 0 to 60"),
        ({"plates": 61}, "plates: found 61"),
        ({"reflux": math.nan}, "reflux: found nan"),
        ({"reflux": math.inf}, "reflux: found inf"),
        ({"pressure_kpa": 0.0}, "pressure: found 0 kPa"),
        ({"pressure_kpa": 500.0}, "pressure: found 500 kPa"),
        ({"drop_kpa": -1.0}, "pressure drop"),
        ({"hold_up": 0.5}, "hold-up: found 50 %"),
        ({"staged": StagedSettings(pot_limit_c=500.0)}, "pot limit: found 500 °C"),
        ({"staged": StagedSettings(lowest_kpa=0.0)}, "lowest pressure: found 0 kPa"),
    ],
)
def test_settings_that_cannot_be_are_refused(changed, message):
    with pytest.raises(InputError, match=message):
        PlanSettings(**changed)


def test_a_cut_that_the_scheme_does_not_know_is_refused():
    with pytest.raises(InputError, match="found 'gasolin'.*Did you mean 'gasoline'"):
        a_plan(wanted=("gasolin",))
    with pytest.raises(InputError, match="found none"):
        a_plan(wanted=())
    with pytest.raises(InputError, match="by carbon number; expected one by boiling range"):
        plan_fractionation(a_curve(), 0.8, 100.0, cut_scheme("carbon-4-12-20"), ("gasoline",))


@given(
    st.floats(-20, 200), st.floats(60, 500), st.floats(0.55, 1.2) | st.floats(9.5, 13.0).map(watson), st.integers(0, 15), st.floats(0.0, 20.0),
    st.floats(120.0, 400.0), st.floats(0.0, 0.2), st.floats(0.5, 101.325),
)  # fmt: skip
@settings(max_examples=8, deadline=None)
def test_whatever_is_charged_the_plan_adds_up(low, wide, density, plates, reflux, limit, held, pressure):
    plan = a_plan(a_curve(low, low + wide), density=density, plates=plates, reflux=reflux, hold_up=held,
                  pressure_kpa=pressure, staged=StagedSettings(pot_limit_c=limit))  # fmt: skip
    assert sum(cut.share.value for cut in plan.cuts) == pytest.approx(100.0, abs=1e-7)
    assert all(cut.share.value > -1e-9 for cut in plan.cuts)
    over = [point.distillate for point in plan.points]
    assert all(later >= earlier - 1e-9 for earlier, later in zip(over, over[1:], strict=False))


def test_a_plan_of_60_components_and_10_plates_takes_less_than_two_seconds():
    curve = a_curve()
    a_plan(curve)  # tables are opened once
    began = time.process_time()  # of this process alone: others may be at work beside it
    plan = a_plan(curve, plates=10, compounds=named("toluene", "indene"))
    taken = time.process_time() - began
    assert sum(not part.compound for part in plan.composition.components) >= 60
    assert taken < 2.0


def test_a_charge_of_which_no_more_boils_than_the_curve_tells_is_planned_to_its_end():
    # the last of the diesel boils before its limit; what is left in the pot does not boil at all
    plan = a_plan(a_curve(90.0, 366.0, known=lambda p: 5 <= p <= 92, whole=False))
    cuts = {cut.cut: cut for cut in plan.cuts}
    assert sum(cut.share.value for cut in plan.cuts) == pytest.approx(100.0, abs=1e-6)
    assert cuts["residue"].share.value >= 8.0 - 1e-6
    assert not cuts["diesel"].complete
    assert "plan.pot_limit_reached" in codes(plan.step)
