"""Read off a solid curve at which temperatures an oil holds as much wax as oils have when they stop pouring."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.coldflow.solid_properties import constant
from cutbook.model.cautions import Caution, caution
from cutbook.model.cold import Components, SolidCurve
from cutbook.model.units import KELVIN


@dataclass(frozen=True)
class Gelling:
    """Temperatures in K at which the solid reaches the shares of the published gelling range; None where it never does.

    shares : of the mass, rising: first oils stop pouring, most do, all without a pour-point depressant do.
    temperatures_k : falling, one for each share. lowest_k : to where the curve reaches.
    cautions : "cold.too_little_wax" where not even the first share is reached.
    """

    shares: tuple[float, ...]
    temperatures_k: tuple[float | None, ...]
    lowest_k: float
    cautions: tuple[Caution, ...]


def gelling_shares() -> tuple[float, float, float]:
    """The gelling range as mass fractions: 1, 2 and 4 % (general petroleum practice, from memory)."""
    low, middle, high = (constant(f"gel_{name}") / 100.0 for name in ("low", "middle", "high"))
    return low, middle, high


def gelling(of: str, curve: SolidCurve, lowest_k: float | None = None) -> Gelling:
    """Where an oil may stop pouring because of its wax.

    Parameters
    ----------
    of : name of the oil. curve : its solid by temperature. lowest_k : K down to which it counts; all of it when None.

    Returns
    -------
    Gelling
        An indicator, not a pour point: what a given share does hangs on the shape of the crystals, and a thick oil
        stops pouring with hardly any wax.
    """
    shares = gelling_shares()
    lowest = float(np.min(curve.temperature_k)) if lowest_k is None else lowest_k
    reached = [share_temperature_k(curve, share) for share in shares]
    temperatures = tuple(None if t is None or t < lowest else t for t in reached)
    raised = []
    if temperatures[0] is None:
        most = 100.0 * float(np.max(np.asarray(curve.solid)[np.asarray(curve.temperature_k) >= lowest - 1e-6]))
        raised.append(
            caution(
                "cold.too_little_wax",
                of,
                most=f"{most:.2g}",
                lowest=round(lowest - KELVIN),
                share=f"{100 * shares[0]:g}",
            )
        )
    return Gelling(shares, temperatures, lowest, tuple(raised))


def hardly_enough_wax(of: str, gels: Gelling, band_k: float) -> tuple[Caution, ...]:
    """The caution "cold.hardly_enough_wax" where an oil reaches the first share, though within its doubt it may not.

    Parameters
    ----------
    of : name of the oil. gels : its gelling range.
    band_k : half the width in K of the band of about 95 % of the temperature at which the first share is solid.
    """
    first = gels.temperatures_k[0]
    if first is None or first - band_k >= gels.lowest_k:
        return ()
    at, lowest, share = round(first - KELVIN), round(gels.lowest_k - KELVIN), f"{100.0 * gels.shares[0]:g}"
    return (caution("cold.hardly_enough_wax", of, share=share, at=at, band=round(band_k), lowest=lowest),)


def share_temperature_k(curve: SolidCurve, share: float) -> float | None:
    """Temperature in K at which the solid makes a share of the mass, None where the curve does not reach it.

    The curve is straight between its temperatures.
    """
    order = np.argsort(curve.temperature_k)[::-1]
    t, solid = np.asarray(curve.temperature_k)[order], np.asarray(curve.solid)[order]
    reached = np.flatnonzero(solid >= share)
    if not len(reached):
        return None
    at = int(reached[0])
    if at == 0:
        return float(t[0])
    part = (share - solid[at - 1]) / (solid[at] - solid[at - 1])
    return float(t[at - 1] + part * (t[at] - t[at - 1]))


def thick_oil(of: str, components: Components) -> tuple[Caution, ...]:
    """The caution "cold.thick_oil" where so much of an oil is heavy and not chains that it stops pouring for that.

    Notes
    -----
    The oils tried that hold 45 % and more above n-C36 (497 °C), and enough wax for 1 % to be solid above -40 °C, are
    residual fuels and a topped heavy crude of 19 000 mPa·s and more at 15 °C; they stop pouring 8 to 44 °C warmer.
    """
    carbons = np.asarray(components.carbons)
    heavy = ~components.forms_wax & (carbons > constant("thick_carbons"))
    share = 100.0 * float(np.asarray(components.mass_fraction)[heavy].sum())
    if share < constant("thick_share"):
        return ()
    return (caution("cold.thick_oil", of, share=round(share), last=round(constant("thick_carbons"))),)
