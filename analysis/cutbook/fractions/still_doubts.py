"""What a still log itself gives away: cracking, entrainment, a mistaken unit of pressure, a pot too hot."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutbook.fractions.cracking_notes import speaks_of_cracking
from cutbook.fractions.method_ranges import ranges_of
from cutbook.fractions.still_temperatures import StillTemperatureSettings, at_atmosphere_c
from cutbook.model.amount import Amount, nominal
from cutbook.model.cautions import Caution, caution
from cutbook.model.run import DistillationEntry
from cutbook.model.still import StillCurve
from cutbook.model.units import known_units


@dataclass(frozen=True)
class StillDoubtSettings:
    """When a log is doubted.

    falls_c : °C by which the head must fall back to count.
    jump_c_per_percent : °C per % recovered by which the head may rise; more is liquid carried over, or a gap.
    join_c : °C by which equivalent temperatures may jump where the pressure is changed, beside the standard uncertainty
        of the jump; a vacuum parts light from heavy a little better than the atmosphere, which is a few degrees.
    changed : ratio of pressures between neighbouring readings that counts as a change.
    pressure_rises : ratio by which a vacuum must give way over a hot pot to count.
    plateau_percent, plateau_c : % recovered over which the head stays within so many °C.
    """

    falls_c: float = 5.0
    jump_c_per_percent: float = 20.0
    join_c: float = 5.0
    changed: float = 1.5
    pressure_rises: float = 1.2
    plateau_percent: float = 8.0
    plateau_c: float = 2.0


@dataclass(frozen=True)
class _Row:
    at: int
    place: str
    recovered: float
    equivalent_c: float
    u_c: float
    head_c: float
    pressure_kpa: float
    pot_c: float | None
    note: str


_DRY = re.compile(r"\b(dry|dryness|trocken)\b(?! ice)|\b(pot|blase|kolben|sumpf)\b.*\b(empty|leer)\b", re.I)
# what a hand takes for what: written -> meant
_MIXED = (("mmHg", "mbar"), ("Torr", "mbar"), ("mbar", "mmHg"), ("hPa", "mmHg"), ("kPa", "mbar"), ("mbar", "kPa"),
          ("kPa", "mmHg"), ("Pa", "mbar"), ("mbar", "Pa"), ("bar", "mbar"))  # fmt: skip


def still_doubts(
    curve: StillCurve,
    entry: DistillationEntry,
    pressure_from: str,
    watson: Amount | None,
    temperatures: StillTemperatureSettings,
    settings: StillDoubtSettings,
) -> tuple[Caution, ...]:
    """Cautions about a distillation.

    Parameters
    ----------
    curve : of the distillation. entry : its entry of the run sheet. pressure_from : "log", "run sheet" or "assumed".
    watson : factor of what distils, None where it is not known. temperatures : how they were corrected.

    Returns
    -------
    tuple of Caution
    """
    rows = _rows(curve)
    file = curve.log.file
    found = [*_cracking(file, curve, rows, settings), *_jumps(file, rows, settings)]
    found += _pressure_unit(
        file, curve, entry, rows, pressure_from, None if watson is None else nominal(watson), temperatures, settings
    )
    found += _plateau(file, rows, settings)
    if any(_DRY.search(one.note) for one in curve.log.readings):
        found.append(caution("safety.dry_still", file))
    return tuple(found)


def _rows(curve: StillCurve) -> list[_Row]:
    found = []
    for at, (point, reading) in enumerate(zip(curve.points, curve.log.readings, strict=True)):
        recovered = (point.mass_recovered if curve.basis == "mass" else point.volume_recovered).value
        values = (recovered, point.equivalent_temperature.value, point.head_temperature.value, point.pressure.value)
        if any(value is None for value in values):
            continue
        share, equivalent, head, pressure = (float(value or 0.0) for value in values)
        u = point.equivalent_temperature.u or 0.0
        found.append(_Row(at, point.place, share, equivalent, u, head, pressure, reading.pot_c, reading.note))
    return found


def _cracking(file: str, curve: StillCurve, rows: Sequence[_Row], settings: StillDoubtSettings) -> list[Caution]:
    """A hot pot alone is a danger; with a falling head, fog or a rising pressure it is decomposition."""
    limit = ranges_of("still_pot")["cracking"][1]
    hot = [one for one in curve.log.readings if one.pot_c is not None and one.pot_c > limit]
    if not hot:
        return []
    hottest = max(one.pot_c for one in hot if one.pot_c is not None)
    found = [caution("safety.pot_hot", file, place=hot[0].place, limit=limit, hottest=round(hottest))]
    places = {one.place for one in curve.log.readings[curve.log.readings.index(hot[0]) :]}
    late = [row for row in rows if row.place in places]
    before = max((row.equivalent_c for row in rows if row.place not in places), default=-1e9)
    highest = before
    for row in late:
        if row.equivalent_c < highest - settings.falls_c:
            found.append(caution("still.cracking_head", file, place=hot[0].place, at=row.place))
            break
        highest = max(highest, row.equivalent_c)
    told = next((row for row in late if speaks_of_cracking(row.note)), None)
    if told is not None:
        found.append(caution("still.cracking_note", file, place=hot[0].place, at=told.place))
    pressures = [row.pressure_kpa for row in late]
    if pressures and curve.points[late[-1].at].vacuum and pressures[-1] > settings.pressure_rises * pressures[0]:
        found.append(caution("still.cracking_pressure", file, place=hot[0].place))
    return found


def _jumps(file: str, rows: Sequence[_Row], settings: StillDoubtSettings) -> list[Caution]:
    found = []
    for before, row in zip(rows, rows[1:], strict=False):
        changed = max(before.pressure_kpa, row.pressure_kpa) / min(before.pressure_kpa, row.pressure_kpa)
        if changed > settings.changed:
            continue
        rise, share = row.equivalent_c - before.equivalent_c, max(row.recovered - before.recovered, 1.0)
        if rise > settings.jump_c_per_percent * share and before.recovered > 0:
            found.append(caution("still.jump", file, place=row.place, rise=round(rise)))
        elif rise < -settings.falls_c:
            found.append(caution("still.head_falls", file, place=row.place, fall=round(-rise)))
    return found


def _pressure_unit(
    file: str, curve: StillCurve, entry: DistillationEntry, rows: Sequence[_Row], pressure_from: str,
    watson_k: float | None, temperatures: StillTemperatureSettings, settings: StillDoubtSettings,
) -> list[Caution]:  # fmt: skip
    """Whether the pressures make sense in the unit in which they are written; a join tells, or the barometer itself."""
    low, high = ranges_of("barometer")["pressure"]
    if pressure_from != "log":
        given = entry.pressure
        if given is not None and entry.kind == "standard-test" and not low < given.value < high:
            return [caution("still.pressure_odd", file, pressure=f"{given.value:.4g}")]
        return []
    unit = str(curve.log.step.settings["units"].get("pressure", ""))
    highest = max(row.pressure_kpa for row in rows) if rows else 0.0
    found = []
    # (a) nothing boils under much more than the atmosphere: another unit makes a barometer of it
    if highest > high:
        fits = [other for written, other in _MIXED if written == unit and low < _in(highest, unit, other) < high]
        found.append(
            caution("still.barometer_unit", file, written=unit, meant=fits[0], pressure=f"{highest:.4g}")
            if fits else caution("still.pressure_odd", file, pressure=f"{highest:.4g}")
        )  # fmt: skip
        return found
    # (b) where atmospheric and vacuum readings join
    for at, (before, row) in enumerate(zip(rows, rows[1:], strict=False)):
        ratio = before.pressure_kpa / row.pressure_kpa
        if max(ratio, 1.0 / ratio) <= settings.changed:
            continue
        jump = _jump(rows, at, [one.equivalent_c for one in rows])
        limit = settings.join_c + float(np.hypot(before.u_c, row.u_c))
        if abs(jump) <= limit:
            continue
        meant = ""
        best = abs(jump)
        for other in [other for written, other in _MIXED if written == unit]:
            retold = [
                one.equivalent_c if not curve.points[one.at].vacuum else
                _equivalent(one.head_c, _in(one.pressure_kpa, unit, other), entry, watson_k, temperatures)
                for one in rows
            ]  # fmt: skip
            there = abs(_jump(rows, at, retold))
            if there < 0.5 * best and there <= limit:
                meant, best = other, there
        if meant:
            found.append(
                caution("still.pressure_unit", file, written=unit, meant=meant, jump=f"{jump:+.0f}", place=row.place)
            )
        else:
            found.append(caution("still.join", file, place=row.place, jump=f"{jump:+.0f}"))
        break
    return found


def _in(pressure_kpa: float, written: str, meant: str) -> float:
    """A pressure as it is when its number was meant in another unit."""
    units = known_units()
    return pressure_kpa / units[written].factor * units[meant].factor


def _equivalent(
    head_c: float, pressure_kpa: float, entry: DistillationEntry, watson_k: float | None,
    temperatures: StillTemperatureSettings,
) -> float:  # fmt: skip
    try:
        return at_atmosphere_c(head_c, pressure_kpa, entry.kind, watson_k, temperatures)
    except ValueError:
        return 1e9


def _jump(rows: Sequence[_Row], at: int, equivalent_c: Sequence[float]) -> float:
    """By how much the curve jumps between reading `at` and the next, beyond its slope to either side.

    Readings before anything has come over at the new pressure are passed over: the still has not settled yet.
    """
    after = [one for one in range(at + 1, len(rows)) if rows[one].recovered > rows[at].recovered][:3] or [at + 1]
    before = [one for one in range(at, -1, -1) if rows[one].pressure_kpa == rows[at].pressure_kpa][:3][::-1]
    slopes = []
    for side in (before, after):
        share = np.array([rows[one].recovered for one in side])
        if len(share) > 1 and share[-1] > share[0]:
            slopes.append(float(np.polyfit(share, [equivalent_c[one] for one in side], 1)[0]))
    slope = float(np.mean(slopes)) if slopes else 0.0
    rise = equivalent_c[after[0]] - equivalent_c[at]
    return rise - max(slope, 0.0) * (rows[after[0]].recovered - rows[at].recovered)


def _plateau(file: str, rows: Sequence[_Row], settings: StillDoubtSettings) -> list[Caution]:
    """The longest stretch over which the head stays; nearly one compound, or water, or a solvent."""
    best: tuple[float, float] | None = None
    for at, row in enumerate(rows):
        for end in range(len(rows) - 1, at, -1):
            span = [one.equivalent_c for one in rows[at : end + 1]]
            wide = rows[end].recovered - row.recovered
            if wide < settings.plateau_percent:
                break
            if max(span) - min(span) <= settings.plateau_c and (best is None or wide > best[0]):
                best = (wide, float(np.mean(span)))
    if best is None:
        return []
    return [caution("still.plateau", file, share=round(best[0]), at=round(best[1]))]
