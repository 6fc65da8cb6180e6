"""Tell the elements of each feed from its plastic, its moisture and ash, or from what was analysed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cutbook.balance.polymer_elements import PolymerElements, polymer_elements
from cutbook.model.amount import Amount, doubt, nominal, standard_uncertainty, total
from cutbook.model.atoms import mass_fractions
from cutbook.model.cautions import Caution, caution
from cutbook.model.elements import ELEMENTS, ElementShare, Stream
from cutbook.model.lineage import Source, Step
from cutbook.model.polymers import polymer_named
from cutbook.model.result import Result
from cutbook.model.run import Feed

HETERO = ("O", "N", "Cl")
"""Balanced elements that a hydrocarbon does not hold."""
KEYS = {"C": "carbon", "H": "hydrogen", "O": "oxygen", "N": "nitrogen", "Cl": "chlorine"}
"""Elements and the words for them, which are the keys of the run sheet too."""
NONE = ElementShare(0.0, 0.0, 0.0, "none in the feed")


@dataclass(frozen=True)
class FeedElementSettings:
    """How far the formula of a plastic is trusted.

    u_formula : relative standard uncertainty of the share of polymer in a plastic, for stabilisers, pigments and
        comonomers that nobody declared (half a percent, common practice, no source).
    agrees_within : mass fraction by which an analysed element may differ from the formula before the formula is given
        up for the other elements too (0.01, common practice, no source).
    """

    u_formula: float = 0.005
    agrees_within: float = 0.01


@dataclass(frozen=True, eq=False)
class FeedElements:
    """The feeds of a run by elements.

    streams : one for each feed. foreign : of `HETERO`, what the dry feeds hold or may hold; moisture is none of it.
    ash_g : mineral matter of all feeds in g, None where it is not given for all of them.
    least_ratio : atoms of hydrogen an atom of carbon of the poorest plastic that cracks to rings, None without one.
    """

    streams: tuple[Stream, ...]
    foreign: frozenset[str]
    ash_g: Amount | None
    least_ratio: float | None
    step: Step

    def fed(self, element: str) -> Any:
        """g of an element in all feeds; None where it is not known of one of them."""
        parts = [(stream.mass.amount, stream.elements[element].share) for stream in self.streams]
        if any(mass is None or share is None for mass, share in parts):
            return None
        return total(mass * share for mass, share in parts)  # type: ignore[operator]


def feed_elements(
    feeds: Sequence[Feed],
    masses: Sequence[Result],
    sheet: Source,
    settings: FeedElementSettings = FeedElementSettings(),
) -> FeedElements:
    """The elements of each feed.

    Parameters
    ----------
    feeds : of the run sheet. masses : of each in g, as in the balance, so that both stay correlated.
    sheet : the run sheet, as the source of the entries. settings : see `FeedElementSettings`.

    Returns
    -------
    FeedElements
        Shares of the material as charged. Where the run sheet states a share it is taken as it stands, moisture and
        filler included, as an analyser reports the material as received. Else the formula of the plastic makes up what
        moisture and ash leave, and moisture counts as its hydrogen and oxygen; ash is the filler and none of the
        elements. Of an unknown material without analysis nothing is known, which is told.
    """
    streams, raised, foreign = [], [], set()
    ratios = []
    for feed, mass in zip(feeds, masses, strict=True):
        plastic = polymer_elements(feed.material)
        shares, told = _shares(feed, plastic, settings)
        place = Source(sheet.path, sheet.sha256, feed.place)
        stated = {key: entry.text for key in (*KEYS.values(), "moisture", "ash") if (entry := getattr(feed, key))}
        step = Step(
            "elements of feed/1", inputs=(mass.step,), settings={"settings": settings, "stated": stated},
            source=place, cautions=tuple(told),
        )  # fmt: skip
        streams.append(Stream(feed.material, True, mass, False, shares, step))
        raised += told
        foreign |= {element for element in HETERO if _may_hold(feed, plastic, shares, element)}
        if plastic is not None and plastic.aromatic and nominal(plastic.shares["C"]) > 0:
            ratios.append(_atoms_ratio(plastic))
    ash = None
    if all(feed.ash is not None for feed in feeds):
        ash = total(
            mass.amount * feed.ash.amount(f"ash of feed {feed.material}")
            for feed, mass in zip(feeds, masses, strict=True)
            if feed.ash is not None and mass.amount is not None
        )
    return FeedElements(
        tuple(streams), frozenset(foreign), ash, min(ratios, default=None),
        Step("elements of feeds/1", inputs=tuple(stream.step for stream in streams)),
    )  # fmt: skip


def chlorine_at_most(feed: Feed) -> float:
    """Mass fraction of chlorine that a feed is warned of: as given, else of the pure polymer."""
    if feed.chlorine is not None:
        return feed.chlorine.value
    polymer = polymer_named(feed.material)
    return float(polymer["chlorine"]) if polymer is not None else 0.0


def _shares(
    feed: Feed, plastic: PolymerElements | None, settings: FeedElementSettings
) -> tuple[dict[str, ElementShare], list[Caution]]:
    stated = {
        element: entry.amount(f"{key} in feed {feed.material}")
        for element, key in KEYS.items()
        if (entry := getattr(feed, key)) is not None
    }
    shares = {element: ElementShare(amount, how="as stated for the feed") for element, amount in stated.items()}
    moisture: Any = feed.moisture.amount(f"moisture of feed {feed.material}") if feed.moisture is not None else 0.0
    ash: Any = feed.ash.amount(f"ash of feed {feed.material}") if feed.ash is not None else 0.0
    left = max(0.0, 1 - sum(nominal(one) for one in stated.values()) - nominal(ash))
    raised: list[Caution] = []
    missing = [element for element in ELEMENTS if element not in stated]
    if plastic is None:
        if missing:
            names = _listed(missing)
            raised.append(caution("elements.feed_unknown", feed.material, elements=names, keys=_keys(missing)))
        return {**shares, **{element: _open(left) for element in missing}}, raised
    polymer = (1 - moisture - ash) * (1 + settings.u_formula * doubt(f"additives in {feed.material}"))
    by_formula = {element: plastic.shares[element] * polymer for element in ELEMENTS}
    for element, share in mass_fractions("H2O").items():
        by_formula[element] = by_formula[element] + share * moisture
    off = [element for element, amount in stated.items() if _differs(amount, by_formula[element], settings)]
    if off and missing:
        raised.append(
            caution("elements.formula_contradicted", feed.material, elements=_listed(off), name=plastic.name,
                    open=_listed(missing), keys=_keys(missing))
        )  # fmt: skip
        return {**shares, **{element: _open(left) for element in missing}}, raised
    if missing:
        if plastic.typical:
            raised.append(caution("elements.typical_composition", feed.material, name=plastic.name))
        unsaid = [key for key in ("moisture", "ash") if getattr(feed, key) is None]
        if unsaid:
            raised.append(caution("elements.feed_as_pure", feed.material, missing=" and ".join(unsaid)))
    how = f"{'typical composition' if plastic.typical else 'formula'} of {plastic.name}"
    for element in missing:
        none = nominal(by_formula[element]) == 0
        shares[element] = ElementShare(0.0, 0.0, 0.0, how) if none else ElementShare(by_formula[element], how=how)
    return shares, raised


def _open(left: float) -> ElementShare:
    return ElementShare(None, 0.0, left, "not known")


def _differs(stated: Amount, formula: Any, settings: FeedElementSettings) -> bool:
    gap = stated - formula
    return bool(abs(nominal(gap)) > settings.agrees_within + 2 * standard_uncertainty(gap))


def _may_hold(feed: Feed, plastic: PolymerElements | None, shares: Mapping[str, ElementShare], element: str) -> bool:
    """Whether the dry feed holds an element, or nobody can say that it does not."""
    share = shares[element].share
    if share is None:
        return True
    if getattr(feed, KEYS[element]) is not None or plastic is None:
        of_moisture = (
            nominal(mass_fractions("H2O")["O"]) * feed.moisture.value if element == "O" and feed.moisture else 0
        )
        return nominal(share) - of_moisture > 0
    return nominal(plastic.shares[element]) > 0


def _atoms_ratio(plastic: PolymerElements) -> float:
    hydrogen, carbon = (nominal(plastic.shares[element]) for element in ("H", "C"))
    one = mass_fractions("CH")
    return hydrogen / carbon * nominal(one["C"]) / nominal(one["H"])


def _listed(elements: Sequence[str]) -> str:
    return ", ".join(KEYS[element] for element in elements)


def _keys(elements: Sequence[str]) -> str:
    return ", ".join(f'{KEYS[element]} = "… %"' for element in elements)
