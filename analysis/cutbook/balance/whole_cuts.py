"""Put the cuts of all analysed products together, on the feed of the run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cutbook.balance.mass_balance import HYDROGEN_CHLORIDE
from cutbook.model.amount import Amount, measured, nominal, standard_uncertainty, total
from cutbook.model.balance import Balance, ProductYield
from cutbook.model.cautions import Caution, caution
from cutbook.model.cuts import Cut, WholeCut
from cutbook.model.lineage import Step
from cutbook.model.result import Result

NO_CHROMATOGRAM = ("char", "water", HYDROGEN_CHLORIDE)
"""Products that no chromatogram speaks about; they stand under their own name."""


def whole_cuts(balance: Balance, analysed: Mapping[str, Sequence[tuple[Cut, ...]]]) -> tuple[WholeCut, ...]:
    """Cuts of the whole run on feed.

    Parameters
    ----------
    balance : of the run.
    analysed : product -> the cuts of each of its traces, all under the same schemes.

    Returns
    -------
    tuple of WholeCut
        For each scheme: its cuts and "residue" over all analysed products, then one line for each product without
        an analysis. Replicate traces of a product are averaged; the uncertainty of the mean is the propagated one
        or the scatter of the replicates, whichever is larger.

    Notes
    -----
    A cut that lies before the ladder of one product adds nothing for that product (it is counted in the next cut
    there); a cut that reaches beyond a ladder leaves the cut of the whole run undetermined.
    """
    shares = {of: _averaged(of, traces) for of, traces in analysed.items() if traces}
    products = {entry.fraction: entry for entry in balance.products}
    here = {of: cuts for of, cuts in shares.items() if of in products}
    schemes = dict.fromkeys((cut.scheme, cut.definition) for cuts in here.values() for cut in cuts)
    found = []
    for scheme, definition in schemes:
        rows = dict.fromkeys((cut.cut, cut.limits) for cuts in here.values() for cut in cuts if cut.scheme == scheme)
        for name, limits in rows:
            parts = []
            for of, cuts in here.items():
                share = next((c.mass for c in cuts if c.scheme == scheme and c.cut == name), None)
                if share is not None:
                    parts.append((products[of], share))
            found.append(_whole(scheme, definition, name, limits, parts, balance))
        for product in balance.products:
            if product.fraction not in here:
                found.append(_unanalysed(scheme, definition, product, balance))
    return tuple(found)


def _averaged(of: str, traces: Sequence[tuple[Cut, ...]]) -> tuple[Cut, ...]:
    """The mean of replicate traces, cut by cut."""
    if len(traces) == 1:
        return traces[0]
    found = []
    for places in zip(*traces, strict=True):
        first = places[0]
        amounts = [cut.mass.amount for cut in places]
        if any(amount is None for amount in amounts):
            found.append(next(cut for cut in places if cut.mass.amount is None))
            continue
        mean = total(amounts) / len(amounts)
        values = [nominal(amount) for amount in amounts if amount is not None]
        centre = sum(values) / len(values)
        scatter = (sum((v - centre) ** 2 for v in values) / (len(values) - 1) / len(values)) ** 0.5
        extra = scatter**2 - standard_uncertainty(mean) ** 2
        if extra > 0:
            mean = mean + measured(0.0, extra**0.5, f"scatter of {len(values)} traces of {of}")
        step = Step("average replicates/1", inputs=tuple(cut.mass.step for cut in places))
        mass = Result(first.mass.measurand, mean, "%", first.mass.basis, step)
        found.append(Cut(first.scheme, first.definition, first.cut, first.limits, mass))
    return tuple(found)


def _whole(
    scheme: str,
    definition: str,
    name: str,
    limits: str,
    parts: list[tuple[ProductYield, Result]],
    balance: Balance,
) -> WholeCut:
    grams: list[tuple[str, Amount]] = []
    raised: list[Caution] = []
    reason = ""
    left_out = []
    for product, share in parts:
        if product.mass.amount is None:
            reason = reason or product.mass.reason
        elif share.amount is not None:
            grams.append((product.fraction, product.mass.amount * share.amount / 100))
        elif share.reason == "cuts.beyond_ladder":
            reason = share.reason
        else:
            left_out.append((product.fraction, share.reason))
    if not grams and left_out:
        reason = reason or left_out[0][1]
    elif left_out and left_out[0][1] != "cuts.before_ladder":
        raised.append(caution("cuts.partial", name, products=", ".join(of for of, _ in left_out)))
    step = Step(
        "cut on feed/1",
        inputs=(balance.feed.step, *(s for product, share in parts for s in (product.mass.step, share.step))),
        settings={"scheme": definition, "cut": name},
        cautions=tuple(raised),
    )
    return _on_feed(scheme, definition, name, limits, grams, balance, step, reason)


def _unanalysed(scheme: str, definition: str, product: ProductYield, balance: Balance) -> WholeCut:
    name = product.fraction if product.fraction in NO_CHROMATOGRAM else f"{product.fraction}, not analysed"
    raised = () if name == product.fraction else (caution("cuts.not_analysed", product.fraction),)
    step = Step(
        "product on feed/1",
        inputs=(balance.feed.step, product.mass.step),
        settings={"scheme": definition},
        cautions=raised,
    )
    grams = [] if product.mass.amount is None else [(product.fraction, product.mass.amount)]
    return _on_feed(scheme, definition, name, "", grams, balance, step, product.mass.reason)


def _on_feed(
    scheme: str,
    definition: str,
    name: str,
    limits: str,
    grams: Sequence[tuple[str, Any]],
    balance: Balance,
    step: Step,
    reason: str,
) -> WholeCut:
    def on(basis: Result | None, words: str) -> Result | None:
        if basis is None or basis.amount is None:
            return None
        if reason or not grams:
            return Result.missing(f"yield of {name}", "%", words, step, reason or "balance.not_measured")
        return Result(f"yield of {name}", 100 * total(mass for _, mass in grams) / basis.amount, "%", words, step)

    as_charged = on(balance.feed, "feed as charged")
    if as_charged is None:
        raise ValueError("a run has a feed")
    return WholeCut(
        scheme,
        definition,
        name,
        limits,
        as_charged,
        on(balance.feed_dry, "dry feed"),
        on(balance.feed_dry_ash_free, "dry ash-free feed"),
        tuple((of, nominal(mass)) for of, mass in grams) if not reason else (),
        step,
    )
