"""Judge from a cluster and what rises and falls with it whether its compound is aromatic or aliphatic."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.cluster_spectrum import ClusterSpectrum
from cutbook.chlorine.pattern_fit import Halogens

Character = Literal["aromatic", "aliphatic", "open"]

AROMATIC_IONS = (50, 51, 63, 65, 75, 77, 89, 91, 103, 115, 127, 139, 152)
"""CnHn and near it: what is left of rings."""
ALIPHATIC_IONS = (41, 43, 55, 57, 69, 71, 83, 85, 97, 99)
"""CnH2n-1 and CnH2n+1."""
AROMATIC_REST = (5, 6, 7, 8)
"""Mass of the ion with hydrogen in place of its halogens, modulo 14: CnH2n-9 … CnH2n-6."""
ALIPHATIC_REST = (13, 0, 1, 2)
"""The same of CnH2n-1 … CnH2n+2. From C10 naphthalenes and biphenyls fall among them, so only lighter ions count."""
LIGHT = 120


def character_of(
    spectrum: ClusterSpectrum, base: int, pattern: Halogens, losses: tuple[int, ...], together: NDArray[np.intp]
) -> Character:
    """Votes of the ion's mass, of the way it loses its halogen, and of the light ions that rise and fall with it.

    Parameters
    ----------
    spectrum : at the apex. base, pattern : of the cluster. losses : masses lost to ions that rise and fall with it.
    together : masses that do.
    """
    vote = 0
    rest = base - pattern.mass + pattern.atoms
    if rest % 14 in AROMATIC_REST:
        vote += 1
    elif rest % 14 in ALIPHATIC_REST and rest < LIGHT:
        vote -= 1
    if 35 in losses or 79 in losses:
        vote += 1
    elif 36 in losses or 80 in losses:
        vote -= 1
    ring, chain = (_sum(spectrum, together, ions) for ions in (AROMATIC_IONS, ALIPHATIC_IONS))
    if ring > 2.0 * chain:
        vote += 1
    elif chain > 2.0 * ring:
        vote -= 1
    return "aromatic" if vote >= 1 else "aliphatic" if vote <= -1 else "open"


def _sum(spectrum: ClusterSpectrum, together: NDArray[np.intp], ions: tuple[int, ...]) -> float:
    """Heights of those ions that rise and fall with the cluster."""
    return float(sum(spectrum.at(mz)[0] for mz in together.tolist() if mz in ions))
