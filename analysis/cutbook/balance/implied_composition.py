"""Tell what each product would have to hold for the elements to close, and whether any such stream can."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cutbook.balance.element_balance import grams_of
from cutbook.balance.feed_elements import KEYS
from cutbook.model.amount import nominal, standard_uncertainty, total
from cutbook.model.atoms import mass_fractions
from cutbook.model.elements import ELEMENTS, ElementLine, ImpliedShare, Stream
from cutbook.model.lineage import Step
from cutbook.model.result import Result


@dataclass(frozen=True)
class ImpliedSettings:
    """How an implied composition is judged.

    coverage : standard uncertainties beyond which a share is outside its range (2, about 95 %).
    least_mass : share of the feed below which a product is too small to be told by what the others leave (0.01;
        a hundredth part carries the errors of all others a hundredfold).
    """

    coverage: float = 2.0
    least_mass: float = 0.01


def implied_shares(
    streams: Sequence[Stream],
    lines: Sequence[ElementLine],
    hydrogen: Mapping[str, tuple[float, float]],
    settings: ImpliedSettings = ImpliedSettings(),
) -> tuple[ImpliedShare, ...]:
    """The composition of each product as what the feed and all other products leave for it.

    Parameters
    ----------
    streams : feeds and products. lines : of the balance of elements.
    hydrogen : mass fractions between which the hydrogen of each product can lie, by its name; a product that is not in
        it (water, hydrogen chloride) is what its formula says and has none.
    settings : see `ImpliedSettings`.

    Returns
    -------
    tuple of ImpliedShare
        Of every product in `hydrogen` with a mass and every element of which the feed is known. Where another product
        is unknown, a range: it holds anything between its bounds. Mass that was lost on the way counts as such a stream
        too, of anything from nothing to methane in hydrogen, and of anything at all in another element.

    Notes
    -----
    share = (fed - Σ others)/mass; it is possible where [low - 2u, high + 2u] meets what the stream can hold: hydrogen
    as given, every other element 0 to 100 %.
    """
    feed_mass = total(s.mass.amount for s in streams if s.feed and s.mass.amount is not None)
    products = [stream for stream in streams if not stream.feed]
    grams = {(one.name, element): grams_of(one, element) for one in products for element in ELEMENTS}
    found = []
    for stream in products:
        if stream.name not in hydrogen or stream.mass.amount is None or nominal(stream.mass.amount) <= 0:
            continue
        for element in ELEMENTS:
            line = next(one for one in lines if one.element == element)
            found.append(_implied(stream, element, line, products, grams, feed_mass, hydrogen, settings))
    return tuple(found)


def _implied(
    stream: Stream, element: str, line: ElementLine, products: Sequence[Stream], held: Mapping[tuple[str, str], Any],
    feed_mass: Any, hydrogen: Mapping[str, tuple[float, float]], settings: ImpliedSettings,
) -> ImpliedShare:  # fmt: skip
    mass: Any = stream.mass.amount
    name = f"{KEYS[element]} of {stream.name} by difference"
    others = [one for one in products if one is not stream]
    step = Step("implied composition/1", inputs=(line.fed.step, stream.mass.step, *(one.step for one in others)))
    least, most = hydrogen[stream.name] if element == "H" else (0.0, 1.0)
    own = stream.elements[element].share
    known = None if own is None else 100 * nominal(own)
    if line.fed.amount is None:
        lost = Result.missing(name, "%", stream.name, step, "elements.feed_unknown")
        return ImpliedShare(stream.name, element, lost, None, None, 100 * least, 100 * most, known, None)
    grams = [held[one.name, element] for one in others]
    rest = (line.fed.amount - total(one for one in grams if one is not None)) / mass
    unknown = [one for one, of_it in zip(others, grams, strict=True) if of_it is None]
    low, high = nominal(rest), nominal(rest)
    bounded = True
    for one in unknown:
        if one.mass.value is None:
            bounded = False
            continue
        ends = one.elements[element]
        low -= max(0.0, one.mass.value) * ends.high / nominal(mass)
        high -= max(0.0, one.mass.value) * ends.low / nominal(mass)
    if unknown:
        share = Result.missing(name, "%", stream.name, step, "elements.open")
    else:
        share = Result(name, 100 * rest, "%", stream.name, step)
    lost_mass = feed_mass - total(one.own * one.mass.amount for one in products if one.mass.amount is not None)
    if bounded:
        # what left as nobody knows what took hydrogen along up to that of methane; what came in as mass, likewise
        reach = nominal(mass_fractions("CH4")["H"]) if element == "H" else 1.0
        wide = settings.coverage * standard_uncertainty(lost_mass)
        scale = reach / nominal(mass)
        low -= max(0.0, nominal(lost_mass) + wide) * scale
        high -= min(0.0, nominal(lost_mass) - wide) * scale
    around = settings.coverage * standard_uncertainty(rest)
    low, high = low - around, high + around
    big = nominal(mass) >= settings.least_mass * nominal(feed_mass)
    possible = (low <= most and high >= least) if bounded and big else None
    if not bounded:
        low = -math.inf
    return ImpliedShare(
        stream.name, element, share, 100 * low if math.isfinite(low) else None, 100 * high,
        100 * least, 100 * most, known, possible,
    )  # fmt: skip
