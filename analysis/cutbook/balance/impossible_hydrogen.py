"""Say that the hydrogen of a run cannot be right, and which two of its streams could put it right most easily."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cutbook.balance.element_balance import grams_of
from cutbook.balance.feed_elements import KEYS
from cutbook.model.amount import nominal, standard_uncertainty
from cutbook.model.cautions import Caution, caution
from cutbook.model.elements import ELEMENTS, ImpliedShare, Stream


@dataclass(frozen=True)
class Correction:
    """What one stream would have to change by so that hydrogen becomes possible.

    name : of the stream. what : "hydrogen" or "mass". share : relative change. deviations : the same in standard
    uncertainties of its own, infinite where it has none.
    """

    name: str
    what: str
    share: float
    deviations: float


def impossible_compositions(
    implied: Sequence[ImpliedShare], streams: Sequence[Stream], gases: Sequence[str]
) -> tuple[Caution, ...]:
    """The dangers of a balance of elements that no streams of this kind could have.

    Parameters
    ----------
    implied : of every product. streams : feeds and products. gases : products that are gas.

    Returns
    -------
    tuple of Caution
        "elements.hydrogen_impossible" once, and "elements.share_impossible" for another element.

    Notes
    -----
    A run is impossible where a gas, or a product of unknown composition, would have to hold what it cannot, or where
    every product would: then what is taken for known contradicts itself. One analysed product that cannot make up for a
    small imbalance is no impossibility, since another one may; nor is what was found of an element that the formula of
    the feed does not hold, which tells nothing of traces. The two streams that are named are those whose hydrogen
    (or, of the product that cannot be, whose mass) needs to change by the fewest of its own standard uncertainties;
    among streams without any, by the smallest share of itself.
    """
    raised = []
    fed = {e for e in ELEMENTS if any(one.feed and nominal(one.elements[e].share or 0.0) > 0 for one in streams)}
    tested = [one for one in implied if one.element == "H" and one.possible is not None]
    wrong = [one for one in tested if not one.possible]
    telling = [one for one in wrong if one.name in gases or one.known is None]
    if not telling and len(wrong) == len(tested):
        telling = wrong
    if telling:
        worst = next((one for one in telling if one.name in gases), telling[0])
        raised.append(_told(worst, corrections(worst, streams)))
    for one in implied:
        # oxygen may have come from air, which nobody fed
        counts = one.element not in ("H", "O") and one.element in fed and (one.name in gases or one.known is None)
        if counts and one.possible is False:
            raised.append(
                caution(
                    "elements.share_impossible", one.name, element=KEYS[one.element], low=_percent(one.low),
                    high=_percent(one.high),
                )
            )  # fmt: skip
    return tuple(raised)


def corrections(wrong: ImpliedShare, streams: Sequence[Stream]) -> tuple[Correction, ...]:
    """How much each stream would have to change, easiest first."""
    own = next(stream for stream in streams if stream.name == wrong.name and not stream.feed)
    mass = own.mass.value or 0.0
    low, high = (math.nan if end is None else end for end in (wrong.low, wrong.high))
    surplus = low > wrong.most
    gap = (low - wrong.most if surplus else wrong.least - high) / 100 * mass
    found = []
    for stream in streams:
        if stream is own:
            if surplus and wrong.most > 0:
                more = gap / (wrong.most / 100)
                found.append(_correction(stream.name, "mass", more, mass, stream.mass.u or 0.0))
            continue
        grams = grams_of(stream, "H")
        if grams is None or nominal(grams) <= 0:
            continue
        name = f"feed {stream.name}" if stream.feed else stream.name
        found.append(_correction(name, "hydrogen", gap, nominal(grams), standard_uncertainty(grams)))
    return tuple(sorted(found, key=lambda one: (one.deviations, one.share, one.name)))


def _correction(name: str, what: str, change: float, amount: float, u: float) -> Correction:
    return Correction(name, what, change / amount if amount > 0 else math.inf, change / u if u > 0 else math.inf)


def _told(worst: ImpliedShare, found: Sequence[Correction]) -> Caution:
    first, second = (_culprit(found[place]) if place < len(found) else "no other stream" for place in (0, 1))
    low, high = _percent(worst.low), _percent(worst.high)
    return caution(
        "elements.hydrogen_impossible", worst.name, low=low, high=high, least=_percent(worst.least),
        most=_percent(worst.most), first=first, second=second,
    )  # fmt: skip


def _culprit(one: Correction) -> str:
    own = f", {one.deviations:.3g} of its standard uncertainties" if math.isfinite(one.deviations) else ""
    return f"{one.name} ({one.what} off by {100 * one.share:.3g} %{own})"


def _percent(value: float | None) -> float:
    return math.nan if value is None else round(value, 1)
