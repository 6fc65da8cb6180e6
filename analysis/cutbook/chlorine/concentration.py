"""Turn the areas of screened targets into concentrations and limits in the oil, by standards or by a surrogate."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from cutbook.chlorine.injected import MeasuredRun, dilution, same_name
from cutbook.chlorine.responses import ConcentrationSettings, Response, Responses
from cutbook.chlorine.standard_limits import standard_limits
from cutbook.chlorine.surrogate import Surrogate
from cutbook.model.amount import Amount, flat, measured, nominal, standard_uncertainty
from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine import Basis, QuantifiedTarget, ScreenedTarget, StandardLimits, Target
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.run import TraceEntry
from cutbook.quantitation.calibration import CalibrationSettings, read_off

UNIT = "mg/kg"
PER_MILLION = 1e6
REAGENT = "chlorine.reagent"
"""Why a compound that somebody added has no concentration in the oil."""
FOUND = ("confirmed", "indicated")
NAMED = 8  # compounds that a caution names
UNSEEN = ("ions recorded", "window recorded")
"""Evidence that a target could not be looked for."""
LINES, AREAS = CalibrationSettings(), ConcentrationSettings()
"""How lines are drawn and areas turned into concentrations where nobody says."""


def quantify(
    sample: MeasuredRun,
    standards: Sequence[MeasuredRun] = (),
    by_surrogate: Surrogate | None = None,
    sheet: str = "run.toml",
    settings: ConcentrationSettings = AREAS,
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
        self.sample, self.settings = sample, settings
        self.responses = Responses(sample, standards, by_surrogate, sheet, settings, calibration)
        self.of = sample.entry.of or sample.entry.file
        self.raised: list[Caution] = []

    def all(self) -> list[QuantifiedTarget]:
        own = [one for one in self.sample.screened if not is_reagent(one.target, self.sample.entry)]
        responses: dict[int, tuple[Response | None, list[Caution]]] = {}
        for screened in own:
            responses[id(screened)] = self.responses.of(screened.target)
        reasons = {id(one): self._reason(one, responses[id(one)][0]) for one in own}
        shared = self._shared(own, reasons)
        found = []
        for screened in self.sample.screened:
            if id(screened) not in responses:
                found.append(self._reagent(screened))
                continue
            response, self.raised = responses[id(screened)]
            if (told := shared.get(reasons[id(screened)])) is not None:
                self.raised.append(told)
            found.append(self._one(screened, response, reasons[id(screened)]))
        return found

    def _reason(self, screened: ScreenedTarget, response: Response | None) -> str:
        """Code of why a target has no concentration or no limit, "" where it has."""
        if not_recorded(screened):
            return "chlorine.not_recorded"
        if response is None:
            unknown = bool(self.responses.with_standards(screened.target)) and dilution(self.sample.entry) is None
            return "chlorine.dilution_unknown" if unknown else "chlorine.no_response"
        if screened.verdict == "masked":
            return "chlorine.masked"
        return "chlorine.no_limit" if screened.verdict == "not detected" and screened.limit_area is None else ""

    def _shared(self, own: Sequence[ScreenedTarget], reasons: Mapping[int, str]) -> dict[str, Caution]:
        """One caution a reason, with the names of all that it concerns."""
        names: dict[str, list[str]] = {}
        for one in own:
            names.setdefault(reasons[id(one)], []).append(one.target.name)
        found = {}
        for code in ("chlorine.masked", "chlorine.no_limit", "chlorine.no_response", "chlorine.not_recorded"):
            if here := names.get(code):
                told = ", ".join(here[:NAMED]) + (" …" if len(here) > NAMED else "")
                found[code] = Caution(code, self.of, {"count": len(here), "names": told})
        if "chlorine.dilution_unknown" in names:
            found["chlorine.dilution_unknown"] = caution("chlorine.dilution_unknown", self.of)
        return found

    def _one(self, screened: ScreenedTarget, response: Response | None, reason: str) -> QuantifiedTarget:
        target = screened.target
        share = None
        if screened.verdict in FOUND and screened.area is not None and response is not None:
            share = self._share(screened, response)
        limits = [
            None if area is None or response is None else self._limit(area, target, response)
            for area in (screened.limit_area, screened.quantitation_area)
        ]
        basis: Basis = "none" if response is None else response.basis
        inputs = [screened.step]
        if response is not None and response.step is not None:
            inputs.append(response.step)
        told = {"basis": basis, "by": "" if response is None else response.told, "settings": self.settings}
        step = Step("quantify target/1", inputs=tuple(inputs), settings=told, cautions=tuple(self.raised))
        return QuantifiedTarget(screened, self._concentration(screened, share, limits[0], reason, step),
                                self._as_limit(f"detection limit of {target.name}", limits[0], reason, step),
                                self._as_limit(f"quantitation limit of {target.name}", limits[1], reason, step),
                                basis, self._of_standards(target, response))  # fmt: skip

    def _of_standards(self, target: Target, response: Response | None) -> StandardLimits | None:
        """What its own standards tell of limits; None where it is read off an isomer's, or off none."""
        line = None if response is None else response.line
        if response is None or line is None or not same_name(line.name, target.name):
            return None
        scale = PER_MILLION * nominal(response.factor)
        return standard_limits(target.name, line, scale, UNIT, self.of, self.settings.of_standards)

    def _concentration(
        self, screened: ScreenedTarget, share: Amount | None, limit: float | None, reason: str, step: Step
    ) -> Result:
        name = f"concentration of {screened.target.name}"
        if share is not None and nominal(share) > 0:
            return Result(name, PER_MILLION * share, UNIT, self.of, step)
        if reason:
            return Result.missing(name, UNIT, self.of, step, reason)
        if share is not None:
            return Result.missing(name, UNIT, self.of, step, "chlorine.below_line")
        if limit is None:
            return Result.missing(name, UNIT, self.of, step, "chlorine.no_limit")
        return Result(name, None, UNIT, self.of, step, "below limit", limit, "chlorine.below_limit")

    def _as_limit(self, name: str, limit: float | None, reason: str, step: Step) -> Result:
        if limit is None:
            return Result.missing(name, UNIT, self.of, step, reason or "chlorine.no_limit")
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

    def _share(self, screened: ScreenedTarget, response: Response) -> Amount:
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

    def _limit(self, area: float, target: Target, response: Response) -> float | None:
        """A limit as mg/kg, at the upper end of what the response may be; None where that is no less than all of it."""
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
        limit = PER_MILLION * (value + self.settings.upper * standard_uncertainty(share))
        return limit if limit < PER_MILLION else None


def chlorine_share(target: Target) -> Amount:
    """Mass fraction of chlorine in a compound."""
    from cutbook.model.atoms import atomic_mass

    return target.chlorine_atoms * atomic_mass("Cl") / target.molar_mass
