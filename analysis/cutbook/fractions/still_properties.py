"""Read the temperatures that a distillation is known by off its curve, and its corrected loss."""

from __future__ import annotations

from collections.abc import Callable

from cutbook.fractions.still_cuts import STARTS_LATE
from cutbook.fractions.still_loss import corrected_loss, corrected_recovery
from cutbook.model.amount import Amount, applied, nominal
from cutbook.model.cautions import caution
from cutbook.model.lineage import Step
from cutbook.model.properties import Property
from cutbook.model.result import Result
from cutbook.model.still import StillCurve

PERCENTS = (5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95)
ENDED = 95.0
"""% of the charge recovered and lost from which the last temperature is taken as the final one; a test that ends
earlier did not go to the end (common practice, no source)."""


def still_properties(curve: StillCurve) -> tuple[tuple[Property, ...], Step]:
    """Temperatures at stated recoveries, all at 101.325 kPa, and the corrected loss of a standard test.

    Parameters
    ----------
    curve : of the distillation.

    Returns
    -------
    properties, step
        By volume where volumes are known, else by mass. "recovered_50" is the temperature at 50 % recovered,
        "evaporated_50" that at 50 % less the loss, for a standard test with a known loss. The final boiling point is
        missing when the log does not go to the end.
    """
    by_volume = any(point.volume_recovered.amount is not None for point in curve.points)
    pairs = [
        (one.amount, point.equivalent_temperature.amount)
        for point in curve.points
        if (one := point.volume_recovered if by_volume else point.mass_recovered).amount is not None
        and point.equivalent_temperature.amount is not None
    ]
    points: list[tuple[Amount | float, Amount | float]] = []
    for share, temperature in pairs:
        if share is not None and temperature is not None and (not points or nominal(share) > nominal(points[-1][0])):
            points.append((share, temperature))
    lost = curve.loss.amount if curve.kind == "standard-test" else None
    last = nominal(points[-1][0]) if points else 0.0
    ended = last + (nominal(lost) if lost is not None else 0.0) >= ENDED
    started = bool(points) and nominal(points[0][0]) <= STARTS_LATE
    raised = [] if ended or not points else [caution("still.not_to_the_end", curve.log.file, recovered=round(last, 1))]
    if points and not started:
        first = round(nominal(points[0][0]), 1)
        raised.append(caution("still.no_first_drop", curve.log.file, recovered=first))
    step = Step("read still temperatures/1", inputs=(curve.step,), settings={"ended": ENDED}, cautions=tuple(raised))
    basis = f"{curve.of}, by {'volume' if by_volume else 'mass'}"

    def result(name: str, amount: Amount | float | None, reason: str, unit: str = "°C") -> Property:
        measurand = name.replace("_", " ")
        found = (
            Result.missing(measurand, unit, basis, step, reason) if amount is None
            else Result(measurand, amount, unit, basis, step)
        )  # fmt: skip
        return Property(name, found, False, "read off the still curve")

    def at(name: str, percent: Amount | float) -> Property:
        early = bool(points) and nominal(percent) < nominal(points[0][0])
        reason = "still.no_first_drop" if early else "still.not_to_the_end"
        return result(name, temperature_at(points, percent), reason)

    found = [result("initial_boiling_point", points[0][1] if started else None, "still.no_first_drop")]
    found += [at(f"recovered_{percent}", float(percent)) for percent in PERCENTS]
    end = max((one for _, one in points), key=nominal, default=None) if ended else None
    found.append(result("final_boiling_point", end, "still.not_to_the_end"))
    if lost is not None:
        found += [at(f"evaporated_{percent}", percent - lost) for percent in PERCENTS]
        found += _corrected(curve, lost, result)
    return tuple(found), step


def temperature_at(
    points: list[tuple[Amount | float, Amount | float]], percent: Amount | float
) -> Amount | float | None:
    """Temperature at so many % recovered, linear between points (recovered, temperature); None outside them."""
    for (low, cool), (high, hot) in zip(points, points[1:], strict=False):
        if nominal(low) <= nominal(percent) <= nominal(high):
            return cool + (percent - low) / (high - low) * (hot - cool)
    return None


def _corrected(curve: StillCurve, lost: Amount | float, result: Callable[..., Property]) -> list[Property]:
    pressure = next((point.pressure.amount for point in curve.points if point.pressure.amount is not None), None)
    recovered = curve.recovered.amount
    if pressure is None or recovered is None or curve.basis != "volume":
        return []
    loss = applied(corrected_loss, lost, pressure)
    recovery = applied(corrected_recovery, recovered, lost, pressure)
    return [result("corrected_loss", loss, "", "%"), result("corrected_recovery", recovery, "", "%")]
