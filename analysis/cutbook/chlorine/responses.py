"""Find what turns the area of each target into a mass fraction: its own standards, an isomer's, or a surrogate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from cutbook.chlorine.injected import (
    MeasuredRun,
    amounts_of,
    dilution,
    same_name,
    standard_in_sample,
    standard_signal,
)
from cutbook.chlorine.standard_limits import StandardLimitSettings
from cutbook.chlorine.surrogate import Surrogate
from cutbook.model.amount import measured, nominal, standard_uncertainty
from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine import Basis, Target
from cutbook.model.errors import InputError
from cutbook.model.lineage import Step
from cutbook.quantitation.calibration import CalibrationLine, CalibrationPoint, CalibrationSettings, calibrate


@dataclass(frozen=True)
class ConcentrationSettings:
    """How areas are turned into concentrations.

    upper : quantile by which the uncertainty of the response raises a limit; 1.645, one-sided 95 %, so that what is
        printed after "<" is exceeded by no more than one in twenty, whatever the response was assumed by.
    u_injection : standard uncertainty of what is injected from run to run, as a share, without an internal standard;
        0.05, by hand or by an autosampler without washing in between (common practice, no source).
    u_isomer : of the response of an isomer with the same spectrum, as a share; 0.15 (common practice, no source).
    of_standards : how limits are read off the standards alone.
    """

    upper: float = 1.645
    u_injection: float = 0.05
    u_isomer: float = 0.15
    of_standards: StandardLimitSettings = field(default=StandardLimitSettings())


@dataclass(frozen=True, eq=False)
class Response:
    """How the area of a target becomes a mass fraction of the oil: by its line (`reference` divides the area, `factor`
    multiplies what is read off), or by a surrogate."""

    basis: Basis
    line: CalibrationLine | None
    reference: Any
    factor: Any
    surrogate: Surrogate | None
    told: str
    step: Step | None


class Responses:
    """The response of each target of a sample.

    Parameters
    ----------
    sample, standards : screened. by_surrogate : for targets without standards, None for none. sheet : name of the run
        sheet, for messages. settings, calibration : see there.

    Raises
    ------
    InputError
        For standards in mg/L of a solvent whose density is not known.
    """

    def __init__(
        self, sample: MeasuredRun, standards: Sequence[MeasuredRun], by_surrogate: Surrogate | None, sheet: str,
        settings: ConcentrationSettings, calibration: CalibrationSettings,
    ) -> None:  # fmt: skip
        self.sample, self.standards, self.surrogate = sample, standards, by_surrogate
        self.settings, self.calibration = settings, calibration
        self.about = sample.entry.of or sample.entry.file
        self.amounts = [amounts_of(run.entry, sample.entry.solvent, sheet) for run in standards]
        self.added = standard_signal(sample)
        self.raised: list[Caution] = []

    def of(self, target: Target) -> tuple[Response | None, list[Caution]]:
        """The response of a target, None without any, and the cautions that arose."""
        self.raised = []
        return self._response(target), self.raised

    def _response(self, target: Target) -> Response | None:
        """By the target's own standards, those of an isomer with its spectrum, or the surrogate."""
        for name, isomer in self.with_standards(target):
            for relative in (True, False):
                if (found := self._by_line(name, relative, isomer)) is not None:
                    return found
        if self.surrogate is not None and target.current_share > 0:
            by = self.surrogate
            return Response("surrogate", None, 1.0, 1.0, by, by.by, by.step)
        return None

    def with_standards(self, target: Target) -> list[tuple[str, bool]]:
        """Names under which standards hold the target, or else an isomer of it."""
        named = dict.fromkeys(name for amounts in self.amounts for name in amounts)
        alike = [
            one
            for one in self.sample.screened
            if one.target.group == target.group and one.target.formula == target.formula  # no homologue
        ]
        own = [(name, False) for name in named if same_name(name, target.name)]
        lent = [
            (name, True) for name in named if target.group and any(same_name(one.target.name, name) for one in alike)
        ]
        return own or lent

    def _by_line(self, name: str, relative: bool, isomer: bool) -> Response | None:
        """The line of a compound through the standards that hold it; None where it cannot be drawn."""
        grams = standard_in_sample(self.sample.entry) if relative else None
        factor: Any = grams if relative else dilution(self.sample.entry)
        if factor is None or (relative and self.added is None):
            return None
        points = [one for place in range(len(self.standards)) if (one := self._point(place, name, relative))]
        if not points:
            return None
        try:
            line = calibrate(name, points, self.calibration, self.about)
        except InputError as refused:
            self.raised.append(
                caution("chlorine.calibration_refused", self.about, name=name, why=refused.faults[0].found)
            )
            return None
        reference: Any = 1.0
        if relative and self.added is not None:
            added = self.added
            reference = measured(added.area, added.u_area, f"peak area of {added.name} in {self.sample.entry.file}")
        else:
            factor = factor * measured(1.0, self.settings.u_injection, "volume injected")
        if isomer:
            factor = factor * measured(1.0, self.settings.u_isomer, f"response by its isomer {name}")
            self.raised.append(caution("chlorine.by_isomer", self.about, name=name))
        basis: Basis = "internal standard" if relative else "external standard"
        held = [run.target(name) for run in self.standards]
        seen = tuple(found.step for found in held if found is not None and found.area is not None)
        step = Step("weigh standards/1", inputs=(line.step, *seen), settings={"name": name})
        return Response(basis, line, reference, factor, None, f"standards of {name}", step)

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
