"""Correct the head temperatures of a still log: thermometer, barometer, vacuum."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutbook.fractions.equivalent_temperature import (
    barometric_correction_c,
    equivalent_temperature_c,
    neutral_watson,
)
from cutbook.fractions.method_ranges import ranges_of
from cutbook.fractions.thermometer import lag_corrections_c, stem_correction_c
from cutbook.model.amount import Amount, doubt, measured, nominal
from cutbook.model.cautions import Caution, caution
from cutbook.model.run import DistillationEntry
from cutbook.model.still import StillKind, StillLog
from cutbook.model.units import STANDARD_KPA


@dataclass(frozen=True)
class StillTemperatureSettings:
    """How temperatures and pressures in a log are read; standard uncertainties.

    u_thermometer_c : by which a laboratory thermometer may be wrong all along; half a degree, a division of most.
    u_reading_c : of one reading, at least; the column is never quite still.
    thermometer_liquid : "mercury" or "organic liquid", for the correction of the stem.
    u_correction : share of the corrections for stem and lag that may be wrong; their inputs are guesses.
    barometer_from_kpa : from this pressure upward the barometric correction is used, below it the equation of
        equivalent temperature; at 85 kPa the two agree within 1 °C up to 350 °C. The standard test keeps to the
        barometric correction, as its standard does, down to 70 kPa.
    u_barometric : share of the barometric correction that may be wrong; pure liquids part from it by a tenth.
    u_vacuum_c : of an equivalent temperature taken from a vacuum; pure liquids keep within 2 °C with their Watson
        factor, which is taken as twice that.
    u_pressure : share of a vacuum by which its gauge may be wrong all along.
    u_watson_k : of an assumed Watson factor, where the density is not known.
    u_unknown_barometer_kpa : where no pressure is given, 101.3 kPa is taken and may be off by so much.
    """

    u_thermometer_c: float = 0.5
    u_reading_c: float = 0.3
    thermometer_liquid: Literal["mercury", "organic liquid"] = "mercury"
    u_correction: float = 0.3
    barometer_from_kpa: float = 85.0
    u_barometric: float = 0.1
    u_vacuum_c: float = 1.0
    u_pressure: float = 0.02
    u_watson_k: float = 0.4
    u_unknown_barometer_kpa: float = 2.0


@dataclass(frozen=True, eq=False)
class StillTemperatures:
    """Temperatures and pressures of each reading; None where there are none.

    head_c : corrected for stem and lag. pressure_kpa : as read or given. equivalent_c : at 101.325 kPa.
    vacuum : whether the equation of equivalent temperature was used. pressure_from : "log", "run sheet" or "assumed".
    """

    head_c: tuple[Amount | None, ...]
    pressure_kpa: tuple[Amount | None, ...]
    equivalent_c: tuple[Amount | None, ...]
    vacuum: tuple[bool, ...]
    pressure_from: Literal["log", "run sheet", "assumed"]
    cautions: tuple[Caution, ...]

    def nominal_c(self) -> tuple[float | None, ...]:
        """The equivalent temperatures alone."""
        return tuple(None if one is None else nominal(one) for one in self.equivalent_c)


def still_temperatures(
    log: StillLog,
    entry: DistillationEntry,
    watson: Amount | None = None,
    settings: StillTemperatureSettings = StillTemperatureSettings(),
) -> StillTemperatures:
    """Temperatures of a log at atmospheric pressure, row by row.

    Parameters
    ----------
    log : cleaned. entry : with the barometer, the stem and the lag of the thermometer.
    watson : factor of what distils, for readings in vacuum; None takes 12, with a wide uncertainty.

    Returns
    -------
    StillTemperatures
        A reading without a pressure of its own takes that of the run sheet, or else of the reading above it.
    """
    raised: list[Caution] = []
    heads = _heads(log, entry, settings, raised)
    pressures, source = _pressures(log, entry, settings)
    if source == "assumed":
        raised.append(caution("still.no_barometer", entry.file))
    found: list[Amount | None] = []
    errors = {name: doubt(name) for name in ("barometric correction", "equivalent temperature", "Watson factor")}
    beyond = 0
    for head, pressure in zip(heads, pressures, strict=True):
        if head is None or pressure is None:
            found.append(None)
            continue
        equivalent = _equivalent(head, pressure, entry, watson, settings, errors)
        beyond += equivalent is None
        found.append(equivalent)
    if beyond:
        raised.append(caution("still.beyond_equation", entry.file, count=beyond))
    vacuum = tuple(p is not None and off_barometer(nominal(p), entry.kind, settings) for p in pressures)
    if any(p is not None and nominal(p) < settings.barometer_from_kpa for p in pressures):
        raised.append(caution("safety.vacuum_still", entry.file))
        if watson is None:
            raised.append(caution("still.watson_assumed", entry.file))
    return StillTemperatures(tuple(heads), tuple(pressures), tuple(found), vacuum, source, tuple(raised))


def off_barometer(pressure_kpa: float, kind: StillKind | None, settings: StillTemperatureSettings) -> bool:
    """Whether a pressure is none that the barometric correction is meant for in such a distillation."""
    low, high = ranges_of("barometric_correction")["pressure"]
    return not (low if kind == "standard-test" else settings.barometer_from_kpa) <= pressure_kpa <= high


def at_atmosphere_c(
    temperature_c: float,
    pressure_kpa: float,
    kind: StillKind | None,
    watson_k: float | None,
    settings: StillTemperatureSettings,
) -> float:
    """A head temperature as it is at 101.325 kPa, by barometer or from a vacuum, whichever holds there.

    Raises
    ------
    ValueError
        Beyond the equation of equivalent temperature.
    """
    if off_barometer(pressure_kpa, kind, settings):
        return equivalent_temperature_c(temperature_c, pressure_kpa, watson_k)
    return temperature_c + barometric_correction_c(temperature_c, pressure_kpa)


def _equivalent(
    head: Amount,
    pressure: Amount,
    entry: DistillationEntry,
    watson: Amount | None,
    settings: StillTemperatureSettings,
    errors: dict[str, Amount],
) -> Amount | None:
    t, p = nominal(head), nominal(pressure)
    watson_k = None if watson is None else nominal(watson)

    def at(temperature_c: float, pressure_kpa: float) -> float:
        return at_atmosphere_c(temperature_c, pressure_kpa, entry.kind, watson_k, settings)

    try:
        here = at(t, p)
        per_c = at(t + 0.5, p) - at(t - 0.5, p)
        step = 0.001 * p
        # to the side on which the same correction holds
        joined = off_barometer(p + step, entry.kind, settings) == off_barometer(p, entry.kind, settings)
        other = p + step if joined else p - step
        per_kpa = (at(t, other) - here) / (other - p)
    except ValueError:
        return None
    found: Amount = here + per_c * (head - t) + per_kpa * (pressure - p)
    if not off_barometer(p, entry.kind, settings):
        return found + settings.u_barometric * abs(here - t) * errors["barometric correction"]
    found = found + settings.u_vacuum_c * errors["equivalent temperature"]
    if watson is None:
        off = equivalent_temperature_c(t, p, neutral_watson() + settings.u_watson_k) - here
        return found + off * errors["Watson factor"]
    per_factor = equivalent_temperature_c(t, p, nominal(watson) + 1.0) - here
    return found + per_factor * (watson - nominal(watson))


def _heads(
    log: StillLog, entry: DistillationEntry, settings: StillTemperatureSettings, raised: list[Caution]
) -> list[Amount | None]:
    thermometer = doubt("thermometer")
    u_one = max(log.resolution.get("head_temperature", 0.0) / 12**0.5, settings.u_reading_c)
    corrections = [0.0] * len(log.readings)
    timed = [at for at, one in enumerate(log.readings) if one.head_c is not None and one.time_min is not None]
    lag = entry.thermometer_lag
    if lag is not None and lag.value > 0:
        times = [float(log.readings[at].time_min or 0.0) for at in timed]
        readings = [float(log.readings[at].head_c or 0.0) for at in timed]
        # two readings at one minute have no slope between them
        strict = [n for n in range(len(times)) if n == 0 or times[n] > times[n - 1]]
        if len(strict) < 2:
            raised.append(caution("still.lag_without_time", entry.file))
        else:
            of = lag_corrections_c([times[n] for n in strict], [readings[n] for n in strict], lag.value)
            for n, correction in zip(strict, of, strict=True):
                corrections[timed[n]] += float(correction)
    found: list[Amount | None] = []
    off = doubt("stem and lag of the thermometer")
    for at, one in enumerate(log.readings):
        if one.head_c is None:
            found.append(None)
            continue
        if entry.emergent_stem_c and entry.stem_temperature is not None:
            corrections[at] += stem_correction_c(
                one.head_c, entry.emergent_stem_c, entry.stem_temperature.value, settings.thermometer_liquid
            )
        head = measured(one.head_c, u_one, f"temperature at {one.place}") + settings.u_thermometer_c * thermometer
        found.append(head + corrections[at] + settings.u_correction * abs(corrections[at]) * off)
    return found


def _pressures(
    log: StillLog, entry: DistillationEntry, settings: StillTemperatureSettings
) -> tuple[list[Amount | None], Literal["log", "run sheet", "assumed"]]:
    given = entry.pressure.amount("barometer") if entry.pressure is not None else None
    if any(one.pressure_kpa is not None for one in log.readings):
        gauge = doubt("pressure gauge")
        u_one = log.resolution.get("pressure", 0.0) / 12**0.5
        found: list[Amount | None] = []
        above = given
        for one in log.readings:
            if one.pressure_kpa is not None:
                share = settings.u_pressure if off_barometer(one.pressure_kpa, entry.kind, settings) else 0.0
                above = measured(one.pressure_kpa, u_one, f"pressure at {one.place}") + (
                    share * one.pressure_kpa * gauge
                )
            found.append(above)
        return found, "log"
    if given is not None:
        return [given] * len(log.readings), "run sheet"
    assumed = measured(STANDARD_KPA, settings.u_unknown_barometer_kpa, "barometer, not read")
    return [assumed] * len(log.readings), "assumed"
