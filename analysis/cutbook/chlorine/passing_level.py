"""The size from which a peak passes the rules on areas, told from what its place does to each ion."""

from __future__ import annotations

import numpy as np

from cutbook.chlorine.target_ions import TargetIons
from cutbook.chlorine.verdict import VerdictSettings, most_misfit
from cutbook.model.trace import Floats


def passing_level(
    rest: Floats, u_rest: Floats, counting: Floats, ions: TargetIons, rules: VerdictSettings, sure: float = 1.645
) -> Floats:
    """Smallest area of the tallest cluster ion with which a peak is indicated.

    Parameters
    ----------
    rest, u_rest : area of each ion at a place without the peak, and its uncertainty, counts·min, shape (m, k).
    counting : variance that a count·min of the peak adds to the area of each ion, shape (m, k).
    ions : of the compound. rules : that are to be passed, see `verdict`.
    sure : standard uncertainties to spare in each; 1.645, so that nineteen in twenty pass (Currie's detection limit:
        L. A. Currie, Pure Appl. Chem. 67 (1995) 1699).

    Returns
    -------
    Floats
        Shape (m,).

    Notes
    -----
    A peak of size A has areas ``rest + A s ± √(u_rest² + A counting)``, s the shares. Each rule asks some A; the
    largest is taken. The uncertainties are those of the A of the round before; where counting makes them the logarithm
    of A comes half as near in each round, so that two rounds tell where they lead.
    """
    first = _asked(np.zeros(len(rest)), rest, u_rest, counting, ions, rules, sure)
    second = _asked(first, rest, u_rest, counting, ions, rules, sure)
    leads_to = second * np.where(first > 0, second / np.where(first > 0, first, 1.0), 1.0)
    third = _asked(leads_to, rest, u_rest, counting, ions, rules, sure)
    return _asked(third, rest, u_rest, counting, ions, rules, sure)


def _asked(
    level: Floats, rest: Floats, u_rest: Floats, counting: Floats, ions: TargetIons, rules: VerdictSettings, sure: float
) -> Floats:
    """Size that the rules ask for where uncertainties are those of some size; not below nothing."""
    own, of_partner = ions.cluster, ions.cluster[1:]
    share = ions.share[own]
    variance = u_rest**2 + level[:, None] * counting
    u = np.sqrt(variance)
    asked = [
        np.zeros(len(rest)),
        _pooled(rest[:, own], variance[:, own], share, rules.least_signal + sure),
        _pooled(rest[:, of_partner], variance[:, of_partner], share[1:], rules.least_partner + sure),
    ]
    # what is there already may bend the ratio by no more than its tolerance
    weight = share / variance[:, own]
    alike = (weight * rest[:, own]).sum(axis=1) / (weight * share).sum(axis=1)
    off = np.abs(rest[:, own] - share * alike[:, None]) + sure * u[:, own]
    bent = off**2 / most_misfit(rules.isotope_chance, len(share) - 1) - variance[:, own]
    asked.append((np.sqrt(np.maximum(bent, 0.0)) / (rules.isotope_tolerance * share)).max(axis=1) - alike)
    known = np.hypot(u[:, own[1]] / share[1], u[:, own[0]]) / rules.known_ratio
    third = np.concatenate([ions.third, own[2:]])
    there = ((rules.least_third + sure) * u[:, third] - rest[:, third]) / ions.share[third]
    asked.append(np.minimum(there.min(axis=1, initial=np.inf), known))
    if len(ions.beside):
        may = (ions.beside_share + rules.neighbour_tolerance) * np.maximum(alike, 0.0)[:, None]
        over = rest[:, ions.beside] - may - (rules.beside_spread - sure) * u[:, ions.beside]
        asked.append(over.max(axis=1) / rules.neighbour_tolerance)
    return np.asarray(np.maximum.reduce(asked))


def _pooled(rest: Floats, variance: Floats, share: Floats, z: float) -> Floats:
    """The size whose pooled area is `z` times its uncertainty."""
    weight = share / variance
    norm = (weight * share).sum(axis=1)
    return np.asarray(z / np.sqrt(norm) - (weight * rest).sum(axis=1) / norm)
