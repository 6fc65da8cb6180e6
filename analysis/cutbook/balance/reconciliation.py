"""Adjust redundant measurements until every balance closes, and say which one is least credible."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.model.trace import Floats, frozen_array


@dataclass(frozen=True, eq=False)
class Reconciled:
    """Result of a reconciliation.

    values, u : reconciled values and their standard uncertainties, shape (n,).
    tests : adjustment of each measurement in units of its own standard uncertainty, shape (n,);
        0 where a measurement takes part in no balance.
    chi_square, degrees_of_freedom, p : of the imbalances; p is the chance of an imbalance at least this
        large when the stated uncertainties are right.
    """

    values: Floats
    u: Floats
    tests: Floats
    chi_square: float
    degrees_of_freedom: int
    p: float

    def __post_init__(self) -> None:
        for name in ("values", "u", "tests"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def reconcile(measured: Floats, u: Floats, balances: Floats) -> Reconciled:
    """Weighted least-squares reconciliation under linear balances.

    Parameters
    ----------
    measured : measured values, shape (n,).
    u : their standard uncertainties, independent, shape (n,), > 0.
    balances : coefficients of the balances, each row times the true values is zero, shape (m, n),
        of full row rank.

    Returns
    -------
    Reconciled

    Raises
    ------
    ValueError
        When an uncertainty is not positive, shapes disagree, or the balances depend on each other.

    Notes
    -----
    With V = diag(u²): ``x̂ = x - V Aᵀ (A V Aᵀ)⁻¹ A x``, ``V̂ = V - V Aᵀ (A V Aᵀ)⁻¹ A V``, chi-square
    ``(A x)ᵀ (A V Aᵀ)⁻¹ (A x)`` with m degrees of freedom; the test of measurement i is the adjustment over
    its standard deviation ``√(V - V̂)_ii``.

    References
    ----------
    Narasimhan and Jordache, Data Reconciliation and Gross Error Detection (2000), chapters 3 and 7.
    """
    x, s = np.asarray(measured, dtype=np.float64), np.asarray(u, dtype=np.float64)
    a = np.atleast_2d(np.asarray(balances, dtype=np.float64))
    if x.shape != s.shape or a.shape[1] != len(x):
        raise ValueError(f"{len(x)} values, {len(s)} uncertainties and balances over {a.shape[1]} streams disagree")
    if not (s > 0).all():
        raise ValueError("every measurement needs a positive standard uncertainty")
    if np.linalg.matrix_rank(a) < len(a):
        raise ValueError("the balances depend on each other; leave out those that follow from the rest")
    from scipy.special import chdtrc  # the upper tail of chi-square, without the second that scipy.stats takes to load

    variance = s**2
    gain = (variance[:, None] * a.T) @ np.linalg.inv((a * variance) @ a.T)
    imbalance = a @ x
    adjustment = gain @ imbalance
    removed = np.clip(np.einsum("ij,ji->i", gain, a * variance), 0, None)
    chi_square = float(imbalance @ np.linalg.solve((a * variance) @ a.T, imbalance))
    spread = np.sqrt(removed)
    takes_part = removed > 1e-12 * variance
    tests = np.where(takes_part, np.abs(adjustment) / np.where(takes_part, spread, 1.0), 0.0)
    return Reconciled(
        x - adjustment,
        np.sqrt(np.clip(variance - removed, 0, None)),
        tests,
        chi_square,
        len(a),
        float(chdtrc(len(a), chi_square)),
    )
