"""Critical value, detection and quantitation limit: from a known scatter, from replicates, from a calibration line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutbook.model.errors import InputError
from cutbook.quantitation.calibration import CalibrationLine, weight_at

_FARTHEST = 100.0  # times the highest standard, where the search for a limit ends


@dataclass(frozen=True)
class LimitSettings:
    """What a limit guards against.

    alpha : chance to take a blank for more than a blank; 0.05. beta : chance to miss what is at the detection limit;
    0.05, so that 95 % are found. relative_u : standard uncertainty at the quantitation limit, as a share; 0.1. All
    three as L. A. Currie, Pure Appl. Chem. 67 (1995) 1699, recommends.
    """

    alpha: float = 0.05
    beta: float = 0.05
    relative_u: float = 0.1

    def __post_init__(self) -> None:
        for name, value in (("alpha", self.alpha), ("beta", self.beta), ("relative_u", self.relative_u)):
            if not 0.0 < value < 0.5:
                raise InputError.single("", name, f"{value:g}", "more than 0 and less than 0.5")


@dataclass(frozen=True)
class Limits:
    """critical : what a blank exceeds with the chance alpha. detection : what is missed with the chance beta.
    quantitation : where the relative standard uncertainty has come down to what was asked. In the unit of the scatter.
    """

    critical: float
    detection: float
    quantitation: float


@dataclass(frozen=True)
class MethodLimit:
    """t·s of replicates. value : the limit. low, high : 95 % of its confidence."""

    value: float
    low: float
    high: float


def limits_of_scatter(
    sd: float, degrees: int | None = None, paired: bool = False, settings: LimitSettings = LimitSettings()
) -> Limits:
    """The three limits of a measurement whose blank scatters.

    Parameters
    ----------
    sd : standard deviation of the blank, of the same scatter at the limits. degrees : of freedom of `sd`; None when it
        is well known. paired : whether each measurement has a blank of its own taken off (√2 more scatter).
    settings : see `LimitSettings`.

    Notes
    -----
    L_C = z σ₀, L_D = L_C + z σ₀ (3.29 σ₀), L_Q = 10 σ₀; with σ₀ estimated L_C = t s, L_D = 2 t s as the approximation
    of the non-central t (Currie 1995, sections 3.7 and 3.11).
    """
    from scipy.special import ndtri, stdtrit

    if not sd >= 0:
        raise ValueError(f"a standard deviation of {sd!r}")
    own = sd * math.sqrt(2.0) if paired else sd
    first, second = (
        (ndtri(1 - part) if degrees is None else stdtrit(degrees, 1 - part)) for part in (settings.alpha, settings.beta)
    )
    return Limits(float(first * own), float((first + second) * own), own / settings.relative_u)


def method_limit(replicates: Sequence[float], confidence: float = 0.99) -> MethodLimit:
    """t(n-1) s of replicates of a sample spiked near the limit.

    Raises
    ------
    InputError
        With fewer than three replicates.

    References
    ----------
    40 CFR 136, Appendix B; the limits of confidence by chi-square, 2.5 % on either side.
    """
    from scipy.special import chdtri, stdtrit

    values = np.asarray(replicates, dtype=float)
    if len(values) < 3:
        raise InputError.single("", "replicates", f"{len(values)}", "three at least; seven are customary")
    degrees = len(values) - 1
    found = float(stdtrit(degrees, confidence) * values.std(ddof=1))
    factors = [math.sqrt(degrees / chdtri(degrees, 1 - part)) for part in (0.975, 0.025)]
    return MethodLimit(found, float(found * factors[0]), float(found * factors[1]))


def limits_of_line(line: CalibrationLine, settings: LimitSettings = LimitSettings()) -> tuple[float, float]:
    """Critical response and detection limit by the prediction band of a calibration line.

    Parameters
    ----------
    line : through three standards at least; with its own weights. settings : see there.

    Returns
    -------
    critical response, detection limit
        The response that a blank exceeds with the chance alpha, and the amount whose response falls below it with the
        chance beta.

    Raises
    ------
    InputError
        With too few standards, or where the band never rises above the critical response.

    Notes
    -----
    ``y_C = a + t s(0)`` and ``a + b x_D - t s(x_D) = y_C`` with ``s²(x) = s²/w(x) + u_a² + 2 x cov(a, b) + x² u_b²``,
    which for equal weights is the band of Hubaux and Vos. Below the lowest standard a response scatters as there. The
    limit is one of the solution that the standards are, as clean as they are.

    References
    ----------
    A. Hubaux, G. Vos, Anal. Chem. 42 (1970) 849; with weights M. E. Zorn, R. D. Gibbons, W. C. Sonzogni, Anal. Chem. 69
    (1997) 3069 (from memory).
    """
    from scipy.optimize import brentq
    from scipy.special import stdtrit

    if line.degrees < 1:
        raise InputError.single("", "standards", f"{len(line.points)}", "three at least, at two amounts")
    first, second = (float(stdtrit(line.degrees, 1 - part)) for part in (settings.alpha, settings.beta))

    def scatter(at: float) -> float:
        of_line = line.u_intercept**2 + 2 * at * line.covariance + (at * line.u_slope) ** 2
        return math.sqrt(max(0.0, line.residual**2 / weight_at(line, at) + of_line))

    above = first * scatter(0.0)

    def clear(at: float) -> float:
        return line.slope * at - second * scatter(at) - above

    high = max(line.lowest, above / line.slope)
    while clear(high) < 0 and high < _FARTHEST * line.highest:
        high *= 2.0
    if clear(high) < 0:
        raise InputError.single(
            "", "calibration line", f"a slope of {line.slope:.3g} with a scatter of {line.residual:.3g}",
            "a line whose band rises above that of a blank",
        )  # fmt: skip
    limit = float(brentq(clear, 0.0, high, xtol=1e-12 * line.highest)) if clear(0.0) < 0 else 0.0
    return line.intercept + above, limit
