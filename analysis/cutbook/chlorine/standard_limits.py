"""What the standards of a compound tell of limits: by their calibration line, and by replicates of one of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine import QuantifiedTarget, StandardLimits
from cutbook.model.errors import InputError
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.quantitation.calibration import CalibrationLine
from cutbook.quantitation.detection_limit import LimitSettings, limits_of_line, limits_of_scatter, method_limit

_SAME = 0.01  # relative, within which two standards hold the same amount
NAMED = 6


@dataclass(frozen=True)
class StandardLimitSettings:
    """How limits are read off standards. limit : see there. confidence, replicates : of a method detection limit, and
    injections of one amount from which it is told; 0.99 and 7, as 40 CFR 136, Appendix B has them."""

    limit: LimitSettings = field(default=LimitSettings())
    confidence: float = 0.99
    replicates: int = 7

    def __post_init__(self) -> None:
        if self.replicates < 3:
            raise InputError.single("", "replicates", f"{self.replicates}", "3 or more")
        if not 0.5 < self.confidence < 1.0:
            raise InputError.single("", "confidence", f"{self.confidence:g}", "more than 0.5 and less than 1")


def standard_limits(
    name: str, line: CalibrationLine, scale: float, unit: str, of: str,
    settings: StandardLimitSettings = StandardLimitSettings(),
) -> StandardLimits | None:  # fmt: skip
    """Limits of a compound by its standards, as contents of a sample that would be injected as they were.

    Parameters
    ----------
    name : of the compound. line : through its standards. scale : from the amounts of the line to contents of the sample
        in `unit`. of : the sample. settings : see there.

    Returns
    -------
    StandardLimits
        None where the standards are too few to scatter.

    Notes
    -----
    By the prediction band of the line (`limits_of_line`); by replicates, with seven or more injections of one amount:
    t s of their responses over the slope, and 10 s as the quantitation limit.
    """
    if line.degrees < 1:
        return None
    raised: tuple[Caution, ...] = ()
    by_line = None
    try:
        _, amount = limits_of_line(line, settings.limit)
        by_line = scale * amount
    except InputError:
        raised = (caution("chlorine.no_line_limit", of, name=name),)
    step = Step("limits of standards/1", inputs=(line.step,), cautions=raised,
                settings={"name": name, "settings": settings})  # fmt: skip

    def result(what: str, value: float | None) -> Result:
        measurand = f"{what} of {name} by its standards"
        if value is None:
            return Result.missing(measurand, unit, of, step, "chlorine.no_line_limit")
        return Result(measurand, value, unit, of, step, has_u=False)

    told = StandardLimits(result("detection limit", by_line))
    held = _replicates(line, settings.replicates)
    if held is None:
        return told
    found = method_limit([one / line.slope * scale for one in held], settings.confidence)
    sd = float(np.std(held, ddof=1)) / line.slope * scale
    wide = limits_of_scatter(sd, len(held) - 1, settings=settings.limit)
    return StandardLimits(
        told.by_line,
        result("method detection limit", found.value),
        result("quantitation limit", wide.quantitation),
        len(held),
        (found.low, found.high),
    )


def line_limit_cautions(targets: Sequence[QuantifiedTarget], of: str) -> tuple[Caution, ...]:
    """The limits of the standards beside those in the oil, in one note; and lines that give none."""
    known = [(one, one.standards.by_line.value) for one in targets if one.standards is not None]
    raised = [step for one in targets if one.standards is not None for step in one.standards.by_line.step.cautions]
    told = [
        f"{one.screened.target.name} {_short(value)} (in this oil {_in_oil(one)})"
        for one, value in known
        if value is not None
    ]
    if told:
        more = " …" if len(told) > NAMED else ""
        raised.insert(0, caution("chlorine.limit_of_standards", of, names="; ".join(told[:NAMED]) + more))
    return tuple(raised)


def _in_oil(one: QuantifiedTarget) -> str:
    limit = one.detection_limit.value
    return "no level proven" if limit is None else _short(limit)


def _short(value: float) -> str:
    """Two significant digits, written out."""
    return f"{float(f'{value:.2g}'):.10g}"


def _replicates(line: CalibrationLine, fewest: int) -> list[float] | None:
    """Responses of the lowest amount above zero that was injected often enough, None without one."""
    for amount in sorted({point.amount for point in line.points if point.amount > 0}):
        same = [point.response for point in line.points if abs(point.amount - amount) <= _SAME * amount]
        if len(same) >= fewest:
            return same
    return None
