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
    first partner's to the tallest ion, the misfit a chi-square. missing_third : whether a third ion is missing.
    beside : most that a neighbour ion exceeds what it may be, in its uncertainty; negative when below. beside_told :
    whether neighbours could have spoken.
    """

    level: NDArray[np.int64]
    cluster: Floats
    u_cluster: Floats
    z: Floats
    z_partner: Floats
    ratio: Floats
    u_ratio: Floats
    misfit: Floats
    missing_third: NDArray[np.bool_]
    beside: Floats
    beside_told: NDArray[np.bool_]


def judge(
    area: Floats, u_area: Floats, ions: TargetIons, settings: VerdictSettings = VerdictSettings(), strict: bool = False
) -> Judged:
    """Apply the rules on areas.

    Parameters
    ----------
    area, u_area : of all ions of `ions`, shape (…, k). ions : what is expected of them.
    settings : see `VerdictSettings`. strict : whether the areas are of the strict reading.
    """
    s, shape = settings, area.T.shape[1:]
    # ion by ion, each with all its places in a row: numpy adds long rows faster than short ones
    area, u_area = (one.T.reshape(len(ions.mz), -1) for one in (area, u_area))
    own = ions.cluster
    a, u, share = area[own], u_area[own], ions.share[own, None]
    variance = u * u
    weight = share / variance
    norm = (weight * share).sum(axis=0)
    cluster = (weight * a).sum(axis=0) / norm
    u_cluster = 1.0 / np.sqrt(norm)
    z = cluster / u_cluster
    height = np.maximum(cluster, 0.0)
    expected = share * height
    misfit = ((a - expected) ** 2 / (variance + (s.isotope_tolerance * expected) ** 2)).sum(axis=0)
    z_partner = (weight[1:] * a[1:]).sum(axis=0) / np.sqrt((weight[1:] * share[1:]).sum(axis=0))
    base = np.where(a[0] > 0, a[0], np.nan)
    ratio = a[1] / base
    u_ratio = np.sqrt(variance[1] + (ratio * u[0]) ** 2) / base
    missing, has_third, sure_third, unreadable = _third(area, u_area, ions, height, s)
    beside, told = _beside(area, u_area, ions, height, s)
    with np.errstate(invalid="ignore"):
        known = u_ratio / np.maximum(ratio, 1e-30)
        sharp = (known <= s.sure_ratio) & (np.abs(ratio / share[1] - 1.0) <= s.ratio_offset)
        # a third ion of the cluster is as good as another fragment; where all are hidden the ratio must be sure
        has_third = has_third | (a[2:] >= s.least_third * u[2:]).any(axis=0) | (unreadable & (known <= s.known_ratio))
    fits = misfit <= most_misfit(s.isotope_chance, len(share) - 1)
    tells = has_third & ~missing
    if strict:  # so clear a pattern of chlorine must not be lost to a fragment that is not as it should be
        tells |= sharp & (z >= s.clear_signal)
    indicated = (z >= s.least_signal) & (z_partner >= s.least_partner) & fits & tells & (beside < s.beside_spread)
    level = indicated.astype(np.int64)
    if ions.molecular:
        level += indicated & sharp & sure_third & ~missing & told
    found: tuple[NDArray[Any], ...] = (
        level, cluster, u_cluster, z, z_partner, ratio, u_ratio, misfit, missing, beside, told,
    )  # fmt: skip
    return Judged(*(one.reshape(shape).T for one in found))


def isotope_chance(misfit: float, ions: TargetIons) -> float:
    """Probability of a misfit of the cluster at least as large, were the pattern that of chlorine."""
    from scipy.special import chdtrc

    return float(chdtrc(len(ions.cluster) - 1, misfit))


@lru_cache(maxsize=64)
def most_misfit(chance: float, freedom: int) -> float:
    """The chi-square that is exceeded with a probability."""
    from scipy.special import chdtri

    return float(chdtri(freedom, chance))


def third_ion(
    area: Floats, u_area: Floats, ions: TargetIons, cluster: float, settings: VerdictSettings = VerdictSettings()
) -> tuple[float, float]:
    """Of the surest third ion within its tolerance: its area over its expected one, and z.

    Parameters
    ----------
    area, u_area : of all ions at one place, shape (k,). cluster : area of the tallest cluster ion there.
    """
    a, u, expected, off, low = _third_areas(
        area[:, None], u_area[:, None], ions, np.array([max(cluster, 0.0)]), settings
    )
    fits = ~low & (off <= settings.third_spread)
    best = int(np.where(fits, a / u, -np.inf).argmax())
    with np.errstate(divide="ignore", invalid="ignore"):
        return float(a[best, 0] / expected[best, 0]), float(a[best, 0] / u[best, 0])


def _third_areas(
    area: Floats, u_area: Floats, ions: TargetIons, height: Floats, s: VerdictSettings
) -> tuple[Floats, Floats, Floats, Floats, NDArray[np.bool_]]:
    """Areas of the third ions, shape (t, …): u, what is expected, by how many u they miss it, whether too low."""
    a, u = area[ions.third], u_area[ions.third]
    expected = ions.share[ions.third, None] * height
    off = (a - expected) / np.sqrt(u * u + (ions.u_share[ions.third, None] * expected) ** 2)
    # an area far below nothing tells of a reading that went wrong there, not of an ion that is missing
    low = (off < -s.missing_spread) & (a > -s.missing_spread * u)
    return a, u, expected, off, low


def _third(
    area: Floats, u_area: Floats, ions: TargetIons, height: Floats, s: VerdictSettings
) -> tuple[NDArray[Any], ...]:
    """Whether a third ion is missing, there, surely there, all of them unreadable."""
    if not len(ions.third):
        none = np.zeros(height.shape, bool)
        return none, none, none, ~none
    a, u, expected, off, low = _third_areas(area, u_area, ions, height, s)
    has = (~low & (off <= s.third_spread) & (a >= s.least_third * u)).any(axis=0)
    near = (np.abs(off) <= s.sure_spread) & (a * s.sure_factor >= expected) & (a <= expected * s.sure_factor)
    sure = (a >= s.sure_third * u).any(axis=0) & near.all(axis=0)
    return tuple(np.asarray(one) for one in (low.any(axis=0), has, sure, (expected < s.least_third * u).all(axis=0)))


def _beside(
    area: Floats, u_area: Floats, ions: TargetIons, height: Floats, s: VerdictSettings
) -> tuple[Floats, NDArray[Any]]:
    """By how many uncertainties the worst neighbour ion exceeds what it may be; whether it could have."""
    if not len(ions.beside):
        return np.full(height.shape, -np.inf), np.zeros(height.shape, bool)
    a, u = area[ions.beside], u_area[ions.beside]
    may = (ions.beside_share[:, None] + s.neighbour_tolerance) * height
    told = np.asarray((s.beside_spread * u < 1.5 * may).any(axis=0))
    return np.asarray(((a - may) / u).max(axis=0)), told
