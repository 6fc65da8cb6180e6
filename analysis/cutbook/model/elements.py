"""What goes in and comes out of a run, stream by stream, by chemical elements."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cutbook.model.amount import Amount
from cutbook.model.lineage import Step
from cutbook.model.result import Result

ELEMENTS = ("C", "H", "O", "N", "Cl")
"""Elements that are balanced; what else a stream holds (ash, metals, sulfur) is the rest of its mass."""


@dataclass(frozen=True, eq=False)
class ElementShare:
    """How much of one element a stream holds.

    share : mass fraction (0–1) of the stream as weighed; None where nobody knows it. low, high : between which it lies
    for certain, 0 and 1 at the widest. how : how it is known, as printed ("formula of polyethylene", "measured").
    """

    share: Amount | float | None
    low: float = 0.0
    high: float = 1.0
    how: str = ""


@dataclass(frozen=True, eq=False)
class Stream:
    """One stream of a run.

    name : as in the balance; a feed's material, a product's fraction. feed : whether it went in. mass : g, missing
    where it is not known; by difference it is known but carries no information of its own, `by_difference`.
    elements : by symbol, one for each of `ELEMENTS`. own : mass fraction that came from the charge, the rest being air
    and purge gas in a gas that was weighed with them.
    """

    name: str
    feed: bool
    mass: Result
    by_difference: bool
    elements: Mapping[str, ElementShare]
    step: Step
    own: Amount | float = 1.0


@dataclass(frozen=True, eq=False)
class ElementLine:
    """One element of a run.

    fed, found : g; found is the sum of the streams of which it is known, so far. closure : found on fed in %; not
    determined while a stream of weight is unknown. open : products of which the element is not known.
    """

    element: str
    fed: Result
    found: Result
    closure: Result
    open: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class ImpliedShare:
    """What one product would have to hold of an element for it to close.

    share : % by mass of the product, what was fed less what the other products hold; not determined where one of the
    others is unknown. low, high : % between which it lies whatever those hold, twice the uncertainty included; None
    where the feed is not known. least, most : % that such a stream can hold. known : % that it was found to hold, None
    where nobody knows. possible : whether the two ranges meet; None where there is nothing to hold against.
    """

    name: str
    element: str
    share: Result
    low: float | None
    high: float | None
    least: float
    most: float
    known: float | None
    possible: bool | None


@dataclass(frozen=True, eq=False)
class ElementBalance:
    """The elements of a run.

    streams : feeds and products. lines : by symbol, one for each of `ELEMENTS`. implied : of every product.
    """

    streams: tuple[Stream, ...]
    lines: Mapping[str, ElementLine]
    implied: tuple[ImpliedShare, ...]
    step: Step
