"""List the streams of a run with the elements that its sheet states for them."""

from __future__ import annotations

from collections.abc import Mapping

from cutbook.model.balance import Balance
from cutbook.model.elements import ELEMENTS, ElementShare, Stream
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Run

KEYS = {"C": "carbon", "H": "hydrogen", "O": "oxygen", "N": "nitrogen", "Cl": "chlorine"}
"""Elements by the keys of the run sheet."""


def streams_of(run: Run, balance: Balance) -> tuple[Stream, ...]:
    """Feeds in the order of the sheet, then products; of an element that nobody entered nothing is known."""
    streams = []
    for feed in run.feeds:
        mass = balance.feed
        if len(run.feeds) > 1:
            place = Source(run.sheet.path, run.sheet.sha256, feed.place)
            step = Step("weigh feed/1", settings={"mass": feed.mass.text}, source=place)
            mass = Result(f"feed {feed.material}", feed.mass.amount(f"weighing of feed {feed.material}"), "g", "", step)
        entered = {key: entry for key in KEYS.values() if (entry := getattr(feed, key, None)) is not None}
        streams.append(Stream(feed.material, True, mass, False, _shares(feed.material, entered), mass.step))
    for one in balance.products:
        product = run.product(one.fraction)
        entered = dict(product.measured) if product is not None else {}
        by_difference = one.how == "by difference"
        shares = _shares(one.fraction, entered)
        streams.append(Stream(one.fraction, False, one.mass, by_difference, shares, one.mass.step))
    return tuple(streams)


def _shares(name: str, entered: Mapping[str, Entered]) -> dict[str, ElementShare]:
    return {
        element: ElementShare(entered[key].amount(f"{key} in {name}"), how="measured")
        if key in entered
        else ElementShare(None, how="not known")
        for element, key in KEYS.items()
        if element in ELEMENTS
    }
