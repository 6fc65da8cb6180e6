"""Turn the areas of screened targets into concentrations and limits in the oil, by standards or by a surrogate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cutbook.chlorine.injected import (
    MeasuredRun,
    amounts_of,
    dilution,
    same_name,
    standard_in_sample,
    standard_signal,
)
from cutbook.chlorine.surrogate import Surrogate
from cutbook.model.amount import Amount, flat, measured, nominal, standard_uncertainty
from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine import Basis, QuantifiedTarget, ScreenedTarget, Target
from cutbook.model.errors import InputError
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.run import TraceEntry
from cutbook.quantitation.calibration import (
    CalibrationLine,
    CalibrationPoint,
    CalibrationSettings,
    calibrate,
    read_off,
)

UNIT = "mg/kg"
PER_MILLION = 1e6
REAGENT = "chlorine.reagent"
"""Why a compound that somebody added has no concentration in the oil."""
FOUND = ("confirmed", "indicated")
UNSEEN = ("ions recorded", "window recorded")
"""Evidence that a target could not be looked for."""
LINES = CalibrationSettings()
"""How lines are drawn where nobody says."""


@dataclass(frozen=True)
class ConcentrationSettings:
    """How areas are turned into concentrations.

    upper : quantile by which the uncertainty of the response raises a limit; 1.645, one-sided 95 %, so that what is
        printed after "<" is exceeded by no more than one in twenty, whatever the response was assumed by.
    u_injection : standard uncertainty of what is injected from run to run, as a share, without an internal standard;
        0.05, by hand or by an autosampler without washing in between (common practice, no source).
    u_isomer : of the response of an isomer with the same spectrum, as a share; 0.15 (common practice, no source).
    """

    upper: float = 1.645
    u_injection: float = 0.05
    u_isomer: float = 0.15


@dataclass(frozen=True, eq=False)
class _Response:
    """How the area of a target becomes a mass fraction of the oil: by its line (`reference` divides the area, `factor`
    multiplies what is read off), or by a surrogate."""

    basis: Basis
    line: CalibrationLine | None
    reference: Any
    factor: Any
    surrogate: Surrogate | None
    told: str
    step: Step | None


def quantify(
    sample: MeasuredRun,
    standards: Sequence[MeasuredRun] = (),
    by_surrogate: Surrogate | None = None,
    sheet: str = "run.toml",
    settings: ConcentrationSettings = ConcentrationSettings(),
    calibration: CalibrationSettings = LINES,
) -> tuple[QuantifiedTarget, ...]:
    """The concentration or limit of every target in a sample.

    Parameters
    ----------
    sample : screened. standards : screened under the same method, with amounts. by_surrogate : for targets without
        standards, None for none. sheet : name of the run sheet, for messages. settings, calibration : see there.

    Returns
    -------
    tuple of QuantifiedTarget
        In the order of the sample's targets, mg/kg of the product. A compound that was not detected is below its limit;
        what is masked has no concentration, and as its limit the level that would have been seen.

    Raises
    ------
    InputError
        For standards in mg/L of a solvent whose density is not known.

    Notes
    -----
    With an internal standard the ratio of areas is read off against the ratio of amounts; else area against amount.
    A limit is its area over the slope, times 1 + z u: a limit speaks of a peak that is added to what is there, so that
    the intercept is left out. The first basis that there is counts: internal standard, external standard, the same two
    of an isomer with that spectrum, surrogate.
    """
    return tuple(_Maker(sample, standards, by_surrogate, sheet, settings, calibration).all())


def is_reagent(target: Target, entry: TraceEntry) -> bool:
    """Whether a compound was added by somebody: an internal standard or a solvent, by its kind or by the run sheet."""
    added = [entry.solvent, entry.internal_standard.name if entry.internal_standard is not None else ""]
    return target.kind != "product" or any(name and same_name(name, target.name) for name in added)


def not_recorded(screened: ScreenedTarget) -> bool:
    """Whether the run cannot show a target at all: its ions or its window were not recorded."""
    return screened.limit_area is None and any(one.test in UNSEEN for one in screened.evidence)


class _Maker:
    """Works through the targets of one sample."""

    def __init__(
        self, sample: MeasuredRun, standards: Sequence[MeasuredRun], by_surrogate: Surrogate | None, sheet: str,
        settings: ConcentrationSettings, calibration: CalibrationSettings,
    ) -> None:  # fmt: skip
        self.sample, self.standards, self.surrogate = sample, standards, by_surrogate
        self.settings, self.calibration = settings, calibration
        self.of = sample.entry.of or sample.entry.file
        solvent = sample.entry.solvent
        self.amounts = [amounts_of(run.entry, solvent, sheet) for run in standards]
        self.added = standard_signal(sample)
        self.raised: list[Caution] = []

    def all(self) -> list[QuantifiedTarget]:
        return [self._one(screened) for screened in self.sample.screened]

    def _one(self, screened: ScreenedTarget) -> QuantifiedTarget:
        target, self.raised = screened.target, []
        if is_reagent(target, self.sample.entry):
            return self._reagent(screened)
        response = self._response(target)
        share, reason = None, "chlorine.no_response"
        if response is None and self._diluted_unknown(target):
            reason = "chlorine.dilution_unknown"
            self.raised.append(caution("chlorine.dilution_unknown", self.of))
        if screened.verdict in FOUND and screened.area is not None and response is not None:
            share = self._share(screened, response)
        limits = [
            None if area is None or response is None else self._limit(area, target, response)
            for area in (screened.limit_area, screened.quantitation_area)
        ]
        unseen = not_recorded(screened)
        if unseen:
            reason = "chlorine.not_recorded"
        elif screened.verdict == "masked":
            level = "no level that was tried" if limits[0] is None else f"{limits[0]:.2g} {UNIT}"
            self.raised.append(caution("chlorine.masked", self.of, name=target.name, level=level))
        elif screened.verdict == "not detected" and limits[0] is None and screened.limit_area is None:
            reason = "chlorine.no_limit"
            self.raised.append(caution("chlorine.no_limit", self.of, name=target.name))
        if response is None and reason == "chlorine.no_response" and not unseen:
            self.raised.append(caution("chlorine.no_response", self.of, name=target.name))
        basis: Basis = "none" if response is None else response.basis
        inputs = [screened.step]
        if response is not None and response.step is not None:
            inputs.append(response.step)
        told = {"basis": basis, "by": "" if response is None else response.told, "settings": self.settings}
        step = Step("quantify target/1", inputs=tuple(inputs), settings=told, cautions=tuple(self.raised))
        return QuantifiedTarget(screened, self._concentration(screened, share, limits[0], reason, step),
                                self._as_limit(f"detection limit of {target.name}", limits[0], reason, step),
                                self._as_limit(f"quantitation limit of {target.name}", limits[1], reason, step),
                                basis)  # fmt: skip

    def _concentration(
        self, screened: ScreenedTarget, share: Amount | None, limit: float | None, reason: str, step: Step
    ) -> Result:
        name = f"concentration of {screened.target.name}"
        if share is not None and nominal(share) > 0:
            return Result(name, PER_MILLION * share, UNIT, self.of, step)
        if reason == "chlorine.not_recorded":
            return Result.missing(name, UNIT, self.of, step, reason)
        if screened.verdict == "masked":
            return Result.missing(name, UNIT, self.of, step, "chlorine.masked")
        if screened.verdict == "not detected" and limit is not None:
            return Result(name, None, UNIT, self.of, step, "below limit", limit, "chlorine.below_limit")
        if share is not None:
            reason = "chlorine.below_line"
        return Result.missing(name, UNIT, self.of, step, reason)

    def _as_limit(self, name: str, limit: float | None, reason: str, step: Step) -> Result:
        if limit is None:
            why = (
                reason if reason != "chlorine.no_response" or step.settings["basis"] == "none" else "chlorine.no_limit"
            )
            return Result.missing(name, UNIT, self.of, step, why)
        return Result(name, limit, UNIT, self.of, step, has_u=False)

    def _reagent(self, screened: ScreenedTarget) -> QuantifiedTarget:
        """What somebody added: never product, told where a solvent was found that nobody names."""
        target = screened.target
        named = [self.sample.entry.solvent]
        if self.sample.entry.internal_standard is not None:
            named.append(self.sample.entry.internal_standard.name)
        raised: tuple[Caution, ...] = ()
        if screened.verdict in FOUND and not any(name and same_name(name, target.name) for name in named):
            raised = (caution("chlorine.reagent_found", self.of, name=target.name, kind=target.kind),)
        step = Step("leave reagent out/1", inputs=(screened.step,), settings={"kind": target.kind}, cautions=raised)
        names = (f"{what} of {target.name}" for what in ("concentration", "detection limit", "quantitation limit"))
        concentration, detection, quantitation = (
            Result.missing(name, UNIT, self.of, step, REAGENT) for name in names
        )  # fmt: skip
        return QuantifiedTarget(screened, concentration, detection, quantitation, "none")

    def _share(self, screened: ScreenedTarget, response: _Response) -> Amount:
        """Mass fraction of a target that was found."""
        name, file = screened.target.name, self.sample.entry.file
        area = measured(screened.area or 0.0, screened.u_area or 0.0, f"peak area of {name} in {file}")
        if response.surrogate is not None:
            return self._flat(response.surrogate.amount(area / screened.target.current_share, name, True))
        line = response.line
        if line is None:
            raise ValueError("a response needs a line or a surrogate")
        ratio = area / response.reference
        found = read_off(line, nominal(ratio), standard_uncertainty(ratio))
        more = max(0.0, (found.u_response * line.slope) ** 2 - standard_uncertainty(ratio) ** 2)
        ratio = ratio + measured(0.0, math.sqrt(more), f"scatter of the response of {name}")
        amount = (ratio - line.intercept) / line.slope + measured(0.0, found.u_line, f"calibration of {name}")
        if found.amount <= 0:
            self.raised.append(caution("chlorine.below_line", self.of, name=name))
        elif found.reach != "inside":
            code = "chlorine.below_standards" if found.reach == "below" else "chlorine.above_standards"
            edge = line.lowest if found.reach == "below" else line.highest
            level = PER_MILLION * edge * nominal(response.factor)
            told = {"name": name, "level": f"{level:.3g} {UNIT}"}
            self.raised.append(Caution(code, self.of, told))
        return self._flat(amount * response.factor)

    @staticmethod
    def _flat(amount: Amount) -> Amount:
        found: Amount = flat(amount)
        return found

    def _limit(self, area: float, target: Target, response: _Response) -> float:
        """A limit as mg/kg, at the upper end of what the response may be."""
        if response.surrogate is not None:
            share: Any = response.surrogate.amount(area / target.current_share + measured(0, 0, ""), target.name, True)
        else:
            line = response.line
            if line is None:
                raise ValueError("a response needs a line or a surrogate")
            at = line.highest  # where the intercept counts least: of the slope alone
            of_line = read_off(line, line.intercept + line.slope * at).u_line / at
            share = area / response.reference / line.slope * response.factor * measured(1.0, of_line, "slope")
        value = nominal(share)
        return PER_MILLION * (value + self.settings.upper * standard_uncertainty(share))

    def _response(self, target: Target) -> _Response | None:
        """By the target's own standards, those of an isomer with its spectrum, or the surrogate."""
        for name, isomer in self._with_standards(target):
            for relative in (True, False):
                if (found := self._by_line(name, relative, isomer)) is not None:
                    return found
        if self.surrogate is not None and target.current_share > 0:
            by = self.surrogate
            return _Response("surrogate", None, 1.0, 1.0, by, by.by, by.step)
        return None

    def _with_standards(self, target: Target) -> list[tuple[str, bool]]:
        """Names under which standards hold the target, or else an isomer of it."""
        named = dict.fromkeys(name for amounts in self.amounts for name in amounts)
        own = [(name, False) for name in named if same_name(name, target.name)]
        alike = [
            (name, True)
            for name in named
            if target.group
            and any(
                same_name(one.target.name, name) and one.target.group == target.group for one in self.sample.screened
            )
        ]
        return own or alike

    def _by_line(self, name: str, relative: bool, isomer: bool) -> _Response | None:
        """The line of a compound through the standards that hold it; None where it cannot be drawn."""
        grams = standard_in_sample(self.sample.entry) if relative else None
        factor: Any = grams if relative else dilution(self.sample.entry)
        if factor is None or (relative and self.added is None):
            return None
        points = [one for place in range(len(self.standards)) if (one := self._point(place, name, relative))]
        if not points:
            return None
        try:
            line = calibrate(name, points, self.calibration, self.of)
        except InputError as refused:
            self.raised.append(caution("chlorine.calibration_refused", self.of, name=name, why=refused.faults[0].found))
            return None
        reference: Any = 1.0
        if relative and self.added is not None:
            added = self.added
            reference = measured(added.area, added.u_area, f"peak area of {added.name} in {self.sample.entry.file}")
        else:
            factor = factor * measured(1.0, self.settings.u_injection, "volume injected")
        if isomer:
            factor = factor * measured(1.0, self.settings.u_isomer, f"response by its isomer {name}")
            self.raised.append(caution("chlorine.by_isomer", self.of, name=name))
        basis: Basis = "internal standard" if relative else "external standard"
        return _Response(basis, line, reference, factor, None, f"standards of {name}", line.step)

    def _point(self, place: int, name: str, relative: bool) -> CalibrationPoint | None:
        """One standard on the line of a compound, None where it was not seen or brings no internal standard."""
        run, amounts = self.standards[place], self.amounts[place]
        found = run.target(name)
        if name not in amounts or found is None:
            return None
        amount: Any = amounts[name]
        if found.area is None:
            if nominal(amount) > 0:
                self.raised.append(caution("chlorine.standard_not_seen", run.entry.file, name=name))
            return None
        response = found.area
        if relative:
            added, grams = standard_signal(run), standard_in_sample(run.entry)
            if added is None or grams is None or self.added is None or not same_name(added.name, self.added.name):
                return None
            response, amount = response / added.area, amount / grams
        return CalibrationPoint(nominal(amount), response, standard_uncertainty(amount), run.entry.file)

    def _diluted_unknown(self, target: Target) -> bool:
        """Whether standards are at hand and only the dilution of the sample is lacking."""
        return bool(self._with_standards(target)) and dilution(self.sample.entry) is None


def chlorine_share(target: Target) -> Amount:
    """Mass fraction of chlorine in a compound."""
    from cutbook.model.atoms import atomic_mass

    return target.chlorine_atoms * atomic_mass("Cl") / target.molar_mass
