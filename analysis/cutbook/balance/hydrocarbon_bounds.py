"""Bound the hydrogen of a liquid hydrocarbon that nobody analysed, between rings or alkenes and alkanes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from cutbook.model.amount import doubt, nominal
from cutbook.model.atoms import atomic_mass
from cutbook.model.carbon import CarbonDistribution

LIGHTEST = 5
"""Carbon atoms of the lightest alkane that is weighed with a liquid."""


@dataclass(frozen=True)
class HydrocarbonSettings:
    """Between what the hydrogen of a liquid lies.

    least_aliphatic : atoms of hydrogen an atom of carbon in the liquid of plastics without rings, at least (1.8:
        alkenes have 2, alkadienes of ten carbons 1.8, and a tenth of rings lowers alkenes to about the same; common
        practice, no source). The liquid of plastics with rings is as poor as the poorest of them at least.
    """

    least_aliphatic: float = 1.8


def hydrogen_between(
    name: str, carbons: CarbonDistribution | None, least_ratio: float | None, settings: HydrocarbonSettings
) -> tuple[Any, float, float]:
    """Mass fraction of hydrogen in a liquid hydrocarbon, with its bounds.

    Parameters
    ----------
    name : of the stream, for the budget. carbons : its distribution, None without one; then the alkane of the highest
        bound is pentane. least_ratio : atoms of hydrogen an atom of carbon of the poorest plastic with rings that was
        fed, None without one. settings : see `HydrocarbonSettings`.

    Returns
    -------
    share, low, high
        Share in the middle of a rectangle from low to high.

    Notes
    -----
    An alkane of n carbons has 2 + 2/n atoms of hydrogen a carbon, an alkene 2; what is beyond the ladder counts as 2.
    """
    carbon, hydrogen = nominal(atomic_mass("C")), nominal(atomic_mass("H"))

    def of_ratio(ratio: float) -> float:
        return ratio * hydrogen / (ratio * hydrogen + carbon)

    high = of_ratio(2 + 2 / LIGHTEST)
    if carbons is not None:
        parts = [(one.n, one.mass.value or 0.0) for one in carbons.shares]
        whole = sum(mass for _, mass in parts)
        if whole > 0:
            high = sum(mass * of_ratio(2 + 2 / n if n else 2) for n, mass in parts) / whole
    low = min(of_ratio(settings.least_aliphatic if least_ratio is None else least_ratio), high)
    spread = (high - low) / 12**0.5  # a rectangle (JCGM 100:2008, 4.3.7)
    return (low + high) / 2 + spread * doubt(f"kinds of hydrocarbons in {name}"), low, high
