"""What went in against what came out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutbook.model.lineage import Step
from cutbook.model.result import Result


@dataclass(frozen=True, eq=False)
class ProductYield:
    """One product of the balance.

    how : how its mass is known. mass in g; yields in % of the feed on three bases (None where the
        basis is not defined).
    """

    fraction: str
    how: Literal[
        "weighed", "volume × density", "volume and composition", "titration", "by difference", "not determined"
    ]
    mass: Result
    yield_as_charged: Result
    yield_dry: Result | None
    yield_dry_ash_free: Result | None


Standing = Literal["checked", "not checked", "solved", "not determined"]
"""What the balances know of a value: measured and held against others; measured and held against nothing; not measured
and found from the others; neither."""


@dataclass(frozen=True, eq=False)
class ReconciledValue:
    """One mass in g, or one share of an element in % of its stream, after least-squares reconciliation.

    stream : its name in the balance. element : symbol, "" for the mass. raw : as measured, missing where it was not.
    reconciled : missing where the balances do not determine it. test : significance of an error of this value alone,
    None where nothing checks it. detectable : size of an error that would be named 95 times of 100, in the same unit.
    """

    stream: str
    element: str
    raw: Result
    reconciled: Result
    test: float | None
    standing: Standing
    detectable: float | None = None


@dataclass(frozen=True, eq=False)
class Imbalance:
    """Fed less found in one balance, g. of : "mass" or an element."""

    of: str
    difference: Result


@dataclass(frozen=True, eq=False)
class Suspected:
    """One value that the balances do not believe.

    stream, element : which, "" for the mass. test : significance. chance : of so large a test among all when nothing is
    wrong. measured, others : what was measured, and what the other measurements say. alike : other (stream, element)
    that explain the imbalances nearly as well.
    """

    stream: str
    element: str
    test: float
    chance: float
    measured: Result
    others: Result
    alike: tuple[tuple[str, str], ...]


@dataclass(frozen=True, eq=False)
class Reconciliation:
    """Least-squares reconciliation of mass and elements.

    masses, shares : of every stream, and of every element that is measured or solved for. balances : names of those
    that were closed. imbalances : before. chi_square with degrees_of_freedom, p : chance of an imbalance at least this
    large when the uncertainties are right. suspects : the worst first; none when the imbalance is within what the
    uncertainties allow.
    """

    masses: tuple[ReconciledValue, ...]
    shares: tuple[ReconciledValue, ...]
    imbalances: tuple[Imbalance, ...]
    chi_square: float
    degrees_of_freedom: int
    p: float
    suspects: tuple[Suspected, ...]
    step: Step


@dataclass(frozen=True, eq=False)
class Balance:
    """The mass balance of a run.

    feed, feed_dry, feed_dry_ash_free : g. total : sum of the products in g.
    closure : % of the feed as charged; not determined when anything is by difference or missing.
    verdict : "good", "acceptable", "explain", "not tested". charged : g of each feed, in the order of the sheet.
    reconciled : None where nothing is measured twice over.
    """

    feed: Result
    feed_dry: Result | None
    feed_dry_ash_free: Result | None
    products: tuple[ProductYield, ...]
    total: Result
    closure: Result
    verdict: Literal["good", "acceptable", "explain", "not tested"]
    step: Step
    charged: tuple[Result, ...] = ()
    reconciled: Reconciliation | None = None
