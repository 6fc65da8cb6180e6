"""A log against its plan: where it departs, and by how much."""

import pytest

from cutbook.fractions.plan_comparison import PlanComparisonSettings, compare_with_plan
from cutbook.model.amount import measured
from cutbook.model.cuts import Cut
from cutbook.model.lineage import Source, Step
from cutbook.model.plan import PlannedShare, PlanOnPaper, PlanPoint
from cutbook.model.result import Result
from cutbook.model.still import StillCurve, StillLog, StillPoint

STEP = Step("made for a test/1")
SCHEME = "boiling-36-200-350"
# planned: the head rises by 3 °C a percent from 60 °C, from 60 % on under vacuum
POINTS = tuple(
    PlanPoint(float(p), 60.0 + 3.0 * p - (40.0 if p > 60 else 0.0), 60.0 + 3.0 * p, 110.0 + 3.0 * p,
              101.325 if p <= 60 else 20.0, "gasoline" if p <= 47 else "diesel", 1 if p <= 60 else 2)
    for p in range(0, 91, 5)
)  # fmt: skip
PLAN = PlanOnPaper(Source("plan/plan.json", "0" * 64), "oil", SCHEME, POINTS,
                   (PlannedShare("gasoline", 47.0, 1.0), PlannedShare("diesel", 43.0, 1.0)))  # fmt: skip


def a_result(value, unit="%", u=0.5):
    if value is None:
        return Result.missing("made", unit, "oil", STEP, "still.no_mass")
    return Result("made", measured(value, u, "log"), unit, "oil", STEP)


def a_cut(name, share, scheme="receivers", definition="as taken off"):
    return Cut(scheme, definition, name, "", a_result(share))


def a_log(points, receivers=(), cuts=(), by_volume=False):
    made = tuple(
        StillPoint(f"line {n}", a_result(None if by_volume else p), a_result(p), a_result(t, "°C"),
                   a_result(101.3, "kPa"), a_result(t, "°C"))
        for n, (p, t) in enumerate(points, 1)
    )  # fmt: skip
    log = StillLog("still.csv", (), (), {}, STEP)
    return StillCurve("oil", "oil", "packed", log, made, "mass", a_result(90), a_result(8), a_result(2),
                      tuple(cuts), tuple(receivers), STEP)  # fmt: skip


def codes(found):
    return [one.code for one in found.step.cautions]


def test_a_log_that_keeps_to_the_plan_raises_nothing():
    log = a_log([(p, 60.0 + 3.0 * p) for p in (2, 12, 33, 71)], [a_cut("gasoline", 46.5), a_cut("diesel", 43.4)])
    found = compare_with_plan(log, PLAN)
    assert codes(found) == []
    assert [one.difference_c for one in found.heads] == pytest.approx([0.0] * 4, abs=1e-9)
    assert [one.difference.value for one in found.cuts] == pytest.approx([-0.5, 0.4])
    # sqrt(0.5^2 + 1.0^2) for the log and the plan
    assert found.cuts[0].difference.u == pytest.approx(1.118, abs=1e-3)


def test_a_head_that_runs_away_is_told_at_its_worst():
    found = compare_with_plan(a_log([(10, 95.0), (50, 240.0)]), PLAN)
    assert codes(found) == ["plan.log_departs_head"]
    facts = found.step.cautions[0].facts
    assert (facts["recovered"], facts["difference"]) == (50, "+30.0")
    assert codes(compare_with_plan(a_log([(50, 219.0)]), PLAN)) == []
    assert codes(compare_with_plan(a_log([(50, 219.0)]), PLAN, PlanComparisonSettings(head_c=5.0))) == [
        "plan.log_departs_head"
    ]


def test_a_cut_that_is_off_by_more_than_its_uncertainty_is_told():
    found = compare_with_plan(a_log([(10, 90.0)], [a_cut("Gasoline", 40.0), a_cut("diesel", 44.0)]), PLAN)
    assert codes(found) == ["plan.log_departs_cut"]
    assert found.step.cautions[0].facts["cut"] == "gasoline"


def test_without_receivers_of_that_name_the_cuts_of_the_scheme_are_compared():
    cuts = [a_cut("gasoline", 47.2, "boiling-range", SCHEME), a_cut("diesel", 30.0, "other", "boiling-170-380")]
    found = compare_with_plan(a_log([(10, 90.0)], (), cuts), PLAN)
    assert [one.cut for one in found.cuts] == ["gasoline"]


def test_volumes_are_compared_and_that_is_told():
    found = compare_with_plan(a_log([(10, 90.0)], by_volume=True), PLAN)
    assert codes(found) == ["plan.log_by_volume"]
    assert len(found.heads) == 1


def test_points_outside_the_plan_are_left_alone_and_none_at_all_is_told():
    found = compare_with_plan(a_log([(95, 400.0), (None, 100.0), (50, None)]), PLAN)
    assert found.heads == ()
    assert codes(found) == ["plan.log_not_comparable"]
