"""Fit the calibration line of one compound through its standards, and read amounts off it with their uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import InputError
from cutbook.model.lineage import Step
from cutbook.model.trace import Floats
from cutbook.quantitation.linearity import LinearityTest, linearity_of

Weighting = Literal["equal", "1/x", "1/x²", "replicates"]
Reach = Literal["inside", "below", "above"]


@dataclass(frozen=True)
class CalibrationSettings:
    """How a calibration line is drawn.

    weighting : how the variance of a response grows with the amount. "1/x" because counted ions scatter with the root
        of their number; "1/x²" where the scatter is a share of the response, "equal" where it is the same throughout,
        "replicates" where each level was injected at least twice and tells its own.
    intercept : whether the line may pass zero at some distance; True, since a line that does betrays a blank.
    u_one_point : standard uncertainty of a response, as a share, that rests on one standard alone (0.15, common
        practice, no source): nothing then tells scatter, curvature or blank.
    significance : of the slope, two-sided; 0.05.
    """

    weighting: Weighting = "1/x"
    intercept: bool = True
    u_one_point: float = 0.15
    significance: float = 0.05


@dataclass(frozen=True)
class CalibrationPoint:
    """One injection of a standard. amount, u_amount : in the unit of the line, u for what all standards share (their
    stock). response : as measured. file : where it was read."""

    amount: float
    response: float
    u_amount: float = 0.0
    file: str = ""


@dataclass(frozen=True, eq=False)
class CalibrationLine:
    """Response = intercept + slope × amount.

    u_slope, u_intercept, covariance : of the fit. residual : standard deviation of a response of weight 1. degrees : of
    freedom; 0 for one point. lowest, highest : amounts of the standards. amount_spread : relative standard uncertainty
    of their stock, the median over the standards: what differs from one to the next is rounding, and is in their
    scatter.
    linearity : None where it could not be tested.
    """

    name: str
    slope: float
    intercept: float
    u_slope: float
    u_intercept: float
    covariance: float
    residual: float
    degrees: int
    weighting: Weighting
    lowest: float
    highest: float
    amount_spread: float
    points: tuple[CalibrationPoint, ...]
    linearity: LinearityTest | None
    settings: CalibrationSettings
    step: Step


@dataclass(frozen=True)
class ReadOff:
    """An amount read off a line.

    amount : in the unit of the standards. u_response : of it, from the response's own scatter. u_line : from the line,
    correlated between amounts that are read off the same line. reach : where it lies against the standards.
    """

    amount: float
    u_response: float
    u_line: float
    reach: Reach

    @property
    def u(self) -> float:
        """Standard uncertainty of the amount."""
        return math.hypot(self.u_response, self.u_line)


def calibrate(
    name: str, points: Sequence[CalibrationPoint], settings: CalibrationSettings = CalibrationSettings(), of: str = ""
) -> CalibrationLine:
    """The calibration line of a compound.

    Parameters
    ----------
    name : of the compound. points : of its standards, at least one, amounts >= 0. settings : see there.
    of : file or product that cautions are about.

    Returns
    -------
    CalibrationLine
        With the cautions `calibration.one_point`, `calibration.through_zero` (two levels do not tell an intercept),
        `calibration.not_linear` and `calibration.linearity_untested`.

    Raises
    ------
    InputError
        Without a point, with amounts that are no amounts, and where the response does not rise with the amount beyond
        its uncertainty.

    Notes
    -----
    Least squares with weights w: slope b = Σw(x - x̄)(y - ȳ)/Σw(x - x̄)², s² = Σw r²/(n - 2), x̄ and ȳ the weighted
    means; through zero b = Σwxy/Σwx², s² with n - 1 (J. N. Miller, Analyst 116 (1991) 3, equations of the weighted
    line, from memory; checked against numpy.polyfit in the tests).
    """
    good = [one for one in points if math.isfinite(one.amount) and math.isfinite(one.response)]
    if not good or any(one.amount < 0 for one in good):
        raise _refused(
            name, points, f"{len(good)} usable standards", "one standard at least, of an amount of 0 or more"
        )
    x = np.array([one.amount for one in good])
    y = np.array([one.response for one in good])
    levels = len(np.unique(x[x > 0]))
    if levels == 0:
        raise _refused(name, points, "standards of amount 0 only", "a standard that holds some of it")
    weights = _weights(name, good, x, y, settings)
    raised: list[Caution] = []
    intercept = settings.intercept and len(np.unique(x)) > 2
    if len(good) == 1:
        raised.append(caution("calibration.one_point", of or name, name=name, share=round(100 * settings.u_one_point)))
    elif settings.intercept and not intercept:
        raised.append(caution("calibration.through_zero", of or name, name=name))
    spread = float(np.median([one.u_amount / one.amount for one in good if one.amount > 0]))
    slope, start, covariance, residual, degrees = _fit(x, y, weights, intercept)
    if degrees == 0:
        covariance = np.array([[0.0, 0.0], [0.0, (settings.u_one_point * slope) ** 2]])
        residual = settings.u_one_point * abs(float(y[0])) * math.sqrt(float(weights[0]))
    u_slope = math.sqrt(covariance[1, 1])
    if not slope > _student(degrees, settings.significance) * u_slope or slope <= 0:
        raise _refused(
            name, points, f"a slope of {slope:.3g} ± {u_slope:.2g}", "a response that rises with the amount",
            "Check that amounts and files of the standards were not interchanged.",
        )  # fmt: skip
    linearity = linearity_of(x, y, weights, intercept)
    if linearity is not None and not linearity.passed:
        raised.append(
            caution("calibration.not_linear", of or name, name=name, kind=linearity.kind,
                    found=round(linearity.statistic, 1), limit=round(linearity.limit, 1))
        )  # fmt: skip
    elif linearity is None and len(good) > 1:
        raised.append(caution("calibration.linearity_untested", of or name, name=name, count=len(good)))
    step = Step(
        "calibrate/1", settings={"name": name, "settings": settings, "intercept": intercept,
                                 "points": [[one.amount, one.response, one.file] for one in good]},
        cautions=tuple(raised),
    )  # fmt: skip
    return CalibrationLine(
        name, slope, start, u_slope, math.sqrt(covariance[0, 0]), float(covariance[0, 1]), residual, degrees,
        settings.weighting, float(x[x > 0].min()), float(x.max()), spread, tuple(good), linearity, settings, step,
    )  # fmt: skip


def read_off(line: CalibrationLine, response: float, u_response: float = 0.0, injections: int = 1) -> ReadOff:
    """The amount that gives a response.

    Parameters
    ----------
    line : of the compound. response : mean of `injections` of the sample. u_response : of it, as the measurement of the
        peak tells; the scatter of the standards counts where it is larger.

    Returns
    -------
    ReadOff
        Below 0 for a response below the intercept. Uncertainties widened so that twice of them hold the truth in 95 %,
        however few the standards: by t(0.975, degrees)/2.

    Notes
    -----
    u²(x) = s²/b² [1/(m w) + 1/Σw + (y - ȳ)²/(b² Σw(x - x̄)²)], here by the covariance of the fit (Eurachem/CITAC guide
    CG 4, 3rd ed., E.4.2, equation E4.3 where weights are equal; ISO 8466-1). w is the weight at the amount found.
    """
    slope = line.slope
    amount = (response - line.intercept) / slope
    own = line.residual / math.sqrt(weight_at(line, amount) * injections)
    about = math.sqrt(
        max(0.0, line.u_intercept**2 + 2 * amount * line.covariance + (amount * line.u_slope) ** 2)
    )  # fmt: skip
    widened = max(1.0, _student(line.degrees, 0.05) / 2)
    reach: Reach = "below" if amount < line.lowest else "above" if amount > line.highest else "inside"
    scatter = max(widened * own, u_response)
    return ReadOff(
        amount, scatter / slope, math.hypot(widened * about / slope, amount * line.amount_spread), reach
    )  # fmt: skip


def _fit(x: Floats, y: Floats, weights: Floats, intercept: bool) -> tuple[float, float, Floats, float, int]:
    """Slope, intercept, covariance of (intercept, slope), residual of weight 1, degrees of freedom."""
    design = np.column_stack([np.ones_like(x), x]) if intercept else x[:, None]
    inverse = np.linalg.inv(design.T @ (weights[:, None] * design))
    found = inverse @ (design.T @ (weights * y))
    degrees = len(x) - design.shape[1]
    rest = y - design @ found
    variance = float(np.sum(weights * rest**2)) / degrees if degrees else 0.0
    covariance = np.zeros((2, 2))
    covariance[2 - design.shape[1] :, 2 - design.shape[1] :] = variance * inverse
    start = float(found[0]) if intercept else 0.0
    return float(found[-1]), start, covariance, math.sqrt(variance), degrees


def _weights(
    name: str, points: Sequence[CalibrationPoint], x: Floats, y: Floats, settings: CalibrationSettings
) -> Floats:
    """Weights of the points, 1 on average; an amount of 0 weighs like the smallest above it."""
    floor = np.maximum(x, x[x > 0].min())
    if settings.weighting == "replicates":
        spread = np.empty_like(x)
        for level in np.unique(x):
            same = x == level
            if same.sum() < 2 or not np.std(y[same], ddof=1) > 0:
                raise _refused(
                    name, points, f"{same.sum()} response(s) at {level:g} without scatter",
                    "two differing responses at each level for weights by replicates",
                    'Set weighting = "1/x" in the method.',
                )  # fmt: skip
            spread[same] = np.std(y[same], ddof=1)
        weights = spread**-2.0
    else:
        weights = floor ** {"equal": 0.0, "1/x": -1.0, "1/x²": -2.0}[settings.weighting]
    return np.asarray(weights / weights.mean())


def weight_at(line: CalibrationLine, amount: float) -> float:
    """The weight of a response to an amount, on the scale of the fit; beyond the standards that of the nearest."""
    x = np.array([one.amount for one in line.points])
    floor = np.maximum(x, line.lowest)
    at = min(max(amount, line.lowest), line.highest)
    if line.weighting == "replicates":
        y = np.array([one.response for one in line.points])
        levels = np.unique(x)
        spread = np.array([np.std(y[x == level], ddof=1) for level in levels])
        of_points = np.interp(x, levels, spread) ** -2.0
        return float(np.interp(at, levels, spread) ** -2.0 / of_points.mean())
    power = {"equal": 0.0, "1/x": -1.0, "1/x²": -2.0}[line.weighting]
    return float(at**power / np.mean(floor**power))


def _student(degrees: int, significance: float) -> float:
    """Two-sided quantile of Student's t; 2 without degrees of freedom, where the uncertainty is judged, not seen."""
    from scipy.stats import t

    return 2.0 if degrees == 0 else float(t.ppf(1 - significance / 2, degrees))


def _refused(name: str, points: Sequence[CalibrationPoint], found: str, expected: str, do: str = "") -> InputError:
    files = ", ".join(dict.fromkeys(one.file for one in points if one.file))
    return InputError.single(files, f"calibration of {name}", found, expected, do)
