"""Hold the log of a distillation against its plan: head temperatures, and what each cut came to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from cutbook.model.amount import measured
from cutbook.model.cautions import Caution, caution
from cutbook.model.cuts import Cut
from cutbook.model.lineage import Step
from cutbook.model.plan import (
    FractionationPlan,
    HeadDifference,
    PlanComparison,
    PlannedShare,
    PlanOnPaper,
    ShareDifference,
)
from cutbook.model.result import Result
from cutbook.model.still import StillCurve


@dataclass(frozen=True)
class PlanComparisonSettings:
    """When a log departs from its plan.

    head_c : °C by which the head may be off before it is told; 10, the sum of what thermometers, the vapour pressures
        and a curve from a chromatogram leave open (common practice, no source).
    coverage : standard uncertainties of a difference beyond which a cut departs.
    least_share : % of the charge by which a cut may be off however small its uncertainty is.
    """

    head_c: float = 10.0
    coverage: float = 2.0
    least_share: float = 1.0


def on_paper(plan: FractionationPlan) -> PlanOnPaper:
    """As much of a plan as a log is held against."""
    shares = [
        PlannedShare(cut.cut, cut.share.value, cut.share.u or 0.0) for cut in plan.cuts if cut.share.value is not None
    ]
    return PlanOnPaper(None, plan.of, plan.scheme, plan.points, tuple(shares))


def compare_with_plan(
    curve: StillCurve, plan: PlanOnPaper, settings: PlanComparisonSettings = PlanComparisonSettings()
) -> PlanComparison:
    """How a distillation departed from its plan.

    Parameters
    ----------
    curve : of the log. plan : as it was made before, or `on_paper` of a new one. settings : see there.

    Returns
    -------
    PlanComparison
        Differences of the head, read at 101.325 kPa, wherever the log has a point within the planned range; of each
        receiver that bears the name of a planned cut, else of each cut of the same scheme. Cautions tell the largest
        difference of the head, and every cut that is off by more than its uncertainty.
    """
    raised: list[Caution] = []
    by_volume = all(point.mass_recovered.value is None for point in curve.points)
    if by_volume and any(point.volume_recovered.value is not None for point in curve.points):
        raised.append(caution("plan.log_by_volume", curve.name))
    heads = tuple(_heads(curve, plan, by_volume))
    if not heads:
        raised.append(caution("plan.log_not_comparable", curve.name))
    elif abs((worst := max(heads, key=lambda one: abs(one.difference_c))).difference_c) > settings.head_c:
        raised.append(
            caution("plan.log_departs_head", curve.name, recovered=round(worst.recovered, 1),
                    found=round(worst.found_c, 1), difference=f"{worst.difference_c:+.1f}")
        )  # fmt: skip
    step = Step(
        "compare with plan/1",
        inputs=(curve.step,),
        settings={"settings": settings, "of": plan.of, "scheme": plan.scheme},
        source=plan.source,
    )
    cuts = tuple(_cuts(curve, plan, step))
    for one in cuts:
        difference, u = one.difference.value or 0.0, one.difference.u or 0.0
        if abs(difference) > max(settings.coverage * u, settings.least_share):
            raised.append(
                caution("plan.log_departs_cut", curve.name, cut=one.cut, found=round(one.found.value or 0.0, 1),
                        planned=round(one.planned, 1))
            )  # fmt: skip
    told = Step(step.operation, step.inputs, step.settings, step.source, tuple(raised))
    return PlanComparison(curve.name, heads, cuts, told)


def _heads(curve: StillCurve, plan: PlanOnPaper, by_volume: bool) -> Iterator[HeadDifference]:
    """Differences of the head; where a stage ends the head of the plan jumps, and the later value counts."""
    if not plan.points:
        return
    over = np.array([point.distillate for point in plan.points])
    head = np.array([point.equivalent_c for point in plan.points])
    for point in curve.points:
        recovered = (point.volume_recovered if by_volume else point.mass_recovered).value
        found = point.equivalent_temperature.value
        if recovered is None or found is None or not over[0] <= recovered <= over[-1]:
            continue
        planned = float(np.interp(recovered, over, head))
        yield HeadDifference(point.place, recovered, planned, found, found - planned)


def _cuts(curve: StillCurve, plan: PlanOnPaper, step: Step) -> Iterator[ShareDifference]:
    receivers = {cut.cut.casefold(): cut for cut in curve.receivers if cut.mass.amount is not None}
    drawn = {cut.cut.casefold(): cut for cut in curve.cuts
             if cut.definition == plan.scheme and cut.mass.amount is not None}  # fmt: skip
    for planned in plan.shares:
        found: Cut | None = receivers.get(planned.cut.casefold()) or drawn.get(planned.cut.casefold())
        if found is None or found.mass.amount is None:
            continue
        difference = found.mass.amount - measured(planned.share, planned.u, "plan")
        yield ShareDifference(
            planned.cut, planned.share, found.mass,
            Result(f"{planned.cut}, found less planned", difference, "%", found.mass.basis, step),
        )  # fmt: skip
