"""Tell whether light components were lost before the sample was injected."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.model.carbon import CarbonDistribution
from cutbook.model.cautions import Caution, caution


@dataclass(frozen=True)
class LightEndSettings:
    """How lost light ends are recognised.

    light : carbon numbers that evaporate first from vials, warm receivers and bags. trend : those that the trend
        is read from.
    depleted : light ones below this share of what the trend foretells raise the flag. Cracked oils bend at the
        light end by themselves; a third less is not remarkable.
    """

    light: tuple[int, int] = (5, 6)
    trend: tuple[int, int] = (8, 12)
    depleted: float = 0.6


def light_end_loss(carbons: CarbonDistribution, settings: LightEndSettings = LightEndSettings()) -> tuple[Caution, ...]:
    """Compare the light end of a distribution with the trend of what follows it.

    Parameters
    ----------
    carbons : of one sample. settings : see `LightEndSettings`.

    Returns
    -------
    tuple of Caution
        `sample.light_ends_lost` with the shortfall in % of the sample as a bound, or nothing. Nothing is said where
        the solvent or the ladder hides the light end.

    Notes
    -----
    Trend: straight line through the logarithm of the shares of C8 to C12 (common practice, no source).
    """
    shares = {share.n: share.mass.value for share in carbons.numbered() if not share.hidden}
    light = [n for n in range(settings.light[0], settings.light[1] + 1)]
    fit = [n for n in range(settings.trend[0], settings.trend[1] + 1)]
    if any(shares.get(n) is None for n in light) or any((shares.get(n) or 0.0) <= 0 for n in fit):
        return ()
    logs = np.log([float(shares[n] or 0.0) for n in fit])
    slope, start = np.polyfit(fit, logs, 1)
    foretold = {n: float(np.exp(start + slope * n)) for n in light}
    found = sum(float(shares[n] or 0.0) for n in light)
    expected = sum(foretold.values())
    if found >= settings.depleted * expected:
        return ()
    return (
        caution(
            "sample.light_ends_lost",
            carbons.of,
            first=light[0],
            last=light[-1],
            found=round(found, 1),
            expected=round(expected, 1),
            missing=round(expected - found, 1),
        ),
    )
