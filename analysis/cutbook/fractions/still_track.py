"""Draw the readings of a still log together into one curve on a wanted axis, with its doubts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.fractions.curve_in_kind import Simulated, volume_percent
from cutbook.fractions.still_circumstances import recovered_of
from cutbook.fractions.thermometer import stem_correction_c
from cutbook.model.amount import Amount, doubt, measured, nominal
from cutbook.model.still import Axis, StillCurve, StillPoint
from cutbook.model.trace import Floats

_SCALE_FROM_C, _ROOM_C = 10.0, 25.0
_LEAST_SLOPE = 0.3
"""°C per % of a head that stands still, so that its doubt in % stays finite."""


@dataclass(frozen=True)
class TrackSettings:
    """How a log becomes a curve.

    smooth : % to either side over which the readings are drawn together by a straight line; 5, the step at which
        still and trace are compared.
    u_stem : share of the usual stem error of a thermometer by which its reading is doubtful; one third, since logs
        seldom say how deep it stood.
    u_scatter_c : standard uncertainty in °C of each point by itself, beyond all that is known: uneven boiling, drops
        on the bulb.
    held_up : % of the charge that has left the pot when a reading is taken, but is not in the receiver: film, drops and
        vapour between pot and receiver; 0.7, as 1 mL of 150 mL. u_held_up : its standard uncertainty.
    u_density_profile : share of the change between mass % and volume % that is doubtful; the Watson factor is not
        quite the same along an oil.
    """

    smooth: float = 5.0
    u_stem: float = 1.0 / 3.0
    u_scatter_c: float = 1.5
    held_up: float = 0.7
    u_held_up: float = 0.5
    u_density_profile: float = 0.2


@dataclass(frozen=True, eq=False)
class StillTrack:
    """A log as a curve that rises along its axis.

    recovered, head_c : values; recovered with what is held up between pot and receiver. of_recovered, of_head : the
    same with their doubts, °C at 101.325 kPa.
    hold_up, stem : doubts that all points share, of standard uncertainty 1.
    """

    recovered: Floats
    head_c: Floats
    of_recovered: tuple[Amount, ...]
    of_head: tuple[Amount, ...]
    hold_up: Amount
    stem: Amount

    def reaches(self, at: float) -> bool:
        """Whether the log has readings around a recovered %."""
        return len(self.recovered) >= 3 and bool(self.recovered[0] - 1.0 <= at <= self.recovered[-1] + 0.5)


def track_of(still: StillCurve, axis: Axis, simulated: Simulated, settings: TrackSettings) -> StillTrack:
    """The points of a log that have both a recovered % and a temperature, by the axis wanted.

    Where the log counts by the other axis only, recovered % are carried over with the density profile of the trace.
    A reading without a pressure is taken as at 101.325 kPa, unless the still was under vacuum.
    """
    profile = doubt("density profile of constant Watson factor")
    rows = []
    for point in still.points:
        over, head = _over(point, axis, simulated, profile, settings), _head(point, still)
        if over is not None and head is not None:
            over = over + settings.held_up
            rows.append((nominal(over), nominal(head), over, head))
    rows.sort(key=lambda row: row[0])
    return StillTrack(
        np.array([row[0] for row in rows]),
        np.array([row[1] for row in rows]),
        tuple(row[2] for row in rows),
        tuple(row[3] for row in rows),
        doubt("hold-up of the still"),
        doubt("stem of the thermometer"),
    )


def _over(
    point: StillPoint, axis: Axis, simulated: Simulated, profile: Amount, settings: TrackSettings
) -> Amount | None:
    there = recovered_of(point, axis)
    if there is not None:
        return there
    other = recovered_of(point, "volume" if axis == "mass" else "mass")
    if other is None:
        return None
    masses = np.linspace(0.0, 100.0, 401)
    volumes = volume_percent(simulated, masses)
    known, wanted = (masses, volumes) if axis == "volume" else (volumes, masses)
    change = float(np.interp(nominal(other), known, wanted)) - nominal(other)
    return other + change * (1.0 + settings.u_density_profile * profile) if np.isfinite(change) else None


def _head(point: StillPoint, still: StillCurve) -> Amount | None:
    if point.equivalent_temperature.amount is not None:
        return point.equivalent_temperature.amount
    return None if still.kind == "vacuum" else point.head_temperature.amount


def usual_stem_error_c(head_c: float) -> float:
    """°C by which a thermometer for total immersion reads low when its scale stands in the air.

    Mercury in glass, its scale out from 10 °C on, the stem a third of the way from the room to the vapour (common
    practice, no source).
    """
    return stem_correction_c(head_c, max(head_c - _SCALE_FROM_C, 0.0), _ROOM_C + (head_c - _ROOM_C) / 3.0)


def read_at(track: StillTrack, at: float, settings: TrackSettings) -> Amount | None:
    """What the log says at a recovered %, by a straight line through the readings around; None beyond the log."""
    if not track.reaches(at):
        return None
    distance = np.abs(track.recovered - at)
    reach = max(settings.smooth, float(np.sort(distance)[1]) * 1.001)
    inside = np.flatnonzero(distance <= reach)
    weight = 1.0 - (distance[inside] / (1.25 * reach)) ** 2
    weight = weight / weight.sum()
    away = track.recovered[inside] - at
    centre = float(np.sum(weight * away))
    spread = float(np.sum(weight * (away - centre) ** 2))
    slope, share = 0.0, weight
    if spread > 1e-6:
        leverage = weight * (away - centre) / spread
        slope, share = float(np.sum(leverage * track.head_c[inside])), weight - centre * leverage
    amount: Amount = max(slope, 0.0) * settings.u_held_up * track.hold_up
    for part, number in zip(share, inside, strict=True):
        shifted = track.of_recovered[number] - float(track.recovered[number])
        amount = amount + float(part) * (track.of_head[number] - max(slope, 0.0) * shifted)
    amount = amount + settings.u_stem * usual_stem_error_c(nominal(amount)) * track.stem
    return amount + measured(0.0, settings.u_scatter_c, "scatter of the readings")


def recovered_at(track: StillTrack, head_c: float) -> Amount | None:
    """Recovered % when the head first reads a temperature; None where it never does within the log."""
    if len(track.recovered) < 3:
        return None
    rising = np.maximum.accumulate(track.head_c)
    if not rising[0] <= head_c <= rising[-1]:
        return None
    at = float(np.interp(head_c, rising, track.recovered))
    near = int(np.argmin(np.abs(track.recovered - at)))
    inside = np.abs(track.recovered - at) <= 8.0
    away = track.recovered[inside] - track.recovered[inside].mean()
    spread = float(np.sum(away**2))
    slope = float(np.sum(away * track.head_c[inside])) / spread if spread > 1e-6 else 0.0
    per_degree = 1.0 / max(slope, _LEAST_SLOPE)
    shifted = track.of_recovered[near] - float(track.recovered[near])
    of_head = track.of_head[near] - float(track.head_c[near])
    return at + shifted - per_degree * of_head
