"""Tell clusters of sulphur and silicon from those of chlorine."""

from __future__ import annotations

import numpy as np

from cutbook.chlorine.cluster_spectrum import ClusterSpectrum
from cutbook.identification.isotope_pattern import isotope_pattern

APART = 2.5
"""Standard deviations by which apexes of one compound may miss each other."""
LEAST = 0.05
"""Of the lead: fragments of sulphur rings and chains are taller than that."""
FITS = 16.0
"""Sum of squared deviations of two isotopes up to which a pattern is called possible."""


def lookalike_of(spectrum: ClusterSpectrum, base: int, lead: int) -> str:
    """The element whose pattern a cluster has as well, "" when there is none.

    Six to eight sulphur atoms have 0.27 to 0.36 of M at M+2, as one chlorine has; their ions lie 32 apart, as S8, S7,
    S6 … do not of anything with chlorine. Six and more silicon atoms have as much at M+2, and at M+1 more than any
    carbons can give.
    """
    for atoms in range(5, 9):
        if 0 <= base - 32 * atoms <= 2 and _fits(spectrum, base, {"S": atoms}) and _chain(spectrum, base, lead, 32):
            return "S"
    for atoms in range(4, 10):
        if base >= 73 * atoms - 80 and _fits(spectrum, base, {"Si": atoms, "C": 2 * atoms}):
            return "Si"
    return ""


def _fits(spectrum: ClusterSpectrum, base: int, atoms: dict[str, int]) -> bool:
    """Whether M+1 and M+2 stand to M as these atoms make them."""
    shares = dict(isotope_pattern(atoms))
    height, sd = spectrum.at(base)
    if height <= 0:
        return False
    off = 0.0
    for offset in (1, 2):
        share = shares.get(offset, 0.0)
        found, found_sd = spectrum.at(base + offset)
        off += (found - share * height) ** 2 / (found_sd**2 + (share * sd) ** 2 + (0.03 * share * height) ** 2)
    return bool(off < FITS)


def _chain(spectrum: ClusterSpectrum, base: int, lead: int, step: int) -> bool:
    """Whether two of the next three ions below, `step` apart, rise and fall with the lead."""
    whole, _ = spectrum.at(lead)
    there = 0
    for mz in (base - step, base - 2 * step, base - 3 * step):
        height, sd = spectrum.at(mz)
        there += bool(
            np.isfinite(sd) and height > max(4.0 * sd, LEAST * whole) and abs(spectrum.apart(mz, lead)) < APART
        )
    return there >= 2
