"""What a still would read if one thing had gone wrong: numbering, pressure, losses, units, cracking, residue."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from cutbook.fractions.compared_pair import Pair
from cutbook.fractions.curve_in_kind import convert
from cutbook.fractions.equivalent_temperature import barometric_correction_c
from cutbook.fractions.still_circumstances import Circumstances
from cutbook.model.agreement import Evidence, OddOne
from cutbook.model.tables import reference
from cutbook.model.trace import Floats
from cutbook.model.units import STANDARD_KPA


@dataclass(frozen=True)
class CulpritSettings:
    """When a reason is named. Costs and gains are in units of chi-square, minus twice the logarithm of odds.

    The costs were settled on simulated pairs (tests/fractions/still_pairs.py) and tried on others.

    least_gain : by how much a reason must explain more than none; 3, odds of 4.5 to 1 beside its cost.
    least_lead : by how much it must lead the next; 2, odds of e to 1. Below, both are told and none is named.
    cost_supported : of a reason that something besides the fit speaks for.
    cost_seen : of one whose own sign was seen, a head that stands still over a hot pot, a level stretch where a
        solvent elutes; below 0, since the sign alone makes it likely.
    cost_bare : of one that would leave a sign in the closure, where there is no closure.
    cost_silent : of one that leaves no sign but the curve, such as a ladder off by one.
    cost_solvent : of a solvent that nobody declared, or of a level stretch where the oil may have a large n-alkane;
        above `cost_silent`, since there are so many to choose from.
    cost_units : of mixed-up units although the closure fits; above `cost_supported`, since losses, which may close
        alike, are the commoner.
    cost_known_lack : of a numbering that passed its tests, further, where a pressure that may do the same is lacking.
    u_closing : standard uncertainty of the closure of a distillation in %, besides that of its weighings: hold-up,
        drops, what was spilt. most_closing : most that a closure may speak for or against, for anything may be spilt.
    lowest_kpa : pressure at the highest places where people live for good, about 4000 m.
    u_pressure_kpa : spread of the pressures at which people work, the further off the less likely.
    least_gap : % missing from the closure below which nothing was lost that mattered.
    u_lost : spread of what gets lost from a still, %, the more the less likely.
    u_density : standard uncertainty of the density of what came over, g/mL, besides that of the oil: it is not quite
        the same.
    least_share : % of a solvent, or of light ends behind one, from which it may be told from the doubt of the light
        end of a conversion.
    least_start_c : °C by which the still must begin below the trace for that.
    most_break : % within which that must fall to half where no solvent is declared: what boils at one temperature is
        over all at once, what the conversion or the ladder is off by fades slowly.
    most_own : % of an oil that one n-alkane of its own may make up at most.
    least_after_c : °C by which the still must read above the trace behind a level stretch of the trace, for it to be a
        solvent.
    """

    least_gain: float = 3.0
    least_lead: float = 2.0
    cost_supported: float = 1.0
    cost_seen: float = -6.0
    cost_bare: float = 14.0
    cost_silent: float = 4.0
    cost_solvent: float = 12.0
    cost_units: float = 2.5
    cost_known_lack: float = 5.0
    u_closing: float = 2.0
    most_closing: float = 9.0
    lowest_kpa: float = 60.0
    u_pressure_kpa: float = 40.0
    least_gap: float = 3.0
    u_lost: float = 12.0
    u_density: float = 0.03
    least_share: float = 6.0
    least_start_c: float = 20.0
    most_break: float = 20.0
    most_own: float = 10.0
    least_after_c: float = 8.0


@dataclass(frozen=True, eq=False)
class Trial:
    """One reason at one size.

    foretold_c : what the still would read. cost : of assuming it. gap : what would be missing from the closure, None
    where it would be what usually is. The rest as in `Suspect`.
    """

    code: str
    size: float
    unit: str
    foretold_c: Floats
    cost: float
    odd_one: OddOne
    gap: float | None = None
    evidence: tuple[Evidence, ...] = ()


def ladder(pair: Pair, around: Circumstances, settings: CulpritSettings) -> Iterator[Trial]:
    """The ladder is numbered one carbon too low or too high: the trace is off by the gap between two n-alkanes."""
    boiling = reference("n_alkanes").numbers("carbon_number", "boiling_c")
    carbons = np.array(sorted(boiling), dtype=np.float64)
    points = np.array([boiling[int(n)] for n in carbons])
    for off in (-1, 1):
        # a still whose pressure is not known may read low for that, as beside a trace that is numbered too high
        doubtful = off > 0 and not around.pressure_given
        cost = settings.cost_silent + (settings.cost_known_lack if doubtful else 0.0)

        def renumbered(recovered: Floats, off: int = off) -> Floats:
            return np.asarray(np.interp(np.interp(pair.simulated(recovered), points, carbons) - off, carbons, points))

        yield Trial("ladder", off, "carbon numbers", pair.seen(renumbered), cost, "trace")


def barometer(pair: Pair, around: Circumstances, settings: CulpritSettings) -> Iterator[Trial]:
    """The pressure was not measured: the still reads low by the Sydney Young correction."""
    if around.pressure_given:
        return
    evidence = (Evidence("no_pressure"),)
    for kpa in np.arange(settings.lowest_kpa, 99.0, 0.5):
        below = STANDARD_KPA - float(kpa)
        reads = pair.trace_c - barometric_correction_c(pair.trace_c, float(kpa))
        cost = settings.cost_supported + (below / settings.u_pressure_kpa) ** 2
        yield Trial("barometer", float(kpa), "kPa", reads, cost, "still", evidence=evidence)


def losses(pair: Pair, around: Circumstances, settings: CulpritSettings) -> Iterator[Trial]:
    """Light ends never reached the receiver: the still begins in the middle of the oil."""
    gap = around.gap
    if gap is not None and gap < settings.least_gap:
        return
    as_charged = convert(pair.simulated, pair.conversion)
    for lost in np.arange(2.0, 30.0, 0.5):
        # not all at once: what is lost grows with what has come over, and most of it is gone when as much has
        foretold = as_charged(pair.recovered + float(lost) * (1.0 - np.exp(-(pair.recovered + lost) / lost)))
        cost = settings.cost_bare if gap is None else settings.cost_supported
        cost += (float(lost) / settings.u_lost) ** 2
        evidence = () if gap is None else (Evidence("gap", {"gap": round(gap, 1)}),)
        yield Trial("losses", float(lost), "%", foretold, cost, "still", around.usual_gap + float(lost), evidence)


def mass_or_volume(pair: Pair, around: Circumstances, settings: CulpritSettings) -> Iterator[Trial]:
    """Volumes were taken for masses, or the other way: recovered % is off by the density."""
    if around.both_axes:
        return
    density, u_density = pair.density, float(np.hypot(settings.u_density, pair.u_density))
    gap, residue = around.gap, around.residue
    for each in np.linspace(density - 3.0 * u_density, density + 3.0 * u_density, 13):
        off = ((each - density) / u_density) ** 2
        for factor in (1.0 / float(each), float(each)):
            foretold = convert(pair.simulated, pair.conversion)(pair.recovered / factor)
            if gap is None or residue is None:
                yield Trial("mass_or_volume", factor, "1", foretold, settings.cost_bare + off, "still")
                continue
            recorded = factor * (100.0 - around.usual_gap - residue)
            missing = 100.0 - recorded - residue
            if abs(gap - around.usual_gap) < 0.5 * abs(missing - around.usual_gap):
                continue  # the distillation closes, and could not if it were so
            evidence = (Evidence("gap", {"gap": round(gap, 1)}),)
            yield Trial("mass_or_volume", factor, "1", foretold, settings.cost_units + off, "still",
                         missing, evidence)  # fmt: skip


def cracking(pair: Pair, around: Circumstances, settings: CulpritSettings) -> Iterator[Trial]:
    """The pot was so hot that the oil cracked: from there on lighter vapours come than the oil held."""
    if around.hot_at is None and not (around.note and around.highest_pot_c is None):
        return
    evidence = []
    if around.hot_at is not None and around.highest_pot_c is not None:
        evidence.append(Evidence("hot_pot", {"pot": round(around.highest_pot_c), "from": round(around.hot_at)}))
    if around.head_stood_still:
        evidence.append(Evidence("head_stood_still", {"fell": round(around.head_fell_c)}))
    if around.note:
        evidence.append(Evidence("note", {"note": around.note[:60]}))
    cost = settings.cost_seen if around.head_stood_still or around.note else settings.cost_supported
    starts = [around.hot_at] if around.hot_at is not None else list(np.arange(40.0, 90.0, 5.0))
    for start in starts:
        since = np.clip(pair.recovered - float(start), 0.0, None)
        falling = [pair.trace_c - slope * since for slope in np.arange(0.25, 8.0, 0.25)]
        begins = float(np.interp(start, pair.recovered, pair.trace_c))
        level = [np.minimum(pair.trace_c, begins + rise) for rise in np.arange(-20.0, 60.0, 5.0)]
        for reads in (*falling, *level):
            yield Trial("cracking", float(start), "%", reads, cost, "still", evidence=tuple(evidence))


def not_eluted(pair: Pair, around: Circumstances, settings: CulpritSettings) -> Iterator[Trial]:
    """Heavy oil never left the injector or the column, and the trace counts its eluted part only."""
    if pair.whole:
        return
    for share in np.arange(3.0, 45.0, 1.0):

        def longer(recovered: Floats, share: float = float(share)) -> Floats:
            of_eluted = recovered * 100.0 / (100.0 - share)
            ends = pair.simulated(np.array([90.0, 99.0]))
            beyond = ends[1] + (ends[1] - ends[0]) / 9.0 * (of_eluted - 99.0)
            return np.asarray(np.where(of_eluted > 99.0, beyond, pair.simulated(np.minimum(of_eluted, 99.0))))

        yield Trial("not_eluted", float(share), "%", pair.seen(longer), settings.cost_silent, "trace",
                     evidence=(Evidence("eluted_part"),))  # fmt: skip
