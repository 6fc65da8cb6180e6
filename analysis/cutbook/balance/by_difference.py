"""Tell from the closures of several runs that a product was found by difference, though nobody says so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cutbook.model.cautions import Caution, caution


@dataclass(frozen=True)
class SeriesSettings:
    """When closures are too good to be weighed.

    within : distance from 100 % that counts as exact, in % of the feed. least_u : standard uncertainty that the closure
    of an honest small rig has at least, in %, whatever its scales promise: closures of 97 to 103 % are called good
    (common practice, no source). significance : chance of so many exact closures below which it is said.
    least_runs : runs with a closure below which nothing is said.
    """

    within: float = 0.1
    least_u: float = 0.5
    significance: float = 0.01
    least_runs: int = 3


@dataclass(frozen=True)
class Closure:
    """The closure of one run and its standard uncertainty, both in % of the feed."""

    run: str
    value: float
    u: float


def closures_by_difference(closures: Sequence[Closure], settings: SeriesSettings = SeriesSettings()) -> Caution | None:
    """A caution that names the runs whose sums are too exact, None where nothing is conspicuous.

    Parameters
    ----------
    closures : of the runs in which nothing is declared as by difference. settings : see `SeriesSettings`.

    Notes
    -----
    The chance that so many of independent closures, normal about 100 %, fall so close to it, each with its own
    uncertainty (Poisson binomial distribution).
    """
    from scipy.special import erf

    exact = [one for one in closures if abs(one.value - 100.0) <= settings.within]
    if len(closures) < settings.least_runs or not exact:
        return None
    counts = [1.0]  # chance of 0, 1, 2 … exact closures among those seen so far
    for one in closures:
        chance = float(erf(settings.within / (max(one.u, settings.least_u) * 2**0.5)))
        counts = [
            (counts[k] if k < len(counts) else 0.0) * (1 - chance) + (counts[k - 1] * chance if k else 0.0)
            for k in range(len(counts) + 1)
        ]
    so_many = sum(counts[len(exact) :])
    if so_many >= settings.significance:
        return None
    return caution(
        "balance.series_by_difference",
        ", ".join(one.run for one in exact),
        exact=len(exact),
        runs=len(closures),
        within=settings.within,
        chance=f"{so_many:.1g}",
    )
