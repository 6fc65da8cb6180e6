"""Count what passed a gas meter from its readings: over the top of the counter, backwards, reset, misread."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cutbook.model.amount import Amount, doubt, measured, nominal, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.entered import Entered
from cutbook.model.errors import InputError
from cutbook.model.gas import MeteredGas, MeteredPart, MeterLog, MeterReading
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.still import Repair


@dataclass(frozen=True)
class MeterSettings:
    """How the counter of a gas meter is judged.

    near_top : a reading above this share of the counter's top, followed by one below the rest, went over the top.
    unusual : what passes between two readings may be this many times the usual rate before it is doubted.
    backward : share of the readings that fall from which the meter runs backwards.
    jump : what passes between two of at least four readings is told from this many times the usual rate (10: a charge
        that cracks all at once gives a few times, a figure that was read wrong in its first digit more; judged).
    gap : a pause this many times the usual one between readings is told.
    """

    near_top: float = 0.8
    unusual: float = 5.0
    backward: float = 0.8
    jump: float = 10.0
    gap: float = 3.0


@dataclass(frozen=True, eq=False)
class MeterEntry:
    """What the run sheet says of a meter: state of the gas in it where the log gives none, factor that multiplies its
    readings, top of its counter in mL; None for what is not said."""

    of: str
    place: str
    temperature: Entered | None
    pressure: Entered | None
    factor: Entered | None
    counter_top: Entered | None


def metered_gas(
    log: MeterLog, entry: MeterEntry, sheet: Source, settings: MeterSettings = MeterSettings()
) -> MeteredGas:
    """What passed a meter.

    Parameters
    ----------
    log : as read. entry : of the run sheet, at `sheet`.

    Returns
    -------
    MeteredGas
        From one reading to the next, each with its temperature and pressure. Errors of readings in between cancel in
        the sum; the factor is one error of all.

    Raises
    ------
    InputError
        When the counter falls in a way that none of these explains, or temperature or pressure is nowhere given.

    Notes
    -----
    A counter that falls from near its top to near 0 went over it. The top is as the entry says, else the power of ten
    in the unit of the column just above the reading. A lone low reading between two that rise is misread and left out.
    One that falls to less than the usual step was reset to 0: what passed until then since the reading before is lost,
    which is told.
    """
    repairs: list[Repair] = []
    raised: list[Caution] = []
    unit_ml = _unit_ml(log)
    readings = list(log.readings)
    falling = _runs_backward(readings, settings)
    if falling:
        raised.append(caution("gas.meter_backward", log.file))
        repairs.append(Repair("", "", "meter_backward", "", ""))
    readings = _without_misread(readings, falling, repairs)
    usual = _usual_rate(readings, falling)
    resolution = log.resolution.get("reading", 0.0)
    tags = [measured(one.volume_ml, resolution / 12**0.5, "readings of the meter", True) for one in readings]
    factor: Any = 1.0 if entry.factor is None else entry.factor.amount("factor of the meter")
    states = _states(log, entry, readings, sheet)
    top = entry.counter_top
    if top is not None and (above := next((one for one in readings if one.volume_ml > top.value), None)) is not None:
        raise InputError.single(
            log.file, above.place, f"a reading of {above.volume_ml / 1000:g} L",
            f"readings up to the counter_top of {top.text} in {entry.place}",
            "The top is the figure at which the counter begins again, 1000 L for three digits before the point.",
        )  # fmt: skip
    parts = []
    for at in range(1, len(readings)):
        before, after = readings[at - 1], readings[at]
        step: Any = (tags[at] - tags[at - 1]) * (-1 if falling else 1)
        if nominal(step) < -1.5 * resolution:
            step = _fallen(log, entry, before, after, step, tags[at], usual, unit_ml, repairs, raised, settings)
        elif nominal(step) < 0:  # the last digit wavers
            repairs.append(Repair(after.place, "", "meter_wavers", f"{after.volume_ml:g} mL", ""))
        if len(readings) > 3 and nominal(step) > settings.jump * usual * _minutes(before, after):
            raised.append(
                caution("gas.meter_jump", log.file, place=after.place, litres=float(f"{nominal(step) / 1000:.4g}"),
                        usual=float(f"{usual * _minutes(before, after) / 1000:.3g}"))
            )  # fmt: skip
        warm, pressed = ((states[at - 1][n] + states[at][n]) / 2 for n in (0, 1))
        parts.append(MeteredPart(after.place, before.time_min, after.time_min, step * factor, warm, pressed))
    raised += _missing(log, readings, settings)
    told = [one for one in log.repairs if one.kind != "above_headings"]
    if told or repairs:
        raised.append(caution("gas.meter_repairs", log.file, count=len(told) + len(repairs)))
    passed: Any = total(part.volume_ml for part in parts) / 1000
    if nominal(passed) <= 0:
        raise InputError.single(log.file, "", f"{nominal(passed):.4g} L passed in all", "a counter that moved")
    times = [one.time_min for one in readings]
    first, last = times[0], times[-1]
    step_made = Step(
        "count meter readings/1",
        inputs=(log.step,),
        settings={
            "settings": settings, "factor": entry.factor.text if entry.factor else "", "backward": falling,
            "counter top": entry.counter_top.text if entry.counter_top else "",
        },
        source=Source(sheet.path, sheet.sha256, entry.place),
        cautions=tuple(raised),
    )  # fmt: skip
    duration = last - first if first is not None and last is not None else None
    volume = Result(f"volume of {entry.of} metered", passed, "L", "", step_made)
    return MeteredGas(log, (*log.repairs, *repairs), tuple(parts), volume, duration, step_made)


def passed_between(meter: MeteredGas, edges_min: Sequence[float]) -> list[Any] | None:
    """Volume in mL that passed between each two neighbours of rising times, by a straight line from reading to reading;
    None where a reading has no time. Times outside the log give nothing beyond its ends."""
    if any(part.start_min is None or part.end_min is None for part in meter.parts):
        return None

    def within(low: float, high: float) -> Any:
        found: list[Any] = []
        for part in meter.parts:
            start, end = part.start_min or 0.0, part.end_min or 0.0
            inside = min(high, end) - max(low, start)
            if inside > 0 and end > start:
                found.append(part.volume_ml * (inside / (end - start)))
        return total(found)

    return [within(low, high) for low, high in zip(edges_min, edges_min[1:], strict=False)]


def _runs_backward(readings: Sequence[MeterReading], settings: MeterSettings) -> bool:
    steps = [b.volume_ml - a.volume_ml for a, b in zip(readings, readings[1:], strict=False)]
    moved = [step for step in steps if step]
    return len(moved) > 1 and sum(step < 0 for step in moved) >= settings.backward * len(moved) and sum(steps) < 0


def _without_misread(readings: list[MeterReading], falling: bool, repairs: list[Repair]) -> list[MeterReading]:
    """Without a lone reading that lies outside its two neighbours, which agree with the direction of the meter."""
    sign = -1 if falling else 1
    kept = list(readings)
    at = 1
    while at < len(kept) - 1:
        before, here, after = (sign * one.volume_ml for one in kept[at - 1 : at + 2])
        beyond = sign * kept[at + 2].volume_ml if at + 2 < len(kept) else math.inf
        too_low, too_high = here < before <= after, before <= after < here and beyond < here
        if too_low or too_high:
            repairs.append(Repair(kept[at].place, "", "meter_misread", f"{kept[at].volume_ml:g} mL", ""))
            del kept[at]
            continue
        at += 1
    return kept


def _usual_rate(readings: Sequence[MeterReading], falling: bool) -> float:
    """Median of what passes a minute, or a reading where times are missing, in mL."""
    sign = -1 if falling else 1
    rates = sorted(
        sign * (b.volume_ml - a.volume_ml) / _minutes(a, b) for a, b in zip(readings, readings[1:], strict=False)
    )
    rising = [rate for rate in rates if rate > 0]
    return rising[len(rising) // 2] if rising else 0.0


def _minutes(before: MeterReading, after: MeterReading) -> float:
    if before.time_min is None or after.time_min is None or after.time_min <= before.time_min:
        return 1.0
    return after.time_min - before.time_min


def _fallen(
    log: MeterLog, entry: MeterEntry, before: MeterReading, after: MeterReading, step: Any, reading: Amount,
    usual: float, unit_ml: float, repairs: list[Repair], raised: list[Caution], settings: MeterSettings,
) -> Any:  # fmt: skip
    """What passed where the counter fell."""
    expected = usual * _minutes(before, after)
    top = entry.counter_top.value if entry.counter_top else _power_of_ten(before.volume_ml, unit_ml)
    shown = f"{before.volume_ml / 1000:g} to {after.volume_ml / 1000:g} L"
    if nominal(step) < 0 < top and before.volume_ml > settings.near_top * top:
        over = step + top
        if 0 <= nominal(over) <= settings.unusual * max(expected, 1e-9) or entry.counter_top is not None:
            repairs.append(Repair(after.place, "", "counter_over_top", shown, f"{nominal(over) / 1000:g} L passed"))
            raised.append(caution("gas.meter_over_top", log.file, place=after.place, top=round(top / 1000, 3)))
            return over
    if 0 <= after.volume_ml <= max(expected, 0.02 * before.volume_ml):
        repairs.append(Repair(after.place, "", "meter_reset", shown, f"{after.volume_ml / 1000:g} L since"))
        raised.append(
            caution("gas.meter_reset", log.file, place=after.place, litres=round(expected / 1000, 2))
        )  # fmt: skip
        # what passed before the reset is lost: anything from nothing to the usual
        return reading + expected / 2 + expected / 12**0.5 * doubt("what passed before the meter was reset")
    raise InputError.single(
        log.file,
        after.place,
        f"a counter that falls from {shown}",
        "readings that rise",
        "Correct the reading, or give counter_top in its [[gas_meter]] entry where the counter went over its top",
    )


def _power_of_ten(volume_ml: float, unit_ml: float) -> float:
    """The power of ten of the unit just above a reading."""
    shown = volume_ml / unit_ml
    return 10 ** math.ceil(math.log10(shown) + 1e-12) * unit_ml if shown > 0 else 0.0


def _unit_ml(log: MeterLog) -> float:
    from cutbook.model.units import known_units

    return known_units()[str(log.step.settings["units"]["reading"])].factor


def _states(log: MeterLog, entry: MeterEntry, readings: Sequence[MeterReading], sheet: Source) -> list[tuple[Any, Any]]:
    """Temperature and pressure at each reading: of the log, the nearest one above where a cell is empty; else of the
    entry. The error of the instrument is one for all readings."""
    found: list[list[Any]] = []
    for key, unit in (("temperature", "°C"), ("pressure", "kPa")):
        values = [one.temperature_c if key == "temperature" else one.pressure_kpa for one in readings]
        given: Entered | None = getattr(entry, key)
        if all(value is None for value in values):
            if given is None:
                raise InputError.single(
                    sheet.path, entry.place, f"no {key} of the gas in the meter, neither here nor in {log.file}",
                    f"a column or a key {key}, in {unit} for example",
                )  # fmt: skip
            found.append([given.amount(f"{key} of {entry.of}")] * len(readings))
            continue
        off = log.resolution.get(key, 0.0) / 12**0.5 * doubt(f"{key} of {entry.of}")
        if given is not None and given.u_stated:
            off = given.u * doubt(f"{key} of {entry.of}")
        known = next(value for value in values if value is not None)
        column = []
        for value in values:
            known = value if value is not None else known
            column.append(known + off)
        found.append(column)
    return list(zip(*found, strict=True))


def _missing(log: MeterLog, readings: Sequence[MeterReading], settings: MeterSettings) -> list[Caution]:
    raised = []
    lost = [one.place for one in log.repairs if one.kind == "no_reading"]
    if lost:
        raised.append(caution("gas.meter_rows_missing", log.file, places=", ".join(lost[:12])))
    pauses = [
        (b.time_min - a.time_min, b.place)
        for a, b in zip(readings, readings[1:], strict=False)
        if a.time_min is not None and b.time_min is not None
    ]
    if len(pauses) >= 3:
        usual = sorted(pause for pause, _ in pauses)[len(pauses) // 2]
        for pause, place in pauses:
            if usual > 0 and pause > settings.gap * usual:
                raised.append(
                    caution("gas.meter_gap", log.file, place=place, minutes=round(pause), usual=round(usual))
                )  # fmt: skip
    return raised
