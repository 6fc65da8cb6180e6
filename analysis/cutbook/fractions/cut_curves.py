"""Slice the boiling curve of a sample into those of its cuts."""

from __future__ import annotations

from collections.abc import Sequence

from cutbook.fractions.cut_schemes import RESIDUE
from cutbook.model.amount import Amount
from cutbook.model.boiling import BoilingCurve, CurvePoint
from cutbook.model.cuts import Cut
from cutbook.model.lineage import Step
from cutbook.model.result import Result


def cut_curves(curve: BoilingCurve, cuts: Sequence[Cut], points: Sequence[float]) -> tuple[BoilingCurve, ...]:
    """The boiling curve of each cut, as if it had been cut out sharply.

    Parameters
    ----------
    curve : of the sample.
    cuts : of one boiling-range scheme, lightest first.
    points : recovered % of the cut that are wanted.

    Returns
    -------
    tuple of BoilingCurve
        One a cut. A point is missing with the reason where the curve of the sample has no temperature next to it, the
        share of the cut (or of one before it) is not known, or the cut did not elute.

    Notes
    -----
    Recovered q % of a cut that holds the sample from F to F + m % is F + q m / 100 % of the sample, between whose
    points temperatures are linear. The doubt of each temperature is that of the curve there; that a limit of a cut is
    exact, and only the share beyond it doubtful, makes the true one smaller near the limits.
    """
    found = []
    start: float | None = 0.0
    reason = ""
    for cut in cuts:
        share = cut.mass.value
        step = Step("slice boiling curve/1", inputs=(curve.step, cut.mass.step), settings={"cut": cut.cut})
        if share is None and cut.mass.reason != "cuts.before_ladder":
            start, reason = None, reason or cut.mass.reason
        own = []
        for recovered in points:
            here = cut.mass.reason if share is None else reason
            amount: Amount | None = None
            if cut.cut == RESIDUE:
                here = "boiling.did_not_elute"
            elif share is not None and start is not None:
                amount, here = _temperature(curve, start + recovered * share / 100.0)
            measurand = f"boiling point at {recovered:g} % of {cut.cut}"
            result = (
                Result.missing(measurand, "°C", curve.of, step, here)
                if amount is None
                else Result(measurand, amount, "°C", curve.of, step)
            )
            own.append(CurvePoint(recovered, result))
        found.append(BoilingCurve(f"{curve.of}, {cut.cut}", tuple(own), curve.boiling_table, True, step))
        if start is not None and share is not None:
            start += share
    return tuple(found)


def _temperature(curve: BoilingCurve, recovered: float) -> tuple[Amount | None, str]:
    """Temperature of a curve between two of its points, or the reason why there is none."""
    points = curve.points
    if not points[0].recovered <= recovered <= points[-1].recovered:
        return None, "properties.curve_too_short"
    right = next(at for at, point in enumerate(points) if point.recovered >= recovered)
    after, before = points[right], points[max(right - 1, 0)]
    low, high = before.temperature, after.temperature
    if low.amount is None or high.amount is None:
        return None, low.reason or high.reason
    width = after.recovered - before.recovered
    share = (recovered - before.recovered) / width if width > 0 else 1.0
    return (1.0 - share) * low.amount + share * high.amount, ""
