"""Estimate the noise of a detector from the quiet stretches of a trace."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.model.trace import Floats


@dataclass(frozen=True)
class NoiseSettings:
    """How noise is read.

    points : length of a stretch; long enough for a cubic to follow a drifting baseline and short enough that
        many stretches hold no peak.
    quiet : a stretch counts as quiet when its scatter is below this multiple of the tenth percentile.
    """

    points: int = 64
    quiet: float = 1.5


@dataclass(frozen=True)
class Noise:
    """Noise of a trace.

    sd : standard deviation of one point in the signal's unit, > 0.
    correlation_points : over how many points a deviation persists (1 for white noise); the variance of a sum of
        n points is n × correlation_points × sd².
    """

    sd: float
    correlation_points: float

    @property
    def peak_to_peak(self) -> float:
        """Customary peak-to-peak noise over a quiet stretch, about five standard deviations."""
        return 5.0 * self.sd


def estimate_noise(signal: Floats, settings: NoiseSettings = NoiseSettings()) -> Noise:
    """Noise from residuals of cubics through short stretches, quiet stretches only.

    Parameters
    ----------
    signal : shape (n,), evenly sampled, any unit.
    settings : see `NoiseSettings`.

    Returns
    -------
    Noise
        Never below what rounding to the smallest step of the signal contributes, step/√12.
    """
    points = min(settings.points, max(len(signal) // 4, 8))
    count = len(signal) // points
    pieces = np.asarray(signal[: count * points]).reshape(count, points)
    design = np.vander(np.linspace(-1.0, 1.0, points), 4)
    basis, _ = np.linalg.qr(design)
    residuals = pieces - (pieces @ basis) @ basis.T
    scatter = np.sqrt(np.sum(residuals**2, axis=1) / (points - 4))
    steps = np.abs(np.diff(signal))
    rounding = float(steps[steps > 0].min()) / np.sqrt(12.0) if (steps > 0).any() else 1e-12
    moving = scatter[scatter > 1e-9 * (np.abs(pieces).max() + 1e-300)]
    if not len(moving):
        return Noise(rounding, 1.0)
    quiet = residuals[scatter <= settings.quiet * np.percentile(moving, 10)]
    persistence = _correlation(quiet)
    # each of the four terms of the cubic takes with it as much as persistent noise puts into it
    left = max(points - 4.0 * persistence, points / 4.0)
    sd = float(np.sqrt(np.sum(quiet**2) / (len(quiet) * left)))
    return Noise(max(sd, rounding), persistence)


def _correlation(residuals: Floats) -> float:
    """1 + 2 Σ ρ over the lags up to the first that is no longer clearly positive."""
    power = float(np.mean(residuals**2))
    if power <= 0:
        return 1.0
    total = 1.0
    for lag in range(1, residuals.shape[1] // 4):
        rho = float(np.mean(residuals[:, lag:] * residuals[:, :-lag])) / power
        if rho < 0.1:
            break
        total += 2.0 * rho
    return total
