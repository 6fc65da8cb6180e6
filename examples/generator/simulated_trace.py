"""A chromatogram whose truth is known: peaks with exponential tails, an unresolved hump, bleed, drift, noise."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np
from scipy.stats import exponnorm

from cutbook.identification.spacing import alkane_parameters, elution_times


@dataclass
class Compounds:
    """Peaks of a trace, all arrays of one length: apex-side centre in min, area in unit × min, sigma and tau in min."""

    time: np.ndarray
    area: np.ndarray
    sigma: np.ndarray
    tau: np.ndarray
    name: list[str] = field(default_factory=list)

    def apexes(self) -> np.ndarray:
        """Time of the highest point of each peak."""
        found = np.empty(len(self.time))
        for i in range(len(self.time)):
            grid = self.time[i] + np.linspace(-1.0, 2.0, 1201) * self.sigma[i]
            found[i] = grid[np.argmax(emg(grid, self.time[i], self.sigma[i], self.tau[i]))]
        return found


def emg(t: np.ndarray, mu: float, sigma: float, tau: float) -> np.ndarray:
    """Exponentially modified Gaussian of unit area, from a general statistics library."""
    return exponnorm.pdf(t, tau / sigma, loc=mu, scale=sigma)


def render(t: np.ndarray, compounds: Compounds) -> np.ndarray:
    """The sum of all peaks."""
    signal = np.zeros_like(t)
    for mu, area, sigma, tau in zip(compounds.time, compounds.area, compounds.sigma, compounds.tau, strict=True):
        left, right = np.searchsorted(t, [mu - 8 * sigma, mu + 8 * sigma + 25 * tau])
        signal[left:right] += area * emg(t[left:right], mu, sigma, tau)
    return signal


@cache
def _alkane_table(ramp: float, hold: float, start_c: float, end_c: float, dead_min: float) -> np.ndarray:
    """Retention times in min of n-C3 to n-C60, from published parameters of n-alkanes (5 % phenyl column)."""
    return elution_times(alkane_parameters(np.arange(3.0, 61.0)), start_c, hold, ramp, dead_min, end_c)


def alkane_time(carbon, ramp=8.0, hold=1.0, start_c=35.0, end_c=350.0, dead_min=1.2) -> np.ndarray:
    """Retention time in min of an n-alkane (or between two of them) under a linear temperature program."""
    return np.interp(
        np.asarray(carbon, dtype=float), np.arange(3, 61), _alkane_table(ramp, hold, start_c, end_c, dead_min)
    )


def width(t: np.ndarray | float) -> np.ndarray:
    """Sigma in min of a peak that elutes at t."""
    return 0.018 + 0.0005 * np.asarray(t, dtype=float)


def bleed(t: np.ndarray, level: float, height: float, middle: float, spread: float) -> np.ndarray:
    """What the column gives off as it gets hot: a sigmoid over a constant level."""
    return level + height / (1.0 + np.exp(-(t - middle) / spread))
