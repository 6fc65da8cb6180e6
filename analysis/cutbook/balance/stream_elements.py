"""Tell the elements of each product from what was measured on it, its gas analysis, or the kind of stream it is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from cutbook.balance.feed_elements import HETERO, KEYS, NONE, FeedElements
from cutbook.balance.gas_elements import GasEvidence, gas_shares
from cutbook.balance.hydrocarbon_bounds import HydrocarbonSettings, hydrogen_between
from cutbook.balance.mass_balance import HYDROGEN_CHLORIDE
from cutbook.model.amount import Amount, measured, nominal, standard_uncertainty, total
from cutbook.model.atoms import mass_fractions
from cutbook.model.balance import ProductYield
from cutbook.model.carbon import CarbonDistribution
from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine_ledger import OrganicChlorine
from cutbook.model.elements import ELEMENTS, ElementShare, Stream
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Product
from cutbook.model.tables import reference

Kind = Literal["gas", "liquid", "solid", "water", "acid", "other"]
_WORDS: tuple[tuple[Kind, tuple[str, ...]], ...] = (
    ("solid", ("char", "coke", "residue", "ash", "soot")),
    ("gas", ("gas", "gases", "offgas")),
    ("liquid", ("oil", "oils", "wax", "waxes", "liquid", "liquids", "distillate", "condensate", "naphtha", "gasoline",
                "petrol", "kerosene", "diesel", "tar", "trap")),
)  # fmt: skip
_WATERY = ("water", "aqueous")
ACID_NAMES = (HYDROGEN_CHLORIDE, "hcl")
COMPOUNDS = "chlorinated compounds found"
"""How the chlorine of an oil is known whose compounds were added up."""


@dataclass(frozen=True)
class StreamElementSettings(HydrocarbonSettings):
    """How streams are told by elements that nobody analysed; see `HydrocarbonSettings` too.

    most_foreign : mass fraction of oxygen, nitrogen and chlorine together up to which a liquid still counts as a
        hydrocarbon (0.05, common practice, no source); beyond, its hydrogen cannot be estimated.
    least_sum : mass fraction that carbon, hydrogen and all else of a liquid that were measured must reach together
        (0.97, common practice, no source); below, something is missing or wrong, which is told.
    """

    most_foreign: float = 0.05
    least_sum: float = 0.97


@dataclass(frozen=True, eq=False)
class Evidence:
    """What else is known of a product.

    gas : of the product that a gas analysis is of. hydrogen : in % by mass, from boiling curve and density of its
    sample. carbons : of its sample. scrubbed : whether its hydrogen chloride was caught before it was measured.
    caught : chlorine in g by titration of a scrubber that is this product. compounds : its organic chlorine by mass
    spectra.
    """

    gas: GasEvidence | None = None
    hydrogen: Result | None = None
    carbons: CarbonDistribution | None = None
    scrubbed: bool = False
    caught: Result | None = None
    compounds: OrganicChlorine | None = None


def kind_of(fraction: str, evidence: Evidence = Evidence()) -> Kind:
    """What kind of stream a product is, by what was analysed on it, else by its name.

    Notes
    -----
    The last word that is known tells: gas oil is an oil, oil residue a solid.

    Examples
    --------
    >>> kind_of("wax"), kind_of("aqueous layer"), kind_of("char"), kind_of("second jar")
    ('liquid', 'water', 'solid', 'other')
    >>> kind_of("gas oil"), kind_of("oil residue"), kind_of("wash bottle")
    ('liquid', 'solid', 'other')
    """
    name = fraction.casefold()
    if name in ACID_NAMES:
        return "acid"
    if evidence.gas is not None:
        return "gas"
    if evidence.hydrogen is not None or evidence.carbons is not None:
        return "liquid"
    if any(word in name for word in _WATERY):
        return "water"
    for word in reversed(re.findall(r"[^\W\d_]+", name)):
        for kind, words in _WORDS:
            if word in words:
                return kind
    return "other"


def possible_hydrogen(kind: Kind, evidence: Evidence = Evidence()) -> tuple[float, float]:
    """Between which mass fractions the hydrogen of a dry stream can lie (`reference/possible_shares.csv`).

    A gas reaches methane at most, and beyond it only as far as the hydrogen gas that was analysed in it allows.
    """
    rows = {row["kind"]: row for row in reference("possible_shares").rows if row["element"] == "H"}
    methane = nominal(mass_fractions("CH4")["H"])
    low = float(rows[kind]["low"]) if kind in rows else 0.0
    if kind == "solid":
        return low, float(rows[kind]["high"])
    if kind == "liquid":
        return low, nominal(mass_fractions("C5H12")["H"])  # the lightest that is weighed as a liquid
    if kind == "gas" and evidence.gas is not None:
        free = nominal(evidence.gas.hydrogen_gas)
        return low, free + (1 - free) * methane
    return low, methane


def stream_elements(
    entry: ProductYield,
    product: Product | None,
    feed: FeedElements,
    evidence: Evidence,
    sheet: Source,
    left: Mapping[str, float],
    settings: StreamElementSettings = StreamElementSettings(),
) -> Stream:
    """The elements of one product.

    Parameters
    ----------
    entry : of the mass balance. product : of the run sheet, None for what a scrubber caught.
    feed : by elements; what it does not hold no product holds. evidence : analyses of the product.
    sheet : the run sheet. left : g of each of `HETERO` that were fed and measured in no other product, at most; what
        is not named may be any. settings : see `StreamElementSettings`.

    Returns
    -------
    Stream
        Shares of the stream as weighed, moisture included. What the run sheet states comes first and stands as it is;
        a measured moisture adds no hydrogen to a measured hydrogen, but its oxygen where that was not measured, and
        both to an estimate, which is of the dry stream. A gas follows from its composition, water and hydrogen chloride
        from their formulas, a liquid hydrocarbon from the estimate of its hydrogen. A char that nobody analysed stays
        unknown between its bounds.
    """
    maker = _Maker(entry, product, feed, evidence, left, settings)
    shares = maker.shares()
    for one in (entry.mass.amount, *(share.share for share in shares.values())):
        standard_uncertainty(one if one is not None else 0.0)  # works it out once for all that is made of it
    inputs = [entry.mass.step, *([evidence.gas.step] if evidence.gas is not None else [])]
    inputs += [one.step for one in (evidence.hydrogen, evidence.carbons) if one is not None and maker.estimated]
    inputs += [evidence.caught.step] if evidence.caught is not None else []
    inputs += [evidence.compounds.step] if evidence.compounds is not None else []
    place = product.place if product is not None else "[[scrubber]]"
    step = Step(
        "elements of product/1", inputs=tuple(inputs),
        settings={"settings": settings, "stated": maker.stated_texts(), "kind": maker.kind},
        source=Source(sheet.path, sheet.sha256, place), cautions=tuple(maker.raised),
    )  # fmt: skip
    gas = evidence.gas
    own: Any = 1 - gas.other_share if gas is not None and maker.weighed else 1.0
    return Stream(entry.fraction, False, entry.mass, entry.how == "by difference", shares, step, own)


class _Maker:
    """Fills the shares of one stream, what is best known first."""

    def __init__(
        self, entry: ProductYield, product: Product | None, feed: FeedElements, evidence: Evidence,
        left: Mapping[str, float], settings: StreamElementSettings,
    ) -> None:  # fmt: skip
        self.name, self.feed, self.evidence, self.settings = entry.fraction, feed, evidence, settings
        self.left = left
        self.mass = entry.mass.amount
        self.weighed = entry.how in ("weighed", "volume × density")
        self.entered = product.measured if product is not None else {}
        self.kind = kind_of(entry.fraction, evidence)
        self.found: dict[str, ElementShare] = {}
        self.raised: list[Caution] = []
        self.estimated = False
        self.moisture: Any = self._of("moisture")
        self.ash: Any = self._of("ash")
        self.clean = [element for element in HETERO if element not in feed.foreign]

    def stated_texts(self) -> Mapping[str, str]:
        return {key: one.text for key, one in self.entered.items() if key in (*KEYS.values(), "ash", "moisture")}

    def _of(self, key: str) -> Amount | None:
        entered = self.entered.get(key)
        return entered.amount(f"{key} in {self.name}") if entered is not None else None

    def shares(self) -> dict[str, ElementShare]:
        for element, key in KEYS.items():
            if (amount := self._of(key)) is not None:
                self.found[element] = ElementShare(amount, how="measured")
        self._take_titration()
        self._take_compounds()
        self._hold_sum()
        {"gas": self._gas, "water": self._water, "acid": self._acid}.get(self.kind, self._condensed)()
        self._hold_rest()
        self._bound()
        if unknown := [KEYS[element] for element in ELEMENTS if self.found[element].share is None]:
            code = "elements.liquid_unknown" if self.kind == "liquid" else "elements.stream_unknown"
            self.raised.append(caution(code, self.name, elements=", ".join(unknown)))
        return {element: self.found[element] for element in ELEMENTS}

    def _take_titration(self) -> None:
        """The chlorine of a product that is the scrubber itself; pure hydrogen chloride has that of its formula."""
        caught = self.evidence.caught
        if caught is None or caught.amount is None or self.kind == "acid" or self.mass is None:
            return
        if nominal(self.mass) > 0:
            self._take("Cl", caught.amount / self.mass, "titration of the scrubber")

    def _take_compounds(self) -> None:
        """Chlorine by the compounds that were found, where no laboratory measured it; none found is not none there."""
        sums = self.evidence.compounds
        if sums is None or "Cl" in self.found or sums.best.amount is None or not nominal(sums.best.amount) > 0:
            return
        low, high = nominal(sums.lower.amount or 0.0), sums.upper.value
        ends = (max(0.0, low / 1e6), 1.0 if high is None else min(1.0, high / 1e6))
        self._take("Cl", sums.best.amount / 1e6, COMPOUNDS, *ends)
        self.raised.append(caution("chlorine.oil_by_compounds", self.name, value=f"{nominal(sums.best.amount):.3g}"))

    def _hold_sum(self) -> None:
        whole = total([*(one.share for one in self.found.values()), *([self.ash] if self.ash is not None else [])])
        if nominal(whole) - 2 * standard_uncertainty(whole) > 1:
            self.raised.append(caution("elements.sum_exceeds", self.name, percent=round(100 * nominal(whole), 1)))

    def _hold_rest(self) -> None:
        """Tell a liquid whose elements are all known and are not all of it."""
        shares = [self.found[element].share for element in ELEMENTS if element in self.found]
        if self.kind != "liquid" or len(shares) < len(ELEMENTS) or any(share is None for share in shares):
            return
        whole = total([*shares, *([self.ash] if self.ash is not None else [])])
        if nominal(whole) + 2 * standard_uncertainty(whole) < self.settings.least_sum:
            self.raised.append(caution("elements.sum_short", self.name, percent=round(100 * nominal(whole), 1)))

    def _take(self, element: str, share: Any, how: str, low: float = 0.0, high: float = 1.0) -> None:
        self.found.setdefault(element, ElementShare(share, low, high, how))

    def _gas(self) -> None:
        gas = self.evidence.gas
        if gas is None:
            if self.evidence.scrubbed:
                self._take("Cl", 0.0, "caught by the scrubber", 0.0, 0.0)
            if self.left.get("O", 1.0) > 0:  # moisture may have left with it
                self.clean = [element for element in self.clean if element != "O"]
            self._clean()
            return
        for element, share in gas_shares(gas, self.weighed, self.feed.foreign, self.evidence.scrubbed).items():
            self.found.setdefault(element, share)
        if self.weighed and nominal(gas.other_share) > gas.noticed:
            percent = round(100 * nominal(gas.other_share), 1)
            self.raised.append(caution("elements.gas_with_purge", self.name, percent=percent))

    def _water(self) -> None:
        """Water; with chlorine in the feed a solution of hydrogen chloride, of which nothing is known till titrated."""
        pure, acid = mass_fractions("H2O"), mass_fractions("HCl")
        for element in ("C", "N"):
            self._take(element, 0.0, "taken for water", 0.0, 1.0)
        if "Cl" in self.clean:
            self._take("Cl", 0.0, "none in the feed", 0.0, 0.0)
        elif "Cl" not in self.found:
            self.raised.append(caution("elements.water_not_titrated", self.name))
            return
        solved = self.found["Cl"].share / acid["Cl"] if self.found["Cl"].share is not None else 0.0
        how = "taken for water" if nominal(solved) == 0 else "water and hydrogen chloride"
        self._take("H", (1 - solved) * pure["H"] + solved * acid["H"], how)
        self._take("O", (1 - solved) * pure["O"], how)
        if {"O", "N"} & self.feed.foreign:
            self.raised.append(caution("elements.water_taken_pure", self.name))

    def _acid(self) -> None:
        for element in ELEMENTS:
            share = mass_fractions("HCl").get(element, 0.0)
            self._take(element, share, "hydrogen chloride", 0.0, 1.0 if nominal(share) else 0.0)

    def _clean(self) -> None:
        """What the feed does not hold the product does not hold; the oxygen of its own moisture is told apart."""
        if self.moisture is not None and "O" in self.clean:
            self._take("O", self.moisture * mass_fractions("H2O")["O"], "its moisture")
        for element in self.clean:
            self.found.setdefault(element, NONE)

    def _condensed(self) -> None:
        """Oil, wax, char and what else is weighed."""
        self._clean()
        foreign = self._foreign()
        if self.kind == "liquid" and foreign is not None and "H" not in self.found and "C" not in self.found:
            self._estimate_hydrogen(foreign)
        minerals = self.ash if self.ash is not None else 0.0 if self.kind == "liquid" else None
        if foreign is None or minerals is None:
            return
        rest = 1 - foreign - minerals
        for known, other in (("H", "C"), ("C", "H")):
            if known in self.found and other not in self.found:
                self._take(other, rest - self.found[known].share, f"rest beside {KEYS[known]}")

    def _foreign(self) -> Any:
        """Mass fraction of oxygen, nitrogen and chlorine together; what was not measured as a rectangle up to what was
        left of it. None where that is too much for a hydrocarbon."""
        unknown = [element for element in HETERO if element not in self.found]
        most = sum(self._most(element) for element in unknown)
        if most > self.settings.most_foreign:
            return None
        sum_of_known = total(self.found[element].share for element in HETERO if element not in unknown)
        if most == 0:
            return sum_of_known
        tag = f"{', '.join(KEYS[element] for element in unknown)} in {self.name}"
        return sum_of_known + measured(most / 2, most / 12**0.5, tag, rectangular=True)

    def _most(self, element: str) -> float:
        """The largest mass fraction that a product can have of an element: all that was fed and is nowhere else."""
        most = self.left.get(element)
        if most is None or self.mass is None or nominal(self.mass) <= 0:
            return 1.0
        return min(1.0, max(0.0, most) / nominal(self.mass))

    def _estimate_hydrogen(self, foreign: Any) -> None:
        wet = mass_fractions("H2O")["H"] * self.moisture if self.moisture is not None else 0.0
        others = foreign + (self.ash if self.ash is not None else 0.0) + wet
        given = self.evidence.hydrogen
        self.estimated = True
        if given is not None and given.amount is not None:
            self._take("H", (1 - others) * given.amount / 100 + wet, "estimated from boiling curve and density")
            return
        share, low, high = hydrogen_between(self.name, self.evidence.carbons, self.feed.least_ratio, self.settings)
        self._take("H", (1 - others) * share + wet, "between rings, alkenes and alkanes", low, high)
        self.raised.append(
            caution("elements.hydrogen_bounded", self.name, low=round(100 * low, 1), high=round(100 * high, 1))
        )

    def _bound(self) -> None:
        """Bounds of what is still unknown: all that was fed, all that the minerals leave, what its kind can hold."""
        ash = self.ash if self.ash is not None else self._ash_of_feed()
        known = sum(nominal(one.share) for one in self.found.values() if one.share is not None)
        sums = self.evidence.compounds
        hidden = 1.0 if sums is None or sums.upper.value is None else sums.upper.value / 1e6
        left = max(0.0, 1 - nominal(ash) - known)
        _, most_hydrogen = possible_hydrogen(self.kind, self.evidence)
        for element in ELEMENTS:
            if element in self.found:
                continue
            high = min(left, self._most(element), {"H": most_hydrogen, "Cl": hidden}.get(element, 1.0))
            self.found[element] = ElementShare(None, 0.0, high, "not known")

    def _ash_of_feed(self) -> Any:
        """Mineral matter of a char at least: that of the feed stays in it."""
        if self.kind != "solid" or self.feed.ash_g is None or self.mass is None or nominal(self.mass) <= 0:
            return 0.0
        floor = self.feed.ash_g / self.mass
        return floor if nominal(floor) < 1 else 1.0
