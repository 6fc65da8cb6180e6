"""Hold a distillation against the simulated curve of the same oil, and name why they part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import uncertainties

from cutbook.fractions.compared_pair import Pair, density_of
from cutbook.fractions.culprit_patterns import CulpritSettings
from cutbook.fractions.culprits import named, suspects
from cutbook.fractions.curve_in_kind import ConversionSettings, CurveInKind, simulated_of, trace_in_kind
from cutbook.fractions.end_balance import end_balances
from cutbook.fractions.still_circumstances import CircumstanceSettings, circumstances_of
from cutbook.fractions.still_track import StillTrack, TrackSettings, read_at, track_of
from cutbook.identification.numbering import find_by_name
from cutbook.model.agreement import Agreement, OverlayPoint, Suspect, Verdict
from cutbook.model.amount import Amount, nominal, standard_uncertainty
from cutbook.model.boiling import BoilingCurve
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.still import StillCurve
from cutbook.model.trace import Floats

MIDDLE = (20.0, 80.0)
"""Recovered % between which the differences are summed up: the ends are the weak part of either curve."""
LEAST_POINTS = 3
"""Points between them below which nothing is compared: a level, a tilt and a bend take as many."""


@dataclass(frozen=True)
class AgreementSettings:
    """How still and trace are held against each other.

    step : % between the points compared; 5, about as close as a hand-kept log is.
    significance : probability at which an agreeing pair is said to differ without a reason.
    light_at, heavy_at : recovered % of the trace whose temperatures part the light and the heavy end.
    track, conversion, circumstances, culprits : see there.
    """

    step: float = 5.0
    significance: float = 0.01
    light_at: float = 20.0
    heavy_at: float = 80.0
    track: TrackSettings = field(default_factory=TrackSettings)
    conversion: ConversionSettings = field(default_factory=ConversionSettings)
    circumstances: CircumstanceSettings = field(default_factory=CircumstanceSettings)
    culprits: CulpritSettings = field(default_factory=CulpritSettings)


def compare_still_with_trace(
    still: StillCurve,
    curve: BoilingCurve,
    pressure_given: bool = True,
    solvent: str = "",
    density: Amount | float | None = None,
    settings: AgreementSettings = AgreementSettings(),
) -> Agreement:
    """How far a distillation and a trace of the same oil agree, and the likely reason where they do not.

    Parameters
    ----------
    still : the distillation. curve : the boiling curve of a trace of what was charged.
    pressure_given : whether the run sheet or the log holds a measured pressure; without one the still's readings are
        taken as at 101.325 kPa.
    solvent : name or alias, as in `reference/solvents.csv`, of the solvent that the trace was injected in; "" where
        none is declared.
    density : of the oil at 15 °C in g/mL, measured or estimated; None where there is neither.
    settings : see there.

    Returns
    -------
    Agreement
        Differences at every `step` % where both curves reach, still less trace, in the still's own kind; median and
        worst between 20 and 80 %; both ends; the verdict and the reason. "not comparable", with a caution that says
        why, where fewer than `LEAST_POINTS` between 20 and 80 % are left.

    Notes
    -----
    Differences are judged together: chi-square with the covariance of readings, trace and conversion, so that a level
    or a tilt that the conversion may give counts once, not at every point.
    """
    from scipy.special import chdtrc  # loaded only where a comparison is made

    grid = np.arange(settings.step, 100.0, settings.step)
    in_kind = trace_in_kind(curve, still.kind, grid, settings.conversion)
    simulated = simulated_of(curve)
    track = track_of(still, in_kind.axis, simulated, settings.track)
    step = Step("compare still with trace/2", inputs=(still.step, curve.step),
                settings={"settings": settings, "pressure_given": pressure_given, "solvent": solvent,
                          "density": None if density is None else nominal(density)})  # fmt: skip
    both = _where_both_reach(track, in_kind, grid, settings)
    middle = [row for row in both if MIDDLE[0] <= row[0] <= MIDDLE[1]]
    around = circumstances_of(still, pressure_given, settings.circumstances)
    verdict: Verdict = "not comparable"
    suspected: tuple[Suspect, ...] = ()
    chi_square = None
    if len(middle) >= LEAST_POINTS:
        pair = Pair(
            recovered=np.array([at for at, _, _ in both]),
            trace_c=np.array([nominal(trace) for _, _, trace in both]),
            still_c=np.array([nominal(read) for _, read, _ in both]),
            covariance=np.array(uncertainties.covariance_matrix([read - trace for _, read, trace in both])),
            simulated=simulated,
            conversion=in_kind.conversion,
            whole=curve.whole,
            known_solvent=(find_by_name("solvents", solvent) or {}).get("name", ""),
            density=density_of(simulated) if density is None else nominal(density),
            u_density=0.0 if density is None else standard_uncertainty(density),
        )
        chi_square = pair.weighed_squares(pair.still_c - pair.trace_c)
        suspected = named(suspects(pair, around, settings.culprits), settings.culprits)
        unlikely = chdtrc(len(both), chi_square) < settings.significance
        verdict = "differ" if suspected or unlikely else "agree"
    raised = _cautions(still, in_kind, track, verdict, suspected, pressure_given)
    told = Step(step.operation, step.inputs, step.settings, cautions=raised)
    median, worst = _summed_up(middle, told)
    light, heavy = end_balances(still, track, in_kind, around, (settings.light_at, settings.heavy_at), told)
    return Agreement(
        name=still.name,
        of=curve.of,
        kind=still.kind,
        axis=in_kind.axis,
        conversion=in_kind.conversion,
        beyond=in_kind.beyond,
        points=tuple(_overlay(*row, told) for row in both),
        median=median,
        worst=worst,
        light_end=light,
        heavy_end=heavy,
        verdict=verdict,
        culprit=suspected[0].code if len(suspected) == 1 else "",
        suspects=suspected,
        chi_square=chi_square,
        degrees=len(both),
        step=told,
    )


_Row = tuple[float, Amount, Amount]


def _where_both_reach(track: StillTrack, in_kind: CurveInKind, grid: Floats, settings: AgreementSettings) -> list[_Row]:
    """(recovered %, still, trace) where both have a temperature."""
    found = []
    for at, trace in zip(grid, in_kind.temperatures, strict=True):
        read = read_at(track, float(at), settings.track)
        if read is not None and trace is not None:
            found.append((float(at), read, trace))
    return found


def _overlay(at: float, read: Amount, trace: Amount, step: Step) -> OverlayPoint:
    def result(measurand: str, amount: Amount) -> Result:
        return Result(f"{measurand} at {at:g} %", amount, "°C", "", step)

    return OverlayPoint(
        at,
        result("temperature of the still", read),
        result("temperature of the trace", trace),
        result("still less trace", read - trace),
    )


def _summed_up(middle: Sequence[_Row], step: Step) -> tuple[Result, Result]:
    """Median and worst of the differences; each with the doubt of the points that it stands for."""
    low, high = MIDDLE
    names = [f"{what} difference between {low:g} and {high:g} %" for what in ("median", "worst")]
    if not middle:
        missing = [Result.missing(name, "°C", "", step, "agreement.too_short") for name in names]
        return missing[0], missing[1]
    ranked = sorted((read - trace for _, read, trace in middle), key=nominal)
    half = len(ranked) // 2
    median = ranked[half] if len(ranked) % 2 else 0.5 * (ranked[half - 1] + ranked[half])
    worst = max(ranked, key=lambda one: abs(nominal(one)))
    return Result(names[0], median, "°C", "", step), Result(names[1], worst, "°C", "", step)


def _cautions(
    still: StillCurve,
    in_kind: CurveInKind,
    track: StillTrack,
    verdict: Verdict,
    suspected: Sequence[Suspect],
    pressure_given: bool,
) -> tuple[Caution, ...]:
    found = []
    if verdict == "not comparable":
        reached = f"{track.recovered[-1]:.0f}" if len(track.recovered) else "0"
        found.append(
            caution("agreement.too_short", still.name, points=len(track.recovered), reached=reached, least=LEAST_POINTS,
                    low=MIDDLE[0], high=MIDDLE[1])
        )  # fmt: skip
        return tuple(found)
    if in_kind.beyond:
        found.append(caution("agreement.wide_oil", still.name, places=", ".join(in_kind.beyond)))
    if in_kind.conversion == "simulated":
        found.append(caution("agreement.simulated_as_true", still.name))
    if not pressure_given:
        found.append(caution("agreement.no_pressure", still.name))
    if verdict == "differ" and not suspected:
        found.append(caution("agreement.unexplained", still.name))
    if suspected:
        found.append(caution("agreement.reason" if len(suspected) == 1 else "agreement.rivals", still.name))
    if any(one.code == "cracking" for one in suspected):
        found.append(caution("agreement.cracking", still.name))
    return tuple(found)
