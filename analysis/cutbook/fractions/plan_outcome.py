"""Read cuts, the ways of compounds and the course off a simulated distillation."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from cutbook.fractions.batch_still import StillState
from cutbook.fractions.cut_schemes import RESIDUE
from cutbook.fractions.pseudo_components import ChargedCompound
from cutbook.fractions.staged_still import Piece, Receiver, boiling_at_one_atmosphere_c
from cutbook.model.amount import Amount, measured, nominal
from cutbook.model.cuts import CutScheme
from cutbook.model.lineage import Step
from cutbook.model.plan import ChargeComposition, CompoundFate, CutEnd, PlannedCut, PlanPoint, PlanStage, TraceWay
from cutbook.model.result import Result
from cutbook.model.trace import Floats

CALCULATION = 0.01
"""Standard uncertainty of every share, in %, from the steps of the calculation."""
_ENDS: dict[str, CutEnd] = {"receiver": "head", "pot": "pot limit", "dry": "dry"}


@dataclass(frozen=True, eq=False)
class Outcome:
    """What became of one distillation, per g of charge.

    left : masses of each component in the still at the beginning of each receiver and at the end, shape (r + 1, n).
    share_left : of what was charged of each component, the same, with the traces last.
    """

    composition: ChargeComposition
    pieces: tuple[Piece, ...]
    left: Floats
    share_left: Floats


class OutcomeReader:
    """Reads results off an outcome, each with what it would be were the doubts otherwise."""

    def __init__(
        self,
        base: Outcome,
        doubts: Sequence[tuple[Amount, float, Outcome]],
        receivers: Sequence[Receiver],
        charge: Amount,
        step: Step,
        scheme: CutScheme,
        wanted: tuple[str, ...],
    ) -> None:
        self.base, self.doubts, self.receivers, self.charge = base, doubts, receivers, charge
        self.step, self.scheme, self.wanted = step, scheme, wanted

    def cuts(self, points: Sequence[PlanPoint]) -> tuple[PlannedCut, ...]:
        """Every receiver, and the residue."""
        limits = {cut.cut: cut.text(self.scheme.kind) for cut in self.scheme.cuts}
        ended = {piece.receiver.cut: piece.ended_by for piece in self.base.pieces}
        found = []
        for number, receiver in enumerate(self.receivers):
            of = [point for point in points if point.receiver == receiver.cut]
            grams = self._share(number)
            there = nominal(grams) > 1e-9
            found.append(
                self._cut(receiver.cut, limits[receiver.cut], receiver.lower_c, receiver.upper_c, number,
                          of if there else [], receiver.cut in self.wanted,
                          _ENDS[ended[receiver.cut]] if receiver.cut in ended else "not begun")
            )  # fmt: skip
        upper = self.receivers[-1].upper_c
        rest = "what did not come over"
        text = rest if math.isinf(upper) else f"> {upper:g} °C, and {rest}"
        found.append(self._cut(RESIDUE, text, upper, math.inf, len(self.receivers), [], False, ""))
        return tuple(found)

    def fates(self, compounds: Sequence[ChargedCompound]) -> tuple[CompoundFate, ...]:
        """Every compound looked for, by boiling point."""
        first = len(self.base.composition.components) - len(compounds)
        found = []
        for place, compound in enumerate(compounds):
            at = first + place
            shares, contents = [], []
            for number, name in enumerate((*(one.cut for one in self.receivers), RESIDUE)):

                def fate(o: Outcome, n: int = number, i: int = at) -> float:
                    return 100.0 * float(_over(o.share_left, n)[i])

                amount = self._amount(fate)
                shares.append((name, self._result(f"share of the {compound.boiling.name} in {name}", amount, "%",
                                                  f"{compound.boiling.name} charged")))  # fmt: skip
                cut_share = self._share(number)
                if compound.mass_share and nominal(cut_share) > 1e-7:
                    content = compound.mass_share * 100.0 * amount / cut_share
                    contents.append((name, self._result(f"{compound.boiling.name} in {name}", content, "%", name)))
            main = max(shares, key=lambda one: one[1].value or 0.0)[0]
            charged = None if compound.mass_share is None else 100.0 * compound.mass_share
            found.append(CompoundFate(compound.boiling.name, compound.boiling.boiling_c, charged, tuple(shares),
                                      tuple(contents), main))  # fmt: skip
        return tuple(sorted(found, key=lambda one: one.boiling_c))

    def ways(self, traces_c: Sequence[float]) -> tuple[TraceWay, ...]:
        """Every trace, in the order in which they were charged."""
        first = len(self.base.composition.components)
        names = (*(one.cut for one in self.receivers), RESIDUE)
        found = []
        for place, boiling in enumerate(traces_c):

            def share(o: Outcome, n: int, i: int = first + place) -> float:
                return 100.0 * float(_over(o.share_left, n)[i])

            shares = [(name, self._amount(partial(share, n=n))) for n, name in enumerate(names)]
            found.append(TraceWay(boiling, tuple(shares)))
        return tuple(found)

    def _cut(
        self, name: str, limits: str, lower: float, upper: float, number: int, points: Sequence[PlanPoint], kept: bool,
        ended_by: CutEnd,
    ) -> PlannedCut:  # fmt: skip
        def within(outcome: Outcome) -> Floats:
            # a stretch never reaches over a limit: its middle tells
            return np.array([lower <= part.boiling_c < upper for part in outcome.composition.components])

        def purity(outcome: Outcome) -> float:
            masses = _over(outcome.left, number)
            return 100.0 * float(masses[within(outcome)].sum() / masses.sum()) if masses.sum() > 1e-9 else 0.0

        def recovery(outcome: Outcome) -> float:
            inside = within(outcome)
            charged = float(outcome.left[0][inside].sum())
            return 100.0 * float(_over(outcome.left, number)[inside].sum()) / charged if charged > 1e-9 else 0.0

        share = self._share(number)
        empty = nominal(share) <= 1e-7
        without = "plan.empty_cut" if empty else "plan.nothing_within" if lower == math.inf else ""
        nothing_there = float(self.base.left[0][within(self.base)].sum()) <= 1e-9
        return PlannedCut(
            name, limits, lower, upper, kept,
            self._result(f"share of {name}", share, "%", "charge"),
            Result(f"mass of {name}", share / 100.0 * self.charge, "g", "", self.step),
            self._missing(f"purity of {name}", name, without) if without
            else self._result(f"purity of {name}", self._amount(purity), "%", name),
            self._missing(f"recovery of {name}", f"{limits} in the charge", "plan.nothing_within") if nothing_there
            else self._result(f"recovery of {name}", self._amount(recovery), "%", f"{limits} in the charge"),
            points[0] if points else None, points[-1] if points else None, ended_by,
        )  # fmt: skip

    def _share(self, number: int) -> Amount:
        return self._amount(lambda outcome: 100.0 * float(_over(outcome.left, number).sum()))

    def _amount(self, of: Callable[[Outcome], float]) -> Amount:
        value = float(of(self.base))
        amount = measured(value, CALCULATION, "calculation")
        for variable, weight, outcome in self.doubts:
            change = weight * (float(of(outcome)) - value)
            if change:
                amount = amount + change * variable
        return amount

    def _result(self, measurand: str, amount: Amount, unit: str, basis: str) -> Result:
        return Result(measurand, amount, unit, basis, self.step)

    def _missing(self, measurand: str, basis: str, reason: str) -> Result:
        return Result.missing(measurand, "%", basis, self.step, reason)


def _over(left: Floats, number: int) -> Floats:
    """What a receiver holds of each component; past the last receiver, what stays in the still."""
    return np.asarray(left[number] - left[number + 1] if number + 1 < len(left) else left[-1])


def course(outcome: Outcome) -> tuple[tuple[PlanPoint, ...], tuple[PlanStage, ...]]:
    """The points of the course of a distillation, and its stages of one pressure."""
    masses = np.array([part.mass_share for part in outcome.composition.components])
    charged = outcome.pieces[0].states[0].log_left[: masses.size]
    moments: list[tuple[Piece, StillState, int]] = []
    stage = 0
    pressure = math.nan
    for piece in outcome.pieces:
        if piece.column.pressure_kpa != pressure:
            stage, pressure = stage + 1, piece.column.pressure_kpa
        moments += [(piece, state, stage) for state in piece.states]
    heads = np.array([state.stages.head_c for _, state, _ in moments])
    kpa = np.array([piece.column.pressure_kpa for piece, _, _ in moments])
    equivalent = boiling_at_one_atmosphere_c(heads, kpa, outcome.composition.watson_k).tolist()
    points = []
    for (piece, state, number), boiling in zip(moments, equivalent, strict=True):
        over = 100.0 * float(masses @ (1.0 - np.exp(state.log_left[: masses.size] - charged)))
        points.append(PlanPoint(max(over, 0.0), state.stages.head_c, boiling, state.stages.pot_c,
                                piece.column.pressure_kpa, piece.receiver.cut, number))  # fmt: skip
    stages = []
    for number in range(1, stage + 1):
        of = [point for point in points if point.stage == number]
        first, last = of[0], of[-1]
        receivers = tuple(dict.fromkeys(point.receiver for point in of))
        stages.append(PlanStage(number, first.pressure_kpa, first.distillate, last.distillate, first.head_c,
                                last.head_c, first.pot_c, last.pot_c, receivers))  # fmt: skip
    return tuple(points), tuple(stages)
