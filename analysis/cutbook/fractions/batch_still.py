"""Distil a charge batchwise: what is in the still, and how hot pot and head are, as it is boiled down."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from cutbook.fractions.column_stages import Column, PressureLaw, Stages, column_stages
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class StillSettings:
    """How a distillation is followed.

    tolerance : error allowed in one step of what is left of any component, as a share of its charge; 1e-5 keeps a
        whole distillation within 1e-4 of its charge.
    longest_step : of ln(moles left); 0.1 resolves a curve finely enough to be drawn.
    least_left : moles left, as a share of the charge, at which a still is dry.
    """

    tolerance: float = 1e-5
    longest_step: float = 0.1
    least_left: float = 1e-3


@dataclass(frozen=True, eq=False)
class StillState:
    """A moment of a distillation.

    left : moles of each component still in pot and plates. stages : of the column.
    """

    log_left: Floats
    stages: Stages

    @property
    def left(self) -> Floats:
        """Moles of each component in pot and plates."""
        return np.asarray(np.exp(self.log_left))

    @property
    def distillate(self) -> Floats:
        """Mole fractions of what comes over at this moment."""
        return np.asarray(self.stages.leaving_ratio * self.left / self.left.sum())


@dataclass(frozen=True)
class Ending:
    """When to stop: as soon as `passed` is no longer negative."""

    name: str
    passed: Callable[[StillState], float]


@dataclass(frozen=True, eq=False)
class Distillation:
    """One distillation: its states from first to last, and the name of the ending that stopped it ("dry" for none)."""

    states: tuple[StillState, ...]
    ended_by: str


def distil(
    log_moles: Floats,
    column: Column,
    pressures: PressureLaw,
    endings: Sequence[Ending] = (),
    settings: StillSettings = StillSettings(),
    near_c: Floats | None = None,
    charge_moles: Floats | None = None,
) -> Distillation:
    """Boil a charge down until an ending is reached or the still is dry.

    Parameters
    ----------
    log_moles : natural logarithm of the moles of each component in the still; a trace may be as small as one likes.
    column : with a finite reflux. pressures : vapour pressures. endings : see there.
    settings : see `StillSettings`.
    near_c : temperatures of the stages to begin with. charge_moles : against which errors are measured, of each
        component; what is in the still at the beginning when None.

    Returns
    -------
    Distillation
        Every component lost from the still is in the distillate, exactly: what comes over between two states is the
        difference of what is left.

    Raises
    ------
    ValueError
        At total reflux, and as for `column_stages`.

    Notes
    -----
    With W the moles in the still and ξ = -ln W, each component obeys ``d ln n/dξ = -x_D W/n``, which for one stage is
    the equation of Rayleigh. The logarithms change evenly where the moles themselves fall by orders of magnitude, so
    that an explicit method suffices: Dormand and Prince, 5(4), error control on the share of the charge that is left.

    References
    ----------
    Rayleigh, Phil. Mag. 4 (1902) 521; Dormand and Prince, J. Comput. Appl. Math. 6 (1980) 19.
    """
    if math.isinf(column.reflux):
        raise ValueError("at total reflux nothing comes over")
    charged = np.log(charge_moles) if charge_moles is not None else log_moles
    held = column.held_mol if column.acting_plates else 0.0
    least = math.log(held + settings.least_left * float(np.exp(charged).sum()))
    state = StillState(log_moles, column_stages(log_moles, column, pressures, near_c))
    path = [state]
    for ending in endings:
        if ending.passed(state) >= 0.0:
            return Distillation((state,), ending.name)
    size = min(0.01, settings.longest_step)
    while True:
        to_dry = math.log(float(state.left.sum())) - least
        if to_dry <= 1e-12:
            return Distillation(tuple(path), "dry")
        step = _Step(state, column, pressures, path)
        while True:
            size = min(size, settings.longest_step, to_dry)
            try:
                with np.errstate(over="raise", divide="raise", invalid="raise"):
                    new, error = step.of(size, charged)
            except (ValueError, ArithmeticError):  # past what can boil
                if size < _SMALLEST_STEP:
                    return Distillation(tuple(path), "dry")
                size *= 0.2
                continue
            if error <= settings.tolerance:
                break
            size *= max(0.2, 0.9 * (settings.tolerance / error) ** 0.2)
        reached = [ending for ending in endings if ending.passed(new) >= 0.0]
        if reached:
            sizes = [(_until(ending, step, new, size), ending.name) for ending in reached]
            at, name = min(sizes)
            path.append(step.of(at, charged)[0])
            return Distillation(tuple(path), name)
        path.append(new)
        state = new
        size *= min(4.0, 0.9 * (settings.tolerance / max(error, 1e-12)) ** 0.2)


_SMALLEST_STEP = 1e-6
"""Of ln(moles left), below which a still out of which nothing more boils is dry."""
_MET = 1e-6
"""How closely an ending is met, in its own unit."""
_NODES = ((1 / 5,), (3 / 40, 9 / 40), (44 / 45, -56 / 15, 32 / 9),
          (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
          (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
          (35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84))  # fmt: skip
_AT = (0.2, 0.3, 0.8, 8 / 9, 1.0, 1.0)
_ERROR = (71 / 57600, 0.0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40)


class _Step:
    """Steps of any size from one state."""

    def __init__(self, state: StillState, column: Column, pressures: PressureLaw, path: Sequence[StillState]) -> None:
        self.state, self.column, self.pressures = state, column, pressures
        self.here = state.stages.temperatures_c
        self.trend = np.zeros_like(self.here)  # of the temperatures with ξ
        if len(path) > 1:
            before = path[-2]
            gone = math.log(float(before.left.sum()) / float(state.left.sum()))
            self.trend = (self.here - before.stages.temperatures_c) / gone

    def of(self, size: float, charged: Floats) -> tuple[StillState, float]:
        """The state after a step in ξ, and its error."""
        slopes = [-self.state.stages.leaving_ratio]
        at, stages = self.state.log_left, self.state.stages
        for weights, when in zip(_NODES, _AT, strict=True):
            change = sum(weight * slope for weight, slope in zip(weights, slopes, strict=True))
            at = self.state.log_left + size * np.asarray(change)
            guess = self.here + when * size * self.trend
            stages = column_stages(at, self.column, self.pressures, guess, stages.inverse)
            slopes.append(-stages.leaving_ratio)
        missed = size * np.abs(sum(weight * slope for weight, slope in zip(_ERROR, slopes, strict=True)))
        share = np.exp(np.minimum(np.maximum(at, self.state.log_left) - charged, 0.0))
        return StillState(at, stages), float(np.max(share * missed))

    def between(self, new: StillState, size: float, at: float) -> StillState:
        """The state at a fraction of a step, by Hermite's cubic through its ends."""
        rise = new.log_left - self.state.log_left
        first, last = -size * self.state.stages.leaving_ratio, -size * new.stages.leaving_ratio
        log_left = self.state.log_left + at * rise + at * (1.0 - at) * (
            (1.0 - at) * (first - rise) - at * (last - rise)
        )  # fmt: skip
        near = self.here + at * (new.stages.temperatures_c - self.here)
        return StillState(log_left, column_stages(log_left, self.column, self.pressures, near, new.stages.inverse))


def _until(ending: Ending, step: _Step, new: StillState, size: float) -> float:
    """The step at whose end an ending is just reached, on the curve through both ends of a whole step."""
    low, high = 0.0, 1.0
    value_low, value_high = ending.passed(step.state), ending.passed(new)
    for turn in range(60):
        if value_high < _MET or high - low < 1e-10:
            break
        at = high - value_high * (high - low) / (value_high - value_low)
        if turn % 3 == 2 or not low < at < high:  # where one end stands still the false position creeps
            at = 0.5 * (low + high)
        value = ending.passed(step.between(new, size, at))
        if value >= 0.0:
            high, value_high = at, value
        else:
            low, value_low = at, value
    return high * size
