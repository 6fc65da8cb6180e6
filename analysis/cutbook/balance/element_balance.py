"""Balance carbon, hydrogen, oxygen, nitrogen and chlorine over the streams of a run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cutbook.balance.feed_elements import KEYS
from cutbook.balance.lost_moisture import NOT_COLLECTED
from cutbook.model.amount import measured, nominal, standard_uncertainty, total
from cutbook.model.atoms import mass_fractions
from cutbook.model.cautions import Caution, caution
from cutbook.model.elements import ELEMENTS, ElementLine, Stream
from cutbook.model.lineage import Step
from cutbook.model.result import Result

ABOUT = "elements"


@dataclass(frozen=True)
class ElementBalanceSettings:
    """How the balance of an element is judged.

    negligible : share of an element fed up to which the unknown of all streams together counts by the middle of its
        bounds, as a rectangle, instead of leaving the closure open (0.5 %, well below what a mass balance resolves;
        common practice, no source).
    exceeds : % by which more may be found than was fed, beyond twice the uncertainty, before it is told (2 %, common
        practice, no source).
    lost_chlorine : share of the chlorine fed that may be found nowhere before it is told (0.1: what walls, lines and a
        second bottle may hold; common practice, no source).
    off : % by which a closure may be away from 100 %, beyond twice its uncertainty, before it is told (5 %, as for the
        mass balance).
    """

    negligible: float = 0.005
    exceeds: float = 2.0
    lost_chlorine: float = 0.1
    off: float = 5.0


def element_lines(
    streams: Sequence[Stream], settings: ElementBalanceSettings = ElementBalanceSettings()
) -> tuple[ElementLine, ...]:
    """Fed, found and closure of each element.

    Parameters
    ----------
    streams : feeds and products of one run, masses and shares correlated as they were measured.
    settings : see `ElementBalanceSettings`.

    Returns
    -------
    tuple of ElementLine
        One for each of `ELEMENTS`. Found is what is known so far. The closure stays open while a product of weight is
        unknown, while one is by difference (it takes up whatever the others lack) and where none of it was fed.

    Notes
    -----
    First-order propagation with correlations kept (JCGM 100:2008): a mass and an analysis that stand on both sides, or
    in two elements, are one variable.
    """
    vapour = sum(_water_not_collected(streams), start=0.0)
    return tuple(_line(element, streams, vapour, settings) for element in ELEMENTS)


def _water_not_collected(streams: Sequence[Stream]) -> list[float]:
    """g of moisture in each feed, where it was collected in no product; none otherwise."""
    if all(one.feed or one.elements["O"].how != NOT_COLLECTED for one in streams):
        return []
    oxygen = nominal(mass_fractions("H2O")["O"])
    return [nominal(grams) / oxygen for one in streams if one.feed and (grams := grams_of(one, "O")) is not None]


def grams_of(stream: Stream, element: str) -> Any:
    """g of an element in a stream, None where it is not known."""
    mass, share = stream.mass.amount, stream.elements[element].share
    if share is not None and nominal(share) == 0 and standard_uncertainty(share) == 0:
        return 0.0
    return None if mass is None or share is None else mass * share


def _line(element: str, streams: Sequence[Stream], vapour: float, settings: ElementBalanceSettings) -> ElementLine:
    word = KEYS[element]
    feeds = [stream for stream in streams if stream.feed]
    products = [stream for stream in streams if not stream.feed]
    of_feeds = [grams_of(stream, element) for stream in feeds]
    before = Step(f"feed of {word}/1", inputs=tuple(stream.step for stream in feeds))
    if any(one is None for one in of_feeds):
        fed = Result.missing(f"{word} fed", "g", "", before, "elements.feed_unknown")
    else:
        fed = Result(f"{word} fed", total(of_feeds), "g", "", before)
    grams = {stream.name: grams_of(stream, element) for stream in products}
    unknown = [stream for stream in products if grams[stream.name] is None]
    known = total(one for one in grams.values() if one is not None)
    step = Step(f"sum {word}/1", inputs=tuple(stream.step for stream in products))
    if len(unknown) == len(products):
        found = Result.missing(f"{word} found", "g", "", step, "elements.open" if products else "elements.no_product")
    else:
        found = Result(f"{word} found", known, "g", "", step)
    closing, raised, reason = _closing(element, fed, found, unknown, products, vapour, settings)
    at = Step(
        f"close {word}/1", inputs=(before, step), settings={"settings": settings}, cautions=tuple(raised)
    )  # fmt: skip
    if reason or closing is None or fed.amount is None:
        closure = Result.missing(f"closure of {word}", "%", f"{word} fed", at, reason)
    else:
        closure = Result(f"closure of {word}", 100 * closing / fed.amount, "%", f"{word} fed", at)
    return ElementLine(element, fed, found, closure, tuple(stream.name for stream in unknown))


def _closing(
    element: str, fed: Result, found: Result, unknown: Sequence[Stream], products: Sequence[Stream], vapour: float,
    settings: ElementBalanceSettings,
) -> tuple[Any, list[Caution], str]:  # fmt: skip
    """What counts as found for the closure, the cautions, and the reason why there is none."""
    word = KEYS[element]
    known: Any = found.amount if found.amount is not None else 0.0
    raised: list[Caution] = []
    if fed.amount is None:
        return None, raised, "elements.feed_unknown"
    grams = nominal(fed.amount)
    if not products:
        return None, raised, "elements.no_product"
    excess = known - fed.amount
    beyond = nominal(excess) - 2 * standard_uncertainty(excess)
    if beyond > 0 and nominal(excess) > grams * settings.exceeds / 100:
        code = "elements.chlorine_exceeds" if element == "Cl" else "elements.found_exceeds"
        if grams <= 0:
            code = "elements.found_unfed"
        if element != "O":
            raised.append(
                caution(code, ABOUT, element=word, found=_grams(nominal(known)), fed=_grams(grams))
            )  # fmt: skip
    if grams <= 0:
        return None, raised, "elements.none_fed"
    if any(stream.by_difference and holds_some(stream, element) for stream in products):
        return None, raised, "elements.by_difference"
    ranges = [between for stream in unknown if (between := _range(stream, element)) is not None]
    open_g = sum(high - low for low, high in ranges)
    if len(ranges) < len(unknown) or open_g > settings.negligible * grams:
        if all(stream.elements[element].how == NOT_COLLECTED for stream in unknown):
            code = "elements.moisture_not_collected"
            water = f"{vapour:.2g}" if vapour < 10 else f"{vapour:.0f}"
            return None, [*raised, caution(code, ABOUT, grams=water)], code
        names = ", ".join(stream.name for stream in unknown)
        raised.append(caution("elements.open", ABOUT, streams=names))
        return None, raised, "elements.open"
    for stream, (low, high) in zip(unknown, ranges, strict=True):
        tag = f"{word} in {stream.name}"
        known = known + measured((low + high) / 2, (high - low) / 12**0.5, tag, rectangular=True)
    percent = 100 * known / fed.amount
    off = nominal(percent) - 100
    if element == "H" and off < 0:  # what left with the moisture is no fault of the figures
        off = min(0.0, off + 100 * vapour * nominal(mass_fractions("H2O")["H"]) / grams)
    away = abs(off) - 2 * standard_uncertainty(percent)
    told = bool(raised) or element == "O"  # oxygen comes and goes with air and moisture
    if away > 0 and abs(off) > settings.off and not told:
        raised.append(caution("elements.closure_off", ABOUT, element=word, closure=round(nominal(percent), 1)))
    return known, raised, ""


def holds_some(stream: Stream, element: str) -> bool:
    """Whether a stream holds some of an element, or may."""
    share = stream.elements[element].share
    return share is None or nominal(share) > 0


def _range(stream: Stream, element: str) -> tuple[float, float] | None:
    """g of an element that an unknown stream holds at least and at most; None where its mass is not known."""
    mass, share = stream.mass.value, stream.elements[element]
    return None if mass is None else (max(0.0, mass) * share.low, max(0.0, mass) * share.high)


def _grams(value: float) -> str:
    return f"{value:.4g}"
