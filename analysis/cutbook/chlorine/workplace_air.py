"""Set compounds found in an oil beside workplace limits of air, with what air at rest over the oil would hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from cutbook.chlorine.concentration import FOUND, PER_MILLION, REAGENT
from cutbook.chlorine.orientation import WORKPLACE_AIR, OrientationLimit, orientation_limits
from cutbook.model.amount import Amount, measured
from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine import QuantifiedTarget, ScreenedOil, Verdict
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.tables import reference
from cutbook.model.units import STANDARD_KPA

ACID = "hydrogen chloride"
PPM = "ppm"
Beside = Literal["above", "not told apart from", "below", ""]
_COVERAGE = 2.0  # standard uncertainties within which a figure and a limit are not told apart


@dataclass(frozen=True)
class WorkplaceAirSettings:
    """How the vapour over an oil is estimated.

    activity, u_activity : coefficient of a chlorinated aromatic in a hydrocarbon oil at 25 °C, and its standard
        uncertainty; 1.2 and 0.12, since aromatics in alkanes have 1.0 to 1.4 (from memory).
    u_molar_mass : standard uncertainty of the mean molar mass of the oil for this use, as a share, beside its own; 0.1,
        a correlation of the mean boiling point where the mean by number is wanted (common practice, no source).
    """

    activity: float = 1.2
    u_activity: float = 0.12
    u_molar_mass: float = 0.1


@dataclass(frozen=True, eq=False)
class WorkplaceRow:
    """A compound beside the workplace limits of it.

    of : the product, "feed" for hydrogen chloride. verdict : of the screen, "" for hydrogen chloride.
    vapour : mL/m³ that air at rest in a closed vessel over the oil would hold at 25 °C; None for hydrogen chloride,
    which is not dissolved but split off. beside : how that lies to the lowest limit in the same unit.
    """

    of: str
    substance: str
    verdict: Verdict | Literal[""]
    vapour: Result | None
    limits: tuple[OrientationLimit, ...]
    beside: Beside = ""

    @property
    def lowest(self) -> OrientationLimit | None:
        """The lowest limit in ppm, None without one."""
        return min((one for one in self.limits if one.unit == PPM), key=lambda one: one.value, default=None)


def workplace_air(
    oil: ScreenedOil, mean_molar_mass: Result | None, settings: WorkplaceAirSettings = WorkplaceAirSettings()
) -> tuple[WorkplaceRow, ...]:
    """Every compound found in an oil that has a workplace limit.

    Parameters
    ----------
    oil : screened. mean_molar_mass : of the oil, g/mol, None where nobody knows. settings : see there.

    Notes
    -----
    Raoult's law with an activity coefficient: ``φ = γ x P/p`` with x the mole fraction by the concentration and both
    molar masses, P the vapour pressure at 25 °C (`reference/vapour_pressure_25c.csv`), p = 101.325 kPa. Saturated air
    over the oil at rest: ventilation leaves less, warm, sprayed or boiling oil gives more. No measure of an exposure.
    """
    found = [one for one in oil.targets if one.screened.verdict in FOUND and one.concentration.reason != REAGENT]
    rows = []
    for one in found:
        name = one.screened.target.name
        if not (limits := orientation_limits(name, WORKPLACE_AIR)):
            continue
        vapour = _vapour(one, oil.of, mean_molar_mass, settings)
        row = WorkplaceRow(oil.of, name, one.screened.verdict, vapour, limits)
        rows.append(WorkplaceRow(oil.of, name, one.screened.verdict, vapour, limits, _beside(vapour, row.lowest)))
    return tuple(rows)


def acid_row() -> WorkplaceRow:
    """Hydrogen chloride, for a feed that holds chlorine."""
    return WorkplaceRow("feed", ACID, "", None, orientation_limits(ACID, WORKPLACE_AIR))


def workplace_cautions(rows: Sequence[WorkplaceRow], about: str) -> tuple[Caution, ...]:
    """What must be said beside the limits: that they are for orientation, and which compounds have no figure."""
    if not rows:
        return ()
    raised = [caution("chlorine.workplace_air", about, names="; ".join(dict.fromkeys(one.substance for one in rows)))]
    without = [one.substance for one in rows if one.vapour is not None and one.vapour.value is None]
    if without:
        raised.append(caution("chlorine.no_vapour", about, names="; ".join(without)))
    return tuple(raised)


def _vapour(one: QuantifiedTarget, of: str, mean: Result | None, settings: WorkplaceAirSettings) -> Result:
    target = one.screened.target
    measurand, basis = f"{target.name} in air at rest over {of} at 25 °C", ""
    row = reference("vapour_pressure_25c").by("name").get(target.name)
    inputs = [one.concentration.step] + ([mean.step] if mean is not None else [])
    step = Step("estimate vapour over oil/1", inputs=tuple(inputs), settings={"settings": settings})
    held = one.concentration.amount
    if held is None or row is None or mean is None or mean.amount is None:
        return Result.missing(measurand, PPM, basis, step, "chlorine.no_vapour")
    pressure = measured(float(row["pressure_kpa"]), float(row["u_kpa"]), f"vapour pressure of {target.name}")
    activity = measured(settings.activity, settings.u_activity, "activity in the oil")
    share: Any = held / PER_MILLION
    of_oil: Any = mean.amount * measured(1.0, settings.u_molar_mass, "mean molar mass by number")
    moles = share / target.molar_mass
    fraction = moles / (moles + (1.0 - share) / of_oil)
    vapour: Amount = PER_MILLION * activity * fraction * pressure / STANDARD_KPA
    return Result(measurand, vapour, PPM, basis, step)


def _beside(vapour: Result, lowest: OrientationLimit | None) -> Beside:
    if vapour.value is None or lowest is None:
        return ""
    wide = _COVERAGE * (vapour.u or 0.0)
    if vapour.value - wide > lowest.value:
        return "above"
    return "below" if vapour.value + wide < lowest.value else "not told apart from"
