"""Sum a carbon-number distribution into cuts."""

from __future__ import annotations

import math

from cutbook.fractions.cut_schemes import RESIDUE
from cutbook.model.amount import Amount, measured, nominal, standard_uncertainty, total
from cutbook.model.carbon import CarbonDistribution, CarbonShare
from cutbook.model.cautions import Caution, caution
from cutbook.model.cuts import Cut, CutLimits, CutScheme
from cutbook.model.lineage import Step
from cutbook.model.result import Result

NEGLIGIBLE = 0.5
"""% of a sample, two standard uncertainties included, up to which what eluted beyond the ladder is next to nothing."""
NOTHING = measured(0.0, 0.0, "nothing")


def negligible(amount: Amount | float | None) -> bool:
    """Whether a share in % is next to nothing, its uncertainty considered."""
    return amount is not None and abs(nominal(amount)) + 2.0 * standard_uncertainty(amount) <= NEGLIGIBLE


def carbon_cuts(carbons: CarbonDistribution, scheme: CutScheme, shown_as: str) -> tuple[Cut, ...]:
    """The share of each cut of a carbon-number scheme in one sample.

    Parameters
    ----------
    carbons : the distribution; every share that has a mass is counted in exactly one cut.
    scheme : of kind "carbon number".
    shown_as : name in the results ("carbon-number" for the headline scheme).

    Returns
    -------
    tuple of Cut
        The cuts of the scheme, then "residue" when it is known how much did not elute. A cut that lies wholly
        before the first rung of the ladder cannot be told apart from the first bin: it is not determined,
        and what there is of it is counted in the cut of the first bin. What eluted beyond the ladder belongs
        to an open last cut that the ladder reaches; another cut that reaches beyond the ladder is determined only
        when next to nothing eluted there (`negligible`).

    Raises
    ------
    ValueError
        For a scheme by boiling range.
    """
    if scheme.kind != "carbon number":
        raise ValueError(f"{scheme.name} is no carbon-number scheme")
    numbered = carbons.numbered()
    first, last = _number(numbered[0]), _number(numbered[-1])
    beyond = [share for share in carbons.shares if share.part == "beyond the ladder"]
    basis = carbons.of if carbons.residue_known else f"eluted part of {carbons.of}"
    nothing_beyond = all(negligible(share.mass.amount) for share in beyond)
    cuts = []
    for limits in scheme.cuts:
        shares = [share for share in numbered if limits.lower <= _number(share) <= limits.upper]
        raised: list[Caution] = []
        reason = ""
        if limits.upper < first:
            reason = "cuts.before_ladder"
            raised.append(caution(reason, carbons.of, cut=limits.cut, first=first))
        elif math.isinf(limits.upper) and limits.lower <= last + 1:
            shares += beyond
        elif limits.upper > last and nothing_beyond:
            shares += beyond if limits.lower <= last + 1 else []
        elif limits.upper > last:
            reason = "cuts.beyond_ladder"
            raised.append(caution(reason, carbons.of, cut=limits.cut, last=last))
        cuts.append(_cut(limits, scheme, shown_as, shares, basis, carbons.step, reason, tuple(raised)))
    for share in carbons.shares:
        if share.part == "did not elute":
            cuts.append(Cut(shown_as, scheme.name, RESIDUE, "did not elute", share.mass))
    return tuple(cuts)


def _number(share: CarbonShare) -> int:
    if share.n is None:
        raise ValueError("a share without a carbon number")
    return share.n


def _cut(
    limits: CutLimits,
    scheme: CutScheme,
    shown_as: str,
    shares: list[CarbonShare],
    basis: str,
    before: Step,
    reason: str,
    raised: tuple[Caution, ...],
) -> Cut:
    step = Step(
        "sum carbon numbers/1",
        inputs=(before, *(share.mass.step for share in shares)),
        settings={"scheme": scheme.name, "cut": limits.cut, "lower": limits.lower, "upper": limits.upper},
        cautions=raised,
    )
    measurand, text = f"share of {limits.cut}", limits.text(scheme.kind)
    reason = reason or next((share.mass.reason for share in shares if share.mass.amount is None), "")
    if not reason:
        # an amount also where a cut holds no share at all
        mass = Result(measurand, total(share.mass.amount for share in shares) + NOTHING, "%", basis, step)
    else:
        mass = Result.missing(measurand, "%", basis, step, reason)
    return Cut(shown_as, scheme.name, limits.cut, text, mass)
