"""Leave oxygen open where the moisture of the feed was collected in no product."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from cutbook.balance.feed_elements import FeedElements
from cutbook.model.amount import nominal
from cutbook.model.elements import ElementShare, Stream

NOT_COLLECTED = "moisture of the feed may be in it"
"""How the oxygen of a product is known that may have taken moisture along."""


def leave_moisture_open(
    products: Sequence[Stream], feed: FeedElements, kinds: Mapping[str, str], left: Mapping[str, float]
) -> tuple[Stream, ...]:
    """The products, with the oxygen of those unknown in which the moisture of the feed may have gone unseen.

    Parameters
    ----------
    products : by elements. feed : likewise. kinds : of each product by its name, see `kind_of`.
    left : g of each element that was fed and measured in no product, at most.

    Returns
    -------
    tuple of Stream
        As they were where the dry feed holds oxygen itself, where it is dry, or where a product is water or its oxygen
        or moisture was measured. Else the oxygen of the gases is open, which are analysed dry, or of all products where
        there is no gas; their hydrogen stands, of which moisture brings an eighth of its oxygen.
    """
    fed = feed.fed("O")
    told = any(kinds[one.name] == "water" or one.elements["O"].how in ("measured", "its moisture") for one in products)
    if "O" in feed.foreign or fed is None or nominal(fed) <= 0 or told:
        return tuple(products)
    gases = {one.name for one in products if kinds[one.name] == "gas"}
    found = []
    for one in products:
        own = one.elements["O"]
        may = one.name in gases if gases else kinds[one.name] != "acid"
        if may:
            low = nominal(own.share) if own.share is not None else own.low
            mass = one.mass.value or 0.0
            high = min(1.0, low + left.get("O", 0.0) / mass) if mass > 0 else 1.0
            one = replace(one, elements={**one.elements, "O": ElementShare(None, low, high, NOT_COLLECTED)})
        found.append(one)
    return tuple(found)
