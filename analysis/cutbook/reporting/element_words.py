"""The balance of the elements as tables, for sheet and page."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from cutbook.balance.element_balance import grams_of
from cutbook.model.elements import ELEMENTS, ElementBalance, ImpliedShare, Stream
from cutbook.model.result import Result
from cutbook.workup.findings import ElementFindings

SHOWN_FROM = 0.01
"""Share of the feed from which a product's implied composition is shown; that of a smaller one tells nothing."""


def share_result(stream: Stream, element: str) -> Result | None:
    """The share of an element in a stream in %, None where it is not known."""
    share = stream.elements[element].share
    return None if share is None else Result(f"{element} in {stream.name}", 100 * share, "%", stream.name, stream.step)


def grams_result(stream: Stream, element: str) -> Result | None:
    """The element in a stream in g, None where it is not known."""
    grams = grams_of(stream, element)
    return None if grams is None else Result(f"{element} in {stream.name}", grams, "g", "", stream.step)


def shown_elements(balance: ElementBalance) -> tuple[str, ...]:
    """The elements worth a column: carbon and hydrogen, and others that were fed, found, or may have been."""
    return tuple(
        element
        for element in ELEMENTS
        if element in ("C", "H")
        or balance.lines[element].fed.value != 0
        or (balance.lines[element].found.value or 0) != 0
    )


def shown_implied(balance: ElementBalance) -> Iterator[ImpliedShare]:
    """Implied shares worth a line: of carbon and hydrogen of products of some weight, and what cannot be."""
    feed = sum(stream.mass.value or 0.0 for stream in balance.streams if stream.feed)
    masses = {stream.name: stream.mass.value or 0.0 for stream in balance.streams if not stream.feed}
    for one in balance.implied:
        big = masses.get(one.name, 0.0) >= SHOWN_FROM * feed
        if one.low is not None and big and (one.element in ("C", "H") or one.possible is False):
            yield one


def verdict(one: ImpliedShare) -> str:
    """Whether a stream can hold that, in a word."""
    return {True: "possible", False: "impossible", None: "not tested"}[one.possible]


def elements_section(found: ElementFindings | None, why: Callable[[Result], str]) -> dict[str, Any] | None:
    """What the template of the page needs of the elements, None without any. why : tells why a result is missing."""
    if found is None:
        return None
    balance = found.balance
    columns = shown_elements(balance)
    return {
        "columns": columns,
        "streams": [
            {
                "name": stream.name,
                "feed": stream.feed,
                "mass": stream.mass,
                "cells": [
                    {
                        "grams": grams_result(stream, element),
                        "share": share_result(stream, element),
                        "how": stream.elements[element].how,
                    }
                    for element in columns
                ],
                "how": _sources(stream, columns),
            }
            for stream in balance.streams
        ],
        "lines": [balance.lines[element] for element in columns],
        "open": list(dict.fromkeys(why(balance.lines[e].closure) for e in columns if why(balance.lines[e].closure))),
        "implied": [{"one": one, "verdict": verdict(one)} for one in shown_implied(balance)],
        "scrubber": found.scrubber,
    }


def _sources(stream: Stream, columns: tuple[str, ...]) -> str:
    """How the elements of a stream are known: each way once, with the elements that it tells."""
    by_how: dict[str, list[str]] = {}
    for element in columns:
        by_how.setdefault(stream.elements[element].how, []).append(element)
    if len(by_how) == 1:
        return next(iter(by_how))
    return "; ".join(f"{', '.join(symbols)}: {how}" for how, symbols in by_how.items())
