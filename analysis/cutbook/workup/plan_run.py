"""Plan the fractionation of a product of a run from what its work-up found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cutbook.chlorine.where_simulated import traces_to_follow, where_simulated
from cutbook.fractions.compound_boiling import compound_boiling
from cutbook.fractions.cut_schemes import chosen_schemes, cut_scheme
from cutbook.fractions.density_estimate import assumed_watson_factor
from cutbook.fractions.fuel_properties import measured_density
from cutbook.fractions.pseudo_components import ChargedCompound
from cutbook.fractions.still_plan import PlanSettings, plan_fractionation
from cutbook.model.amount import Amount, measured
from cutbook.model.boiling import BoilingCurve
from cutbook.model.cautions import caution
from cutbook.model.chlorine import ScreenedOil
from cutbook.model.chlorine_ledger import OrganicChlorine
from cutbook.model.cuts import CutScheme
from cutbook.model.entered import Entered
from cutbook.model.errors import InputError, nearest
from cutbook.model.plan import FractionationPlan
from cutbook.model.properties import WatsonFactor
from cutbook.model.units import parse_quantity
from cutbook.workup.findings import Findings, SampleFindings

USUAL_PRODUCT = "oil"
ASSUMED_CHARGE_G = 100.0


@dataclass(frozen=True)
class PlanRequest:
    """What is asked of a plan.

    cuts : to be kept. scheme : whose limits are used, "" for the headline scheme by boiling range.
    product : what is charged, "" for the oil. charge : g, None for all of the product.
    compounds : name, and share of the charge (0–1) or None. settings : see there.
    """

    cuts: tuple[str, ...]
    scheme: str = ""
    product: str = ""
    charge: Entered | None = None
    compounds: tuple[tuple[str, float | None], ...] = ()
    settings: PlanSettings = PlanSettings()


def plan_run(findings: Findings, request: PlanRequest) -> FractionationPlan:
    """A plan for a product of a run.

    Parameters
    ----------
    findings : of the run. request : see there.

    Returns
    -------
    FractionationPlan
        With the chlorine of each cut where the product was screened for it.

    Raises
    ------
    InputError
        When the product has no boiling curve, or a scheme, cut, compound or setting is not known or cannot be.
    """
    sample, curve = _sample(findings, request.product)
    compounds = _compounds(request.compounds)
    charge, assumed = _charge(findings, sample, request.charge)
    screened = _screened(findings, sample.of)
    in_cuts = findings.method.chlorine_in_cuts
    traces = () if screened is None else traces_to_follow(screened[1], screened[0].targets, in_cuts)
    plan = plan_fractionation(
        curve, _density(findings, sample), charge, _scheme(findings, request.scheme), request.cuts, compounds,
        request.settings, sample.of, traces,
    )  # fmt: skip
    if screened is not None and findings.chlorine is not None:
        oil, sums = screened
        ideal = findings.chlorine.cuts(oil)
        beside = () if ideal is None or ideal.scheme != plan.scheme else (ideal,)
        plan = replace(plan, chlorine=(where_simulated(sums, oil.targets, plan, in_cuts), *beside))
    if not assumed:
        return plan
    told = caution("plan.assumed_charge", sample.of, grams=ASSUMED_CHARGE_G)
    return replace(plan, step=replace(plan.step, cautions=(*plan.step.cautions, told)))


def named_compounds(texts: Sequence[str]) -> tuple[tuple[str, float | None], ...]:
    """Compounds as they are typed: "styrene", or "chlorobenzene=0.2 %" with the share of the charge.

    Raises
    ------
    InputError
        When a share is no fraction with its unit, or a name is empty.
    """
    found: list[tuple[str, float | None]] = []
    for text in texts:
        name, sign, share = text.partition("=")
        if not name.strip():
            raise InputError.single(
                "", "compound", f"'{text}'", "a name, or a name with its share: chlorobenzene=0.2 %"
            )
        given = parse_quantity(share, "fraction", "", f"share of {name.strip()}").value if sign else None
        found.append((name.strip(), given))
    return tuple(found)


def _sample(findings: Findings, product: str) -> tuple[SampleFindings, BoilingCurve]:
    with_curve = [(sample, sample.boiling_curve) for sample in findings.samples if sample.boiling_curve is not None]
    known = list(dict.fromkeys(sample.of for sample, _ in with_curve))
    if not known:
        raise InputError.single(
            findings.run.sheet.path, "samples", "no boiling curve", "a sample with a ladder",
            "A plan needs a trace of the product and a ladder run under the same method.",
        )  # fmt: skip
    wanted = product or (USUAL_PRODUCT if USUAL_PRODUCT in known else known[0] if len(known) == 1 else "")
    if wanted not in known:
        near = nearest(wanted, known)
        raise InputError.single(
            findings.run.sheet.path, "product to be distilled", f"'{wanted}'" if wanted else "none named",
            "one with a boiling curve: " + ", ".join(known),
            f"Did you mean '{near}'?" if near else "" if wanted else "Name it with --product.",
        )  # fmt: skip
    return next(pair for pair in with_curve if pair[0].of == wanted)


def _screened(findings: Findings, of: str) -> tuple[ScreenedOil, OrganicChlorine] | None:
    """The first screen of a product with what it adds up to, None where it was not screened."""
    if findings.chlorine is None:
        return None
    oil = next((one for one in findings.chlorine.screened if one.of == of), None)
    return None if oil is None else (oil, findings.chlorine.sums(oil))


def _density(findings: Findings, sample: SampleFindings) -> Amount | WatsonFactor:
    """As for the properties of the sample: measured, or the Watson factor that its feed lets assume."""
    run = findings.run
    density = measured_density(run.product(sample.of), findings.method.properties)
    return assumed_watson_factor(run.feeds, run.sheet) if density is None else density


def _charge(findings: Findings, sample: SampleFindings, given: Entered | None) -> tuple[Amount | float, bool]:
    """What is charged, and whether that was assumed."""
    if given is not None:
        if not 0.0 < given.value <= 1e6:
            raise InputError.single("", "charge", given.text, "more than 0 and at most 1000 kg")
        return measured(given.value, given.u or 0.0, "weighing of the charge"), False
    for product in findings.balance.products:
        if product.fraction == sample.of and product.mass.amount is not None and (product.mass.value or 0.0) > 0.0:
            return product.mass.amount, False
    return ASSUMED_CHARGE_G, True


def _scheme(findings: Findings, name: str) -> CutScheme:
    shown = dict(chosen_schemes(findings.method.cuts).shown)
    if not name:
        return shown["boiling-range"]
    own = [scheme for scheme in shown.values() if scheme.name == name]
    return own[0] if own else cut_scheme(name)


def _compounds(named: Sequence[tuple[str, float | None]]) -> tuple[ChargedCompound, ...]:
    found: dict[str, ChargedCompound] = {}
    for name, share in named:
        boiling = compound_boiling(name)
        if boiling.name in found:
            raise InputError.single("", "compound", f"'{boiling.name}' twice", "each once")
        if share is not None and not 0.0 < share <= 1.0:
            raise InputError.single(
                "", f"compound {boiling.name}", f"{100 * share:g} %", "more than 0 and at most 100 %"
            )
        found[boiling.name] = ChargedCompound(boiling, share)
    whole = sum(one.mass_share or 0.0 for one in found.values())
    if whole > 1.0:
        raise InputError.single("", "compounds", f"{100 * whole:g} % together", "at most 100 % of the charge")
    return tuple(found.values())
