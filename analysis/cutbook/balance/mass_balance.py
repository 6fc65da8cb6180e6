"""Weigh what came out against what went in, on every basis that the run sheet allows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from cutbook.model.amount import Amount, nominal, standard_uncertainty, total
from cutbook.model.balance import Balance, ProductYield
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import BalanceError
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Feed, Product

HYDROGEN_CHLORIDE = "hydrogen chloride"
"""Name of the product that a scrubber caught."""


@dataclass(frozen=True)
class BalanceSettings:
    """How a balance is judged (common practice, no source).

    good_within, acceptable_within, danger_beyond : distance of the closure from 100 %, in %.
    suspicious_within : a balance of independent weighings that closes this well, in %, suggests that one
        figure was found by difference; weighing a gas rarely succeeds to a tenth of a percent of the feed.
    """

    good_within: float = 3.0
    acceptable_within: float = 5.0
    danger_beyond: float = 10.0
    suspicious_within: float = 0.1


def mass_balance(
    feeds: Sequence[Feed],
    products: Sequence[Product],
    sheet: Source,
    settings: BalanceSettings = BalanceSettings(),
    gases: Mapping[str, Result] | None = None,
    caught: Result | None = None,
) -> Balance:
    """The mass balance of a run.

    Parameters
    ----------
    feeds, products : entries of the run sheet; at most one product by difference.
    sheet : the run sheet, as the source of the entries.
    settings : see `BalanceSettings`.
    gases : mass in g of a product whose volume was measured, from its composition, by its name; used where the sheet
        gives neither its mass nor its density.
    caught : hydrogen chloride in g that a scrubber caught, which counts as a product; None where none was, where it is
        not known, or where the sheet lists it as a product itself.

    Returns
    -------
    Balance
        Yields in % of the feed as charged, and of the dry and dry ash-free feed where moisture and ash are
        given for every feed. The closure is not determined when a product is by difference or has no mass.

    Raises
    ------
    BalanceError
        When a product by difference comes out negative by more than twice its standard uncertainty.

    Notes
    -----
    First-order propagation with correlations kept (JCGM 100:2008): a yield and the closure share the
    weighing of the feed.
    """
    weighed = [entry.mass.amount(f"weighing of feed {entry.material}") for entry in feeds]
    feed = total(weighed)
    feed_step = Step(
        "weigh feed/1",
        settings={f"{entry.place}, mass": entry.mass.text for entry in feeds},
        source=Source(sheet.path, sheet.sha256, ", ".join(entry.place for entry in feeds)),
    )
    dry, dry_ash_free = _lesser_bases(feeds, weighed)
    bases = _Bases(feed, dry, dry_ash_free)

    masses = [_mass(product, sheet, (gases or {}).get(product.fraction)) for product in products]
    missing = [p.fraction for p, (_, _, m) in zip(products, masses, strict=True) if m is None and not p.by_difference]
    if caught is not None and caught.amount is not None:
        products = [*products, Product(HYDROGEN_CHLORIDE, "[[scrubber]]")]
        masses.append(("titration", caught.step, caught.amount))
    by_difference = [product.fraction for product in products if product.by_difference]
    raised: list[Caution] = [caution("balance.not_measured", name) for name in missing]
    yields = []
    for product, (how, step, mass) in zip(products, masses, strict=True):
        if product.by_difference:
            how, step, mass = _difference(product, feed, feed_step, masses, missing, sheet)
            raised.append(caution("balance.by_difference", product.fraction))
            if mass is not None and nominal(mass) < 0:
                raised.append(caution("balance.negative_difference", product.fraction, grams=round(nominal(mass), 2)))
        yields.append(_yield(product.fraction, how, mass, bases, step, feed_step))
    known = [entry.mass.amount for entry in yields if entry.mass.amount is not None]
    sum_step = Step("sum products/1", inputs=tuple(entry.mass.step for entry in yields))
    sum_of_known = total(known)
    summed = Result("sum of the products that have a mass", sum_of_known, "g", "", sum_step)

    reason = "balance.by_difference" if by_difference else "balance.not_measured" if missing else ""
    closure_value = None if reason or not known else 100 * sum_of_known / feed
    verdict = _verdict(closure_value, settings)
    raised += _closure_cautions(closure_value, settings)
    step = Step("close balance/1", inputs=(feed_step, sum_step), settings=settings, cautions=tuple(raised))
    if closure_value is None:
        closure = Result.missing("closure", "%", "feed as charged", step, reason or "balance.not_measured")
    else:
        closure = Result("closure", closure_value, "%", "feed as charged", step)
    return Balance(
        feed=Result("feed as charged", feed, "g", "", feed_step),
        feed_dry=None if dry is None else Result("dry feed", dry, "g", "", feed_step),
        feed_dry_ash_free=None
        if dry_ash_free is None
        else Result("dry ash-free feed", dry_ash_free, "g", "", feed_step),
        products=tuple(yields),
        total=summed,
        closure=closure,
        verdict=verdict,
        step=step,
        charged=tuple(
            Result(f"feed {entry.material}", mass, "g", "", feed_step)
            for entry, mass in zip(feeds, weighed, strict=True)
        ),
    )


@dataclass(frozen=True)
class _Bases:
    as_charged: Amount
    dry: Amount | None
    dry_ash_free: Amount | None


def _lesser_bases(feeds: Sequence[Feed], weighed: Sequence[Amount]) -> tuple[Amount | None, Amount | None]:
    """Dry and dry ash-free feed in g; moisture and ash are fractions of the feed as charged."""
    dry: Any = 0.0
    free: Any = 0.0
    for entry, mass in zip(feeds, weighed, strict=True):
        if entry.moisture is None:
            return None, None
        water = entry.moisture.amount(f"moisture of feed {entry.material}")
        dry = dry + mass * (1 - water)
        if entry.ash is not None and free is not None:
            free = free + mass * (1 - water - entry.ash.amount(f"ash of feed {entry.material}"))
        else:
            free = None
    return dry, free


How = Literal["weighed", "volume × density", "volume and composition", "titration", "by difference", "not determined"]


def _mass(product: Product, sheet: Source, gas: Result | None) -> tuple[How, Step, Amount | None]:
    source = Source(sheet.path, sheet.sha256, product.place)
    if product.mass is not None:
        step = Step("weigh product/1", settings={"mass": product.mass.text}, source=source)
        return "weighed", step, product.mass.amount(f"weighing of {product.fraction}")
    if product.volume is not None and product.density is not None:
        step = Step(
            "volume times density/1",
            settings={"volume": product.volume.text, "density": product.density.text},
            source=source,
        )
        volume = product.volume.amount(f"volume of {product.fraction}")
        return "volume × density", step, volume * product.density.amount(f"density of {product.fraction}")
    if gas is not None and gas.amount is not None and not product.by_difference:
        return "volume and composition", gas.step, gas.amount
    return "not determined", Step("no mass/1", source=source), None


def _difference(
    product: Product,
    feed: Amount,
    feed_step: Step,
    masses: Sequence[tuple[How, Step, Amount | None]],
    missing: Sequence[str],
    sheet: Source,
) -> tuple[How, Step, Amount | None]:
    """What is left of the feed; None while another product has no mass."""
    source = Source(sheet.path, sheet.sha256, product.place)
    step = Step(
        "mass by difference/1", inputs=(feed_step, *(step for _, step, m in masses if m is not None)), source=source
    )
    if missing:
        return "not determined", step, None
    rest = feed - total(mass for _, _, mass in masses if mass is not None)
    value, u = nominal(rest), standard_uncertainty(rest)
    if value < -2 * u:
        raise BalanceError.single(
            sheet.path,
            f"{product.place}, by_difference",
            f"the other products exceed the feed by {-value:.2f} g (standard uncertainty {u:.2f} g)",
            "products that weigh less than the feed",
            "Check the weighings; a difference cannot be negative.",
        )
    return "by difference", step, rest


def _yield(fraction: str, how: How, mass: Amount | None, bases: _Bases, step: Step, feed_step: Step) -> ProductYield:
    ratio = Step("yield on feed/1", inputs=(step, feed_step))

    def on(basis: Amount | None, name: str) -> Result | None:
        if basis is None:
            return None
        if mass is None:
            return Result.missing(f"yield of {fraction}", "%", name, ratio, "balance.not_measured")
        return Result(f"yield of {fraction}", 100 * mass / basis, "%", name, ratio)

    as_charged = on(bases.as_charged, "feed as charged")
    if as_charged is None:
        raise ValueError("a run has a feed")
    weighed = (
        Result.missing(f"mass of {fraction}", "g", "", step, "balance.not_measured")
        if mass is None
        else Result(f"mass of {fraction}", mass, "g", "", step)
    )
    return ProductYield(
        fraction, how, weighed, as_charged, on(bases.dry, "dry feed"), on(bases.dry_ash_free, "dry ash-free feed")
    )


def _verdict(
    closure: Amount | None, settings: BalanceSettings
) -> Literal["good", "acceptable", "explain", "not tested"]:
    if closure is None:
        return "not tested"
    off = abs(nominal(closure) - 100)
    if off <= settings.good_within:
        return "good"
    return "acceptable" if off <= settings.acceptable_within else "explain"


def _closure_cautions(closure: Amount | None, settings: BalanceSettings) -> list[Caution]:
    if closure is None:
        return []
    value = round(nominal(closure), 2)
    off = abs(nominal(closure) - 100)
    raised = []
    if off > settings.danger_beyond:
        raised.append(caution("balance.far_off", "balance", closure=value))
    elif off > settings.acceptable_within:
        raised.append(caution("balance.explain", "balance", closure=value))
    if off <= settings.suspicious_within:
        raised.append(caution("balance.closes_too_well", "balance", closure=value))
    return raised
