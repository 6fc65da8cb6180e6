"""A batch still by its physics: an oil of many components boils away, its vapour partly condenses on the way to the head.

Independent of the correlations under test: vapour pressures by Lee and Kesler with critical constants by Riazi and
Daubert, Raoult's law, Rayleigh's equation. How much condenses on the way is drawn; 0.6 of the vapour and a thermometer
whose stem stands out reproduce the measured kerosene of ASTM MNL50, example 3.3, within 4 °C (test_still_pairs.py).

References: Lee and Kesler, AIChE Journal 21 (1975) 510; Riazi and Daubert 1980 as in ASTM MNL50 (2005), equations 2.65
and 2.66; molar mass API 2B2.1.
"""

from dataclasses import dataclass

import numpy as np

KELVIN, ATMOSPHERE_KPA = 273.15, 101.325


@dataclass(frozen=True)
class Components:
    """Pure components by normal boiling point. density : relative, of the Watson factor."""

    boiling_c: np.ndarray
    watson_k: float

    def __post_init__(self):
        t = self.boiling_c + KELVIN
        sg = (1.8 * t) ** (1 / 3) / self.watson_k
        critical = 9.5233 * np.exp(-9.314e-4 * t - 0.54444 * sg + 6.4791e-4 * t * sg) * t**0.81067 * sg**0.53691
        bar = 3.1958e5 * np.exp(-8.505e-3 * t - 4.8014 * sg + 5.749e-3 * t * sg) * t**-0.4844 * sg**4.0846
        molar = 42.965 * np.exp(2.097e-4 * t - 7.78712 * sg + 2.08476e-3 * t * sg) * t**1.26007 * sg**4.98308
        simple, deviation = _reduced(t / critical)
        acentric = (np.log(1.01325 / bar) - simple) / deviation
        for name, value in {"density": sg, "critical_k": critical, "molar": molar, "acentric": acentric}.items():
            object.__setattr__(self, name, value)
        object.__setattr__(self, "_at_boiling", simple + acentric * deviation)

    def pressures(self, kelvin):
        """Vapour pressures in atm; exactly 1 at the normal boiling point."""
        simple, deviation = _reduced(np.minimum(kelvin / self.critical_k, 1.2))
        return np.exp(simple + self.acentric * deviation - self._at_boiling)


def _reduced(reduced):
    log, six = np.log(reduced), reduced**6
    return (
        5.92714 - 6.09648 / reduced - 1.28862 * log + 0.169347 * six,
        15.2518 - 15.6875 / reduced - 13.4721 * log + 0.43577 * six,
    )


def _root(rising, low, high):
    """Where a rising function is 0, within 0.02 K."""
    below, above = rising(low), rising(high)
    while below > 0:
        high, above, low = low, below, low - 30
        below = rising(low)
    while above < 0:
        low, below, high = high, above, high + 30
        above = rising(high)
    while high - low > 0.02:
        middle = low + (high - low) * min(max(-below / (above - below), 0.1), 0.9)
        value = rising(middle)
        if value > 0:
            high, above = middle, value
        else:
            low, below = middle, value
    return 0.5 * (low + high)


def distil(
    boiling_c, mass, watson_k, *, condensed=0.6, stages=1, kpa=ATMOSPHERE_KPA, step=1.0, end=97.0, vapour_only=False
):
    """Columns: mass % over, volume % over, °C of the vapour at the head, °C of the pot.

    vapour_only : the mass of each component in the first step instead. condensed : share of the vapour (by amount) that runs back before each of the `stages` on its way to the head.
    """
    parts, atm = Components(np.asarray(boiling_c, float), watson_k), kpa / ATMOSPHERE_KPA
    left = np.asarray(mass, float) / np.sum(mass) * 100.0
    volume = np.sum(left / parts.density)
    over, over_volume, pot_k, rows = 0.0, 0.0, 400.0, []
    while over < end:
        moles = left / parts.molar
        liquid = moles / moles.sum()
        pot_k = _root(lambda t, x=liquid: np.log(np.sum(x * parts.pressures(t)) / atm), pot_k - 1, pot_k + 4)
        vapour = liquid * parts.pressures(pot_k) / atm
        vapour /= vapour.sum()
        head_k = pot_k
        for _ in range(stages if condensed else 0):

            def lack(t, y=vapour):
                ratio = parts.pressures(t) / atm
                return np.sum(y * (ratio - 1) / (1 + (1 - condensed) * (ratio - 1)))

            head_k = _root(lack, head_k - 25, head_k)
            ratio = parts.pressures(head_k) / atm
            vapour = vapour * ratio / (1 + (1 - condensed) * (ratio - 1))
            vapour /= vapour.sum()
        rows.append((over, over_volume, head_k - KELVIN, pot_k - KELVIN))
        gone = np.minimum(vapour * parts.molar / np.sum(vapour * parts.molar) * step, left)
        if vapour_only:
            return gone
        left = np.maximum(left - gone, 1e-9)
        over += float(gone.sum())
        over_volume += float(100 * np.sum(gone / parts.density) / volume)
    return np.array(rows)


def stem_error(vapour_c, share=1.0, room_c=25.0):
    """°C by which a thermometer for total immersion reads low with its scale above 10 °C outside the vapour.

    0.00016 n (T − t), the expansion of mercury in glass; the stem t a third of the way from the room to the vapour.
    """
    return share * 0.00016 * np.maximum(vapour_c - 10, 0) * (vapour_c - room_c) * 2 / 3
