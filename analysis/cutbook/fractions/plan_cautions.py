"""What a plan of a distillation gives reason to warn of: dangers to people first, then doubts."""

from __future__ import annotations

from collections.abc import Sequence

from cutbook.fractions.cut_schemes import RESIDUE
from cutbook.fractions.method_ranges import ranges_of
from cutbook.fractions.staged_still import StagedSettings
from cutbook.model.cautions import Caution, caution
from cutbook.model.plan import ChargeComposition, CompoundFate, PlannedCut, PlanStage


def plan_cautions(
    of: str,
    composition: ChargeComposition,
    hold_up: float,
    settings: StagedSettings,
    stages: Sequence[PlanStage],
    cuts: Sequence[PlannedCut],
    fates: Sequence[CompoundFate],
) -> tuple[Caution, ...]:
    """The cautions of a plan.

    Parameters
    ----------
    of : product. composition, settings : as planned with. hold_up : share of the charge. stages, cuts, fates : planned.
    """
    found = [caution("safety.still_dry", of)]
    light_c = ranges_of("still_receiver")["light_end"][1]
    light = sum(p.mass_share for p in composition.components if p.volatile and p.boiling_c < light_c)
    if light > 0:
        found.append(caution("safety.still_light_ends", of, share=f"{100.0 * light:.2g}", below=light_c))
    barometer_kpa = ranges_of("still_vacuum")["pressure"][0]
    if vacuum := [one for one in stages if one.number > 1 or one.pressure_kpa < barometer_kpa]:
        low = min(stage.pressure_kpa for stage in vacuum)
        found.append(caution("safety.still_vacuum", of, pressure=low, number=vacuum[0].number))
    cracks_c = ranges_of("still_pot")["cracking"][1]
    if settings.pot_limit_c > cracks_c:
        found.append(caution("safety.still_hot", of, limit=settings.pot_limit_c, cracks=cracks_c))
    for fate in fates:
        if fate.name == "benzene":
            found.append(caution("safety.still_benzene", of, cut=fate.mainly_in))
    ran_dry = any(cut.ended_by == "dry" for cut in cuts)
    for cut in cuts:
        if cut.ended_by == "dry":
            found.append(caution("safety.still_runs_dry", cut.cut))
        if not cut.complete and not ran_dry:
            found.append(
                caution("plan.pot_limit_reached", cut.cut, limit=settings.pot_limit_c, lowest=settings.lowest_kpa)
            )
        if cut.kept and (cut.share.value or 0.0) <= 1e-7:
            found.append(caution("plan.empty_cut", cut.cut, limits=cut.limits))
        if cut.recovery.reason == "plan.nothing_within" and cut.cut != RESIDUE:
            found.append(caution("plan.nothing_within", cut.cut, limits=cut.limits))
    found += composition.step.cautions
    low, high = ranges_of("liquid_oil")["watson"]
    if composition.density_known and not low <= composition.watson_k <= high:
        found.append(caution("plan.odd_watson", of, factor=round(composition.watson_k, 2)))
    if hold_up > 0:
        found.append(caution("plan.hold_up", of, share=100.0 * hold_up))
    found.append(caution("plan.ideal", of))
    return tuple(dict.fromkeys(found))
