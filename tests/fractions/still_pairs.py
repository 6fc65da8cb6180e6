"""Oils, and what a still and a trace say of them, with one thing gone wrong on request.

The still is distilled by its physics (`distillation_physics`), not by the conversions under test. What is drawn, and
from what ranges, is said at each place.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from distillation_physics import KELVIN, Components, distil, stem_error

from cutbook.fractions.boiling_curve import RECOVERED
from cutbook.model.amount import doubt, measured
from cutbook.model.boiling import BoilingCurve, CurvePoint
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.still import Reading, StillCurve, StillLog, StillPoint
from cutbook.model.tables import reference

_BOILING = reference("n_alkanes").numbers("carbon_number", "boiling_c")
CARBONS = np.array(sorted(_BOILING), float)
BOILING_C = np.array([_BOILING[n] for n in CARBONS])
SOLVENTS = ("n-hexane", "n-heptane", "acetone", "toluene", "cyclohexane", "dichloromethane", "tetrahydrofuran")
HIDING = {"carbon disulfide": (5, 6), "dichloromethane": (5, 6), "n-hexane": (6, 6), "cyclohexane": (6, 7)}


def celsius(carbons):
    return np.interp(carbons, CARBONS, BOILING_C)


@dataclass
class Oil:
    """Mass of each component; where it boils, and where the trace says that it does."""

    boiling_c: np.ndarray
    mass: np.ndarray
    watson_k: float
    shown_c: np.ndarray

    def density(self):
        """g/mL of the whole, volumes added."""
        parts = Components(self.boiling_c, self.watson_k).density
        return float(self.mass.sum() / np.sum(self.mass / parts))

    def with_share(self, boils, shows, share):
        """The oil with a share (0–1) of a solvent."""
        oil = self.mass / self.mass.sum() * (1 - share)
        boiling, shown = np.append(self.boiling_c, boils), np.append(self.shown_c, shows)
        mass = np.append(oil, share)
        order = np.argsort(boiling, kind="stable")
        return replace(self, boiling_c=boiling[order], shown_c=shown[order], mass=mass[order])


def an_oil(rng, light=0.0):
    """A pyrolysis oil: a bell of carbon numbers, a second one of wax, n-alkanes and alkenes above the rest.

    Middle of the bell C9.5–C16, its spread 3–6.5 carbons; wax 0–25 % around C20–C27; single components scattered by
    30 %; n-alkanes 1.5–5 times their neighbours; what lies below C7 depleted to 30–100 %. Aromatic compounds show up to
    3 °C away from where they boil. light : share that is added in C5 to C7, where a solvent may hide it.
    """
    middle, spread = rng.uniform(9.5, 16), rng.uniform(3, 6.5)
    wax, at = rng.uniform(0, 0.25), rng.uniform(20, 27)
    n = np.arange(5, 44.01, 0.25)
    mass = (1 - wax) / spread * np.exp(-0.5 * ((n - middle) / spread) ** 2)
    mass += wax / 3 * np.exp(-0.5 * ((n - at) / 3) ** 2)
    mass *= np.exp(rng.normal(0, 0.3, len(n)))
    mass[::4] *= rng.uniform(1.5, 5)
    mass[n < 7] *= rng.uniform(0.3, 1)
    mass /= mass.sum()
    if light:
        mass = mass * (1 - light) + light * np.where(n <= 7, 1, 0) / np.sum(n <= 7)
    shown = celsius(n)
    bias = np.interp(shown, [40, 150, 300, 550], rng.normal(0, [1, 1.5, 2, 2]))
    return Oil(shown + bias, mass, rng.uniform(11.7, 12.4), shown)


@dataclass
class Pair:
    """What a test gives to the comparison, and what is true. facts : of what went wrong."""

    still: StillCurve
    curve: BoilingCurve
    pressure_given: bool = True
    solvent: str = ""
    facts: dict = field(default_factory=dict)


# --- the trace -------------------------------------------------------------------------------------------------------


def a_trace(rng, oil, off=0, whole=True, residue=0.0, hidden=None):
    """The simulated curve of an oil.

    Off by a response that drifts along the oil (up to 0.6 % recovered, one standard uncertainty), by retention (0.3 °C)
    and noise (0.3 °C), each declared as it is drawn. off : carbons by which the ladder is numbered too high.
    residue : share (0–1) of the oil, its heaviest, that never elutes. hidden : lowest and highest °C cut out.
    """
    order = np.argsort(oil.shown_c, kind="stable")
    shown, mass = oil.shown_c[order], oil.mass[order] / oil.mass.sum()
    if hidden is not None:
        mass = np.where((shown >= hidden[0]) & (shown <= hidden[1]), 0.0, mass)
    if residue:
        mass = np.diff(np.minimum(np.concatenate([[0.0], np.cumsum(mass)]), (1 - residue) * mass.sum()))
    shown, mass = shown[mass > 0], mass[mass > 0] / mass.sum()
    shown = np.interp(np.interp(shown, BOILING_C, CARBONS) + off, CARBONS, BOILING_C)
    # what elutes as one large peak stands level, what is one of many small ones reaches to its neighbours
    half = np.where(mass > 0.04, 0.3, np.minimum(0.5 * np.gradient(shown), 3.0))
    ends = 100 * np.concatenate([[0.0], np.cumsum(mass)])
    share = np.column_stack([ends[:-1] + 0.01 * mass, ends[1:] - 0.01 * mass]).ravel()
    known = share, np.maximum.accumulate(np.column_stack([shown - half, shown + half]).ravel())
    at = np.array(RECOVERED)
    drift = 0.6 * np.sin(np.pi * at / 100)
    drawn = rng.normal(0, 1, 2)
    values = np.interp(at + drift * drawn[0], *known) + 0.3 * drawn[1] + rng.normal(0, 0.3, len(at))
    slope = np.gradient(np.interp(at, *known), at)
    response, retention = doubt("detector response"), doubt("retention times of the ladder")
    step = Step("read boiling curve/1", settings={"drawn": [float(one) for one in drawn]})
    points = tuple(
        CurvePoint(float(p), Result("boiling point", measured(float(v), 0.3, "detector noise")
                                    + float(drift[i] * slope[i]) * response + 0.3 * retention, "°C", "oil", step))
        for i, (p, v) in enumerate(zip(at, np.maximum.accumulate(values), strict=True))
    )  # fmt: skip
    return BoilingCurve("oil", points, "handbook", whole, step)


# --- the still -------------------------------------------------------------------------------------------------------

KINDS = ("simple", "simple", "simple", "standard-test", "vacuum", "packed")
COLUMNS = {
    # stages on the way to the head, share condensed before each
    "simple": lambda rng: (1, rng.uniform(0.4, 0.7)) if rng.random() < 0.5 else (2, rng.uniform(0.2, 0.45)),
    "standard-test": lambda rng: (2, rng.uniform(0.3, 0.4)),
    "vacuum": lambda rng: (1, rng.uniform(0.4, 0.7)),
    "packed": lambda rng: (6, rng.uniform(0.6, 0.7)),
}


def a_still(rng, oil, kind="", kpa=None, pressure_given=True, lost=0.0, crack=False, mixed_up="", residue_weighed=True):
    """A log of an oil, cleaned, as a curve.

    Charge 100–300 mL, readings each 2.5–5 %; the head is read to 1 °C (0.5 °C of scatter), volumes to 0.5 mL. The stem
    stands out by 40–110 % of the usual, the head lags by up to 0.8 %. The pot ends it at 330–350 °C (cracking: 375–395)
    or 92–96 % over. What wets the glass, 0.2–1.2 %, is lost, and up to 0.8 % of vapour. kpa : of the place, 95–103 when
    not said; corrected where it is given. lost : share (0–1) of the charge that leaves by the vent, lightest first.
    mixed_up : "mL as g" or "g as mL".
    """
    kind = kind or KINDS[rng.integers(len(KINDS))]
    kpa = kpa if kpa is not None else rng.uniform(95, 103)
    held = rng.uniform(0.7, 4.0) if kind == "vacuum" else kpa
    stages, condensed = COLUMNS[kind](rng)
    run = _cracked if crack else distil
    rows = run(oil.boiling_c, oil.mass, oil.watson_k, condensed=condensed, stages=stages, kpa=held)
    over, volume, head, pot = rows.T
    hottest = rng.uniform(375, 395) if crack else rng.uniform(330, 350)
    last = np.searchsorted(np.where(over > 5, pot, 0), hottest) if pot.max() > hottest else len(over)
    end = min(over[min(last, len(over) - 1)], rng.uniform(92, 96))
    vent = 100 * lost + rng.uniform(0, 0.8)
    gone = _vented(over, head, vent)
    wets = rng.uniform(0.2, 1.2)
    by_mass = rng.random() < 0.35 if not mixed_up else mixed_up == "mL as g"
    counted = over if by_mass else volume
    got = np.clip(counted - gone - np.minimum(wets, 0.3 * counted), 0, None)
    read = head - stem_error(head, rng.uniform(0.4, 1.1))
    read = np.interp(over - rng.uniform(0, 0.8), over, read)
    factor = 1.0
    if mixed_up:
        factor = 1 / oil.density() if mixed_up == "mL as g" else oil.density()
        got = factor * np.clip((volume if by_mass else over) - gone - wets, 0, None)
    charge = rng.uniform(100, 300)
    each = rng.uniform(2.5, 5.0)
    at = np.arange(each, end - 0.3, each)
    recovered = np.interp(at, over, got)
    recovered = np.round(recovered * charge / 100 / 0.5) * 0.5 / charge * 100
    temperature = np.round(np.interp(at, over, read) + rng.normal(0, 0.5, len(at)))
    pots = np.round(np.interp(at, over, pot) + rng.normal(0, 1, len(at)))
    # when the still is stopped nothing more comes over; what is left is weighed or measured
    final = float(np.interp(end, over, got))
    left = 100 - float(np.interp(end, over, over if by_mass else volume))
    return _still_curve(kind, held, charge, recovered, temperature, pots, final, left, by_mass, pressure_given,
                        residue_weighed, oil)  # fmt: skip


def _vented(over, head, percent):
    """% lost up to each point: a condenser too warm lets through what boils below some temperature, blurred by 15 °C."""
    low, high = head.min() - 150, head.max() + 150
    for _ in range(40):
        middle = 0.5 * (low + high)
        passes = 1 / (1 + np.exp(np.clip((head - middle) / 15, -50, 50)))
        lost = np.concatenate([[0.0], np.cumsum(0.5 * (passes[1:] + passes[:-1]) * np.diff(over))])
        low, high = (middle, high) if lost[-1] < percent else (low, middle)
    return lost


def _cracked(boiling_c, mass, watson_k, *, condensed, stages, kpa):
    """The same distillation with a pot that cracks above 350 °C.

    A share of what is left at each step, 0.6 % at 360 °C and twice as much every 12 °C, breaks into pieces that boil
    evenly between 60 °C and 60 °C below where it boiled (from memory: rates double every 10 to 15 °C there).
    """
    left = np.asarray(mass, float) / np.sum(mass) * 100
    boiling = np.asarray(boiling_c, float)
    rows, over, volume = [], 0.0, 0.0
    whole = float(np.sum(left / Components(boiling, watson_k).density))
    while over < 97:
        (_, _, head, pot) = distil(
            boiling, left, watson_k, condensed=condensed, stages=stages, kpa=kpa, step=1.0, end=0.5
        )[0]
        rows.append((over, volume, head, pot))
        if pot > 350:
            breaks = left * np.where(boiling > 200, min(0.006 * 2 ** ((pot - 360) / 12), 0.1), 0.0)
            left = left - breaks
            for at in np.flatnonzero(breaks > 1e-9):
                pieces = (boiling > 60) & (boiling < boiling[at] - 60)
                left[pieces] += breaks[at] / pieces.sum()
        gone = _first_percent(boiling, left, watson_k, condensed, stages, kpa)
        left = np.maximum(left - gone, 1e-9)
        over += float(gone.sum())
        volume += float(100 * np.sum(gone / Components(boiling, watson_k).density) / whole)
    return np.array(rows)


def _first_percent(boiling, left, watson_k, condensed, stages, kpa):
    return distil(
        boiling, left, watson_k, condensed=condensed, stages=stages, kpa=kpa, step=1.0, end=0.5, vapour_only=True
    )


def _still_curve(kind, held, charge, recovered, temperature, pots, final, left, by_mass, pressure_given, weighed, oil):
    step = Step("keep still log/1", settings={"charge": charge})
    scale, thermometer = doubt("charge"), doubt("thermometer")
    readings, points = [], []
    for number, (over, head, pot) in enumerate(zip(recovered, temperature, pots, strict=True), 1):
        place = f"line {number + 1}"
        readings.append(
            Reading(place, head_c=float(head), pot_c=float(pot), pressure_kpa=held if kind == "vacuum" else None)
        )
        amount = measured(float(over), 0.25 / charge * 100, "reading of the receiver") + 0.003 * float(over) * scale
        read = measured(float(head), 0.5, "reading of the head") + 0.5 * thermometer
        nothing = Result.missing("recovered", "%", "charge", step, "still.not_recorded")
        counted = Result("recovered", amount, "%", "charge", step)
        points.append(
            StillPoint(
                place,
                counted if by_mass else nothing,
                nothing if by_mass else counted,
                Result("head temperature", read, "°C", "", step),
                Result("pressure", measured(held, 0.1, "barometer"), "kPa", "", step),
                Result(
                    "equivalent temperature", _equivalent(read, held if pressure_given else 101.325), "°C", "", step
                ),
            )
        )
    log = StillLog("still.csv", tuple(readings), (), {}, step)

    def share(name, value):
        return Result(name, measured(float(value), 0.4, name), "%", "charge", step)

    missing = Result.missing("residue", "%", "charge", step, "still.not_recorded")
    return StillCurve(
        name="oil", of="oil", kind=kind, log=log, points=tuple(points), basis="mass" if by_mass else "volume",
        recovered=share("recovered", final), residue=share("residue", left) if weighed else missing,
        loss=share("loss", 100 - final - left) if weighed else missing, cuts=(), receivers=(), step=step,
    )  # fmt: skip


def _equivalent(read, kpa):
    """°C at 101.325 kPa: Sydney Young near it, the equation of ASTM D1160 under vacuum, u 1.5 °C."""
    if kpa > 60:
        return read + 0.0009 * (101.325 - kpa) * (read + 273.15)
    torr = kpa * 760 / 101.325
    log = np.log10(torr)
    if torr >= 2:
        a = (5.994296 - 0.972546 * log) / (2663.129 - 95.76 * log)
    else:
        a = (6.761560 - 0.987672 * log) / (3000.538 - 43 * log)
    value = 748.1 * a / (1 / (read + KELVIN) + 0.3861 * a - 0.00051606) - KELVIN
    return value + measured(0.0, 1.5, "equivalent temperature")


# --- the cases -------------------------------------------------------------------------------------------------------


def _rng(name, seed):
    return np.random.default_rng([seed, *name.encode()])


def consistent(seed):
    """A pair with nothing wrong. In 3 of 10 no pressure is given, at 98.5–102.5 kPa; in 3 of 10 no residue."""
    rng = _rng("consistent", seed)
    oil = an_oil(rng)
    kind = KINDS[rng.integers(len(KINDS))]
    given = kind == "vacuum" or rng.random() > 0.3
    kpa = rng.uniform(95, 103) if given else rng.uniform(98.5, 102.5)
    still = a_still(rng, oil, kind, kpa, given, residue_weighed=rng.random() > 0.3)
    solvent = "carbon disulfide" if rng.random() < 0.3 else ""
    return Pair(still, a_trace(rng, oil, whole=rng.random() < 0.5), given, solvent)


def _not_vacuum(rng):
    return ("simple", "simple", "simple", "standard-test", "packed")[rng.integers(5)]


def ladder(seed, given=True):
    """Numbered one carbon too low or too high; the pressure is given unless said otherwise."""
    rng = _rng("ladder", seed)
    oil, off = an_oil(rng), int(rng.choice([-1, 1]))
    still = a_still(rng, oil, _not_vacuum(rng), rng.uniform(98.5, 102.5), given, residue_weighed=rng.random() > 0.3)
    return Pair(still, a_trace(rng, oil, off), given, facts={"size": off})


def barometer(seed, kpa=None):
    """Distilled at 64–76 kPa (2300 to 3700 m), no pressure given."""
    rng = _rng("barometer", seed)
    oil = an_oil(rng)
    kpa = kpa if kpa is not None else rng.uniform(64, 76)
    still = a_still(rng, oil, _not_vacuum(rng), kpa, False, residue_weighed=rng.random() > 0.3)
    return Pair(still, a_trace(rng, oil), False, facts={"size": kpa})


def losses(seed, lost=None):
    """5 to 15 % of the charge leaves by the vent, lightest first; the residue is weighed."""
    rng = _rng("losses", seed)
    oil = an_oil(rng)
    lost = lost if lost is not None else rng.uniform(0.05, 0.15)
    still = a_still(rng, oil, _not_vacuum(rng), lost=lost)
    return Pair(still, a_trace(rng, oil), facts={"size": 100 * lost})


def cracking(seed):
    """The pot is driven to 375–395 °C."""
    rng = _rng("cracking", seed)
    while True:  # only an oil that is not all over before can crack
        oil = an_oil(rng)
        if np.interp(0.75, np.cumsum(oil.mass), oil.boiling_c) > 330:
            break
    kind = ("simple", "standard-test")[rng.integers(2)]
    still = a_still(rng, oil, kind, crack=True, residue_weighed=rng.random() > 0.3)
    return Pair(still, a_trace(rng, oil))


def solvent(seed, share=None):
    """A third each: 8–25 % of a solvent in the still; as much of one left in the trace; 9–16 % of light ends hidden by
    the solvent that the trace declares."""
    rng = _rng("solvent", seed)
    row = reference("solvents").by("name")
    which = ("in still", "in trace", "hidden")[seed % 3]
    share = share if share is not None else (rng.uniform(0.09, 0.16) if which == "hidden" else rng.uniform(0.08, 0.25))
    weighed = rng.random() > 0.3
    if which == "hidden":
        oil = an_oil(rng, light=share)
        name = ("carbon disulfide", "dichloromethane")[rng.integers(2)]
        low, high = HIDING[name]
        cut = (celsius(low) - 10, celsius(high) + 2)
        still = a_still(rng, oil, _not_vacuum(rng), residue_weighed=weighed)
        return Pair(still, a_trace(rng, oil, hidden=cut), solvent=name, facts={"which": which, "size": 100 * share})
    oil = an_oil(rng)
    name = SOLVENTS[rng.integers(len(SOLVENTS))]
    boils, shows = float(row[name]["boiling_c"]), celsius(float(row[name]["retention_index"]) / 100)
    wet = oil.with_share(boils, shows, share)
    still = a_still(rng, wet if which == "in still" else oil, _not_vacuum(rng), residue_weighed=weighed)
    curve = a_trace(rng, wet if which == "in trace" else oil)
    declared = name if which == "in still" and rng.random() < 0.5 else ""
    return Pair(still, curve, solvent=declared, facts={"which": which, "size": 100 * share, "solvent": name})


def mass_or_volume(seed):
    """Volumes entered as masses, or masses as volumes; the density of the oil (0.72–0.85 g/mL) is the factor."""
    rng = _rng("mass_or_volume", seed)
    oil = an_oil(rng)
    how = ("mL as g", "g as mL")[seed % 2]
    still = a_still(rng, oil, _not_vacuum(rng), mixed_up=how)
    return Pair(still, a_trace(rng, oil), facts={"which": how, "size": oil.density()})


def not_eluted(seed):
    """8 to 30 % of the oil, its heaviest, stays in the injector, and the trace counts its eluted part."""
    rng = _rng("not_eluted", seed)
    oil, residue = an_oil(rng), rng.uniform(0.08, 0.30)
    still = a_still(rng, oil, _not_vacuum(rng), residue_weighed=rng.random() > 0.3)
    return Pair(still, a_trace(rng, oil, whole=False, residue=residue), facts={"size": 100 * residue})


CULPRITS = {
    "ladder": ladder, "barometer": barometer, "losses": losses, "cracking": cracking, "solvent": solvent,
    "mass_or_volume": mass_or_volume, "not_eluted": not_eluted,
}  # fmt: skip
