"""Carry the dependence of headline cuts on their limits from the samples to the whole run."""

from __future__ import annotations

from cutbook.model.cuts import Sensitivity
from cutbook.workup.findings import Findings


def whole_run_sensitivity(findings: Findings) -> dict[tuple[str, str], Sensitivity]:
    """How far each headline cut of the whole run moves under the limits that others use.

    For every variant of the limits, the share in each analysed product times the mass of that product, summed
    and put on the feed as charged. Given only where every product in the cut was tried with the same variants.

    Returns
    -------
    dict
        (scheme, cut) -> `Sensitivity` with value, low, high and variants in % of the feed as charged.
    """
    feed = findings.balance.feed.value
    masses = {p.fraction: p.mass.value for p in findings.balance.products}
    by_product: dict[str, dict[tuple[str, str], Sensitivity]] = {}
    for sample in findings.samples:
        by_product.setdefault(sample.of, {(one.scheme, one.cut): one for one in sample.sensitivity})
    found = {}
    for whole in findings.cuts:
        key = (whole.scheme, whole.cut)
        if not feed or whole.yield_as_charged.value is None or not whole.parts:
            continue
        told = [(masses.get(of), by_product.get(of, {}).get(key)) for of, _ in whole.parts]
        variants: dict[str, float] = {}
        first = told[0][1]
        if first is None or any(mass is None or one is None for mass, one in told):
            continue
        labels = [label for label, _ in first.variants]
        if any([label for label, _ in one.variants] != labels for _, one in told if one is not None):
            continue
        for place, label in enumerate(labels):
            grams = sum((mass or 0.0) * one.variants[place][1] / 100.0 for mass, one in told if one is not None)
            variants[label] = 100.0 * grams / feed
        if variants:
            value = whole.yield_as_charged.value
            low, high = min(value, *variants.values()), max(value, *variants.values())
            found[key] = Sensitivity(whole.scheme, whole.cut, value, low, high, tuple(variants.items()))
    return found
