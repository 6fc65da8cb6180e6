"""The balance of the elements of a run as plain values for results.json."""

from __future__ import annotations

from typing import Any

from cutbook.model.elements import ElementBalance, ElementLine, ImpliedShare, Stream
from cutbook.model.result import Result
from cutbook.reporting.element_words import share_result
from cutbook.reporting.plain_values import quantity
from cutbook.workup.findings import ElementFindings


def elements_result(found: ElementFindings | None) -> dict[str, Any] | None:
    """The elements as dictionaries and lists of plain values; None where they were not worked up.

    By symbol: what was fed and found in g, the closure in % of what was fed (null while a stream of weight is unknown),
    `open` names the products of which it is not known, `streams` holds the share of each stream as weighed with its
    bounds in %, `implied` what each product would have to hold for the element to close.
    """
    if found is None:
        return None
    return {symbol: _line(line, found.balance) for symbol, line in found.balance.lines.items()}


def _line(line: ElementLine, balance: ElementBalance) -> dict[str, Any]:
    return {
        "fed": quantity(line.fed),
        "found": quantity(line.found),
        "closure": quantity(line.closure),
        "open": list(line.open),
        "streams": [_stream(one, line.element) for one in balance.streams],
        "implied": [_implied(one) for one in balance.implied if one.element == line.element],
    }


def _stream(stream: Stream, element: str) -> dict[str, Any]:
    share = stream.elements[element]
    result: Result | None = share_result(stream, element)
    return {
        "name": stream.name,
        "feed": stream.feed,
        "share": quantity(result),
        "low": 100 * share.low,
        "high": 100 * share.high,
        "how": share.how,
    }


def _implied(one: ImpliedShare) -> dict[str, Any]:
    return {
        "name": one.name,
        "share": quantity(one.share),
        "low": one.low,
        "high": one.high,
        "least": one.least,
        "most": one.most,
        "known": one.known,
        "possible": one.possible,
    }
