"""Test whether the responses of standards lie on a line: by replicates where there are, else against a curved line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from cutbook.model.trace import Floats

LinearityKind = Literal["lack of fit", "curvature"]


@dataclass(frozen=True)
class LinearityTest:
    """kind : "lack of fit" against the scatter of replicates, "curvature" against a line with a square term.
    statistic : F found. limit : F that chance exceeds in 5 % (lack of fit) or 1 % (curvature)."""

    kind: LinearityKind
    statistic: float
    limit: float

    @property
    def passed(self) -> bool:
        """Whether the line may stand."""
        return self.statistic <= self.limit


def linearity_of(x: Floats, y: Floats, weights: Floats, intercept: bool) -> LinearityTest | None:
    """Whether a straight line describes the standards.

    Parameters
    ----------
    x, y, weights : amounts, responses and weights, shape (n,). intercept : whether the line has one.

    Returns
    -------
    LinearityTest or None
        None where neither replicates nor enough levels allow a test: fewer than two degrees of freedom remain beside
        the curved line.

    Notes
    -----
    Lack of fit: F = [(Σw r² - Σw e²)/(k - p)]/[Σw e²/(n - k)], e from the mean of each of k levels (N. R. Draper,
    H. Smith, Applied Regression Analysis, from memory), limit at 95 %. Curvature: the gain of the square term against
    what is left, F(1, n - p - 1) at 99 % (ISO 8466-1:1990, 4.1.2, from memory).
    """
    from scipy.stats import f

    levels = np.unique(x)
    parts = 2 if intercept else 1
    line = _squares(x, y, weights, range(1 - intercept, 2))
    error = sum(float(np.sum(weights[x == one] * (y[x == one] - np.average(y[x == one])) ** 2)) for one in levels)
    if len(x) > len(levels) > parts and error > 0:
        above, below = len(levels) - parts, len(x) - len(levels)
        found = (line - error) / above / (error / below)
        return LinearityTest("lack of fit", max(found, 0.0), float(f.ppf(0.95, above, below)))
    degrees = len(x) - parts - 1
    if len(levels) < parts + 2 or degrees < 2:
        return None
    curved = _squares(x, y, weights, range(1 - intercept, 3))
    if curved <= 1e-24 * float(np.sum(weights * y**2)):  # both go through every point
        return LinearityTest("curvature", 0.0, float(f.ppf(0.99, 1, degrees)))
    return LinearityTest("curvature", (line - curved) / (curved / degrees), float(f.ppf(0.99, 1, degrees)))


def _squares(x: Floats, y: Floats, weights: Floats, powers: range) -> float:
    """Σw r² of the polynomial with those powers of x."""
    root = np.sqrt(weights)
    design = np.stack([(x / x.max()) ** power for power in powers], axis=1) * root[:, None]
    found, *_ = np.linalg.lstsq(design, root * y, rcond=None)
    return float(np.sum((root * y - design @ found) ** 2))
