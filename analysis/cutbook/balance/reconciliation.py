"""Adjust redundant measurements until every balance closes, and solve for what was not measured."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cutbook.model.trace import Floats, frozen_array

Linearised = tuple[Floats, Floats, Floats]
"""Imbalances, their slopes by the measured values, their slopes by what was not measured, at one state."""
_MOST_ROUNDS = 50
_NO_SPREAD = 1e-12
"""Share of the largest variance of a balance below which a combination of balances says nothing of its own."""


@dataclass(frozen=True, eq=False)
class Reconciled:
    """Result of a reconciliation of n measured values and k others under m balances, f of which check something.

    values, u : reconciled values and their standard uncertainties, shape (n,).
    solved, u_solved : what was not measured, shape (k,); NaN where the balances do not determine it.
    kept, carried : slopes of the reconciled and of the solved values by the measured ones, shapes (n, n) and (k, n).
    directions : change of the standardised imbalances by one unit of each measured value, shape (f, n).
    imbalances : standardised, shape (f,): independent, of variance 1 when the stated uncertainties are right.
    redundancy : share of each measured value's own variance that the balances contribute, shape (n,), 0 where it takes
        part in no balance that checks it.
    tests : significance of an error of each measured value alone, shape (n,): standard normal when there is none.
    contradiction : largest imbalance, relative to what is balanced, that no uncertainty allows for; 0 as a rule.
    chi_square, degrees_of_freedom, p : of the imbalances; p is the chance of an imbalance at least this large when
        the stated uncertainties are right.
    """

    values: Floats
    u: Floats
    solved: Floats
    u_solved: Floats
    kept: Floats
    carried: Floats
    directions: Floats
    imbalances: Floats
    redundancy: Floats
    tests: Floats
    contradiction: float
    chi_square: float
    degrees_of_freedom: int
    p: float

    def __post_init__(self) -> None:
        for name in (
            "values", "u", "solved", "u_solved", "kept", "carried", "directions", "imbalances", "redundancy", "tests",
        ):  # fmt: skip
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def reconcile(measured: Floats, u: Floats, balances: Floats, unmeasured: Floats | None = None) -> Reconciled:
    """Weighted least-squares reconciliation under linear balances.

    Parameters
    ----------
    measured : measured values, shape (n,).
    u : their standard uncertainties when they are independent, shape (n,), or their covariance, shape (n, n).
    balances : coefficients of the balances, shape (m, n): each row times the true values is zero, together with its
        row of `unmeasured`, shape (m, k), times what was not measured.

    Returns
    -------
    Reconciled

    Raises
    ------
    ValueError
        When shapes disagree or a variance is negative.

    Notes
    -----
    What was not measured is projected out of the balances (Crowe's projection matrix). With P the projection, G = P A,
    S = G V Gᵀ: ``x̂ = x − V Gᵀ S⁻¹ G x``, ``V̂ = V − V Gᵀ S⁻¹ G V``, chi-square ``(G x)ᵀ S⁻¹ (G x)`` with as many degrees
    of freedom as S has rank; the test of measurement i is that of a gross error in it alone (generalised likelihood
    ratio), which with independent measurements is its adjustment over the standard deviation of the adjustment.

    References
    ----------
    Narasimhan and Jordache, Data Reconciliation and Gross Error Detection (2000), chapters 3, 7 and 8; Crowe, Garcia
    Campos and Hrymak, AIChE J. 29 (1983) 881.
    """
    a = np.atleast_2d(np.asarray(balances, dtype=np.float64))
    b = np.zeros((len(a), 0)) if unmeasured is None else np.asarray(unmeasured, dtype=np.float64)

    def linear(x: Floats, y: Floats) -> Linearised:
        return a @ x + b @ y, a, b

    return reconcile_curved(measured, u, linear, np.zeros(b.shape[1]))


def reconcile_curved(
    measured: Floats, u: Floats, balances: Callable[[Floats, Floats], Linearised], start: Floats
) -> Reconciled:
    """Weighted least-squares reconciliation under balances that are products of measured values.

    Parameters
    ----------
    measured, u : as of `reconcile`. balances : imbalances and their slopes at a state (measured, not measured).
    start : first guess of what was not measured, shape (k,).

    Notes
    -----
    Balances are linearised at the last estimate until it no longer moves (Knepper and Gorman, AIChE J. 26 (1980) 260);
    uncertainties, tests and chi-square are those of the last linearisation.
    """
    x0 = np.asarray(measured, dtype=np.float64)
    v = _covariance(np.asarray(u, dtype=np.float64), len(x0))
    own = np.sqrt(np.diag(v))
    x, y = x0, np.asarray(start, dtype=np.float64)
    for _ in range(_MOST_ROUNDS):
        f, a, b = balances(x, y)
        if a.shape[1] != len(x0) or len(f) != len(a) or b.shape != (len(a), len(y)):
            raise ValueError(f"{len(x0)} values and balances over {a.shape[1]} of them disagree")
        at_measured = f + a @ (x0 - x)
        left, determined = _projection(b)
        g, r = left @ a, left @ at_measured
        whiten, contradiction = _whitening(g, v, r, x0)
        directions, imbalances = whiten @ g, whiten @ r
        new = x0 - v @ directions.T @ imbalances
        step = np.linalg.pinv(b) @ (f + a @ (new - x)) if len(y) else np.zeros(0)
        moved = np.max(np.abs(new - x) / np.where(own > 0, own, 1.0), initial=0.0)
        x, y = new, y - step
        if moved < 1e-9:
            break
    kept = np.eye(len(x0)) - v @ directions.T @ directions
    carried = -np.linalg.pinv(b) @ a @ kept
    u_left, u_solved = (_spread(slopes, v) for slopes in (kept, carried))
    size = np.linalg.norm(directions, axis=0)
    redundancy = own**2 * size**2
    checked = redundancy > _NO_SPREAD
    tests = np.where(checked, np.abs(imbalances @ directions) / np.where(checked, size, 1.0), 0.0)
    chi_square = float(imbalances @ imbalances)
    return Reconciled(
        values=x,
        u=u_left,
        solved=np.where(determined, y, np.nan),
        u_solved=np.where(determined, u_solved, np.nan),
        kept=kept,
        carried=carried,
        directions=directions,
        imbalances=imbalances,
        redundancy=np.where(checked, redundancy, 0.0),
        tests=tests,
        contradiction=contradiction,
        chi_square=chi_square,
        degrees_of_freedom=len(imbalances),
        p=chance_of_chi_square(chi_square, len(imbalances)),
    )


def _spread(slopes: Floats, v: Floats) -> Floats:
    # by-products of rounding lie below nothing
    return np.asarray(np.sqrt(np.clip(np.einsum("ij,jk,ik->i", slopes, v, slopes), 0.0, None)))


def chance_of_chi_square(value: float, degrees: int) -> float:
    """Chance of a chi-square at least this large; 1 without any degree of freedom."""
    from scipy.special import chdtrc  # the upper tail of chi-square, without the second that scipy.stats takes to load

    return float(chdtrc(degrees, value)) if degrees else 1.0


def _covariance(u: Floats, n: int) -> Floats:
    v = np.diag(u**2) if u.ndim == 1 else u
    if v.shape != (n, n):
        raise ValueError(f"{n} values and uncertainties of shape {u.shape} disagree")
    if not (np.diag(v) >= 0).all() or (u.ndim == 1 and not (u >= 0).all()):
        raise ValueError("a standard uncertainty is not negative")
    return np.asarray(v)


def _projection(b: Floats) -> tuple[Floats, Floats]:
    """Combinations of the balances that are free of what was not measured, and which of that they determine."""
    m, k = b.shape
    if not k:
        return np.eye(m), np.zeros(0, dtype=bool)
    left, values, right = np.linalg.svd(b)
    rank = int((values > 1e-10 * max(values.max(initial=0.0), 1e-300)).sum())
    free = right[rank:]
    return left[:, rank:].T, np.asarray(np.abs(free).max(axis=0, initial=0.0) < 1e-9)


def _whitening(g: Floats, v: Floats, r: Floats, x: Floats) -> tuple[Floats, float]:
    """What turns imbalances into independent ones of variance 1, and the largest that no uncertainty allows for."""
    turnover = np.abs(g) @ np.abs(x)
    turnover = np.where(turnover > 0, turnover, 1.0)
    spread = (g / turnover[:, None]) @ v @ (g / turnover[:, None]).T
    values, vectors = np.linalg.eigh(spread) if len(g) else (np.zeros(0), np.zeros((0, 0)))
    says = values > _NO_SPREAD * max(values.max(initial=0.0), 1e-300)
    scaled = vectors.T / turnover[None, :]
    stuck = np.abs(scaled[~says] @ r).max(initial=0.0)
    return scaled[says] / np.sqrt(values[says])[:, None], float(stuck if stuck > 1e-9 else 0.0)
