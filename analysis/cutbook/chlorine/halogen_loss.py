"""Look for the ions that a chlorine or bromine cluster leaves when it loses a halogen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chlorine.cluster_spectrum import ClusterSpectrum
from cutbook.chlorine.pattern_fit import SPREAD, Halogens, halogens
from cutbook.model.trace import Floats

CLEAR = 4.0
"""Standard deviations by which an ion must stand out of the noise to be called there."""
APART = 2.5
"""Standard deviations by which its apex may miss that of the cluster."""
LEAST = 0.03
"""Of the cluster; an ion lower than that is not worth naming as a loss of it."""
NEAR = 7
"""Masses on either side that tell how likely any ion there is in this spectrum."""
BARE_FROM = 60
"""Mass from which an ion without halogen speaks for a cluster; below it nearly every compound has ions."""
MOST_WORTH = 3.0
"""In favour, for a bare ion: no run tells better than one in twenty that it is not there by chance."""


@dataclass(frozen=True)
class Loss:
    """A loss from a cluster to an ion that rises and falls with it.

    mass : lost, with the lightest isotopes. share, u_share : height of the ion's tallest isotope against the cluster's.
    worth : natural logarithm of how much surer it makes the cluster, never negative.
    """

    mass: int
    share: float
    u_share: float
    worth: float


def losses_of(spectrum: ClusterSpectrum, crowd: Floats, base: int, pattern: Halogens) -> tuple[Loss, ...]:
    """Losses of Cl, HCl, Br and HBr, the surest of each element counted, the others with no worth.

    Parameters
    ----------
    spectrum : at the apex. crowd : share of scans with an apex, by mass of the matrix.
    base, pattern : of the cluster.
    """
    found = []
    for lost, chlorine, bromine in ((35, 1, 0), (36, 1, 0), (79, 0, 1), (80, 0, 1)):
        if pattern.chlorine < chlorine or pattern.bromine < bromine:
            continue
        left = halogens(pattern.chlorine - chlorine, pattern.bromine - bromine)
        loss = _loss(spectrum, crowd, base, pattern, lost, left)
        if loss is not None:
            found.append(loss)
    best: dict[bool, Loss] = {}
    for loss in found:
        bromine_lost = loss.mass >= 79
        if bromine_lost not in best or loss.worth > best[bromine_lost].worth:
            best[bromine_lost] = loss
    return tuple(
        loss if loss is best[loss.mass >= 79] else Loss(loss.mass, loss.share, loss.u_share, 0.0) for loss in found
    )


def _loss(
    spectrum: ClusterSpectrum, crowd: Floats, base: int, pattern: Halogens, lost: int, left: Halogens
) -> Loss | None:
    lead = base + pattern.tallest
    tall = base - lost + left.tallest
    height, sd = spectrum.at(tall)
    whole, _ = spectrum.at(lead)
    if height < CLEAR * sd or height < LEAST * whole or abs(spectrum.apart(tall, lead)) > APART:
        return None
    if not left.atoms:
        if tall < BARE_FROM:
            return Loss(lost, height / whole, sd / whole, 0.0)
        chance = max(3.0 * float(crowd[tall - spectrum.first_mz]), _neighbours(spectrum, lead, tall, height))
        return Loss(lost, height / whole, sd / whole, float(min(max(-np.log(chance), 0.0), MOST_WORTH)))
    worth = 0.0
    for offset in np.flatnonzero(left.pattern > 0.05).tolist():
        if offset == left.tallest:
            continue
        share = float(left.pattern[offset])
        found, found_sd = spectrum.at(base - lost + offset)
        if not np.isfinite(found_sd):
            return None
        # ions that have lost a hydrogen more or less overlap these, so more is allowed than in the cluster itself
        spread = float(np.hypot(np.hypot(found_sd, share * sd), (0.05 * share + 0.02) * height))
        worth += (
            np.log(SPREAD * share / (np.sqrt(2.0 * np.pi) * spread / height))
            - 0.5 * ((found - share * height) / spread) ** 2
        )
    return Loss(lost, height / whole, sd / whole, float(min(worth, 2.0 * MOST_WORTH))) if worth > 0 else None


def _neighbours(spectrum: ClusterSpectrum, lead: int, mz: int, height: float) -> float:
    """Share of the masses about an ion at which one half as tall rises and falls with the lead, at least one."""
    together = spectrum.together(lead)
    near = together[(np.abs(together - mz) <= NEAR) & (together != mz)]
    tall = int((spectrum.height[near - spectrum.first_mz] > 0.5 * height).sum())
    return (1 + tall) / (2 * NEAR + 1)
