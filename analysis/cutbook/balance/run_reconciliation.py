"""Reconcile the masses and analyses of a run over mass and elements, and name what is wrong among them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from cutbook.balance.gross_errors import NamedError, detectable, gross_errors
from cutbook.balance.reconciliation import Linearised, Reconciled, reconcile_curved
from cutbook.model.amount import Amount, covariance, measured, nominal, standard_uncertainty
from cutbook.model.balance import Imbalance, ReconciledValue, Reconciliation, Standing, Suspected
from cutbook.model.cautions import Caution, caution
from cutbook.model.elements import ELEMENTS, Stream
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.tables import reference
from cutbook.model.trace import Floats

MASS = "mass"
_NO_PART = 1e-12
"""Share of a value below which an input has no part in it but rounding."""
WATERY = 0.5
"""Mass fraction of oxygen from which a product is water."""


@dataclass(frozen=True)
class ReconciliationSettings:
    """How the measurements of a run are held against each other.

    significance : chance to name a measurement when none is wrong (0.05, as is customary). unexplained : chance of the
        imbalance as a whole below which it is called real though no single measurement explains it (0.01).
    alike_within : what another measurement may explain less of chi-square and still be told as one that cannot be ruled
        out (2.71, the 90 % limit of chi-square with one degree of freedom). most : measurements named at most.
    least_redundancy : share of the variance of an analysis that the balances must contribute for it to be a candidate
        (0.01: an error of ten of its standard uncertainties then moves the test by one); masses always are.
    """

    significance: float = 0.05
    unexplained: float = 0.01
    alike_within: float = 2.71
    most: int = 3
    least_redundancy: float = 0.01


def reconcile_run(
    streams: Sequence[Stream], settings: ReconciliationSettings = ReconciliationSettings()
) -> Reconciliation | None:
    """The masses and shares of a run that close the balances of mass and elements, and what is not to be believed.

    Parameters
    ----------
    streams : everything that went in and came out. A mass by difference or without a value is solved for, as is the
        amount of an element that nobody knows in a stream. settings : see `ReconciliationSettings`.

    Returns
    -------
    Reconciliation or None
        None where no balance checks any measurement: with one stream by difference and no analysis, for instance, or
        without any product.

    Notes
    -----
    Balances: masses of feeds less those of products, air and purge gas in a weighed gas left out; for every element of
    `ELEMENTS` that was fed mass times share likewise, but for oxygen only where a product is water: what leaves as
    vapour stands in no analysis of a dry gas. An element that the formula of a plastic does not hold is not balanced:
    the formula tells nothing of traces. Masses and shares are adjusted together, with the covariances that they have
    from common inputs; no raw value is changed.
    """
    if all(one.feed for one in streams):
        return None
    table = _Table(streams)
    solved = reconcile_curved(table.values, table.covariance, table.balances, table.start)
    if solved.degrees_of_freedom == 0:
        return None
    least = np.where(table.is_mass, 0.0, settings.least_redundancy)
    wrong = [int(at) for at in np.flatnonzero((table.u > 0) & (solved.redundancy > least))]
    named = gross_errors(
        solved.directions[:, wrong], solved.imbalances, table.u[wrong], settings.significance, settings.alike_within,
        settings.most,
    )  # fmt: skip
    smallest = dict(zip(wrong, detectable(solved.directions[:, wrong], settings.significance), strict=True))
    suspects = tuple(table.suspected(named[: count + 1], wrong, solved) for count in range(len(named)))
    step = Step("name gross errors/1", (table.step,), settings, cautions=tuple(_cautions(suspects, solved, settings)))
    return Reconciliation(
        masses=table.masses(solved, smallest),
        shares=table.shares(solved, smallest),
        imbalances=table.imbalances(),
        chi_square=solved.chi_square,
        degrees_of_freedom=solved.degrees_of_freedom,
        p=solved.p,
        suspects=suspects,
        step=step,
    )


class _Table:
    """Measured values, what was not measured, and the balances over both."""

    def __init__(self, streams: Sequence[Stream]) -> None:
        self.streams = streams
        self.names = _names(streams)
        collected = any(not one.feed and nominal(one.elements["O"].share or 0.0) > WATERY for one in streams)
        fed = [e for e in ELEMENTS if any(one.feed and not _is_nothing(one.elements[e].share) for one in streams)]
        self.elements = tuple(element for element in fed if collected or element != "O")
        self.signs = [1.0 if one.feed else -1.0 for one in streams]
        amounts: list[Amount | float] = []
        self.mass_at: dict[int, int] = {}
        self.share_at: dict[tuple[int, str], int] = {}
        self.open_mass: dict[int, int] = {}
        self.open_flow: dict[tuple[int, str], int] = {}
        start: list[float] = []
        for place, one in enumerate(streams):
            if one.mass.amount is not None and not one.by_difference:
                self.mass_at[place] = len(amounts)
                amounts.append(one.mass.amount)
            else:
                self.open_mass[place] = len(start)
                start.append(one.mass.value or 0.0)
        for place, one in enumerate(streams):
            for element in self.elements:
                share = one.elements[element].share
                if share is not None:
                    self.share_at[place, element] = len(amounts)
                    amounts.append(share)
                else:
                    self.open_flow[place, element] = len(start)
                    start.append(0.0)
        self.values = np.array([nominal(amount) for amount in amounts])
        self.u = np.array([standard_uncertainty(amount) for amount in amounts])
        self.amounts = amounts
        self.covariance = covariance(amounts)
        self.start = np.array(start)
        before = dict.fromkeys(step for one in streams for step in (one.mass.step, one.step))
        self.step = Step("reconcile run/1", inputs=tuple(before))
        self.is_mass = np.array([place < len(self.mass_at) for place in range(len(amounts))])

    def balances(self, x: Floats, y: Floats) -> Linearised:
        """Imbalances and slopes, mass first, then the elements."""
        f = np.zeros(1 + len(self.elements))
        a, b = np.zeros((len(f), len(x))), np.zeros((len(f), len(y)))
        for place, sign in enumerate(self.signs):
            known = place in self.mass_at
            at = self.mass_at[place] if known else self.open_mass[place]
            mass, by_mass = (x[at], a) if known else (y[at], b)
            own = nominal(self.streams[place].own)
            f[0] += sign * own * mass
            by_mass[0, at] += sign * own
            for row, element in enumerate(self.elements, 1):
                if (share := self.share_at.get((place, element))) is not None:
                    f[row] += sign * mass * x[share]
                    by_mass[row, at] += sign * x[share]
                    a[row, share] += sign * mass
                else:
                    flow = self.open_flow[place, element]
                    f[row] += sign * y[flow]
                    b[row, flow] += sign
        return f, a, b

    def imbalances(self) -> tuple[Imbalance, ...]:
        """What is missing in each balance whose every term was measured."""
        found = []
        for of in (MASS, *self.elements):
            difference: Any = 0.0
            for sign, one in zip(self.signs, self.streams, strict=True):
                share: Any = one.own if of == MASS else one.elements[of].share
                if _is_nothing(share):
                    continue
                if one.mass.amount is None or one.by_difference or share is None:
                    break
                difference = difference + sign * one.mass.amount * share
            else:
                if nominal(difference) or standard_uncertainty(difference):
                    found.append(Imbalance(of, Result(f"{of} fed less found", difference, "g", "", self.step)))
        return tuple(found)

    def masses(self, solved: Reconciled, smallest: Mapping[int, float]) -> tuple[ReconciledValue, ...]:
        """Every mass in g."""
        found = []
        for place, name in enumerate(self.names):
            if (at := self.mass_at.get(place)) is not None:
                found.append(self._measured(name, "", at, solved, smallest))
            else:
                found.append(self._solved(name, "", self._carried(solved, self.open_mass[place])))
        return tuple(found)

    def shares(self, solved: Reconciled, smallest: Mapping[int, float]) -> tuple[ReconciledValue, ...]:
        """Every share in % that is uncertain or was to be solved for."""
        found = []
        masses = self.masses(solved, smallest)
        for place, name in enumerate(self.names):
            for element in self.elements:
                if (at := self.share_at.get((place, element))) is not None:
                    if self.u[at] > 0:
                        found.append(self._measured(name, element, at, solved, smallest))
                    continue
                flow = self._carried(solved, self.open_flow[place, element])
                mass = masses[place].reconciled.amount
                known = flow is not None and mass is not None and nominal(mass) != 0  # a share of nothing is unknown
                found.append(self._solved(name, element, flow / mass if known else None))
        return tuple(found)

    def _carried(self, solved: Reconciled, at: int) -> Any:
        """What was solved for, as an amount; None where the balances do not determine it."""
        value = float(solved.solved[at])
        return None if math.isnan(value) else self._combined(value, solved.carried[at])

    def _combined(self, value: float, slopes: Floats) -> Any:
        """A value that moves with the measured ones, so that it keeps their names in its budget."""
        amount: Any = value
        for slope, one in zip(slopes, self.amounts, strict=True):
            if abs(slope) * standard_uncertainty(one) > _NO_PART * max(abs(value), 1e-12):
                amount = amount + float(slope) * (one - nominal(one))
        return amount

    def _measured(
        self, stream: str, element: str, at: int, solved: Reconciled, smallest: Mapping[int, float]
    ) -> ReconciledValue:
        checked = solved.redundancy[at] > 0
        standing: Standing = "checked" if checked else "not checked"
        test = float(solved.tests[at]) if checked else None
        size = smallest.get(at)
        return ReconciledValue(
            stream, element,
            self._result(stream, element, self.amounts[at]),
            self._result(stream, element, self._combined(float(solved.values[at]), solved.kept[at])),
            test, standing, None if size is None or math.isnan(size) else _per(element) * float(size),
        )  # fmt: skip

    def _solved(self, stream: str, element: str, amount: Any) -> ReconciledValue:
        unit, basis = ("%", stream) if element else ("g", "")
        name = value_name(stream, element)
        raw = Result.missing(name, unit, basis, self.step, "balance.not_measured")
        if amount is None:
            none = Result.missing(name, unit, basis, self.step, "balance.not_solved")
            return ReconciledValue(stream, element, raw, none, None, "not determined")
        return ReconciledValue(stream, element, raw, self._result(stream, element, amount), None, "solved")

    def _result(self, stream: str, element: str, amount: Any) -> Result:
        unit, basis = ("%", stream) if element else ("g", "")
        return Result(value_name(stream, element), _per(element) * amount, unit, basis, self.step)

    def suspected(self, named: Sequence[NamedError], candidates: Sequence[int], solved: Reconciled) -> Suspected:
        """The last of the named errors as a record; the others before it are taken as not measured too.

        What the others say is the reconciled value with the error as a further unknown. Of inputs that are independent
        its variance is that of the error less that of the value; what they share with the value, a weighing for
        instance, tells of it as well.
        """
        one = named[-1]
        at = candidates[one.place]
        stream, element = self._named(at)
        value, u = float(self.values[at]), float(self.u[at])
        shared = solved.directions @ self.covariance[at]
        along_error = float(shared @ one.along)
        beside = shared - sum((shared @ other.along) * other.along for other in named)
        others = value - one.error - float(beside @ solved.imbalances)
        variance = u**2 + one.u_error**2 - 2 * along_error * one.u_error - float(beside @ beside)
        return Suspected(
            stream, element, one.test, one.chance,
            self._result(stream, element, self.amounts[at]),
            self._result(stream, element, measured(others, math.sqrt(max(variance, 0.0)), "the other measurements")),
            tuple(self._named(candidates[other]) for other in one.alike),
        )  # fmt: skip

    def _named(self, at: int) -> tuple[str, str]:
        for place, own in self.mass_at.items():
            if own == at:
                return self.names[place], ""
        place, element = next(key for key, own in self.share_at.items() if own == at)
        return self.names[place], element


def _names(streams: Sequence[Stream]) -> list[str]:
    """The streams by their names, a feed that shares its name with another stream by its place in the sheet too."""
    met = Counter(one.name for one in streams)
    return [
        f"feed {place} ({one.name})" if one.feed and met[one.name] > 1 else one.name
        for place, one in enumerate(streams, 1)
    ]


def _is_nothing(share: Any) -> bool:
    return share is not None and nominal(share) == 0 and standard_uncertainty(share) == 0


def _per(element: str) -> float:
    return 100.0 if element else 1.0


def _cautions(suspects: Sequence[Suspected], solved: Reconciled, settings: ReconciliationSettings) -> list[Caution]:
    found = []
    for one in suspects:
        facts = {
            "suspect": value_name(one.stream, one.element),
            "measured": f"{one.measured.value:.4g}",
            "others": _rounded(one.others.value or 0.0, one.others.u or 0.0),
            "wide": f"{2 * (one.others.u or 0.0):.2g}",
            "unit": one.measured.unit,
        }
        if one.alike:
            alike = ", ".join(value_name(*other) for other in one.alike)
            found.append(Caution("balance.suspects_alike", "balance", {**facts, "alike": alike}))
        else:
            found.append(Caution("balance.suspect", "balance", facts))
    if not suspects and solved.p < settings.unexplained:
        found.append(caution("balance.imbalance_spread", "balance", p=f"{solved.p:.1g}"))
    if solved.contradiction > 0:
        found.append(caution("balance.contradiction", "balance", share=f"{100 * solved.contradiction:.2g}"))
    return found


def _rounded(value: float, u: float) -> str:
    """A value to two digits of its standard uncertainty: a trace of rounding is nothing."""
    places = 1 - math.floor(math.log10(u)) if u > 0 else 6
    return f"{round(value, places) + 0.0:.6g}"


def value_name(stream: str, element: str) -> str:
    """A value in words: "mass of oil", "hydrogen of gas"."""
    return f"{reference('atomic_masses').by('symbol')[element]['name'] if element else MASS} of {stream}"
