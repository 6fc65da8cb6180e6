"""A chromatogram whose truth is known: peaks with exponential tails, an unresolved hump, bleed, drift, noise."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.stats import exponnorm


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


def alkane_time(carbon: np.ndarray | float, start: float = -1.6, slope: float = 0.55, bend: float = 7.4) -> np.ndarray:
    """Retention time in min of an n-alkane under a linear temperature program after a short hold."""
    carbon = np.asarray(carbon, dtype=float)
    return start + slope * carbon + bend * np.log(carbon / 4.0) * (1.0 - np.exp(-carbon / 9.0))


def width(t: np.ndarray | float) -> np.ndarray:
    """Sigma in min of a peak that elutes at t."""
    return 0.018 + 0.0005 * np.asarray(t, dtype=float)


def bleed(t: np.ndarray, level: float, height: float, middle: float, spread: float) -> np.ndarray:
    """What the column gives off as it gets hot: a sigmoid over a constant level."""
    return level + height / (1.0 + np.exp(-(t - middle) / spread))
