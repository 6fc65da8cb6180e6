"""Activity coefficients of chains in a shared crystal, predicted from their enthalpies of sublimation."""

from __future__ import annotations

import numpy as np

from cutbook.coldflow.solid_properties import constant
from cutbook.model.trace import Floats
from cutbook.model.units import GAS_CONSTANT


def interaction_per_carbon_j_mol() -> float:
    """By how much the interaction energy of a pair of chains grows per carbon, in J/mol: 2/Z of the sublimation's."""
    sublimation = constant("total_enthalpy_slope") + constant("vaporisation_slope")
    return 2.0 / constant("coordination") * sublimation


def ln_solid_activity(mole_fraction: Floats, temperature_k: Floats, carbons: Floats) -> Floats:
    """Natural logarithms of the activity coefficients in the solid solution.

    Parameters
    ----------
    mole_fraction : of each solid, shape (m, n). temperature_k : K, shape (m,).
    carbons : carbon number of each component, rising, shape (n,).

    Returns
    -------
    array
        Shape (m, n), pure crystal as reference.

    Notes
    -----
    Wilson's equation, ``ln γ_i = 1 - ln S_i - Σ_k x_k Λ_ki / S_k`` with ``S_i = Σ_j x_j Λ_ij`` and ``Λ_ij =
    exp(-(λ_ij - λ_ii)/RT)``. The energy of like chains is ``λ_ii = -2/Z (ΔH_sub - RT)``, Z = 6; that of unlike ones is
    the shorter's. Sublimation is linear in the carbon number here, fusion and transition by the correlation of Coutinho
    and Daridon, vaporisation at 298.15 K. So Λ_ij is 1 where j is the longer chain and ``exp(-c (n_i - n_j)/RT)`` where
    it is the shorter, and both sums are running sums along the chains: no matrix is needed. No parameter is fitted.
    The excess Gibbs energy of this equation never splits a solid in two.

    References
    ----------
    Coutinho and Stenby, Ind. Eng. Chem. Res. 35 (1996) 918, predictive local composition model with Wilson's equation
    (abstract seen; equations from memory). Wilson, J. Am. Chem. Soc. 86 (1964) 127.
    """
    x = mole_fraction
    n = np.asarray(carbons, dtype=np.float64)
    per_carbon = interaction_per_carbon_j_mol() / (GAS_CONSTANT * np.asarray(temperature_k, dtype=np.float64)[:, None])
    up = np.exp(per_carbon * (n - n.mean()))
    down = 1.0 / up
    shorter = np.cumsum(x * up, axis=1) - x * up
    s = _from_the_long_end(x) + down * shorter
    y = x / s
    longer = _from_the_long_end(down * y) - down * y
    return np.asarray(1.0 - np.log(s) - np.cumsum(y, axis=1) - up * longer)


def _from_the_long_end(values: Floats) -> Floats:
    """At each chain the sum over itself and all longer ones."""
    return np.asarray(np.cumsum(values[:, ::-1], axis=1)[:, ::-1])
