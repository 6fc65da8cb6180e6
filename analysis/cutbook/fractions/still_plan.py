"""Plan the fractionation of a charge: receivers, pressures, cuts, and where named compounds end up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from cutbook.fractions.batch_still import StillSettings
from cutbook.fractions.column_stages import Column
from cutbook.fractions.compound_boiling import compound_boiling
from cutbook.fractions.plan_cautions import plan_cautions
from cutbook.fractions.plan_outcome import Outcome, OutcomeReader, course
from cutbook.fractions.pseudo_components import ChargedCompound, PseudoComponentSettings, pseudo_components
from cutbook.fractions.staged_still import Receiver, StagedSettings, charge_of, distil_in_stages
from cutbook.model.amount import Amount, doubt, measured, nominal
from cutbook.model.boiling import BoilingCurve
from cutbook.model.cuts import CutScheme
from cutbook.model.errors import InputError, nearest
from cutbook.model.lineage import Step
from cutbook.model.plan import FractionationPlan
from cutbook.model.properties import WatsonFactor
from cutbook.model.result import Result
from cutbook.model.units import STANDARD_KPA

ALWAYS_TOLD = ("benzene", "styrene", "chlorobenzene", "naphthalene")
"""Compounds whose way is told whether or not they were asked for: a carcinogen, what polymerises, chlorine, the first
condensed aromatic."""

_TOLERANCE_OF_DOUBTS = 1e-4


@dataclass(frozen=True)
class PlanSettings:
    """How a distillation is run and how the plan is doubted.

    plates : theoretical plates above the pot; 5, a short packed column. reflux : returned over taken off; 3.
    pressure_kpa : at which it begins. drop_kpa : over one plate. hold_up : on all plates, as a share of the charge, by
        moles; 0, what a short column holds is small. staged : see there.
    u_plates : standard uncertainty of the number of plates, as a share; 0.25, packing is seldom known better (common
        practice, no source). u_activity : of the vapour pressure of compounds in the mixture, as a share; 0.2, since
        aromatics in alkanes have activity coefficients of 1.0 to 1.4 (from memory).
    components : see there.
    """

    plates: int = 5
    reflux: float = 3.0
    pressure_kpa: float = STANDARD_KPA
    drop_kpa: float = 0.0
    hold_up: float = 0.0
    staged: StagedSettings = StagedSettings()
    u_plates: float = 0.25
    u_activity: float = 0.2
    components: PseudoComponentSettings = PseudoComponentSettings()

    def __post_init__(self) -> None:
        checks = (
            (0 <= self.plates <= 60, "plates", self.plates, "0 to 60"),
            (0.0 <= self.reflux <= 200.0, "reflux", self.reflux, "0 to 200"),
            (0.1 <= self.pressure_kpa <= 120.0, "pressure", f"{self.pressure_kpa:g} kPa", "0.1 to 120 kPa, absolute"),
            (0.0 <= self.drop_kpa <= 2.0, "pressure drop", f"{self.drop_kpa:g} kPa", "0 to 2 kPa over one plate"),
            (0.0 <= self.hold_up <= 0.3, "hold-up", f"{100 * self.hold_up:g} %", "0 to 30 % of the charge"),
            (
                0.01 <= self.staged.lowest_kpa <= 120.0,
                "lowest pressure",
                f"{self.staged.lowest_kpa:g} kPa",
                "0.01 to 120 kPa, absolute",
            ),
            (60.0 <= self.staged.pot_limit_c <= 400.0, "pot limit", f"{self.staged.pot_limit_c:g} °C", "60 to 400 °C"),
        )
        for sound, what, found, expected in checks:
            if not sound:
                raise InputError.single("", what, f"{found}", expected)


def plan_fractionation(
    curve: BoilingCurve,
    density: Amount | float | WatsonFactor,
    charge_g: Amount | float,
    scheme: CutScheme,
    wanted: Sequence[str],
    compounds: Sequence[ChargedCompound] = (),
    settings: PlanSettings = PlanSettings(),
    product: str = "",
    traces_c: Sequence[float] = (),
) -> FractionationPlan:
    """Simulate a batch distillation and read the plan off it.

    Parameters
    ----------
    curve : boiling curve of the sample.
    density : in g/mL at 15 °C, or the Watson factor assumed where it was not measured.
    charge_g : what is put into the pot. scheme : by boiling range; its limits are read at the head, at 101.325 kPa.
    wanted : names of cuts to be kept; the distillation ends with the heaviest of them.
    compounds : looked for, beside `ALWAYS_TOLD`. settings : see there. product : name of what is distilled.
    traces_c : boiling points in °C of further traces, whose ways are told as `FractionationPlan.ways`.

    Returns
    -------
    FractionationPlan

    Raises
    ------
    InputError
        For a scheme by carbon number, a cut that it does not know, or settings that cannot be.

    Notes
    -----
    Ideal mixtures; see `column_stages` and `distil`. Uncertainties are those of the boiling curve, moved as a whole by
    its own, of the number of plates, and of the activity of the compounds in the mixture.
    """
    if scheme.kind != "boiling range":
        raise InputError.single("", "cut scheme", f"'{scheme.name}', by {scheme.kind}", "one by boiling range")
    receivers = _receivers(scheme, wanted)
    asked = {one.boiling.name for one in compounds}
    traces = [ChargedCompound(compound_boiling(name)) for name in ALWAYS_TOLD if name not in asked]
    looked_for = (*compounds, *traces)
    density_value = density if isinstance(density, WatsonFactor) else nominal(density)
    base = _distilled(curve, density_value, receivers, looked_for, settings, None, traces_c)
    # the same programme of pressures, were the charge or the column otherwise
    pressures = list(dict.fromkeys(piece.column.pressure_kpa for piece in base.pieces))[1:]
    doubts: list[tuple[Amount, float, Outcome]] = []
    tag = doubt("boiling curve")
    for moved in (1.0, -1.0):
        other = _distilled(curve, density_value, receivers, looked_for, settings, pressures, traces_c, moved)
        doubts.append((tag, 0.5 * moved, other))
    if settings.plates and settings.reflux:
        fewer = settings.plates - max(1, round(settings.u_plates * settings.plates))
        other = _distilled(
            curve, density_value, receivers, looked_for, replace(settings, plates=fewer), pressures, traces_c
        )
        doubts.append((doubt("number of plates"), 1.0, other))
    active = 1.0 + settings.u_activity
    other = _distilled(curve, density_value, receivers, looked_for, settings, pressures, traces_c, activity=active)
    doubts.append((doubt("activity of compounds in the mixture"), 1.0, other))

    charge = charge_g if not isinstance(charge_g, (int, float)) else measured(float(charge_g), 0.0, "charge")
    inputs = (base.composition.step,)
    step = Step(
        "plan fractionation/1", inputs,
        {
            "scheme": scheme.name, "cuts": list(wanted), "settings": settings, "charge": nominal(charge),
            "compounds": [[one.boiling.name, one.mass_share] for one in looked_for],
        },
    )  # fmt: skip
    reader = OutcomeReader(base, doubts, receivers, charge, step, scheme, tuple(wanted))
    points, stages = course(base)
    cuts, fates = reader.cuts(points), reader.fates(looked_for)
    told = replace(step, cautions=plan_cautions(product or curve.of, base.composition, settings.hold_up,
                                                settings.staged, stages, cuts, fates))  # fmt: skip
    ways = reader.ways(traces_c)
    return FractionationPlan(
        product or curve.of, scheme.name, Result("charge", charge, "g", "", step), base.composition, settings.plates,
        settings.reflux, settings.staged.pot_limit_c, settings.hold_up, stages, points, cuts, fates, told, ways,
    )  # fmt: skip


def _receivers(scheme: CutScheme, wanted: Sequence[str]) -> tuple[Receiver, ...]:
    known = [cut.cut for cut in scheme.cuts]
    for name in wanted:
        if name not in known:
            near = nearest(name, known)
            raise InputError.single(
                "", f"cuts of '{scheme.name}'", f"'{name}'", "one of " + ", ".join(known),
                f"Did you mean '{near}'?" if near else "",
            )  # fmt: skip
    if not wanted:
        raise InputError.single("", f"cuts of '{scheme.name}'", "none", "one at least of " + ", ".join(known))
    last = max(known.index(name) for name in wanted)
    return tuple(Receiver(cut.cut, cut.lower, cut.upper) for cut in scheme.cuts[: last + 1])


def _distilled(
    curve: BoilingCurve,
    density: float | WatsonFactor,
    receivers: Sequence[Receiver],
    compounds: Sequence[ChargedCompound],
    settings: PlanSettings,
    programme: Sequence[float] | None,
    traces_c: Sequence[float],
    moved: float = 0.0,
    activity: float = 1.0,
) -> Outcome:
    limits = sorted({edge for one in receivers for edge in (one.lower_c, one.upper_c) if math.isfinite(edge)})
    composition = pseudo_components(curve, density, limits, compounds, settings.components, moved)
    charge = charge_of(composition, [one.boiling for one in compounds], activity, traces_c)
    held = settings.hold_up * float(np.exp(charge.log_moles).sum())
    column = Column(settings.plates, settings.reflux, settings.pressure_kpa, settings.drop_kpa, held)
    pieces = distil_in_stages(
        charge, column, receivers, composition.watson_k, settings.staged,
        StillSettings() if programme is None else StillSettings(tolerance=_TOLERANCE_OF_DOUBTS), programme,
    )  # fmt: skip
    at = [charge.log_moles]
    for receiver in receivers:
        of = [piece for piece in pieces if piece.receiver is receiver]
        at.append(of[-1].states[-1].log_left if of else at[-1])
    share_left = np.exp(np.array(at) - charge.log_moles)
    masses = np.array([part.mass_share for part in composition.components])
    return Outcome(composition, pieces, share_left[:, : masses.size] * masses, share_left)
