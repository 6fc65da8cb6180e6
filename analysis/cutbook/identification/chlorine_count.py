"""How many chlorine and bromine atoms an ion holds, from its isotope cluster in one spectrum."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Literal, TypeAlias

import numpy as np

from cutbook.chromatogram.ion_matrix import nominal_masses
from cutbook.identification.isotope_pattern import checked_atoms, isotope_pattern, nominal_mass
from cutbook.model.chlorine import Evidence
from cutbook.model.trace import Floats

Finding: TypeAlias = Literal["halogen", "none", "open"]
_LIGHT = {"Cl": 35, "Br": 79, "S": 32, "Si": 28}
_LOOK_ALIKES = ({"S": 1}, {"S": 2}, {"S": 3}, {"Si": 1}, {"Si": 2}, {"Si": 3}, {"Si": 4}, {"Si": 5}, {"Si": 6})
_MASS_A_CARBON = 13.3  # u, with its hydrogens: CH of aromatics 13, CH2 of chains 14
_MOST_LOST = 3  # hydrogens that a molecular ion loses
_FAR = 1e6
_NOTHING = 1e-9  # of the tallest peak


@dataclass(frozen=True)
class ChlorineCountSettings:
    """How a cluster is read.

    least : of the base peak, below which a peak belongs to no cluster (1 %, to which public spectra are noted).
    least_cluster : of the base peak, below which a cluster is no molecular ion (4 %: products of ions and molecules,
        and impurities, stand as high in public spectra).
    relative : standard uncertainty of a height, as a fraction of it (10 %: isotope pairs of public spectra of one
        compound scatter by 10 to 15 %). floor, floor_of_base : the same as a fraction of the tallest of the cluster and
        of the base peak (2.5 % and 0.5 %: what was left out or rounded).
    clearly : how much worse in chi-square the next number of halogens must be (6: odds of 20 to 1).
    rarer : added to the chi-square of bromine, and again of both halogens in one ion (4: both are rare in oils, and
        patterns of several chlorines with a bromine are near those of chlorine alone).
    alkyl_share : of the current in alkyl ions of m/z 41 to 85 from which two ions two apart may be an alkene and an
        alkane (40 %, common practice, no source: aliphatics have more, chlorinated aromatics less than 20 %).
    longest : masses of a run of peaks beyond which it is noise at every mass and no cluster; ten chlorines span 21.
    most_clusters : looked at, from the highest down; six, since what lies lower are small fragments.
    highest_mz : above which no ion is read; 1500, where gas chromatography ends.
    """

    least: float = 0.01
    least_cluster: float = 0.04
    relative: float = 0.10
    floor: float = 0.025
    floor_of_base: float = 0.005
    clearly: float = 6.0
    rarer: float = 4.0
    alkyl_share: float = 0.40
    longest: int = 40
    most_clusters: int = 6
    highest_mz: int = 1500


@dataclass(frozen=True)
class HalogenCount:
    """What the highest-mass cluster of a spectrum tells.

    finding : "halogen", "none" or "open". chlorine, bromine : atoms in the ion that fits best, 0 both unless "halogen".
    mz : of its lightest isotopologue, 0 where no cluster fits anything. also : where it is open, each (chlorine,
        bromine) that would do. evidence : pattern, each isotope ratio, loss of the halogen, alkyl ions.
    """

    finding: Finding
    chlorine: int
    bromine: int
    mz: int
    also: tuple[tuple[int, int], ...]
    evidence: tuple[Evidence, ...]


@dataclass(frozen=True)
class _Fit:
    """One composition held against a cluster. misfit : chi-square; masses : that were compared."""

    atoms: Mapping[str, int]
    mz: int
    misfit: float
    masses: int
    carbon: int

    @property
    def halogens(self) -> tuple[int, int]:
        return self.atoms.get("Cl", 0), self.atoms.get("Br", 0)


def count_halogens(
    mz: Sequence[float],
    intensity: Sequence[float],
    settings: ChlorineCountSettings = ChlorineCountSettings(),
) -> HalogenCount:
    """Chlorine and bromine atoms of the highest-mass cluster of a spectrum.

    Parameters
    ----------
    mz, intensity : of the peaks, in any order; masses are rounded to nominal ones, and what falls on one is added up.
    settings : see `ChlorineCountSettings`.

    Returns
    -------
    HalogenCount
        "open" where nothing fits, two counts fit alike, or alkyl ions make the spectrum: then a pair two apart may be
        an alkene and its alkane, which is no single compound.

    Notes
    -----
    Every count of chlorine, bromine, sulfur or silicon at every mass of the cluster is held against it, with the carbon
    that the rest of the mass allows, and with ions that lost one to three hydrogens beside it (non-negative least
    squares). An ion two below passes for a loss of hydrogen only where it is no taller than the molecular ion, or the
    ion between them has a quarter of its height. A peak that is missing is taken to lie below the lowest of the
    spectrum. Where nothing fits, or no count fits best by far, the next lower cluster is looked at; it may show
    halogens, but that the molecule has none is said of the highest cluster alone.
    """
    heights = {mass: height for mass, height in _nominal(mz, intensity).items() if mass <= settings.highest_mz}
    undecided = None
    for cluster in islice(_clusters(heights, settings), settings.most_clusters):
        tried = _fits(heights, cluster, settings) if len(cluster) <= settings.longest else ()
        fits = sorted(tried, key=lambda fit: fit.misfit)
        if not fits or fits[0].misfit > fits[0].masses:
            undecided = undecided or HalogenCount("open", 0, 0, 0, (), (_alkyl(heights, settings),))
            continue
        told = _judged(heights, fits, settings)
        sure = told.finding == "halogen" or (told.finding == "open" and (0, 0) not in told.also)
        if sure or (told.finding == "none" and undecided is None):
            return told
        undecided = undecided or told
    return undecided or HalogenCount("open", 0, 0, 0, (), (_alkyl(heights, settings),))


def faulty_pattern(
    formula: str, mz: Sequence[float], intensity: Sequence[float], tolerance: float = 0.20
) -> tuple[Evidence, ...]:
    """What contradicts, in the spectrum of a halogen compound, the isotopes that its formula demands.

    Parameters
    ----------
    formula : of the compound. mz, intensity : its spectrum, which may hold the tallest peaks alone.
    tolerance : relative, of a ratio to the lightest molecular ion (20 %: good public records stay within 17 %).

    Returns
    -------
    tuple of Evidence
        One a ratio that is wrong, found and expected; () for a record that agrees, or without halogens. A peak that
        should be higher than the lowest of the spectrum by a third and is missing counts as 0.

    Raises
    ------
    InputError
        When it is no formula of known elements.
    """
    atoms = checked_atoms(formula)
    if not atoms.get("Cl", 0) + atoms.get("Br", 0):
        return ()
    heights = _nominal(mz, intensity)
    lightest, shares = nominal_mass(atoms), dict(isotope_pattern(atoms, 1e-3))
    tallest = max(shares, key=lambda offset: shares[offset])
    top = heights.get(lightest + tallest, 0.0)
    if top == 0:
        return (Evidence("isotope ratio", "against", 0.0, shares[tallest], None, "no molecular ion"),)
    noted = 4 / 3 * min(heights.values())
    wrong = []
    for offset, share in shares.items():
        expected = share / shares[tallest]
        found = heights.get(lightest + offset, 0.0) / top
        seen = found > 0 or expected * top > noted
        # odd offsets are carbon-13 and lost hydrogen, which differ from instrument to instrument
        if (
            offset != tallest
            and offset % 2 == 0
            and seen
            and abs(found - expected) > (wide := max(tolerance * expected, 0.01))
        ):
            wrong.append(Evidence("isotope ratio", "against", found, expected, wide, f"M+{offset}"))
    return tuple(wrong)


def _nominal(mz: Sequence[float], intensity: Sequence[float]) -> dict[int, float]:
    """Heights at nominal masses, as shares of the tallest peak; what is next to nothing beside it is none."""
    top = max((float(height) for height in intensity), default=0.0)
    heights: dict[int, float] = {}
    for nominal, height in zip(nominal_masses(np.array(mz, dtype=float)).tolist(), intensity, strict=True):
        if height > _NOTHING * top:
            heights[nominal] = heights.get(nominal, 0.0) + float(height) / top
    return heights


def _clusters(heights: Mapping[int, float], settings: ChlorineCountSettings) -> Iterator[list[int]]:
    """Masses at most two apart, the highest cluster first."""
    base = max(heights.values(), default=0.0)
    cluster: list[int] = []
    for mass in sorted((m for m, height in heights.items() if height >= settings.least * base), reverse=True):
        if cluster and cluster[-1] - mass > 2:
            if max(heights[m] for m in cluster) >= settings.least_cluster * base:
                yield cluster
            cluster = []
        cluster.append(mass)
    if cluster and max(heights[m] for m in cluster) >= settings.least_cluster * base:
        yield cluster


def _candidates() -> Iterator[Mapping[str, int]]:
    for halogens in range(9):
        for bromine in range(min(halogens, 4) + 1):
            yield {"Cl": halogens - bromine, "Br": bromine}
    yield from _LOOK_ALIKES


def _fits(heights: Mapping[int, float], cluster: Sequence[int], settings: ChlorineCountSettings) -> Iterator[_Fit]:
    for atoms in _candidates():
        for mass in cluster:
            rest = mass - sum(_LIGHT[element] * count for element, count in atoms.items())
            if rest >= 12:
                yield _fit(heights, cluster, atoms, mass, max(1, round(rest / _MASS_A_CARBON)), settings)


def _fit(
    heights: Mapping[int, float],
    cluster: Sequence[int],
    atoms: Mapping[str, int],
    mass: int,
    carbon: int,
    settings: ChlorineCountSettings,
) -> _Fit:
    from scipy.optimize import nnls

    pattern = isotope_pattern({**atoms, "C": carbon}, 1e-3)
    first = min(*cluster, mass - _MOST_LOST)
    masses = range(first, max(*cluster, mass + pattern[-1][0]) + 1)
    found: Floats = np.array([heights.get(m, 0.0) for m in masses])
    floor = np.hypot(settings.floor * max(heights[m] for m in cluster), settings.floor_of_base * max(heights.values()))
    ions = np.zeros((len(masses), _MOST_LOST + 1))
    for lost in range(_MOST_LOST + 1):
        for offset, share in pattern:
            ions[mass - lost + offset - first, lost] = share
    weight = 1 / np.hypot(settings.relative * found, floor)
    whole, *less = amounts = nnls(ions * weight[:, None], found * weight)[0]
    fitted = ions @ amounts
    away = np.where(found > 0, found - fitted, np.maximum(fitted - min(heights.values()), 0.0))
    misfit = float(np.sum(away**2 / ((settings.relative * np.maximum(found, fitted)) ** 2 + floor**2)))
    chlorine, bromine = atoms.get("Cl", 0), atoms.get("Br", 0)
    impossible = whole <= 0 or less[1] > max(whole, 4 * less[0]) or less[2] > max(whole, less[1]) or less[0] > 5 * whole
    if impossible or (chlorine + bromine and sum(less) > whole):
        misfit = _FAR
    misfit += settings.rarer * ((bromine > 0) + (bromine > 0 and chlorine > 0))
    return _Fit(atoms, mass, misfit, len(masses), carbon)


def _judged(heights: Mapping[int, float], fits: Sequence[_Fit], settings: ChlorineCountSettings) -> HalogenCount:
    best = fits[0]
    also = tuple(
        dict.fromkeys(
            fit.halogens
            for fit in fits
            if fit.halogens != best.halogens and fit.misfit - best.misfit < settings.clearly
        )
    )
    fitting = Evidence("pattern", "for", best.misfit, float(best.masses), None, "chi-square")
    if best.halogens == (0, 0):
        told: Finding = "open" if also else "none"
        return HalogenCount(told, 0, 0, best.mz, ((0, 0), *also) if also else (), (fitting,))
    alkyl = _alkyl(heights, settings)
    evidence = (fitting, *_ratios(heights, best, settings), _loss(heights, best), alkyl)
    if alkyl.outcome == "against":  # an alkene beside its alkane, (0, 0), does as well
        also = tuple(dict.fromkeys((*also, (0, 0))))
    if also:
        return HalogenCount("open", 0, 0, best.mz, (best.halogens, *also), evidence)
    return HalogenCount("halogen", *best.halogens, best.mz, (), evidence)


def _ratios(heights: Mapping[int, float], fit: _Fit, settings: ChlorineCountSettings) -> Iterator[Evidence]:
    """Each even isotopologue against the tallest."""
    shares = dict(isotope_pattern({**fit.atoms, "C": fit.carbon}, 0.01))
    tallest = max(shares, key=lambda offset: shares[offset])
    top = heights[fit.mz + tallest]
    for offset, share in shares.items():
        if offset % 2 == 0 and offset != tallest:
            expected, found = share / shares[tallest], heights.get(fit.mz + offset, 0.0) / top
            u = float(np.hypot(settings.relative * expected, settings.floor))
            outcome: Literal["for", "against"] = "for" if abs(found - expected) <= 3 * u else "against"
            yield Evidence("isotope ratio", outcome, found, expected, u, f"M+{offset}")


def _loss(heights: Mapping[int, float], fit: _Fit) -> Evidence:
    """Loss of a halogen atom or its acid from the lightest isotopologue, as a fraction of that."""
    light = 35 if fit.atoms.get("Cl", 0) else 79
    left = max(heights.get(fit.mz - light, 0.0), heights.get(fit.mz - light - 1, 0.0))
    share = left / heights[fit.mz] if heights.get(fit.mz) else 0.0
    return Evidence("loss of the halogen", "for" if share >= 0.02 else "open", share, None, None, "of the ion")


def _alkyl(heights: Mapping[int, float], settings: ChlorineCountSettings) -> Evidence:
    """Alkyl ions CnH2n-1, CnH2n and CnH2n+1 of m/z 41 to 85 in all current above 40."""
    current = sum(height for mass, height in heights.items() if mass > 40)
    alkyl = sum(height for mass, height in heights.items() if 41 <= mass <= 85 and mass % 14 in (13, 0, 1))
    share = alkyl / current if current else 0.0
    outcome: Literal["for", "against"] = "against" if share > settings.alkyl_share else "for"
    return Evidence("alkyl ions", outcome, share, settings.alkyl_share, None, "of the current")
