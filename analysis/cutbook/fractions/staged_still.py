"""Distil a charge receiver by receiver, lowering the pressure whenever the pot would grow too hot."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from cutbook.fractions.batch_still import Ending, StillSettings, StillState, distil
from cutbook.fractions.column_stages import Column, PressureLaw, tabled
from cutbook.fractions.compound_boiling import CompoundBoiling, compound_pressure_kpa
from cutbook.fractions.vapour_pressure import vapour_pressure_kpa
from cutbook.model.plan import ChargeComposition
from cutbook.model.trace import Floats

_TRACE = 1e-12  # moles of what is charged in an unknown, small amount, against all moles
_LOWEST_C, _HIGHEST_C = -80.0, 700.0
_LOG_NEVER = -60.0  # ln P of what does not boil
_TRIALS = 12
_ROUGH = 1e-3  # tolerance of a trial that only finds a pressure


@dataclass(frozen=True)
class Receiver:
    """A receiver: the cut that goes into it, and its limits in °C at 101.325 kPa, read at the head."""

    cut: str
    lower_c: float
    upper_c: float


@dataclass(frozen=True)
class StagedSettings:
    """How pressures are found.

    pot_limit_c : the pot is kept below it; 340 °C, 10 °C below the temperature from which oils are taken to crack in
        the pot (`reference/method_ranges.csv`).
    lowest_kpa : the best vacuum at hand; 0.1 kPa is what a rotary pump holds on a tight apparatus (common practice, no
        source). held_below_c : kept in hand below the pot limit when a pressure is chosen.
    """

    pot_limit_c: float = 340.0
    lowest_kpa: float = 0.1
    held_below_c: float = 3.0


@dataclass(frozen=True, eq=False)
class Piece:
    """One receiver, or part of it, at one pressure. ended_by : "receiver", "pot" or "dry"."""

    receiver: Receiver
    column: Column
    states: tuple[StillState, ...]
    ended_by: str


@dataclass(frozen=True, eq=False)
class Charge:
    """A charge as moles. log_moles : of each component, per g of charge; traces last. molar_mass : g/mol."""

    log_moles: Floats
    molar_mass: Floats
    pressures: PressureLaw


def charge_of(
    composition: ChargeComposition,
    compounds: Sequence[CompoundBoiling],
    activity: float = 1.0,
    traces_c: Sequence[float] = (),
) -> Charge:
    """The moles of each component in one gram, and the law of their vapour pressures.

    Parameters
    ----------
    composition : see there. compounds : those of the composition, in its order. activity : coefficient of the compounds
        in the mixture, 1 for an ideal one. traces_c : boiling points of further traces, °C, which come last; each has
        the vapour pressure of a pseudo-component that boils there, and too few moles to move a temperature.
    """
    parts = composition.components
    masses = np.array([part.mass_share for part in parts])
    molar = np.array([part.molar_mass for part in parts])
    moles = masses / molar
    whole = float(moles.sum())
    plain = np.array([part.boiling_c for part in parts if part.volatile and not part.compound])
    never = sum(not part.volatile for part in parts)

    if traces_c:
        moles = np.concatenate([moles, np.zeros(len(traces_c))])
        molar = np.concatenate([molar, np.ones(len(traces_c))])  # of no consequence: shares alone are read

    def law_kpa(at: Floats) -> Floats:
        columns = [vapour_pressure_kpa(at, plain, composition.watson_k)]
        columns.append(np.full((at.shape[0], never), math.exp(_LOG_NEVER)))
        columns += [activity * compound_pressure_kpa(one, at) for one in compounds]
        if traces_c:
            columns.append(activity * vapour_pressure_kpa(at, np.array(traces_c), composition.watson_k))
        return np.concatenate(columns, axis=1)

    return Charge(
        np.log(np.where(moles > 0, moles, _TRACE * whole)), molar,
        tabled(law_kpa, _LOWEST_C, _HIGHEST_C),
    )  # fmt: skip


def distil_in_stages(
    charge: Charge,
    column: Column,
    receivers: Sequence[Receiver],
    watson_k: float,
    settings: StagedSettings,
    still: StillSettings,
    programme: Sequence[float] | None = None,
) -> tuple[Piece, ...]:
    """The whole distillation, piece by piece.

    Parameters
    ----------
    charge : see there. column : with the pressure to begin at. receivers : lightest first.
    watson_k : with which head temperatures are read at 101.325 kPa.
    settings, still : see there.
    programme : kPa, gone to one after another when the pot grows too hot, whatever it does then; found by the rule
        below when None.

    Returns
    -------
    tuple of Piece
        A receiver ends when the head reads its upper limit; one without an upper limit, when the pot does at the lowest
        pressure. Where the pot would grow too hot before, the rest of the receiver is distilled at the highest
        pressure, to two digits, at which it does not; and when not even the lowest pressure is low enough, the
        distillation ends there.
    """
    pieces: list[Piece] = []
    log_moles, near = charge.log_moles, None
    given = None if programme is None else list(programme)
    for receiver in receivers:
        limit = math.inf if given is not None and not given else settings.pot_limit_c
        piece = _distil(charge, column, receiver, log_moles, near, watson_k, limit, still)
        pieces.append(piece)
        last = piece.states[-1]
        if piece.ended_by == "pot" and given is not None:
            at = replace(column, pressure_kpa=given.pop(0))
            limit = settings.pot_limit_c if math.isinf(receiver.upper_c) else math.inf
            piece = _distil(charge, at, receiver, last.log_left, None, watson_k, limit, still)
            column, last = at, piece.states[-1]
            pieces.append(piece)
        elif piece.ended_by == "pot" and column.pressure_kpa > settings.lowest_kpa:
            piece = _under_vacuum(charge, column, receiver, last, watson_k, settings, still)
            column, last = piece.column, piece.states[-1]
            pieces.append(piece)
        if piece.ended_by != "receiver":
            break
        log_moles, near = last.log_left, last.stages.temperatures_c
    return tuple(pieces)


def _distil(
    charge: Charge,
    column: Column,
    receiver: Receiver,
    log_moles: Floats,
    near: Floats | None,
    watson_k: float,
    pot_limit_c: float,
    still: StillSettings,
) -> Piece:
    endings = []
    if math.isfinite(receiver.upper_c):
        change_c = _boils_at_c(receiver.upper_c, column.pressure_kpa, watson_k)
        endings.append(Ending("receiver", lambda state: state.stages.head_c - change_c))
    endings.append(Ending("pot", lambda state: state.stages.pot_c - pot_limit_c))
    run = distil(log_moles, column, charge.pressures, endings, still, near, np.exp(charge.log_moles))
    return Piece(receiver, column, run.states, run.ended_by)


def _under_vacuum(
    charge: Charge,
    column: Column,
    receiver: Receiver,
    start: StillState,
    watson_k: float,
    settings: StagedSettings,
    still: StillSettings,
) -> Piece:
    """The rest of a receiver at the highest pressure at which the pot stays cool enough."""
    cool = settings.pot_limit_c - settings.held_below_c
    pressure = settings.lowest_kpa
    if math.isfinite(receiver.upper_c):
        # what is left in the end boils at the same temperature under all pressures, nearly: a trial tells
        trial = _distil(
            charge, replace(column, pressure_kpa=max(settings.lowest_kpa, 0.1 * column.pressure_kpa)), receiver,
            start.log_left, None, watson_k, math.inf, replace(still, tolerance=_ROUGH),
        )  # fmt: skip
        pot = np.log(np.maximum(trial.states[-1].stages.pot, 1e-300))
        pressure = _bubble_kpa(pot, cool, charge.pressures) - column.drop_kpa * column.acting_plates
    for _ in range(_TRIALS):
        pressure = max(settings.lowest_kpa, _two_digits_down(min(pressure, 0.9 * column.pressure_kpa)))
        at = replace(column, pressure_kpa=pressure)
        piece = _distil(charge, at, receiver, start.log_left, None, watson_k, settings.pot_limit_c, still)
        if piece.ended_by != "pot" or pressure <= settings.lowest_kpa:
            break
        pressure *= 0.85
    return piece


def _boils_at_c(boiling_c: float, pressure_kpa: float, watson_k: float) -> float:
    """The temperature under a pressure of what boils at another at 101.325 kPa, °C."""

    def excess(at_c: float) -> float:
        return math.log(float(vapour_pressure_kpa(at_c, boiling_c, watson_k)) / pressure_kpa)

    return float(brentq(excess, -150.0, 1200.0, xtol=1e-9))


def _bubble_kpa(log_shares: Floats, at_c: float, pressures: PressureLaw) -> float:
    """The pressure at which a liquid boils at a temperature."""
    return float(np.exp(log_shares + pressures(np.array([at_c]))[0][0]).sum())


def _two_digits_down(value: float) -> float:
    if value <= 0:
        return 0.0
    unit = 10.0 ** (math.floor(math.log10(value)) - 1)
    return round(math.floor(value / unit * (1 + 1e-9)) * unit, 12)


def boiling_at_one_atmosphere_c(temperature_c: Floats, pressure_kpa: Floats, watson_k: float) -> Floats:
    """What boils at a temperature under a pressure, by its boiling point at 101.325 kPa; °C, by bisection."""
    low = np.full_like(temperature_c, -100.0)
    high = np.full_like(temperature_c, 900.0)
    for _ in range(30):
        middle = 0.5 * (low + high)
        lighter = vapour_pressure_kpa(temperature_c, middle, watson_k) > pressure_kpa
        low, high = np.where(lighter, middle, low), np.where(lighter, high, middle)
    return np.asarray(0.5 * (low + high))
