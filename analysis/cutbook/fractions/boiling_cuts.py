"""Sum slices of mass into cuts by boiling range, on the boiling points of the ladder."""

from __future__ import annotations

import math

import numpy as np

from cutbook.fractions.carbon_cuts import negligible
from cutbook.fractions.cut_schemes import RESIDUE
from cutbook.model.cautions import Caution, caution
from cutbook.model.cuts import Cut, CutScheme
from cutbook.model.ladder import Ladder
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.quantitation.mass_slices import MassSlices

END_TOLERANCE_C = 2.0
"""An edge this little outside the ladder is drawn at its first or last rung: 36 °C and n-pentane at 36.1 °C."""


def boiling_time_min(ladder: Ladder, temperature_c: float) -> float | None:
    """When a compound of a given boiling point elutes.

    Parameters
    ----------
    ladder : with boiling points of its rungs.
    temperature_c : °C.

    Returns
    -------
    float or None
        min, linear between neighbouring rungs; None outside the ladder. A rung is never split: when the time
        falls into its peak, it is moved to the side on which its own boiling point puts it.
    """
    boiling, times = np.asarray(ladder.boiling_c), ladder.times_min
    rungs = ladder.rungs
    if temperature_c <= boiling[0]:
        return float(rungs[0].peak.front_min) if temperature_c > boiling[0] - END_TOLERANCE_C else None
    if temperature_c > boiling[-1]:
        return float(rungs[-1].peak.back_min) if temperature_c < boiling[-1] + END_TOLERANCE_C else None
    right = int(np.searchsorted(boiling, temperature_c, side="left"))
    before, after = rungs[right - 1].peak, rungs[right].peak
    low, high = before.back_min, after.front_min
    if low >= high:  # peaks that touch meet in the middle of what lies between their apexes
        low = high = 0.5 * (before.apex_min + after.apex_min)
    return float(np.clip(np.interp(temperature_c, boiling, times), low, high))


def boiling_cuts(of: str, slices: MassSlices, ladder: Ladder, scheme: CutScheme, shown_as: str) -> tuple[Cut, ...]:
    """The share of each cut of a boiling-range scheme in one sample.

    Parameters
    ----------
    of : name of the sample. slices : with an edge at every limit of the scheme (`boiling_time_min`).
    ladder : run under the same method. scheme : of kind "boiling range".
    shown_as : name in the results ("boiling-range" for the headline scheme).

    Returns
    -------
    tuple of Cut
        A cut with a limit before the ladder is not determined and counted in the next one; one with a limit
        beyond the ladder is determined only when next to nothing eluted there. "residue" is what did not elute.

    Raises
    ------
    ValueError
        For a scheme by carbon number.
    """
    if scheme.kind != "boiling range":
        raise ValueError(f"{scheme.name} is no boiling-range scheme")
    basis = of if slices.residue is not None else f"eluted part of {of}"
    first, last = slices.edges_min[0], slices.edges_min[-1]
    past_ladder = min((edge for edge in slices.edges_min if edge >= ladder.times_min[-1]), default=last)
    nothing_beyond = negligible(slices.between(past_ladder, last))
    cuts = []
    for limits in scheme.cuts:
        raised: list[Caution] = []
        start = first if math.isinf(limits.lower) else boiling_time_min(ladder, limits.lower)
        end = last if math.isinf(limits.upper) else boiling_time_min(ladder, limits.upper)
        reason = ""
        if start is None and limits.lower < ladder.boiling_c[0]:
            start = first
        if end is None and limits.upper < ladder.boiling_c[0]:
            reason = "cuts.before_ladder"
            raised.append(caution(reason, of, cut=limits.cut, first=ladder.carbons[0]))
        elif start is None and nothing_beyond:
            start = end = last
        elif end is None and nothing_beyond:
            end = last
        elif start is None or end is None:
            reason = "cuts.beyond_ladder"
            raised.append(caution(reason, of, cut=limits.cut, last=ladder.carbons[-1]))
        step = Step(
            "sum boiling range/1",
            inputs=(slices.step,),
            settings={"scheme": scheme.name, "cut": limits.cut, "lower": limits.lower, "upper": limits.upper},
            cautions=tuple(raised),
        )
        measurand = f"share of {limits.cut}"
        if reason or start is None or end is None:
            mass = Result.missing(measurand, "%", basis, step, reason)
        else:
            mass = Result(measurand, slices.between(start, end), "%", basis, step)
        cuts.append(Cut(shown_as, scheme.name, limits.cut, limits.text(scheme.kind), mass))
    lost = Step("residue/1", inputs=(slices.step,), settings={"scheme": scheme.name})
    if slices.residue is None:
        rest = Result.missing("did not elute", "%", basis, lost, "sample.residue_unknown")
    else:
        rest = Result("did not elute", slices.residue, "%", basis, lost)
    return (*cuts, Cut(shown_as, scheme.name, RESIDUE, "did not elute", rest))


def scheme_times_min(ladder: Ladder, scheme: CutScheme) -> list[float]:
    """Times of the limits of a boiling-range scheme that lie inside the ladder."""
    limits = {edge for cut in scheme.cuts for edge in (cut.lower, cut.upper) if math.isfinite(edge)}
    times = (boiling_time_min(ladder, edge) for edge in sorted(limits))
    return [time for time in times if time is not None]
