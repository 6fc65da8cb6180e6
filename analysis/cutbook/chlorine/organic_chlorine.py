"""Add up the organic chlorine of an oil: what is certain, what is likely, what could be hiding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from cutbook.chlorine.concentration import FOUND, PER_MILLION, REAGENT, UNIT, chlorine_share, not_recorded
from cutbook.chlorine.surrogate import Surrogate
from cutbook.model.amount import measured, nominal, standard_uncertainty, total
from cutbook.model.atoms import atomic_mass
from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine import QuantifiedTarget, UnknownCluster
from cutbook.model.chlorine_ledger import BulkChlorine, BulkVerdict, ChlorineMethod, ChlorinePart, OrganicChlorine
from cutbook.model.entered import Entered
from cutbook.model.lineage import Step
from cutbook.model.result import Result

WASHED = "washed naphtha"
RANK = {"confirmed": 0, "indicated": 1}


@dataclass(frozen=True)
class OrganicChlorineSettings:
    """How compounds are added up.

    same_apex_min : min within which two isomers' signals are one and the same; 0.02, about one scan.
    u_chlorine : standard uncertainty of the mass fraction of chlorine in an unknown compound, as a share, when its
        cluster is taken for the molecule; 0.3, since a fragment has lost up to half of the molecule (common practice,
        no source).
    largest_level : mg/kg of a masked compound above which its level bounds nothing: a sum of such levels would be a
        figure without a meaning; 10,000, since what makes up a hundredth of an oil is one of its tall peaks.
    """

    same_apex_min: float = 0.02
    u_chlorine: float = 0.3
    largest_level: float = 10_000.0


def organic_chlorine(
    of: str,
    targets: Sequence[QuantifiedTarget],
    unknown: Sequence[UnknownCluster] = (),
    by_surrogate: Surrogate | None = None,
    bulk: Entered | None = None,
    method: ChlorineMethod = "",
    settings: OrganicChlorineSettings = OrganicChlorineSettings(),
) -> OrganicChlorine:
    """Organic chlorine of a product with its bounds.

    Parameters
    ----------
    of : the product. targets : every compound looked for. unknown : clusters with chlorine that are no target's.
    by_surrogate : for the clusters; without it they count in no sum, which is told.
    bulk : chlorine of the product by a laboratory, mass fraction. method : of that. settings : see there.

    Returns
    -------
    OrganicChlorine

    Notes
    -----
    lower = Σ c w over confirmed compounds, w the mass fraction of chlorine in each; best adds what was indicated and
    unknown clusters; upper adds the limits of the rest, the levels of what is masked among them. What the run cannot
    show at all, for want of its ions or its time, is in no sum, which is told. Concentrations that share a calibration,
    an internal standard or a surrogate stay correlated. A signal that could as well be an isomer's counts once, by the
    surer verdict, then the larger figure; limits of isomers that share a place count once, by the largest, and not at
    all where one of them was found.
    """
    raised: list[Caution] = [caution("chlorine.sum_is_not_total", of)]
    parts: list[ChlorinePart] = []
    amounts: dict[str, list[Any]] = {"lower": [], "best": [], "upper": []}
    open_limits: list[str] = []
    counted = [one for one in targets if one.screened.target.kind == "product" and not _reagent(one)]
    for one, instead in _each_once(counted, settings.same_apex_min):
        part, amount = _part(one, instead)
        if part.counted == "upper" and (one.detection_limit.value or 0.0) > settings.largest_level:
            part, amount = replace(part, counted="not counted"), None
        parts.append(part)
        if amount is not None and part.counted != "not counted":
            amounts[part.counted].append(amount)
        elif not instead and not not_recorded(one.screened):
            open_limits.append(one.screened.target.name)
    for cluster in unknown:
        if not cluster.chlorine_atoms:
            continue
        part, amount = _unknown_part(cluster, by_surrogate, of, settings)
        parts.append(part)
        if amount is not None:
            amounts["best"].append(amount)
        else:
            open_limits.append(part.name)
    if by_surrogate is None and any(one.chlorine_atoms for one in unknown):
        raised.append(caution("chlorine.unknown_not_counted", of, count=len(unknown)))
    if open_limits:
        raised.append(caution("chlorine.no_upper_bound", of, count=len(open_limits), names=", ".join(open_limits[:6])))
    inputs = [one.concentration.step for one in counted]
    inputs += [one.step for one in unknown]
    inputs += [by_surrogate.step] if by_surrogate is not None and by_surrogate.step is not None else []
    told = {"settings": settings, "counted": {part.name: part.counted for part in parts}}
    step = Step("sum organic chlorine/1", inputs=tuple(inputs), settings=told, cautions=tuple(raised))
    lower = total(amounts["lower"])
    best = total([lower, *amounts["best"]])
    names = ("organic chlorine, lower bound", "organic chlorine", "organic chlorine, upper bound")
    upper = (
        Result.missing(names[2], UNIT, of, step, "chlorine.no_upper_bound")
        if open_limits
        else Result(names[2], total([best, *amounts["upper"]]), UNIT, of, step)
    )
    likely = Result(names[1], best, UNIT, of, step)
    if not amounts["lower"] and not amounts["best"]:  # nothing found is no zero
        likely = (
            Result.missing(names[1], UNIT, of, step, "chlorine.no_upper_bound")
            if not upper.value
            else Result(names[1], None, UNIT, of, step, "below limit", upper.value, "chlorine.none_found")
        )
        raised.append(caution("chlorine.none_found", of))
        step = replace(step, cautions=tuple(raised))
    found = OrganicChlorine(of, Result(names[0], lower, UNIT, of, step), likely, upper, tuple(parts), None, step)
    return found if bulk is None else replace(found, bulk=_compared(found, bulk, method))


def _reagent(one: QuantifiedTarget) -> bool:
    return one.concentration.reason == REAGENT


def _each_once(targets: Sequence[QuantifiedTarget], apart_min: float) -> list[tuple[QuantifiedTarget, str]]:
    """Every target with the name under which it is counted instead, "" where it counts itself."""
    found: list[tuple[QuantifiedTarget, str]] = []
    for one in targets:
        rivals = [other for other in targets if other is not one and _alike(one, other)]
        seen = [other for other in rivals if other.screened.verdict in FOUND]
        if one.screened.verdict in FOUND:
            same = [other for other in seen if _same_signal(one, other, apart_min)]
            first = min([*same, one], key=_order)
        else:
            quiet = [other for other in rivals if other not in seen]
            first = min(seen, key=_order) if seen else min([*quiet, one], key=_order)
        found.append((one, "" if first is one else first.screened.target.name))
    return found


def _alike(one: QuantifiedTarget, other: QuantifiedTarget) -> bool:
    """Whether a signal of one could as well be the other's."""
    first, second = one.screened, other.screened
    return second.target.name in first.apart_from or first.target.name in second.apart_from


def _same_signal(one: QuantifiedTarget, other: QuantifiedTarget, apart_min: float) -> bool:
    first, second = one.screened.time_min, other.screened.time_min
    return first is not None and second is not None and abs(first - second) <= apart_min


def _order(one: QuantifiedTarget) -> tuple[int, float, str]:
    """The surer verdict first, then the larger figure."""
    size = one.concentration.value if one.concentration.value is not None else one.detection_limit.value
    return RANK.get(one.screened.verdict, 2), -(size or 0.0), one.screened.target.name


def _part(one: QuantifiedTarget, instead: str) -> tuple[ChlorinePart, Any]:
    """What a target contributes, and the amount that is added."""
    target, verdict = one.screened.target, one.screened.verdict
    share = chlorine_share(target)
    name = f"chlorine of {target.name}"
    if verdict in FOUND:
        held = one.concentration
        counted: Any = "lower" if verdict == "confirmed" else "best"
    else:
        held, counted = one.detection_limit, "upper"
    if held.amount is None:
        missing = Result.missing(name, UNIT, held.basis, held.step, held.reason)
        return ChlorinePart(target.name, verdict, missing, "not counted", instead), None
    amount = held.amount * (share if held.has_u else nominal(share))
    result = Result(name, amount, UNIT, held.basis, held.step, has_u=held.has_u)
    return ChlorinePart(target.name, verdict, result, "not counted" if instead else counted, instead), amount


def _unknown_part(
    cluster: UnknownCluster, by_surrogate: Surrogate | None, of: str, settings: OrganicChlorineSettings
) -> tuple[ChlorinePart, Any]:
    index = "" if cluster.retention_index is None else f", index {cluster.retention_index:.0f}"
    name = f"unknown, m/z {cluster.mz[0]} at {cluster.time_min:.2f} min{index}"
    if by_surrogate is None or not cluster.current_area > 0:
        missing = Result.missing(f"chlorine of {name}", UNIT, of, cluster.step, "chlorine.unknown_not_counted")
        return ChlorinePart(name, "unknown", missing, "not counted", "", cluster.retention_index), None
    spread = cluster.u_area / cluster.area if cluster.area > 0 else 0.0
    current = measured(cluster.current_area, spread * cluster.current_area, f"ion current of {name}")
    chlorine = min(1.0, cluster.chlorine_atoms * nominal(atomic_mass("Cl")) / cluster.mz[0])
    share = measured(chlorine, settings.u_chlorine * chlorine, f"chlorine in {name}")
    amount = PER_MILLION * by_surrogate.amount(current, name, from_one_ion=False) * share
    step = Step("estimate unknown/1", inputs=(cluster.step, by_surrogate.step), settings={"settings": settings})
    result = Result(f"chlorine of {name}", amount, UNIT, of, step)
    return ChlorinePart(name, "unknown", result, "best", "", cluster.retention_index), amount


def _compared(found: OrganicChlorine, bulk: Entered, method: ChlorineMethod) -> BulkChlorine:
    """The laboratory's figure beside the sums, with what its method does and does not see."""
    of = found.of
    amount = PER_MILLION * bulk.amount(f"chlorine in {of}")
    if method == WASHED:
        verdict: BulkVerdict = "not compared"
        raised = [caution("chlorine.bulk_of_naphtha", of)]
    else:
        verdict, told = bulk_verdict(amount, found.lower, found.upper, of)
        raised = [caution("chlorine.bulk_counts_all", of), *told]
    step = Step("compare bulk chlorine/1", inputs=(found.step,), settings={"bulk": bulk.text, "method": method},
                cautions=tuple(raised))  # fmt: skip
    name = "chlorine by a laboratory less the sum of compounds"
    difference = (
        Result.missing(name, UNIT, of, step, "chlorine.bulk_of_naphtha")
        if method == WASHED or found.best.amount is None
        else Result(name, amount - found.best.amount, UNIT, of, step)
    )
    return BulkChlorine(Result("chlorine by a laboratory", amount, UNIT, of, step), method, difference, verdict)


def bulk_verdict(amount: Any, lower: Result, upper: Result, about: str) -> tuple[BulkVerdict, tuple[Caution, ...]]:
    """How a laboratory's figure lies to two bounds, uncertainties allowed for; all in mg/kg of the same thing."""
    if lower.amount is not None and _below(amount, lower.amount):
        return "below the lower bound", (
            caution("chlorine.bulk_below", about, bulk=_short(amount), sum=_short(lower.amount)),
        )
    if upper.amount is None:
        return "above the lower bound", ()
    if _below(upper.amount, amount):
        return "above the upper bound", (
            caution("chlorine.bulk_above", about, bulk=_short(amount), sum=_short(upper.amount)),
        )
    return "between the bounds", ()


def _below(one: Any, other: Any) -> bool:
    """Whether one amount lies below another beyond twice the uncertainty of their difference."""
    gap = other - one
    return nominal(gap) > 2 * standard_uncertainty(gap)


def _short(amount: Any) -> str:
    return f"{nominal(amount):.3g}"
