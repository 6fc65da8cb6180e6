"""A still and a trace side by side in numbers, and what their difference looks like."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import harmonic_mean

import numpy as np

from cutbook.fractions.curve_in_kind import Simulated, convert
from cutbook.fractions.equivalent_temperature import neutral_watson
from cutbook.fractions.property_equations import density_15_g_ml, gravity_of_watson_k
from cutbook.model.boiling import INITIAL
from cutbook.model.trace import Floats


@dataclass(frozen=True, eq=False)
class Pair:
    """Both curves on one axis, in numbers.

    recovered : %. trace_c : the trace in the still's kind. still_c. covariance : of the differences, °C².
    simulated : the trace as it is. conversion : by which it was put in kind. whole : whether what did not elute counts.
    known_solvent : name in the reference of the solvent that the trace was injected in, "" where none is declared.
    density, u_density : of the oil in g/mL, and its standard uncertainty.
    """

    recovered: Floats
    trace_c: Floats
    still_c: Floats
    covariance: Floats
    simulated: Simulated
    conversion: str
    whole: bool
    known_solvent: str
    density: float
    u_density: float = 0.0

    def weighed_squares(self, differences: Floats) -> float:
        """Chi-square of differences that should be 0; points without a value do not count."""
        used = np.isfinite(differences)
        if not used.any():
            return float("inf")
        part = self.covariance[np.ix_(used, used)]
        return float(np.dot(differences[used], np.linalg.solve(part, differences[used])))

    def starts_below_c(self) -> float:
        """By how much the still begins below the trace, in °C, at most within its first quarter."""
        return float(np.max((self.trace_c - self.still_c)[self.recovered <= 25.0], initial=0.0))

    def breaks_within(self) -> float:
        """% over which that falls to half of its most; infinite where it does not."""
        below = self.trace_c - self.still_c
        early = self.recovered <= 35.0
        most = int(np.argmax(np.where(early, below, -np.inf)))
        half = np.flatnonzero(below[most:] < 0.5 * below[most])
        return float(self.recovered[most + half[0]] - self.recovered[most]) if len(half) else float("inf")

    def stands_level(self, near_c: float) -> bool:
        """Whether the still reads about one temperature over at least 10 %."""
        rise = self.still_c[2:] - self.still_c[:-2]
        span = self.recovered[2:] - self.recovered[:-2]
        return bool(np.any((rise < 8.0) & (span >= 9.9) & (np.abs(self.still_c[1:-1] - near_c) < 10.0)))

    def seen(self, simulated: Simulated) -> Floats:
        """What the still would read if the simulated curve were this one."""
        return convert(simulated, self.conversion)(self.recovered)


def density_of(simulated: Simulated) -> float:
    """Density in g/mL that an oil of this curve would have with the Watson factor of oils rich in paraffins, 12.

    Of each twentieth by its boiling point, volumes added.
    """
    values = simulated(np.arange(2.5, 100.0, 5.0))
    known = values[np.isfinite(values)].tolist()
    return harmonic_mean([density_15_g_ml(gravity_of_watson_k(one, neutral_watson())) for one in known])


LEVEL_C = 1.5
"""°C by which a stretch may rise and still be one compound."""


def level_stretch(
    simulated: Simulated, near_c: float, within_c: float = 12.0, least: float = 6.0
) -> tuple[float, float] | None:
    """Start and end, in %, of the longest stretch of a curve that stands level near a temperature; None without one.

    within_c : retention indices of solvents are known to 25 units, 8 to 12 °C at the light end. least : % that it must
    be long.
    """
    grid = np.linspace(INITIAL, 60.0, 239)
    values = simulated(grid)
    best: tuple[float, float] | None = None
    for start in range(len(grid)):
        if not np.isfinite(values[start]) or abs(values[start] - near_c) > within_c:
            continue
        end = start
        while end + 1 < len(grid) and values[end + 1] - values[start] < LEVEL_C:
            end += 1
        length = grid[end] - grid[start]
        if length >= least and (best is None or length > best[1] - best[0]):
            best = (float(grid[start]), float(grid[end]))
    return best
