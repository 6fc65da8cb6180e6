"""The rules by which areas ion by ion become a verdict: all of them, and nothing else, stand here.

Areas are read twice: with neighbours that give of each ion what neighbours here usually give (the keener reading), and
with neighbours that may give anything (the strict one).

A signal **is indicated** when in either reading, at one place in the window,

1. *signal*: the chlorine-bearing cluster of ions, pooled by theory, exceeds its uncertainty `least_signal` times;
2. *isotope ratio*: the partner ions are themselves there (`least_partner` times their uncertainty) and all ions of the
   cluster agree with the natural abundance of chlorine (chi-square, `isotope_chance`);
3. *third ion*: a further ion of the compound, or a third of its cluster, is there (`least_third`) within its tolerance,
   and none is missing (an area far below nothing tells of a reading that went wrong, not of an ion that is missing);
   where neighbours hide them all, the isotope ratio must be known to `known_ratio`; in the strict
   reading a signal of `clear_signal` with a ratio as of rule 5 does without;
4. *neighbour ions*: one mass below and above the cluster there is no more than carbon-13 and the tolerance allow, so
   that no hydrocarbon with ions at every mass stands behind it;

and no scan of the peak speaks against the ratio (`along_peak`), and it is no small part of a larger signal of the same
compound close by (`Look.found`). It **is confirmed** when in the strict reading besides

5. the cluster is that of the whole molecule (fragments of alkyl chlorides lie where aromatics have theirs), the isotope
   ratio is known to `sure_ratio` and right within `ratio_offset`, a further ion exceeds its uncertainty `sure_third`
   times and none misses its share by more than `sure_spread` and `sure_factor`, and the neighbour ions could have
   spoken against it;
6. neighbours could not have made its shape (`own_shape`), the scans of the peak speak for the ratio, and *peak shape*,
   *apex*, *retention index* and *blank* do not speak against it.

Where neither holds it is **not detected**, with the limit that trials in this run have shown; or **masked** when that
limit exceeds `masked_above` times what the same run would give without neighbours, or when no limit could be shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.target_ions import TargetIons
from cutbook.model.trace import Floats

NOTHING, INDICATED, CONFIRMED = 0, 1, 2


@dataclass(frozen=True)
class VerdictSettings:
    """The figures in the rules above; z-values are areas divided by their standard uncertainty.

    least_signal : 5.5, because a window holds some hundred places and a run some fifty windows.
    least_partner : 2.5. isotope_tolerance : relative, of an isotope ratio by detector and integration; 0.08, the
        scatter of public spectra is 10 to 15 %. isotope_chance : chi-square probability below which the ratio is
        against it. least_third : 2. neighbour_tolerance : share of the cluster's tallest ion that a compound may give
        one mass beside it, beyond carbon-13.
    third_spread : standard uncertainties by which a third ion may exceed its share and still speak for the compound; 4,
        because what elutes beside the compound adds to it. missing_spread : by which it must fall short to be missing;
        4, because one of several falls short by chance. beside_spread : by which a neighbour ion must exceed what it
        may be.
    known_ratio : relative standard uncertainty of the isotope ratio that stands in for a third ion. sure_ratio : the
        same to confirm; ratio_offset : by which it may then miss theory, relative; 0.15, the scatter of public spectra.
    sure_third : 4. sure_spread, sure_factor : by how many uncertainties, and by which factor, every further ion may
        then miss its share; 2.5 both.
    clear_signal : 15. own_shape : share of the compound's shape that no neighbour can give, asked of what is confirmed.
    masked_above : 10; up to that a limit still says something of the oil, beyond it mostly of its neighbours.
    """

    least_signal: float = 5.5
    least_partner: float = 2.5
    isotope_tolerance: float = 0.08
    isotope_chance: float = 0.02
    least_third: float = 2.0
    neighbour_tolerance: float = 0.12
    third_spread: float = 4.0
    missing_spread: float = 4.0
    beside_spread: float = 2.0
    known_ratio: float = 0.15
    sure_ratio: float = 0.10
    ratio_offset: float = 0.15
    sure_third: float = 4.0
    sure_spread: float = 2.5
    sure_factor: float = 2.5
    clear_signal: float = 15.0
    own_shape: float = 0.08
    masked_above: float = 10.0


@dataclass(frozen=True, eq=False)
class Judged:
    """The rules applied to areas of shape (…, k); every field has shape (…).

    level : NOTHING, INDICATED or CONFIRMED by the rules on areas (1 to 5). cluster, u_cluster : area of the tallest
    cluster ion, pooled. z : their ratio. z_partner, ratio, u_ratio, misfit : of the isotope partners; the ratio is the
    first partner's to the tallest ion, the misfit a chi-square. third, z_third : the best third ion's area over its
    expected area, and z.
    missing_third : whether a third ion is missing. beside : most that a neighbour ion exceeds what it may be, in its
    uncertainty; negative when below. beside_told : whether neighbours could have spoken.
    """

    level: NDArray[np.int64]
    cluster: Floats
    u_cluster: Floats
    z: Floats
    z_partner: Floats
    ratio: Floats
    u_ratio: Floats
    misfit: Floats
    third: Floats
    z_third: Floats
    missing_third: NDArray[np.bool_]
    beside: Floats
    beside_told: NDArray[np.bool_]


def judge(
    area: Floats, u_area: Floats, ions: TargetIons, settings: VerdictSettings = VerdictSettings(),
    strict: bool | NDArray[np.bool_] = False,
) -> Judged:  # fmt: skip
    """Apply the rules on areas.

    Parameters
    ----------
    area, u_area : of all ions of `ions`, shape (…, k). ions : what is expected of them.
    settings : see `VerdictSettings`. strict : whether the areas are of the strict reading, shape (…) when not of all.
    """
    s = settings
    own = ions.cluster
    share = ions.share[own]
    a, u = area[..., own], u_area[..., own]
    weight = share / u**2
    norm = (weight * share).sum(axis=-1)
    cluster = (weight * a).sum(axis=-1) / norm
    u_cluster = norm**-0.5
    z = cluster / u_cluster
    height = np.maximum(cluster, 0.0)[..., None]
    spread = u**2 + (s.isotope_tolerance * share * height) ** 2
    misfit = ((a - share * height) ** 2 / spread).sum(axis=-1)

    partners, u_partners, of_partners = a[..., 1:], u[..., 1:], share[1:]
    weight = of_partners / u_partners**2
    z_partner = (weight * partners).sum(axis=-1) / np.sqrt((weight * of_partners).sum(axis=-1))
    base = np.where(a[..., 0] > 0, a[..., 0], np.nan)
    ratio = a[..., 1] / base
    u_ratio = np.sqrt(u[..., 1] ** 2 + (ratio * u[..., 0]) ** 2) / base

    third, z_third, missing, has_third, sure_third, unreadable = _third(area, u_area, ions, height[..., 0], s)
    beside, told = _beside(area, u_area, ions, height[..., 0], s)

    def known_to(relative: float) -> Any:
        with np.errstate(invalid="ignore"):
            return u_ratio / np.maximum(ratio, 1e-30) <= relative

    # a third ion of the cluster is as good as another fragment; where all fragments are hidden the ratio must be sure
    of_cluster = (a[..., 2:] / u[..., 2:] >= s.least_third).any(axis=-1)
    has_third = has_third | of_cluster | (unreadable & known_to(s.known_ratio))
    fits = misfit <= _most_misfit(s.isotope_chance, len(share) - 1)
    with np.errstate(invalid="ignore"):
        sharp = known_to(s.sure_ratio) & (np.abs(ratio / share[1] - 1.0) <= s.ratio_offset)
    # strictly read, so clear a pattern of chlorine must not be lost to a fragment that is not as it should be
    tells = (has_third & ~missing) | (strict & sharp & (z >= s.clear_signal))
    indicated = (z >= s.least_signal) & (z_partner >= s.least_partner) & fits & tells & (beside < s.beside_spread)
    confirmed = indicated & sharp & sure_third & ~missing & told & ions.molecular
    level = np.where(confirmed, CONFIRMED, np.where(indicated, INDICATED, NOTHING))
    return Judged(
        level, cluster, u_cluster, z, z_partner, ratio, u_ratio, misfit, third, z_third, missing, beside, told
    )


def isotope_chance(misfit: float, ions: TargetIons) -> float:
    """Probability of a misfit of the cluster at least as large, were the pattern that of chlorine."""
    from scipy.stats import chi2

    return float(chi2.sf(misfit, len(ions.cluster) - 1))


@lru_cache(maxsize=64)
def _most_misfit(chance: float, freedom: int) -> float:
    from scipy.stats import chi2

    return float(chi2.isf(chance, freedom))


def _third(
    area: Floats, u_area: Floats, ions: TargetIons, height: Floats, s: VerdictSettings
) -> tuple[Floats, Floats, NDArray[Any], NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Best third ion over its expected area and its z; whether one is missing, there, surely there, all unreadable."""
    if not len(ions.third):
        none = np.zeros(height.shape, bool)
        return np.full(height.shape, np.nan), np.zeros(height.shape), none, none, none, ~none
    a, u = area[..., ions.third], u_area[..., ions.third]
    expected = ions.share[ions.third] * height[..., None]
    off = (a - expected) / np.sqrt(u**2 + (ions.u_share[ions.third] * expected) ** 2)
    # an area far below nothing tells of a reading that went wrong there, not of an ion that is missing
    low = (off < -s.missing_spread) & (a > -s.missing_spread * u)
    fits = ~low & (off <= s.third_spread)
    z = a / u
    with np.errstate(divide="ignore", invalid="ignore"):
        over = a / expected
    best = np.argmax(np.where(fits, z, -np.inf), axis=-1)[..., None]
    has = (fits & (z >= s.least_third)).any(axis=-1)
    near = (np.abs(off) <= s.sure_spread) & (a >= expected / s.sure_factor) & (a <= expected * s.sure_factor)
    sure = (z >= s.sure_third).any(axis=-1) & near.all(axis=-1)
    told = np.take_along_axis(over, best, -1)[..., 0], np.take_along_axis(z, best, -1)[..., 0]
    marks = (low.any(axis=-1), has, sure, (expected < s.least_third * u).all(axis=-1))
    return (*told, *(np.asarray(mark) for mark in marks))  # type: ignore[return-value]


def _beside(
    area: Floats, u_area: Floats, ions: TargetIons, height: Floats, s: VerdictSettings
) -> tuple[Floats, NDArray[Any]]:
    """By how many uncertainties the worst neighbour ion exceeds what it may be; whether it could have."""
    if not len(ions.beside):
        return np.full(height.shape, -np.inf), np.zeros(height.shape, bool)
    a, u = area[..., ions.beside], u_area[..., ions.beside]
    may = (ions.beside_share + s.neighbour_tolerance) * height[..., None]
    told = np.asarray((s.beside_spread * u < 1.5 * may).any(axis=-1))
    return np.asarray(((a - may) / u).max(axis=-1)), told
