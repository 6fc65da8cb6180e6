"""Hold two boiling curves of one product against the precision of the method."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from cutbook.model.boiling import BoilingCurve, CurvePrecision, PointDifference, PrecisionLimit
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.tables import reference

FROM_MEMORY = "from memory"
"""What the source of a row says when its figures were not seen in print."""


@dataclass(frozen=True, eq=False)
class RepeatedCurve:
    """One curve of a product. of : the product. curve : its name is that of the sample. detector : that saw it."""

    of: str
    curve: BoilingCurve
    detector: str


def curve_precisions(curves: Sequence[RepeatedCurve]) -> tuple[CurvePrecision, ...]:
    """Every further curve of a product against its first one.

    Parameters
    ----------
    curves : of a run, in the order of its traces.

    Returns
    -------
    tuple of CurvePrecision
        None for a product with one curve. Where the detectors differ the reproducibility is the limit, since the
        apparatus is not the same; otherwise the repeatability. Cautions on the step: differences that are worse
        ("boiling.precision_exceeded"), and curves that are of the whole sample on one side only.
    """
    first: dict[str, RepeatedCurve] = {}
    found = []
    for one in curves:
        if one.of not in first:
            first[one.of] = one
        else:
            found.append(compare_curves(first[one.of], one))
    return tuple(found)


def compare_curves(first: RepeatedCurve, second: RepeatedCurve) -> CurvePrecision:
    """Differences of two curves of one product at the points for which the precision of the method is stated.

    Notes
    -----
    The limits are those that two results of one sample exceed in one case in twenty when all is well; with thirteen
    points one of them lies beyond now and then.

    References
    ----------
    ASTM D2887, Standard Test Method for Boiling Range Distribution of Petroleum Fractions by Gas Chromatography.
    """
    same = first.detector == second.detector
    limit: PrecisionLimit = "repeatability" if same else "reproducibility"
    inputs = (first.curve.step, second.curve.step)
    comparable = first.curve.whole == second.curve.whole
    points = []
    for recovered in precision_points(limit):
        step = Step("compare boiling points/1", inputs=inputs, settings={"recovered": recovered, "limit": limit})
        points.append(_difference(first.curve, second.curve, recovered, limit, comparable, step))
    raised = _cautions(first, second, limit, points, comparable)
    step = Step("compare boiling curves/1", inputs=inputs, settings={"limit": limit}, cautions=tuple(raised))
    return CurvePrecision(second.curve.of, first.of, first.curve.of, second.curve.of, limit, tuple(points), step)


def precision_points(limit: PrecisionLimit) -> tuple[float, ...]:
    """Recovered % at which the precision is stated, rising."""
    return tuple(_rows(limit))


def allowed_difference_c(limit: PrecisionLimit, recovered: float, mean_c: float) -> float:
    """How far two temperatures may differ, in °C.

    Parameters
    ----------
    limit : "repeatability" or "reproducibility". recovered : %, one of `precision_points`.
    mean_c : mean of the two temperatures, °C.

    Raises
    ------
    KeyError
        Where no precision is stated for that point.
    """
    factor, offset, constant = _rows(limit)[recovered]
    return factor * (mean_c + offset) + constant


@cache
def _rows(limit: PrecisionLimit) -> dict[float, tuple[float, float, float]]:
    rows = [row for row in reference("boiling_curve_precision").rows if row["limit"] == limit]
    return {
        float(row["recovered"]): (float(row["factor"]), float(row["offset_c"]), float(row["constant_c"]))
        for row in rows
    }


def _seen_in_print(limit: PrecisionLimit) -> bool:
    rows = reference("boiling_curve_precision").rows
    return not any(FROM_MEMORY in row["source"] for row in rows if row["limit"] == limit)


def _difference(
    first: BoilingCurve, second: BoilingCurve, recovered: float, limit: PrecisionLimit, comparable: bool, step: Step
) -> PointDifference:
    measurand, basis = f"difference at {recovered:g} %", f"{second.of} less {first.of}"
    here, there = first.at(recovered), second.at(recovered)
    reason = "" if comparable else "boiling.precision_basis"
    reason = reason or here.reason or there.reason
    if reason or here.amount is None or there.amount is None:
        return PointDifference(recovered, Result.missing(measurand, "°C", basis, step, reason), None)
    allowed = allowed_difference_c(limit, recovered, 0.5 * ((here.value or 0.0) + (there.value or 0.0)))
    return PointDifference(recovered, Result(measurand, there.amount - here.amount, "°C", basis, step), allowed)


def _cautions(
    first: RepeatedCurve,
    second: RepeatedCurve,
    limit: PrecisionLimit,
    points: Sequence[PointDifference],
    comparable: bool,
) -> list[Caution]:
    about = f"{first.curve.of} and {second.curve.of}"
    if not comparable:
        return [caution("boiling.precision_basis", about)]
    beyond = [(abs(p.difference.value or 0.0) - (p.allowed or 0.0), p) for p in points if p.within is False]
    if not beyond:
        return []
    _, worst = max(beyond, key=lambda pair: pair[0])
    seen = (
        "has been seen in print" if _seen_in_print(limit) else "stands here from memory and has not been seen in print"
    )
    return [
        caution(
            "boiling.precision_exceeded", about, count=len(beyond), of=sum(p.within is not None for p in points),
            at=worst.label, difference=round(abs(worst.difference.value or 0.0), 1),
            allowed=round(worst.allowed or 0.0, 1), limit=limit, seen=seen,
        )
    ]  # fmt: skip
