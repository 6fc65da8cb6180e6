"""Put the simulated curve of a trace as a still of a given kind would read it, with the doubt of the conversion."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cutbook.fractions.curve_conversions import (
    beyond_power_law,
    beyond_steps,
    convert_by_power_law,
    convert_curve,
)
from cutbook.model.amount import Amount, doubt, nominal
from cutbook.model.boiling import FINAL, INITIAL, BoilingCurve
from cutbook.model.still import Axis, StillKind
from cutbook.model.trace import Floats
from cutbook.model.units import KELVIN

Simulated = Callable[[Floats], Floats]
"""Recovered mass % -> °C; NaN where the curve is not known."""

NODES = (INITIAL, 10.0, 30.0, 50.0, 70.0, 90.0, FINAL)
"""Points of a simulated curve that the conversions take; its ends stand for 0 and 100 %."""
_ENDS = {INITIAL: 0.0, FINAL: 100.0}
_MOST_SMEAR_C = 40.0
"""°C of doubt at most where a curve jumps: beyond, it says nothing any more."""
_HALF_WINDOW = 2.0
"""% to either side over which a node is averaged: one large peak may hold as much."""


@dataclass(frozen=True)
class ConversionSettings:
    """How far a converted curve is trusted, standard uncertainties in °C.

    u_common_c : of the whole curve; 1.5, since at 50 % the published forms stay within 1 to 4 °C of the measured pair
        of curves seen, and within 5 °C on average by their authors' own account.
    u_node_c : at 0, 10, 30, 50, 70, 90 and 100 % by itself, so that the curve may be tilted and bent; growing outward,
        since at 0 % the measured pair is 12 °C off and on wide oils the two forms part most at 10 %.
    u_wide : by which share these grow for each step beyond what the conversion was fitted on.
    u_smear : % by which a still may smear the curve more or less than the conversion; it tells where the curve is
        steep, between an oil and its wax above all.
    """

    u_common_c: float = 1.5
    u_node_c: tuple[float, ...] = (12.0, 5.0, 2.5, 2.0, 2.5, 5.0, 12.0)
    u_wide: float = 0.1
    u_smear: float = 3.0


@dataclass(frozen=True, eq=False)
class CurveInKind:
    """A trace as a still would read it.

    conversion : key of the label. axis : what recovered % are counted in. beyond : steps and points outside what the
    conversion was fitted on. temperatures : °C at each recovered % asked for, None where the curve does not reach.
    """

    conversion: str
    axis: Axis
    beyond: tuple[str, ...]
    recovered: Floats
    temperatures: tuple[Amount | None, ...]


def simulated_of(curve: BoilingCurve) -> Simulated:
    """The curve as a function, by its known points."""
    known = [(p.recovered, p.temperature.value) for p in curve.points if p.temperature.value is not None]
    at, values = (np.array(column) for column in zip(*known, strict=True)) if known else (np.zeros(0), np.zeros(0))

    def simulated(recovered: Floats) -> Floats:
        if len(at) < 2:
            return np.full(np.shape(recovered), np.nan)
        return np.asarray(np.interp(recovered, at, values, left=np.nan, right=np.nan))

    return simulated


def conversion_for(kind: StillKind, nodes: dict[float, float]) -> str:
    """Key of the conversion that a still of this kind is compared by.

    A one-plate still, also under vacuum once its readings are equivalent temperatures, reads a one-plate curve. A
    packed one reads a true boiling curve; where the steps of the simulated curve are wider than its conversion was
    fitted on, the simulated curve itself is taken for it, as the standard says it may (ASTM D2887, section 5).
    """
    if kind != "packed":
        return "one-plate"
    return "simulated" if beyond_steps(nodes, "SD to TBP") or 50.0 not in nodes else "true-boiling"


def nodes_of(simulated: Simulated) -> dict[float, float]:
    """The points that the conversions take, each averaged over its neighbourhood; those not known are left out."""
    found = {}
    for node in NODES:
        around = np.array([node]) if node in _ENDS else node + np.linspace(-_HALF_WINDOW, _HALF_WINDOW, 9)
        value = float(np.mean(simulated(around)))
        if np.isfinite(value):
            found[_ENDS.get(node, node)] = value
    return found


def convert(simulated: Simulated, conversion: str) -> Callable[[Floats], Floats]:
    """The curve in another kind as a function of recovered %; NaN where it does not reach.

    Between its points the converted curve is interpolated without overshoot. A one-plate curve is the mean of the two
    published forms, step by step and by power law; they part by up to 10 °C on wide oils.
    """
    if conversion == "simulated":
        return _drawn_out(simulated)
    nodes = nodes_of(simulated)
    try:
        forms = [convert_curve(nodes, "SD to TBP" if conversion == "true-boiling" else "SD to D86")]
        if conversion == "one-plate" and 10.0 in nodes:
            forms.append(convert_by_power_law(nodes, "SD to D86"))
    except ValueError:
        return lambda recovered: np.full(np.shape(recovered), np.nan)
    shared = sorted(set.intersection(*(set(form) for form in forms)))
    if len(shared) < 2:
        return lambda recovered: np.full(np.shape(recovered), np.nan)
    mean = np.maximum.accumulate([float(np.mean([form[at] for form in forms])) for at in shared])
    return _smooth(np.array(shared), mean)


def _drawn_out(simulated: Simulated) -> Callable[[Floats], Floats]:
    """The simulated curve without its steps, which no column of a workshop parts: averaged over 4 % to either side."""
    away = np.linspace(-2.0 * _HALF_WINDOW, 2.0 * _HALF_WINDOW, 17)

    def drawn_out(recovered: Floats) -> Floats:
        at = np.asarray(recovered, dtype=np.float64)[..., None] + away
        values = simulated(np.clip(at, INITIAL, FINAL))
        return np.asarray(np.mean(values, axis=-1))

    return drawn_out


def _smooth(at: Floats, values: Floats) -> Callable[[Floats], Floats]:
    from scipy.interpolate import PchipInterpolator

    between = PchipInterpolator(at, values, extrapolate=False)
    return lambda recovered: np.asarray(between(recovered))


def trace_in_kind(
    curve: BoilingCurve,
    kind: StillKind,
    recovered: Floats,
    settings: ConversionSettings = ConversionSettings(),
) -> CurveInKind:
    """The trace at the given recovered %, as a still of this kind would read it.

    Returns
    -------
    CurveInKind
        Temperatures with the doubts of the trace and of the conversion, correlated along the curve.

    Notes
    -----
    Simulated curves are by mass, one-plate and true boiling curves by volume; the published conversions take the one
    % for the other, and so their results are by volume. Only a simulated curve taken as it is stays by mass.
    """
    simulated = simulated_of(curve)
    nodes = nodes_of(simulated)
    conversion = conversion_for(kind, nodes)
    values = convert(simulated, conversion)(recovered)
    doubts = _doubts(simulated, nodes, conversion, recovered, settings)
    of_trace = _of_trace(curve, simulated, conversion, recovered)
    found: list[Amount | None] = []
    for at, value in enumerate(values):
        deviation = of_trace[at]
        if not np.isfinite(value) or deviation is None:
            found.append(None)
            continue
        amount: Amount = float(value) + deviation
        for variable, change in doubts:
            if change[at]:
                amount = amount + float(change[at]) * variable
        found.append(amount)
    return CurveInKind(conversion, "mass" if conversion == "simulated" else "volume",
                       _beyond(nodes, conversion), recovered, tuple(found))  # fmt: skip


def _beyond(nodes: dict[float, float], conversion: str) -> tuple[str, ...]:
    if conversion != "one-plate":
        return ()
    return (*beyond_steps(nodes, "SD to D86"), *(f"{at:g}" for at in beyond_power_law(nodes, "SD to D86")))


def _doubts(
    simulated: Simulated, nodes: dict[float, float], conversion: str, recovered: Floats, settings: ConversionSettings
) -> list[tuple[Amount, Floats]]:
    """Each doubt of the conversion as a variable with its change along the curve in °C."""
    wider = 1.0 + settings.u_wide * len(beyond_steps(nodes, "SD to D86"))
    found = [(doubt("conversion, all of the curve"), np.full(len(recovered), settings.u_common_c * wider))]
    places = np.array([_ENDS.get(node, node) for node in NODES])
    for number, place in enumerate(places):
        hat = np.interp(recovered, places, np.eye(len(places))[number])
        found.append((doubt(f"conversion at {place:g} %"), settings.u_node_c[number] * wider * hat))
    rise = np.gradient(np.nan_to_num(convert(simulated, conversion)(recovered)), recovered)
    usual = float(np.median(rise[rise > 0.0])) if np.any(rise > 0.0) else 0.0
    steep = settings.u_smear * np.clip(rise - usual, 0.0, None)
    for side, part in (("lower", recovered < 50.0), ("upper", recovered >= 50.0)):
        found.append(
            (doubt(f"smearing of the still, {side} half"), np.where(part, np.minimum(steep, _MOST_SMEAR_C), 0.0))
        )
    if conversion == "one-plate" and {10.0, 50.0} <= set(nodes):
        try:
            forms = (convert_curve(nodes, "SD to D86"), convert_by_power_law(nodes, "SD to D86"))
        except ValueError:
            return found
        shared = sorted(set(forms[0]) & set(forms[1]))
        apart = [0.5 * (forms[0][at] - forms[1][at]) for at in shared]
        found.append((doubt("which form of the conversion"), np.interp(recovered, shared, apart)))
    return found


def _of_trace(curve: BoilingCurve, simulated: Simulated, conversion: str, recovered: Floats) -> list[Amount | None]:
    """Doubt of the trace at each recovered %, of expectation 0: that of its nodes carried through the conversion."""
    points = [point for point in curve.points if point.temperature.amount is not None]
    if not points:
        return [None] * len(recovered)
    known = np.array([point.recovered for point in points])
    amounts = [point.temperature.amount for point in points if point.temperature.amount is not None]
    deviations: list[Amount] = [amount - nominal(amount) for amount in amounts]
    if conversion == "simulated":
        return [deviations[int(np.argmin(np.abs(known - at)))] for at in recovered]
    shifts, variables = [], []
    base = convert(simulated, conversion)(recovered)
    for node in NODES:
        near = int(np.argmin(np.abs(known - node)))
        if abs(known[near] - node) > _HALF_WINDOW:
            continue

        def moved(at: Floats, node: float = node) -> Floats:
            # one degree more around this node, falling to nothing at its neighbours
            hat = np.interp(at, NODES, [1.0 if other == node else 0.0 for other in NODES])
            return np.asarray(simulated(at) + hat)

        shifts.append(np.nan_to_num(convert(moved, conversion)(recovered) - base))
        variables.append(deviations[near])
    found: list[Amount | None] = []
    for at in range(len(recovered)):
        amount: Amount = 0.0 * deviations[0]
        for shift, variable in zip(shifts, variables, strict=True):
            if abs(shift[at]) > 1e-9:
                amount = amount + float(shift[at]) * variable
        found.append(amount)
    return found


def volume_percent(simulated: Simulated, mass_percent: Floats) -> Floats:
    """Recovered volume % at each recovered mass %, by a density profile of constant Watson factor.

    Notes
    -----
    With ``K = (1.8 T)^(1/3) / SG`` the same for all of the oil, SG goes with the cube root of the boiling point in K,
    and the density of the oil itself cancels. Where the curve is not known its nearest known end is taken.

    References
    ----------
    Watson and Nelson 1933, as in ASTM MNL50 (2005), equation 2.13.
    """
    grid = np.linspace(0.5, 99.5, 100)
    kelvin = simulated(grid) + KELVIN
    known = np.isfinite(kelvin)
    if not known.any():
        return np.full(np.shape(mass_percent), np.nan)
    kelvin = np.interp(grid, grid[known], kelvin[known])
    volume = np.concatenate([[0.0], np.cumsum(kelvin ** (-1.0 / 3.0))])
    return np.asarray(np.interp(mass_percent, np.linspace(0.0, 100.0, 101), 100.0 * volume / volume[-1]))
