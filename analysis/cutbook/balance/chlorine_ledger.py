"""Draw up where the chlorine of a run went, what is unaccounted for, and how much of it was kept out of the oil."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cutbook.balance.element_balance import ElementBalanceSettings, grams_of, holds_some
from cutbook.balance.scrubber import Scrubber
from cutbook.balance.stream_elements import COMPOUNDS, kind_of
from cutbook.model.amount import Amount, nominal, standard_uncertainty, total
from cutbook.model.atoms import atomic_mass, atoms_of
from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine_ledger import ChlorineBalance, Dechlorination, OrganicChlorine
from cutbook.model.elements import ElementBalance, ElementLine, Stream
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.tables import reference

ABOUT = "chlorine"
PLACE = "[chlorine]"


def chlorine_ledger(
    found: ElementBalance,
    scrubber: Scrubber | None,
    sheet: Source,
    entered: Mapping[str, Any] | None,
    organic: Sequence[OrganicChlorine],
    settings: ElementBalanceSettings,
) -> tuple[ChlorineBalance | None, tuple[Caution, ...]]:
    """Where the chlorine of a run went.

    Parameters
    ----------
    found : the elements of all streams. scrubber : None without one. sheet : the run sheet.
    entered : section [chlorine] of it. organic : of each product that was screened. settings : see there.

    Returns
    -------
    balance, cautions
        The balance is None where no chlorine was fed, caught or found. Unaccounted is fed less all that is known; it
        stays open where the feed is not known, where no product is, and where a product by difference took up whatever
        was lost.

    Notes
    -----
    Efficiencies in %: caught, Cl(scrubber)/Cl(fed); solid, 1 - Cl(char)/Cl(fed); oil, 1 - w(oil)/w(reference oil). They
    answer three questions and are never compared with one another.
    """
    return _Maker(found, scrubber, sheet, entered or {}, organic, settings).balance()


def needed_sorbent(sorbent: str, chlorine_g: Any) -> Any:
    """g of a pure sorbent that so many g of chlorine, as hydrogen chloride, use up (`reference/sorbents.csv`)."""
    row = reference("sorbents").by("name")[sorbent]
    unit = total(count * atomic_mass(element) for element, count in atoms_of(row["formula"]).items())
    return chlorine_g / atomic_mass("Cl") / int(row["bound"]) * unit


class _Maker:
    """Fills the balance, line by line."""

    def __init__(
        self, found: ElementBalance, scrubber: Scrubber | None, sheet: Source, entered: Mapping[str, Any],
        organic: Sequence[OrganicChlorine], settings: ElementBalanceSettings,
    ) -> None:  # fmt: skip
        self.found, self.scrubber, self.sheet = found, scrubber, sheet
        self.entered, self.organic, self.settings = entered, organic, settings
        self.line: ElementLine = found.lines["Cl"]
        self.raised: list[Caution] = []
        told = {key: getattr(one, "text", one) for key, one in entered.items()}
        inputs = [self.line.closure.step, *([scrubber.step] if scrubber is not None else [])]
        inputs += [one.step for one in organic]
        self.step = Step("balance chlorine/2", inputs=tuple(inputs), settings={"entered": told, "settings": settings})

    def balance(self) -> tuple[ChlorineBalance | None, tuple[Caution, ...]]:
        fed = self.line.fed
        none_fed = fed.amount is None or nominal(fed.amount) <= 0
        seen = any(one.best.value for one in self.organic) or self.entered.get("walls") is not None
        if self.scrubber is None and none_fed and not seen:
            return None, ()
        by_kind: dict[str, list[Stream]] = {}
        for stream in self.found.streams:
            if not stream.feed:
                by_kind.setdefault(_kind(stream), []).append(stream)
        walls = self._walls()
        rest = self._unaccounted(walls)
        if self.line.open:
            self.raised.append(caution("elements.chlorine_not_measured", ABOUT, streams=", ".join(self.line.open)))
        oil = by_kind.get("oil", [])
        low, high = self._bounds(oil)
        bottles = self.scrubber.bottles if self.scrubber is not None else ()
        ledger = ChlorineBalance(
            fed=fed,
            scrubber=self.scrubber.chlorine if self.scrubber is not None else None,
            oil=self._held(oil, "oil"),
            char=self._held(by_kind.get("char", []), "char"),
            unaccounted=rest,
            step=self.step,
            second_bottle=bottles[-1].chlorine if len(bottles) > 1 else None,
            wax=self._held(by_kind.get("wax", []), "wax"),
            water=self._held(by_kind.get("water", []), "water"),
            walls=walls,
            others=self._others(by_kind.get("other", [])),
            oil_from=", ".join(dict.fromkeys(one.elements["Cl"].how for one in oil)),
            oil_low=low,
            oil_high=high,
            efficiencies=self._efficiencies(by_kind),
            residual=self._residual(by_kind.get("char", [])),
            sorbent=self._sorbent(),
        )
        return ledger, tuple(self.raised)

    def _result(self, name: str, amount: Any, unit: str = "g", basis: str = "") -> Result:
        return Result(name, amount, unit, basis, self.step)

    def _held(self, streams: Sequence[Stream], name: str) -> Result | None:
        """Chlorine of the products of one kind in g; None without such a product."""
        if not streams:
            return None
        grams = [grams_of(one, "Cl") for one in streams]
        if any(one is None for one in grams):
            return Result.missing(f"chlorine in {name}", "g", "", self.step, "elements.chlorine_not_measured")
        return self._result(f"chlorine in {name}", total(grams))

    def _others(self, streams: Sequence[Stream]) -> tuple[tuple[str, Result], ...]:
        """Further products of which the chlorine is known and not nothing."""
        known = [(one.name, grams_of(one, "Cl")) for one in streams]
        return tuple(
            (name, self._result(f"chlorine in {name}", grams))
            for name, grams in known
            if grams is not None and nominal(grams) != 0
        )

    def _walls(self) -> Result | None:
        entry = self.entered.get("walls")
        if entry is None:
            return None
        source = Source(self.sheet.path, self.sheet.sha256, f"{PLACE}, walls")
        step = Step("enter walls/1", settings={"walls": entry.text}, source=source)
        return Result("chlorine on walls", entry.amount("chlorine on walls"), "g", "", step)

    def _unaccounted(self, walls: Result | None) -> Result:
        """Fed less found, walls included; with the cautions of what is too little or too much."""
        name, fed, found = "chlorine unaccounted for", self.line.fed, self.line.found
        products = [one for one in self.found.streams if not one.feed]
        if any(one.by_difference and holds_some(one, "Cl") for one in products):
            # whatever chlorine was lost is counted as that product's
            return Result.missing(name, "g", "", self.step, "elements.by_difference")
        if fed.amount is None or found.amount is None:
            why = "elements.feed_unknown" if fed.amount is None else "elements.chlorine_not_measured"
            return Result.missing(name, "g", "", self.step, why)
        on_walls: Any = 0.0 if walls is None else walls.amount
        rest = fed.amount - total([found.amount]) - on_walls
        if nominal(fed.amount) > 0 and nominal(rest) > self.settings.lost_chlorine * nominal(fed.amount):
            names = ", ".join(self.line.open) or "nothing"
            percent = round(100 * nominal(rest / fed.amount), 1)
            self.raised.append(caution("elements.chlorine_unaccounted", ABOUT, percent=percent, streams=names))
        told = {one.code for one in self.line.closure.step.cautions}
        beyond = -nominal(rest) - 2 * standard_uncertainty(rest)
        more = -nominal(rest) > nominal(fed.amount) * self.settings.exceeds / 100
        if beyond > 0 and more and not told & {"elements.chlorine_exceeds", "elements.found_unfed"}:
            grams = [f"{nominal(one):.4g}" for one in (fed.amount - rest, fed.amount)]
            self.raised.append(caution("chlorine.walls_exceed", ABOUT, found=grams[0], fed=grams[1]))
        return self._result(name, rest)

    def _bounds(self, oils: Sequence[Stream]) -> tuple[Result | None, Result | None]:
        """Between which g the chlorine of the oil lies where compounds were added up; None where a laboratory tells."""
        known = {one.of: one for one in self.organic}
        if len(oils) != 1 or oils[0].name not in known or oils[0].elements["Cl"].how not in (COMPOUNDS, "not known"):
            return None, None
        sums, mass = known[oils[0].name], oils[0].mass.amount
        ends = []
        for name, end in (("at least", sums.lower), ("at most", sums.upper)):
            if mass is None or end.amount is None:
                ends.append(Result.missing(f"chlorine in oil, {name}", "g", "", self.step, end.reason))
            else:
                ends.append(self._result(f"chlorine in oil, {name}", mass * end.amount / 1e6))
        return ends[0], ends[1]

    def _efficiencies(self, by_kind: Mapping[str, Sequence[Stream]]) -> tuple[Dechlorination, ...]:
        """The three that the inputs allow."""
        found: list[Dechlorination] = []
        fed = self.line.fed.amount
        if fed is not None and nominal(fed) > 0:
            if self.scrubber is not None and self.scrubber.chlorine.amount is not None:
                caught = 100 * self.scrubber.chlorine.amount / fed
                result = self._result("hydrogen chloride caught", caught, "%", "chlorine fed")
                found.append(Dechlorination("caught", result))
            left = self._held(by_kind.get("char", []), "char")
            if left is not None and left.amount is not None:
                result = self._result(
                    "chlorine that left the solid", 100 * (1 - left.amount / fed), "%", "chlorine fed"
                )
                found.append(Dechlorination("solid", result))
        entry, oil = self.entered.get("reference_oil"), self._oil_share(by_kind.get("oil", []))
        if entry is not None and oil is not None:
            against = entry.amount("chlorine of the reference oil")
            result = self._result("oil against reference oil", 100 * (1 - oil / against), "%", "reference oil")
            found.append(Dechlorination("oil", result))
        return tuple(found)

    @staticmethod
    def _oil_share(oils: Sequence[Stream]) -> Amount | float | None:
        """Mass fraction of chlorine in the oil, None where it is not known or there are several oils."""
        return oils[0].elements["Cl"].share if len(oils) == 1 else None

    def _residual(self, chars: Sequence[Stream]) -> Result | None:
        """Mass fraction of chlorine in the solid over that in the feed."""
        feeds = [one for one in self.found.streams if one.feed]
        fed = self.line.fed.amount
        share = chars[0].elements["Cl"].share if len(chars) == 1 else None
        masses = [one.mass.amount for one in feeds]
        if share is None or fed is None or nominal(fed) <= 0 or any(one is None for one in masses):
            return None
        return self._result("chlorine of the solid against the feed", share * total(masses) / fed, "1")

    def _sorbent(self) -> Result | None:
        """Share of the sorbent that all chlorine fed would use up."""
        name, entry, fed = self.entered.get("sorbent"), self.entered.get("sorbent_mass"), self.line.fed.amount
        if not name or entry is None or fed is None or nominal(fed) <= 0:
            return None
        share = 100 * needed_sorbent(name, fed) / entry.amount("weighing of sorbent")
        if nominal(share) > 100:
            self.raised.append(caution("chlorine.sorbent_too_little", ABOUT, name=name, share=round(nominal(share))))
        return self._result(f"{name} that the chlorine fed can use up", share, "%", "sorbent")


def _kind(stream: Stream) -> str:
    """Under which line of the ledger a product stands."""
    name, kind = stream.name.casefold(), kind_of(stream.name)
    if kind == "acid" or "scrubber" in name:
        return "scrubber"
    if "wax" in name:
        return "wax"
    if kind == "liquid" and "trap" not in name:
        return "oil"
    return {"solid": "char", "water": "water"}.get(kind, "other")
