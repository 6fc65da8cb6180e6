"""Read from a log and its closure what may speak for or against a reason why still and trace part."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from cutbook.fractions.cracking_notes import speaks_of_cracking
from cutbook.fractions.method_ranges import ranges_of
from cutbook.model.amount import Amount, nominal, standard_uncertainty
from cutbook.model.still import Axis, StillCurve, StillPoint


@dataclass(frozen=True)
class CircumstanceSettings:
    """What of a log counts as a sign.

    u_gap : standard uncertainty of what is missing from the closure, % of the charge, where none can be worked out;
        what wets the glass of a small still.
    still_over, still_rise_c : % over which the head must rise by less than so many °C to be said to stand still; 6
        and 4, where an oil still boils 10 °C higher for as much.
    usual_gap : % that is missing from a sound distillation with a well-cooled receiver.
    """

    u_gap: float = 1.0
    usual_gap: float = 1.0
    still_over: float = 6.0
    still_rise_c: float = 4.0


@dataclass(frozen=True)
class Circumstances:
    """What is known beside the two curves.

    pressure_given : whether the pressure was measured. recovered, residue : % of the charge by the axis compared, None
    where not known. gap : 100 less both; u_gap its standard uncertainty; usual_gap : what is missing when all is well.
    hot_at : recovered % from which the pot is above the cracking limit; None where it never is or is not known.
    highest_pot_c : None without pot temperatures. head_stood_still : whether the head rose no further, though more came
    over and the pot was above the limit; head_fell_c : by how much it fell then, at most.
    note : the first note that speaks of cracking. both_axes : whether mass and volume were both recorded.
    """

    pressure_given: bool
    recovered: float | None
    residue: float | None
    gap: float | None
    u_gap: float
    usual_gap: float
    hot_at: float | None
    highest_pot_c: float | None
    head_stood_still: bool
    head_fell_c: float
    note: str
    both_axes: bool


def recovered_of(point: StillPoint, axis: Axis) -> Amount | None:
    """What had come over at a point, % of the charge by mass or by volume."""
    return (point.mass_recovered if axis == "mass" else point.volume_recovered).amount


def circumstances_of(
    still: StillCurve, pressure_given: bool, settings: CircumstanceSettings = CircumstanceSettings()
) -> Circumstances:
    """What a distillation tells beside its curve.

    Parameters
    ----------
    still : the distillation. pressure_given : whether the run sheet or the log holds a pressure that was measured.
    settings : see there.
    """
    recovered, residue = still.recovered.amount, still.residue.amount
    gap = None if recovered is None or residue is None else 100.0 - recovered - residue
    pots = {reading.place: reading.pot_c for reading in still.log.readings if reading.pot_c is not None}
    cracking = ranges_of("still_pot")["cracking"][1]
    hot_at = None
    after: list[tuple[float, float]] = []
    for point in still.points:
        over, read = recovered_of(point, still.basis), point.head_temperature.value
        pot = pots.get(point.place)
        if over is None or read is None:
            continue
        if hot_at is None and pot is not None and pot > cracking:
            hot_at = nominal(over)
        if hot_at is not None:
            after.append((nominal(over), read))
    stood, fell = _stood_still(after, settings)
    notes = (reading.note for reading in still.log.readings)
    return Circumstances(
        pressure_given=pressure_given,
        recovered=None if recovered is None else nominal(recovered),
        residue=None if residue is None else nominal(residue),
        gap=None if gap is None else nominal(gap),
        u_gap=max(settings.u_gap, 0.0 if gap is None else standard_uncertainty(gap)),
        usual_gap=settings.usual_gap,
        hot_at=hot_at,
        highest_pot_c=max(pots.values(), default=None),
        head_stood_still=stood,
        head_fell_c=fell,
        note=_first_note(notes),
        both_axes=_both(still.points),
    )


def _stood_still(after: Sequence[tuple[float, float]], settings: CircumstanceSettings) -> tuple[bool, float]:
    """Whether the head stood still over the last part of a stretch of (recovered %, °C), and by how much it fell."""
    if not after:
        return False, 0.0
    over, head = (np.array(column) for column in zip(*after, strict=True))
    fell = float(np.max(np.maximum.accumulate(head) - head))
    last = over >= over[-1] - settings.still_over
    rose = float(head[last][-1] - head[last][0])
    return bool(over[-1] - over[0] >= settings.still_over and rose < settings.still_rise_c), fell


def _first_note(notes: Iterable[str]) -> str:
    return next((note for note in notes if speaks_of_cracking(note)), "")


def _both(points: Iterable[StillPoint]) -> bool:
    """Mass and volume at most points, and not the one made from the other."""
    pairs = [
        (nominal(mass), nominal(volume))
        for point in points
        if (mass := point.mass_recovered.amount) is not None and (volume := point.volume_recovered.amount) is not None
    ]
    if len(pairs) < 3:
        return False
    ratios = np.array([mass / volume for mass, volume in pairs if volume > 5.0])
    return len(ratios) > 2 and float(np.ptp(ratios)) > 1e-6
