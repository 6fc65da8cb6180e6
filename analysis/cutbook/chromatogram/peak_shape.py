"""The shape of a chromatographic peak: a Gaussian with an exponential tail, and its derivatives."""

from __future__ import annotations

import numpy as np

from cutbook.model.trace import Floats

_ROOT_2 = np.sqrt(2.0)
_ROOT_2PI = np.sqrt(2.0 * np.pi)


def tailed_gaussian(time: Floats, centre: float, sigma: float, tau: float) -> Floats:
    """Exponentially modified Gaussian of unit area.

    Parameters
    ----------
    time : shape (n,). centre : of the Gaussian. sigma, tau : > 0, all in the unit of time.

    Notes
    -----
    ``f = exp(-x²/2σ²) erfcx(z) / 2τ`` with x = t - μ and z = (σ/τ - x/σ)/√2; far in the tail, where erfcx
    overflows, the equal form ``exp(σ²/2τ² - x/τ) / τ`` is used.

    References
    ----------
    Kalambet, Kozmin, Mikhailova, Nagaev, Tikhonov, J. Chemometrics 25 (2011) 352, doi 10.1002/cem.1343.
    """
    from scipy.special import erfcx

    x = time - centre
    z = (sigma / tau - x / sigma) / _ROOT_2
    near = z > -6.0
    tail = np.exp(np.minimum(0.5 * (sigma / tau) ** 2 - x / tau, 600.0)) / tau
    front = np.exp(-0.5 * (x / sigma) ** 2) * erfcx(np.maximum(z, -6.0)) / (2.0 * tau)
    return np.where(near, front, tail)


def shape_and_slopes(time: Floats, centre: float, sigma: float, tau: float) -> tuple[Floats, Floats, Floats, Floats]:
    """The unit-area shape and its derivatives by centre, sigma and tau, each of shape (n,).

    Notes
    -----
    With G the Gaussian of unit area: f' = (G - f)/τ, ∂f/∂μ = -f', ∂f/∂σ = σ f'',
    ∂f/∂τ = f [x/τ² - 1/τ - σ²/τ³] + G σ²/τ³.
    """
    x = time - centre
    shape = tailed_gaussian(time, centre, sigma, tau)
    gauss = np.exp(-0.5 * (x / sigma) ** 2) / (sigma * _ROOT_2PI)
    first = (gauss - shape) / tau
    second = (-x / sigma**2 * gauss - first) / tau
    by_tau = shape * (x / tau**2 - 1.0 / tau - sigma**2 / tau**3) + gauss * sigma**2 / tau**3
    return shape, -first, sigma * second, by_tau
