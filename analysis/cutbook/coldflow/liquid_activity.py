"""Activity coefficients of hydrocarbons in the liquid: ideal, by free volume, or as a regular solution."""

from __future__ import annotations

from typing import Literal

import numpy as np

from cutbook.coldflow.solid_properties import JOULE_PER_CALORIE, constant
from cutbook.model.trace import Floats
from cutbook.model.units import GAS_CONSTANT

LiquidForm = Literal["ideal", "free volume", "regular solution"]


def ln_liquid_activity(form: LiquidForm, mole_fraction: Floats, temperature_k: Floats, carbons: Floats) -> Floats:
    """Natural logarithms of the activity coefficients.

    Parameters
    ----------
    form : "ideal" (all 0), "free volume" or "regular solution".
    mole_fraction : of each liquid, shape (m, n). temperature_k : K, shape (m,).
    carbons : carbon number of each component, shape (n,).

    Returns
    -------
    array
        Shape (m, n), pure liquid as reference.
    """
    if form == "ideal":
        return np.zeros_like(mole_fraction)
    volume = molar_volume_ml_mol(temperature_k, carbons)
    if form == "free volume":
        return _free_volume(mole_fraction, volume, carbons)
    return _regular(mole_fraction, volume, temperature_k, carbons)


def molar_volume_ml_mol(temperature_k: Floats, carbons: Floats) -> Floats:
    """Molar volume of liquid n-alkanes in mL/mol, shape (m, n), from the volumes of their groups.

    References
    ----------
    Elbro, Fredenslund and Rasmussen, Ind. Eng. Chem. Res. 30 (1991) 2576 (from memory).
    """
    t = np.asarray(temperature_k, dtype=np.float64)[:, None]
    end = constant("molar_volume_ch3_constant") + constant("molar_volume_ch3_slope") * t
    middle = constant("molar_volume_ch2_constant") + constant("molar_volume_ch2_slope") * t
    return np.asarray(2.0 * end + (np.asarray(carbons) - 2.0) * middle)


def solubility_parameter(carbons: Floats) -> Floats:
    """Solubility parameter of liquid n-alkanes in (cal/mL)^0.5 (Pedersen et al. 1991, from memory)."""
    return np.asarray(
        constant("solubility_parameter_c7")
        + constant("solubility_parameter_slope") * np.log(np.asarray(carbons, dtype=np.float64) / 7.0)
    )


def _free_volume(x: Floats, volume: Floats, carbons: Floats) -> Floats:
    """``ln γ = ln r + 1 - r`` with r the free volume over the mean one, ``(V^(1/3) - V_w^(1/3))^3.3`` each.

    Elbro, Fredenslund and Rasmussen, Macromolecules 23 (1990) 4707; power: Coutinho, Andersen and Stenby, Fluid Phase
    Equilib. 103 (1995) 23 (both from memory).
    """
    hard = 2.0 * constant("van_der_waals_ch3") + (np.asarray(carbons) - 2.0) * constant("van_der_waals_ch2")
    free = (volume ** (1.0 / 3.0) - hard ** (1.0 / 3.0)) ** constant("free_volume_power")
    ratio = free / np.sum(x * free, axis=1, keepdims=True)
    return np.asarray(np.log(ratio) + 1.0 - ratio)


def _regular(x: Floats, volume: Floats, temperature_k: Floats, carbons: Floats) -> Floats:
    """``ln γ = V (δ - δ_mean)²/RT``, δ_mean by volume: Hildebrand and Scott; in wax by Won, Fluid Phase Equilib. 30
    (1986) 265.
    """
    parts = x * volume
    parts = parts / parts.sum(axis=1, keepdims=True)
    delta = solubility_parameter(carbons)
    mean = np.sum(parts * delta, axis=1, keepdims=True)
    t = np.asarray(temperature_k, dtype=np.float64)[:, None]
    return np.asarray(JOULE_PER_CALORIE * volume * (delta - mean) ** 2 / (GAS_CONSTANT * t))
