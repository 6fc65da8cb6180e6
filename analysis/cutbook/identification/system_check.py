"""Read from the ladder whether column, injector and detector were fit for the work."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.model.cautions import Caution, caution
from cutbook.model.ladder import Check, Ladder, Rung
from cutbook.model.lineage import Step


@dataclass(frozen=True)
class SystemCheckSettings:
    """Limits of the system check.

    resolution_low, resolution_high : of n-C16 and n-C18, 3–10 after ASTM D5307 §10; a capillary column
        often lies above 10, which is noted and does no harm.
    response_within : deviation of an n-alkane's area per mass from n-C10, 0.10 after ASTM D5307.
    tailing_high : tailing factor or its inverse beyond which a peak counts as distorted.
    """

    resolution_low: float = 3.0
    resolution_high: float = 10.0
    response_within: float = 0.10
    tailing_high: float = 2.0


def system_check(
    ladder: Ladder, settings: SystemCheckSettings = SystemCheckSettings()
) -> tuple[tuple[Check, ...], Step]:
    """Resolution, response against carbon number and peak shape of a ladder.

    Parameters
    ----------
    ladder : a numbered ladder of equal masses (rungs that stand out as doubled are halved).
    settings : see `SystemCheckSettings`.

    Returns
    -------
    checks, step
        One `Check` a line; cautions on the step for what failed.

    Notes
    -----
    Resolution ``R = 2 Δt / (1.699 (w1 + w2))`` with widths at half height.

    References
    ----------
    ASTM D5307 §10 and ASTM D2887 (limits as seen in public excerpts).
    """
    by_carbon = {rung.carbon: rung for rung in ladder.rungs}
    checks = [_resolution(by_carbon, settings), *_response(ladder, settings), _shape(ladder, settings)]
    raised: list[Caution] = []
    for check in checks:
        if check.passed is False and check.value is not None:
            code = {"%": "system.response", "1": "system.resolution"}.get(check.unit, "system.shape")
            if check.name.startswith("worst"):
                code = "system.shape"
            raised.append(caution(code, ladder.file, what=check.name, value=round(check.value, 2)))
    return tuple(checks), Step("check system/1", inputs=(ladder.step,), settings=settings, cautions=tuple(raised))


def _resolution(rungs: dict[int, Rung], settings: SystemCheckSettings) -> Check:
    name = "resolution of n-C16 and n-C18"
    if 16 not in rungs or 18 not in rungs:
        low, high = settings.resolution_low, settings.resolution_high
        return Check(name, None, "1", low, high, None, "n-C16 or n-C18 is not in the ladder")
    one, two = rungs[16].peak, rungs[18].peak
    if one.half_width_min is None or two.half_width_min is None:
        low, high = settings.resolution_low, settings.resolution_high
        return Check(name, None, "1", low, high, None, "a list of peaks gives no widths")
    value = 2 * (two.apex_min - one.apex_min) / (1.699 * (one.half_width_min + two.half_width_min))
    remark = "above 10 as usual on a capillary column" if value > settings.resolution_high else ""
    return Check(
        name, value, "1", settings.resolution_low, settings.resolution_high, value >= settings.resolution_low, remark
    )


def _response(ladder: Ladder, settings: SystemCheckSettings) -> list[Check]:
    carbons = np.array(ladder.carbons)
    area = np.array([rung.peak.area for rung in ladder.rungs])
    if 10 not in ladder.carbons:
        return [Check("response against n-C10", None, "%", None, None, None, "n-C10 is not in the ladder")]
    # doubled rungs hold twice the mass
    halved = np.array([_halved(area, index) for index in range(len(area))])
    relative = halved / halved[list(ladder.carbons).index(10)] - 1
    worst = int(np.argmax(np.abs(relative)))
    within = settings.response_within * 100
    checks = [
        Check(
            f"largest response deviation from n-C10 (n-C{carbons[worst]})",
            float(relative[worst] * 100),
            "%",
            -within,
            within,
            bool(abs(relative[worst]) <= settings.response_within),
            "equal masses assumed, doubled rungs halved",
        )
    ]
    heavy = carbons >= 20
    if heavy.sum() >= 4:
        slope, offset = np.polyfit(carbons, relative, 1)
        last = int(carbons[-1])
        fall = float((slope * last + offset) - (slope * 10 + offset)) * 100
        checks.append(
            Check(
                f"response trend from n-C10 to n-C{last}",
                fall,
                "%",
                -within,
                within,
                bool(abs(fall) <= within),
                "a fall means that the injector holds back heavy compounds",
            )
        )
    return checks


def _halved(area: np.ndarray, index: int) -> float:
    near = [area[j] for j in (index - 2, index - 1, index + 1, index + 2) if 0 <= j < len(area)]
    ratio = area[index] / float(np.median(near))
    return float(area[index] / 2 if 1.5 <= ratio <= 2.7 else area[index])


def _shape(ladder: Ladder, settings: SystemCheckSettings) -> Check:
    name = "worst tailing factor of a rung"
    known = [(rung.peak.tailing, rung.carbon) for rung in ladder.rungs if rung.peak.tailing]
    low, high = 1 / settings.tailing_high, settings.tailing_high
    if not known:
        return Check(name, None, "1", low, high, None, "no rung is wide enough to read it, or a list gives no shapes")
    worst, carbon = max(known, key=lambda pair: abs(np.log(pair[0])))
    return Check(f"{name} (n-C{carbon})", float(worst), "1", low, high, bool(low <= worst <= high))
