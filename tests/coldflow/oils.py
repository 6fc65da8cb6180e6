"""Oils for tests: chains by carbon number, and what stays liquid."""

import numpy as np

from cutbook.model.cold import Components


def molar_mass(n):
    return 12.011 * n + 1.008 * (2 * n + 2)


def an_oil(chains, rest=0.0, rest_carbons=10.0, alkenes=None, by_mole=False):
    """chains, alkenes : carbon number -> share (mass, or moles), rest : likewise; brought to 1 here."""
    rows = [(n, "n-alkane", share) for n, share in chains.items()]
    rows += [(n, "1-alkene", share) for n, share in (alkenes or {}).items()]
    if rest:
        rows.append((rest_carbons, "rest", rest))
    carbons, families, shares = (tuple(column) for column in zip(*rows, strict=True))
    carbons = np.array(carbons, dtype=float)
    mass = np.array(shares, dtype=float) * (molar_mass(carbons) if by_mole else 1.0)
    return Components(carbons, families, mass / mass.sum(), molar_mass(carbons))


def a_waxy_oil(last=60, decay=6.0, rest=40.0):
    """n-Alkanes C5 to `last` falling off exponentially, in as much again that stays liquid."""
    return an_oil({n: float(np.exp(-(n - 8) / decay)) for n in range(5, last + 1)}, rest=rest, rest_carbons=11.0)
