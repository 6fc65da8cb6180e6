"""Electron-ionisation spectra at unit mass from rules of our own: which ions a compound gives, and their isotopes.

The rules and heights are chemistry from memory in round figures (series of an alkane, allylic cleavage, tropylium …);
a test holds base peaks and molecular ions loosely against public spectra. They serve invented runs and prove nothing.
Isotopes are computed here from abundances and masses typed in on their own, apart from those of the program.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache

import numpy as np

Ion = str  # "C7H7"
Spectrum = Mapping[Ion, float]

# element: nominal mass, mass minus nominal mass, {extra nominal mass: (abundance, extra mass minus extra nominal mass)}
ELEMENTS = {
    "C": (12, 0.0, {1: (0.0107, 0.003355)}),
    "H": (1, 0.007825, {}),
    "D": (2, 0.014102, {}),
    "N": (14, 0.003074, {1: (0.00364, -0.002965)}),
    "O": (16, -0.005085, {2: (0.00205, 0.004246)}),
    "S": (32, -0.027929, {1: (0.0075, -0.000612), 2: (0.0425, -0.004204)}),
    "Si": (28, -0.023073, {1: (0.04685, -0.000432), 2: (0.03092, -0.003158)}),
    "Cl": (35, -0.031147, {2: (0.2424, -0.002950)}),
    "Br": (79, -0.081662, {2: (0.4931, -0.002047)}),
}
ELECTRON = 0.000549


def atoms(ion: Ion) -> dict[str, int]:
    """Atoms of a formula."""
    found: dict[str, int] = {}
    for element, count in re.findall(r"([A-Z][a-z]?)(\d*)", ion):
        found[element] = found.get(element, 0) + int(count or 1)
    return found


@cache
def nominal_mass(ion: Ion) -> int:
    """Mass of the lightest isotopes, counted in nucleons."""
    return sum(ELEMENTS[element][0] * count for element, count in atoms(ion).items())


@cache
def isotopes(ion: Ion) -> tuple[tuple[int, float, float], ...]:
    """(nominal mass, share, mass minus nominal mass) of the isotopes of an ion that make up more than 1e-5 of it."""
    excess = -ELECTRON
    peaks = {0: (1.0, 0.0)}  # extra nominal mass: share, share-weighted extra excess
    for element, count in atoms(ion).items():
        excess += ELEMENTS[element][1] * count
        heavy = ELEMENTS[element][2]
        if not heavy:
            continue
        light = 1.0 - sum(share for share, _ in heavy.values())
        for _ in range(count):
            after: dict[int, tuple[float, float]] = {}
            for extra, (share, weighted) in peaks.items():
                for step, (part, more) in {0: (light, 0.0), **heavy}.items():
                    old = after.get(extra + step, (0.0, 0.0))
                    after[extra + step] = (old[0] + share * part, old[1] + part * (weighted + share * more))
            peaks = {extra: one for extra, one in after.items() if one[0] > 1e-9}
    whole = nominal_mass(ion)
    return tuple(
        (whole + extra, share, excess + weighted / share)
        for extra, (share, weighted) in sorted(peaks.items())
        if share > 1e-5
    )


def ions(text: str) -> dict[Ion, float]:
    """A spectrum from "C7H7 100 C7H8 65 …"."""
    words = text.split()
    return {ion: float(height) for ion, height in zip(words[::2], words[1::2], strict=True)}


def at_unit_mass(spectrum: Spectrum) -> dict[int, float]:
    """{m/z: share of all}, isotopes included."""
    found: dict[int, float] = {}
    for ion, height in spectrum.items():
        for mass, share, _ in isotopes(ion):
            found[mass] = found.get(mass, 0.0) + height * share
    whole = sum(found.values())
    return {mass: height / whole for mass, height in sorted(found.items())}


@cache
def _rows(vocabulary: tuple[Ion, ...], low: int, high: int) -> tuple[np.ndarray, np.ndarray]:
    """Share and share × mass excess of each ion (rows) at each unit mass (columns)."""
    share = np.zeros((len(vocabulary), high - low + 1))
    moment = np.zeros_like(share)
    for row, ion in enumerate(vocabulary):
        for mass, part, excess in isotopes(ion):
            if low <= mass <= high:
                share[row, mass - low] = part
                moment[row, mass - low] = part * excess
    return share, moment


def spectrum_rows(
    spectra: Iterable[Spectrum], low: int, high: int, scatter: np.ndarray, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Spectra as rows over the unit masses low … high, each adding up to 1, and the same times the mass excess.

    scatter : spread (of the logarithm) of the heights of each spectrum; the isotopes of one ion keep their ratio.
    """
    listed = list(spectra)
    vocabulary = tuple(sorted({ion for one in listed for ion in one}))
    place = {ion: column for column, ion in enumerate(vocabulary)}
    heights = np.zeros((len(listed), len(vocabulary)))
    for row, one in enumerate(listed):
        for ion, height in one.items():
            heights[row, place[ion]] = height
    spread = np.asarray(scatter, dtype=float)[:, None]
    heights *= np.exp(spread * rng.standard_normal(heights.shape) - 0.5 * spread**2)
    share, moment = _rows(vocabulary, low, high)
    rows = heights @ share
    whole = rows.sum(axis=1, keepdims=True)
    whole[whole == 0] = 1.0
    return rows / whole, heights @ moment / whole


def _ion(carbons: int, hydrogens: int) -> Ion:
    return f"C{carbons}H{hydrogens}"


def _series(heights: dict[Ion, float], n: int, shift: int, first: dict[int, float], decay: float, last: int) -> None:
    """Add CkH(2k+shift): heights as given for the first members, then each `decay` of the one before."""
    height = 0.0
    for k in range(3, last + 1):
        height = first[k] if k in first else height * decay
        if height > 0.02 and 2 * k + shift > 0:
            heights[_ion(k, 2 * k + shift)] = heights.get(_ion(k, 2 * k + shift), 0.0) + height


@cache
def alkane(n: int, branched: bool = False) -> Spectrum:
    """CnH2n+2: the series 43, 57, 71, 85 … that decays, a weak molecular ion, weaker still where branched."""
    found: dict[Ion, float] = {}
    decay = min(0.7, 0.42 + 0.013 * n)
    last = n - 2 if n > 5 else n - 1
    _series(found, n, 1, {3: 95, 4: 90 if n > 6 else 45, 5: 52 if n > 6 else 15, 6: 29 if n > 7 else 12}, decay, last)
    _series(found, n, -1, {3: 44, 4: 18 if n > 6 else 9, 5: 6, 6: 3.5}, 0.7, min(last, 12))
    _series(found, n, 0, {3: 12, 4: 16, 5: 10, 6: 6}, 0.6, last)
    if branched:
        _series(found, n, 0, {3: 4, 4: 8, 5: 10, 6: 6}, 0.6, last)
        found[_ion(n - 1, 2 * n - 1)] = 2.0
    found[_ion(n, 2 * n + 2)] = (13.0 if n < 9 else 8.0 if n < 14 else 4.0) * (0.2 if branched else 1.0)
    return found


@cache
def alkene(n: int, kind: str = "1") -> Spectrum:
    """CnH2n, kind "1", "internal" or "branched": allylic series 41, 55, 69 …, even ions, M+ of 5 to 20 %."""
    found: dict[Ion, float] = {}
    last = n - 1
    inner = kind != "1"
    _series(found, n, -1, {3: 85, 4: 90, 5: 100 if inner else 62, 6: 35, 7: 20}, 0.5, last)
    _series(found, n, 1, {3: 75, 4: 50, 5: 16, 6: 7}, 0.5, n - 2)
    _series(found, n, 0, {3: 34, 4: 80, 5: 65, 6: 25, 7: 14}, 0.55, n - 2)
    _series(found, n, -3, {5: 8, 6: 6, 7: 3}, 0.5, last)
    found[_ion(n, 2 * n)] = {"1": 6.0, "internal": 18.0, "branched": 9.0}[kind] if n < 15 else 4.0
    found[_ion(n, 2 * n - 1)] = 0.5
    return found


@cache
def diene(n: int) -> Spectrum:
    """CnH2n-2: 54, 67, 81, 95 …, a weak molecular ion."""
    found: dict[Ion, float] = {}
    _series(found, n, -3, {4: 15, 5: 85, 6: 70, 7: 32, 8: 12}, 0.5, n - 1)
    _series(found, n, -1, {3: 90, 4: 100, 5: 45, 6: 20, 7: 10}, 0.5, n - 1)
    _series(found, n, -2, {4: 75, 5: 60, 6: 45, 7: 20, 8: 10}, 0.5, n - 2)
    found[_ion(n, 2 * n - 2)] = 3.0
    return found


@cache
def cycloalkane(n: int, ring: int = 6) -> Spectrum:
    """CnH2n with one ring of 5 or 6 and a side chain: the ring less a hydrogen, 55, 41, a fair molecular ion."""
    found: dict[Ion, float] = {}
    _series(found, n, -1, {3: 42, 4: 60, 5: 14, 6: 8}, 0.4, n - 1)
    _series(found, n, 0, {3: 9, 4: 14, 5: 6, 6: 5}, 0.4, n - 2)
    if ring < n:
        found[_ion(ring, 2 * ring - 1)] = 100.0
        found[_ion(ring, 2 * ring - 2)] = 60.0
    else:
        found[_ion(n - 2, 2 * n - 4)] = 100.0
    found[_ion(n, 2 * n)] = 18.0 if ring < n else 75.0
    found[_ion(n - 1, 2 * n - 3)] = 12.0
    return found


@cache
def alkylbenzene(n: int, kind: str = "methyl") -> Spectrum:
    """CnH2n-6, kind "methyl" (loses CH3 or H), "ethyl" (loses C2H5) or "chain" (91 and, by rearrangement, 92)."""
    molecular = _ion(n, 2 * n - 6)
    found = {"C7H7": 22.0, "C5H5": 9.0, "C6H5": 14.0, "C4H3": 9.0, "C3H3": 10.0, "C6H7": 7.0, "C6H6": 5.0, "C5H3": 5.0,
             "C4H2": 3.0}  # fmt: skip
    base = {"methyl": n - 1, "ethyl": n - 2, "chain": 7}[kind]
    if kind == "chain" and n > 9:
        found["C7H8"] = 45.0
        found["C8H9"] = 8.0
    found[_ion(base, 2 * base - 7)] = 100.0
    found[_ion(n, 2 * n - 7)] = 9.0 if kind == "methyl" else 1.0
    found[molecular] = {"methyl": 42.0, "ethyl": 28.0, "chain": 26.0}[kind]
    for k in range(8, base):
        found[_ion(k, 2 * k - 7)] = found.get(_ion(k, 2 * k - 7), 0.0) + 8.0
        found[_ion(k + 1, 2 * k - 7)] = found.get(_ion(k + 1, 2 * k - 7), 0.0) + 6.0
    return found


@cache
def indane(n: int) -> Spectrum:
    """CnH2n-8, indanes and alkenylbenzenes: loses CH3 (or H), 115, 91."""
    base = n - 1 if n > 9 else n
    found = {"C9H7": 32.0, "C7H7": 24.0, "C5H5": 7.0, "C6H5": 10.0, "C4H3": 10.0, "C3H3": 9.0, "C9H8": 8.0,
             "C5H3": 6.0}  # fmt: skip
    found[_ion(base, 2 * base - 9)] = 100.0
    found[_ion(n, 2 * n - 8)] = 55.0
    found[_ion(n, 2 * n - 9)] = found.get(_ion(n, 2 * n - 9), 0.0) + 8.0
    found[_ion(n, 2 * n - 10)] = 2.0
    if n > 10:
        found["C9H9"] = 18.0
    return found


@cache
def naphthalene(n: int) -> Spectrum:
    """CnH2n-12 with methyl groups: the molecular ion, M-1, M-15, 115."""
    found = {_ion(n, 2 * n - 12): 100.0, _ion(n, 2 * n - 14): 6.0, "C6H5": 5.0, "C5H3": 7.0, "C4H3": 8.0}
    if n == 10:
        found |= {"C10H7": 12.0, "C8H6": 8.0, "C6H4": 4.0, "C5H4": 7.0, "C4H2": 4.0, "C6H2": 5.0, "C6H3": 5.0}
    else:
        found |= {_ion(n, 2 * n - 13): 80.0 if n == 11 else 35.0, "C9H7": 28.0, "C11H7": 4.0}
    if n > 11:
        found[_ion(n - 1, 2 * n - 15)] = 75.0
    return found
