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


@dataclass(frozen=True)
class ReconciledStream:
    """One stream after least-squares reconciliation: raw and reconciled mass in g, and the size of the
    adjustment in its own standard uncertainties."""

    name: str
    raw: float
    u_raw: float
    reconciled: float
    u_reconciled: float
    test: float


@dataclass(frozen=True)
class Reconciliation:
    """Least-squares reconciliation of the balance. chi_square with degrees_of_freedom, p: chance of an
    imbalance at least this large when the uncertainties are right; suspect: the stream whose adjustment is
    least credible, "" when the imbalance is within what the uncertainties allow."""

    streams: tuple[ReconciledStream, ...]
    chi_square: float
    degrees_of_freedom: int
    p: float
    suspect: str
    step: Step


@dataclass(frozen=True, eq=False)
class Balance:
    """The mass balance of a run.

    feed, feed_dry, feed_dry_ash_free : g. total : sum of the products in g.
    closure : % of the feed as charged; not determined when anything is by difference or missing.
    verdict : "good", "acceptable", "explain", "not tested". charged : g of each feed, in the order of the sheet.
    """

    feed: Result
    feed_dry: Result | None
    feed_dry_ash_free: Result | None
    products: tuple[ProductYield, ...]
    total: Result
    closure: Result
    verdict: Literal["good", "acceptable", "explain", "not tested"]
    reconciled: Reconciliation | None
    step: Step
    charged: tuple[Result, ...] = ()
