"""Hold the ions about a lead against the isotope pattern of so many chlorine and bromine atoms."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.pattern_leads import BELOW, Leads
from cutbook.identification.isotope_pattern import halogen_pattern, isotope_pattern, nominal_mass
from cutbook.model.trace import Floats, frozen_array


@cache
def carbon_13() -> float:
    """What one carbon gives at M+1, as a share of M."""
    return dict(isotope_pattern("C"))[1]


@dataclass(frozen=True, eq=False)
class Halogens:
    """So many chlorine and bromine atoms.

    pattern : of the halogens alone at the masses base … base + 2 × (chlorine + bromine), 1 at the tallest.
    tallest : offset of the tallest from the base. mass : of the lightest isotopes.
    """

    chlorine: int
    bromine: int
    pattern: Floats
    tallest: int
    mass: int

    def __post_init__(self) -> None:
        object.__setattr__(self, "pattern", frozen_array(self.pattern))

    @property
    def atoms(self) -> int:
        """Halogen atoms."""
        return self.chlorine + self.bromine


@cache
def halogens(chlorine: int, bromine: int) -> Halogens:
    """The pattern of so many atoms."""
    pattern = np.zeros(2 * (chlorine + bromine) + 1)
    if chlorine + bromine:
        for offset, share in halogen_pattern(chlorine, bromine):
            pattern[offset] = share
    else:
        pattern[0] = 1.0
    tallest = int(pattern.argmax())
    mass = nominal_mass({"Cl": chlorine, "Br": bromine})
    return Halogens(chlorine, bromine, pattern / pattern[tallest], tallest, mass)


def carbon_bounds(rest: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Fewest and most carbons of an ion of which the halogens are taken away, by its nominal mass left.

    Hydrogens are no more than 2 C + 1, oxygens no more than two. Where no ion has such a mass the fewest are more than
    the most.
    """
    most = np.full(rest.shape, -1)
    fewest = np.full(rest.shape, 99)
    for oxygen in range(3):
        left = rest - 16 * oxygen
        upper = left // 12
        lower = -(-(left - 1) // 14)  # 12 C + H with H ≤ 2 C + 1
        fits = (upper >= np.maximum(lower, 1)) & (left >= 12)
        most = np.where(fits, np.maximum(most, upper), most)
        fewest = np.where(fits, np.minimum(fewest, np.maximum(lower, 1)), fewest)
    return fewest, most


@dataclass(frozen=True)
class PatternFitSettings:
    """How far a pattern may be missed for other reasons than counting.

    ratio : of an isotope's expected height; 0.03, for detectors are not quite linear and tuned more or less well.
    beside : of the lead, at the masses of the pattern itself; 0.004 for what elutes a little earlier or later.
    below : of the lead, at the masses one and two below the lightest, from ions that have lost hydrogen and are not
        fitted; 0.04.
    above : of the lead, at the masses above the pattern; 0.02.
    outside : most that each of the masses two below and one and two above the pattern counts against it, and of those
        between its ions when more stands there than it can give; 7, for one spectrum in thirty has another compound
        there.
    hydrogen : most that an ion with a hydrogen less may have of it; 0.6, where chlorotoluenes have up to 0.4.
    """

    ratio: float = 0.03
    beside: float = 0.004
    below: float = 0.04
    above: float = 0.02
    outside: float = 7.0
    hydrogen: float = 0.6


@dataclass(frozen=True, eq=False)
class PatternFit:
    """How well leads fit one pattern; arrays by lead.

    possible : whether an ion with these halogens can have that mass. height : of the tallest ion. hydrogen : height of
    the same pattern one mass lower, from an ion that has lost a hydrogen, as a share. carbon : carbons that fit best.
    misfit : sum of squared deviations in standard deviations. sharpness : natural logarithm of how much surer the
    isotopes are foreseen than by chance. thin : how far M+1 lies below what the carbons of a hydrocarbon ion of that
    mass would give, in standard deviations.
    """

    halogens: Halogens
    possible: NDArray[np.bool_]
    height: Floats
    hydrogen: Floats
    carbon: Floats
    misfit: Floats
    sharpness: Floats
    thin: Floats


HYDROCARBON = 13.3
"""Mass per carbon of the ions that stand in the way."""
HYDROGEN_COST = 4.0
"""Natural logarithm of odds against as much of an ion that has lost a hydrogen as of the ion itself."""
INTRUDER = 0.2
"""By how much of it their 13C may be missed."""
SPREAD = 6.0
"""Heights of neighbouring ions of a hydrocarbon, and of two that elute together, differ by factors between 1/20 and 20;
spread evenly over the logarithm that is a range of 6."""


def fit_pattern(leads: Leads, pattern: Halogens, settings: PatternFitSettings = PatternFitSettings()) -> PatternFit:
    """Fit a pattern and its neighbour that has lost a hydrogen to all leads.

    Notes
    -----
    Least squares with weights from counting and the allowances of the settings. The number of carbons is the best of
    five between the fewest and the most that the mass allows; 13C adds to each mass what stands one (and two) below.
    """
    base = leads.mz - pattern.tallest
    fewest, most = carbon_bounds(base - pattern.mass)
    start = BELOW - pattern.tallest - 2
    span = 2 * pattern.atoms + 5  # two below … two above
    found = leads.height[:, start : start + span].astype(float)
    variance = leads.variance[:, start : start + span].astype(float)
    count = len(leads)
    lead = np.maximum(found[:, pattern.tallest + 2], 1e-30)
    plain = np.zeros(span)
    plain[2:-2] = pattern.pattern
    # an ion that happens to be low is not therefore surer: it scatters at least as what is foreseen of it
    np.maximum(variance, plain * variance[:, [pattern.tallest + 2]], out=variance)
    above = leads.whole[:, start + 3].astype(float)
    thin = _thinness(found[:, 2], above, variance[:, 2], variance[:, 3], base)
    best = {"misfit": np.full(count, np.inf)}
    for part in (0.0, 0.25, 0.5, 0.75, 1.0):
        carbon = fewest + part * (most - fewest)
        expected = _with_carbon(plain, carbon)
        lost = np.zeros_like(expected)
        lost[:, :-1] = expected[:, 1:]
        allowed = settings.ratio * expected + settings.beside
        allowed[:, :2] += settings.below
        allowed[:, -2:] += settings.above
        weight = 1.0 / (variance + (allowed * lead[:, None]) ** 2)
        aa, ab, bb = (weight * expected**2).sum(1), (weight * expected * lost).sum(1), (weight * lost**2).sum(1)
        ya, yb = (weight * found * expected).sum(1), (weight * found * lost).sum(1)
        determinant = np.maximum(aa * bb - ab * ab, 1e-300)
        second = (yb * aa - ya * ab) / determinant
        second = np.where(second > 0, second, 0.0)
        first = np.maximum((ya - second * ab) / aa, 0.0)
        off = found - first[:, None] * expected - second[:, None] * lost
        one = {
            "misfit": _misfit(weight * off**2, settings),
            "height": first,
            "hydrogen": second / np.maximum(first, 1e-30),
            "carbon": carbon.astype(float),
            "sharpness": _sharpness(plain, weight, first)
            + _overlap_sharpness(plain, weight, first, second, most - fewest),
        }
        better = one["misfit"] < best["misfit"]
        best = {name: np.where(better, value, best.get(name, 0.0)) for name, value in one.items()}
    if pattern.atoms > 1:
        crowded = _with_intruders(found, variance, lead, plain, base, fewest, most, settings)
        better = _worth(crowded) > _worth(best)
        best = {name: np.where(better, value, best[name]) for name, value in crowded.items()}
    possible = (fewest <= most) & (best["height"] > 0) & (best["hydrogen"] < settings.hydrogen)
    return PatternFit(
        pattern, possible, best["height"], best["hydrogen"], best["carbon"], best["misfit"], best["sharpness"],
        thin,
    )  # fmt: skip


def _worth(fit: dict[str, Floats]) -> Floats:
    """Odds of a fit, as far as its pattern goes."""
    return fit["sharpness"] - 0.5 * fit["misfit"] - HYDROGEN_COST * fit["hydrogen"]


def _with_intruders(
    found: Floats, variance: Floats, lead: Floats, plain: Floats, base: NDArray[np.intp], fewest: NDArray[np.intp],
    most: NDArray[np.intp], settings: PatternFitSettings,
) -> dict[str, Floats]:  # fmt: skip
    """The fit when ions of other compounds stand between those of the pattern and bring their 13C with them.

    Only the ions of the halogens are fitted. What stands above 13C of the most carbons at the masses between, by more
    than `outside`, counts as that much and its own 13C is taken off the next mass.
    """
    carbon: Floats = 0.5 * (fewest + most).astype(np.float64)
    expected, richest = _with_carbon(plain, carbon), _with_carbon(plain, most)
    allowed = settings.ratio * expected + settings.beside
    allowed[:, :2] += settings.below
    allowed[:, -2:] += settings.above
    variance = variance + (allowed * lead[:, None]) ** 2
    heavy = carbon_13() * base / HYDROCARBON
    own = plain > 0
    found = found.copy()
    between = [place for place in range(1, len(plain) - 3, 2)]
    first = (found * expected / variance)[:, own].sum(1) / (expected**2 / variance)[:, own].sum(1)
    intruder = np.zeros(found.shape, bool)
    for place in between:
        over = found[:, place] - np.maximum(first, 0.0) * richest[:, place]
        there = (over > 0) & (over**2 / variance[:, place] > settings.outside)
        intruder[:, place] = there
        extra = np.where(there, over * heavy, 0.0)
        found[:, place + 1] -= extra
        variance[:, place + 1] += (INTRUDER * extra) ** 2
    weight = 1.0 / variance
    first = (weight * found * expected)[:, own].sum(1) / (weight * expected**2)[:, own].sum(1)
    first = np.maximum(first, 0.0)
    square = weight * (found - first[:, None] * expected) ** 2
    square[intruder] = settings.outside
    return {
        "misfit": _misfit(square, settings), "height": first, "hydrogen": np.zeros(len(lead)), "carbon": carbon,
        "sharpness": _sharpness(plain, weight, first),
    }  # fmt: skip


def _misfit(square: Floats, settings: PatternFitSettings) -> Floats:
    """Sum over all masses; those outside the pattern, where another compound may stand, count no more than so much."""
    outside = [0, square.shape[1] - 2, square.shape[1] - 1]
    square[:, outside] = np.minimum(square[:, outside], settings.outside)
    total: Floats = square.sum(axis=1)
    return total


def _with_carbon(plain: Floats, carbon: Floats | NDArray[np.intp]) -> Floats:
    """The pattern with so many carbons, shape (n, span)."""
    share = carbon_13() * carbon[:, None]
    expected = np.repeat(plain[None, :], len(carbon), axis=0)
    expected[:, 1:] += share * plain[:-1]
    expected[:, 2:] += 0.5 * share * np.maximum(share - carbon_13(), 0.0) * plain[:-2]
    return expected


def _sharpness(plain: Floats, weight: Floats, height: Floats) -> Floats:
    """Σ ln(range of chance / spread of the reading) over the isotopes of the halogens but the tallest."""
    total = np.zeros(len(height))
    for place in np.flatnonzero(plain > 0.01):
        if plain[place] == 1.0:
            continue
        reading = 1.0 / np.sqrt(weight[:, place]) / np.maximum(height, 1e-30)
        total += np.maximum(np.log(SPREAD * plain[place] / (np.sqrt(2.0 * np.pi) * reading)), 0.0)
    return total


def _overlap_sharpness(
    plain: Floats, weight: Floats, height: Floats, lost: Floats, carbons: NDArray[np.intp]
) -> Floats:
    """The same for M+1 where the heavy isotope of an ion that has lost a hydrogen is foreseen to stand there."""
    if len(plain) < 5:
        return np.zeros(len(height))
    foreseen = lost * plain[4]
    spread = np.sqrt(1.0 / weight[:, 3] + (carbon_13() * np.maximum(carbons, 1) * height) ** 2 / 12.0)
    gain: Floats = np.log(np.maximum(SPREAD * foreseen, 1e-30) / (np.sqrt(2.0 * np.pi) * spread))
    gain = np.clip(gain, 0.0, 3.0)
    return gain


def _thinness(
    height: Floats, above: Floats, variance: Floats, above_variance: Floats, base: NDArray[np.intp]
) -> Floats:
    """By how many standard deviations the ion above the base is lower than in a hydrocarbon ion of that mass."""
    least = carbon_13() * np.ceil((base - 2) / 14.0)
    counted = np.maximum(above_variance, least * variance) + least**2 * variance
    thin: Floats = np.subtract(least * height, above) / np.sqrt(counted + (0.06 * least * height) ** 2)
    return thin
