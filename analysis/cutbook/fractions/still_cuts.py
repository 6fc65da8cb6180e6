"""Read cuts off the curve of a distillation: by a temperature scheme, and by receiver."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cutbook.fractions.still_amounts import StillAmounts, StillAmountSettings, receiver_density
from cutbook.model.amount import Amount, nominal
from cutbook.model.cautions import Caution, caution
from cutbook.model.cuts import Cut, CutScheme
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.run import DistillationEntry, Receiver
from cutbook.model.still import Axis, StillCurve, StillPoint

STARTS_LATE = 1.0
"""% of the charge recovered at the first reading, up to which what boils lower may be taken as nothing."""
RECEIVERS = "receivers"
"""Name under which the cuts by receiver are shown."""


def rising_points(curve: StillCurve, by: Axis) -> list[tuple[Amount | float, Amount | float]]:
    """(equivalent temperature, recovered % by mass or volume) of the readings that have both, temperatures rising.

    Where the head falls back, by a draught or by cracking, the highest temperature so far stands.
    """
    found: list[tuple[Amount | float, Amount | float]] = []
    for point in curve.points:
        recovered = _recovered(point, by)
        temperature = point.equivalent_temperature.amount
        if temperature is None or recovered.amount is None:
            continue
        if found and nominal(temperature) < nominal(found[-1][0]):
            temperature = found[-1][0]
        found.append((temperature, recovered.amount))
    return found


def recovered_to(
    points: Sequence[tuple[Amount | float, Amount | float]], temperature_c: float
) -> Amount | float | None:
    """% recovered up to an equivalent temperature, linear between readings.

    Parameters
    ----------
    points : of `rising_points`. temperature_c : °C.

    Returns
    -------
    amount or None
        0 below the first reading where next to nothing had come over by then; None beyond the readings.
    """
    if not points:
        return None
    if temperature_c < nominal(points[0][0]):
        return 0.0 if nominal(points[0][1]) <= STARTS_LATE else None
    for (low, here), (high, there) in zip(points, points[1:], strict=False):
        if nominal(low) <= temperature_c < nominal(high):
            return here + (temperature_c - low) / (high - low) * (there - here)
    return points[-1][1] if temperature_c == nominal(points[-1][0]) else None


def _recovered(point: StillPoint, by: Axis) -> Result:
    return point.mass_recovered if by == "mass" else point.volume_recovered


def still_cuts(curve: StillCurve, schemes: Sequence[tuple[str, CutScheme]], by: Axis) -> tuple[Cut, ...]:
    """The share of each cut of boiling-range schemes, % of the charge by mass or by volume.

    Parameters
    ----------
    curve : of a distillation. schemes : by the name under which results show them. by : which share.

    Returns
    -------
    tuple of Cut
        The open cut at the heavy end is what was charged less what had come over, so it holds residue and loss; a cut
        with a limit beyond the readings is missing.
    """
    points = rising_points(curve, by)
    found = []
    for shown, scheme in schemes:
        for limits in scheme.cuts:
            raised: list[Caution] = []
            below = 0.0 if math.isinf(limits.lower) else recovered_to(points, limits.lower)
            up_to = 100.0 if math.isinf(limits.upper) else recovered_to(points, limits.upper)
            reason = ""
            if below is None or up_to is None:
                outside = limits.lower if below is None else limits.upper
                early = bool(points) and outside < nominal(points[0][0])
                reason = "still.starts_late" if early else "still.ends_before"
                raised.append(caution(reason, curve.log.file, cut=limits.cut, limit=f"{outside:g}"))
            elif math.isinf(limits.upper):
                raised.append(caution("still.heavy_by_difference", curve.log.file, cut=limits.cut))
            step = Step(
                "read still cuts/1", inputs=(curve.step,),
                settings={"scheme": scheme.name, "cut": limits.cut, "lower": limits.lower, "upper": limits.upper,
                          "by": by},
                cautions=tuple(raised),
            )  # fmt: skip
            measurand = f"share of {limits.cut} by still, by {by}"
            if below is None or up_to is None:
                mass = Result.missing(measurand, "%", curve.of, step, reason)
            else:
                mass = Result(measurand, up_to - below, "%", curve.of, step)
            found.append(Cut(shown, scheme.name, limits.cut, limits.text(scheme.kind), mass))
    return tuple(found)


def receiver_cuts(
    curve: StillCurve, entry: DistillationEntry, amounts: StillAmounts, settings: StillAmountSettings, by: Axis
) -> tuple[Cut, ...]:
    """What each receiver holds, % of the charge, and between which equivalent temperatures it was filled.

    A receiver that was weighed or measured at the end counts with that; the others with what the log says.
    """
    names = list(dict.fromkeys(one.receiver for one in curve.log.readings if one.receiver))
    entered = {receiver.name: receiver for receiver in entry.receivers}
    names += [name for name in entered if name not in names]
    found = []
    before: Amount | float = 0.0
    for name in names:
        rows = [at for at, one in enumerate(curve.log.readings) if one.receiver == name]
        shares = [amount for at in rows if (amount := _recovered(curve.points[at], by).amount) is not None]
        temperatures = [value for at in rows if (value := curve.points[at].equivalent_temperature.value) is not None]
        share: Amount | float | None = shares[-1] - before if shares else None
        before = shares[-1] if shares else before
        if name in entered:
            own = _held(entered[name], amounts, settings, by)
            share = share if own is None else own
        step = Step("add up receivers/1", inputs=(curve.step,), settings={"receiver": name, "by": by})
        limits = f"{min(temperatures):.0f}–{max(temperatures):.0f} °C" if temperatures else ""
        measurand = f"share of receiver {name}, by {by}"
        mass = (
            Result.missing(measurand, "%", curve.of, step, "still.gap") if share is None
            else Result(measurand, share, "%", curve.of, step)
        )  # fmt: skip
        found.append(Cut(RECEIVERS, RECEIVERS, name, limits, mass))
    return tuple(found)


def _held(receiver: Receiver, amounts: StillAmounts, settings: StillAmountSettings, by: Axis) -> Amount | None:
    """What a receiver was found to hold, % of the charge; None where it was not measured."""
    volume = receiver.volume.amount(f"volume of receiver {receiver.name}") if receiver.volume is not None else None
    if by == "volume":
        return None if volume is None or amounts.charge_ml is None else 100.0 * volume / amounts.charge_ml
    weighed = receiver.mass.amount(f"weighing of receiver {receiver.name}") if receiver.mass is not None else None
    density = receiver_density(receiver, settings)
    if weighed is None and volume is not None and density is not None:
        weighed = volume * density
    return None if weighed is None or amounts.charge_g is None else 100.0 * weighed / amounts.charge_g
