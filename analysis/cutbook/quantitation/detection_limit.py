"""Critical value, detection and quantitation limit: from a known scatter, from replicates, from a calibration line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2, norm, t

from cutbook.model.errors import InputError


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
    if not sd >= 0:
        raise ValueError(f"a standard deviation of {sd!r}")
    own = sd * math.sqrt(2.0) if paired else sd
    first, second = (
        (norm.ppf(1 - part) if degrees is None else t.ppf(1 - part, degrees))
        for part in (settings.alpha, settings.beta)
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
    values = np.asarray(replicates, dtype=float)
    if len(values) < 3:
        raise InputError.single("", "replicates", f"{len(values)}", "three at least; seven are customary")
    degrees = len(values) - 1
    found = float(t.ppf(confidence, degrees) * values.std(ddof=1))
    factors = [math.sqrt(degrees / chi2.ppf(part, degrees)) for part in (0.975, 0.025)]
    return MethodLimit(found, float(found * factors[0]), float(found * factors[1]))


def limits_of_line(
    amounts: Sequence[float], responses: Sequence[float], settings: LimitSettings = LimitSettings()
) -> tuple[float, float]:
    """Critical response and detection limit by the prediction band of a calibration line.

    Parameters
    ----------
    amounts, responses : of the standards, at least three of two levels, with equal scatter. settings : see there.

    Returns
    -------
    critical response, detection limit
        The response that a blank exceeds with the chance alpha, and the amount whose response falls below it with the
        chance beta.

    Raises
    ------
    InputError
        With too few standards, or where the band never rises above the critical response.

    References
    ----------
    A. Hubaux, G. Vos, Anal. Chem. 42 (1970) 849.
    """
    x, y = np.asarray(amounts, dtype=float), np.asarray(responses, dtype=float)
    if len(x) < 3 or len(np.unique(x)) < 2:
        raise InputError.single("", "standards", f"{len(x)}", "three at least, at two amounts")
    squares = float(np.sum((x - x.mean()) ** 2))
    slope = float(np.sum((x - x.mean()) * (y - y.mean()))) / squares
    start = float(y.mean() - slope * x.mean())
    degrees = len(x) - 2
    residual = math.sqrt(float(np.sum((y - start - slope * x) ** 2)) / degrees)
    first, second = (float(t.ppf(1 - part, degrees)) for part in (settings.alpha, settings.beta))

    def width(at: float) -> float:
        return residual * math.sqrt(1 + 1 / len(x) + (at - float(x.mean())) ** 2 / squares)

    critical = start + first * width(0.0)
    # (slope x - gap)² = (second width)²: the larger root, where the lower band meets the critical response
    gap, band = critical - start, (second * residual) ** 2
    a = slope**2 - band / squares
    b = -2 * slope * gap + 2 * band * float(x.mean()) / squares
    c = gap**2 - band * (1 + 1 / len(x) + float(x.mean()) ** 2 / squares)
    under = b * b - 4 * a * c
    if slope <= 0 or a <= 0 or under < 0:
        raise InputError.single(
            "", "calibration line", f"a slope of {slope:.3g} with a scatter of {residual:.3g}",
            "a line whose band rises above that of a blank",
        )  # fmt: skip
    return critical, (-b + math.sqrt(under)) / (2 * a)
