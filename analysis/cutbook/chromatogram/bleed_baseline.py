"""Model column bleed from the trace itself when there is no blank run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.blocks import block_means, outside
from cutbook.chromatogram.end_levels import EndLevel, EndLevelSettings, head_level, tail_level
from cutbook.chromatogram.noise import Noise
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.trace import Baseline, BaselineKind, Doubt, Floats, Trace


@dataclass(frozen=True)
class BleedBaselineSettings:
    """How bleed is modelled.

    model : "sigmoid" rises with the oven and levels off in the final hold; "straight" joins the two ends.
    u_height : standard uncertainty of the bleed's height as a share; the total area of synthetic oils came
        out within this of the truth.
    middle, u_middle, spread, u_spread : where and how steeply bleed usually rises, as shares of the run, with
        standard uncertainties (common practice); the end of the trace sharpens them.
    end_share : this share of the run at its end is taken to be bleed alone.
    misfit : how far real bleed strays from a sigmoid, as a share of its rise.
    least_rise_noise : a rise of fewer noise standard deviations is a straight line.
    """

    model: str = "sigmoid"
    u_height: float = 0.07
    middle: float = 0.8
    u_middle: float = 0.1
    spread: float = 0.07
    u_spread: float = 0.03
    end_share: float = 0.06
    misfit: float = 0.01
    least_rise_noise: float = 5.0
    ends: EndLevelSettings = EndLevelSettings()


def bleed_baseline(
    sample: Trace,
    following: Baseline,
    windows_min: tuple[tuple[float, float], ...],
    noise: Noise,
    settings: BleedBaselineSettings = BleedBaselineSettings(),
) -> Baseline:
    """A sigmoid (or a straight line) between the quiet ends of a trace, nowhere far above the trace.

    Parameters
    ----------
    sample : the trace. following : its following baseline.
    windows_min : (start, end) of the solvent. noise : of the sample.
    settings : see `BleedBaselineSettings`.

    Returns
    -------
    Baseline
        Of kind "bleed model" or "straight", with the doubt about its height and level.
    """
    raised: list[Caution] = []
    head = head_level(sample.time_min, sample.signal, noise, settings.ends)
    if head is None:
        raised.append(caution("baseline.no_quiet_head", sample.file))
        first = float(
            np.min(following.values[outside(sample.time_min, windows_min)][: max(10, len(sample.signal) // 50)])
        )
        head = EndLevel(float(sample.time_min[0]), first, 0.05 * abs(first) + 5.0 * noise.sd, 0.0, 0.0)
    tail = tail_level(sample.time_min, following.values, noise, settings.ends)
    span = float(sample.time_min[-1] - sample.time_min[0])
    shares = (sample.time_min - head.time_min) / span
    rise = tail.level - head.level
    kind: BaselineKind = "straight"
    bleed = rise * np.clip(shares, 0.0, None)
    doubts = [Doubt("bleed model", 0.3 * np.abs(bleed))]
    if settings.model == "sigmoid" and rise > settings.least_rise_noise * noise.sd:
        kind = "bleed model"
        bleed, doubts = _sigmoid(sample, following, windows_min, noise, head, rise, settings)
    return Baseline(
        kind,
        head.level + bleed,
        Step(
            "model bleed/1",
            inputs=(sample.step, following.step),
            settings={"bleed": settings, "solvent windows": windows_min},
            cautions=tuple(raised),
        ),
        doubts=(
            *doubts,
            Doubt("level at the start", np.full(len(bleed), head.u)),
            Doubt("drift", 3.0 * noise.sd * shares),
        ),
    )


def _sigmoid(
    sample: Trace,
    following: Baseline,
    windows_min: tuple[tuple[float, float], ...],
    noise: Noise,
    head: EndLevel,
    rise: float,
    settings: BleedBaselineSettings,
) -> tuple[Floats, list[Doubt]]:
    """Height, middle and spread from the end of the trace and from what is usual; nowhere above the trace."""
    from scipy.optimize import least_squares
    from scipy.special import expit

    times, _ = block_means(sample, 0.1)
    level = np.interp(times, sample.time_min, following.values) - head.level
    kept = outside(times, windows_min) & (times > head.time_min)
    times, level = times[kept], level[kept]
    first, last = float(sample.time_min[0]), float(sample.time_min[-1])
    span = last - first
    end = times > last - settings.end_share * span
    scatter = noise.sd + settings.misfit * rise
    usual = np.array([settings.middle, settings.spread])
    u_usual = np.array([settings.u_middle, settings.u_spread])
    # neighbouring points say the same: the whole end counts as ten observations, the rest as one a width
    weight = np.where(end, np.sqrt(10.0 / max(int(end.sum()), 1)), 0.3)

    def curve(unknowns: Floats, at: Floats) -> Floats:
        height, middle, spread = unknowns
        return np.asarray(height * rise * expit((at - first - middle * span) / (spread * span)))

    def residual(unknowns: Floats) -> Floats:
        off = (curve(unknowns, times) - level) / scatter
        off = np.where(end | (off > 0), off * weight, 0.0)
        return np.concatenate([off, (unknowns[1:] - usual) / u_usual])

    start = np.array([1.05, settings.middle, settings.spread])
    fit = least_squares(residual, start, bounds=([0.0, 0.3, 0.005], [5.0, 1.5, 0.3]))
    best = np.asarray(fit.x)
    jacobian = np.asarray(fit.jac)
    root = np.linalg.cholesky(np.linalg.inv(jacobian.T @ jacobian + 1e-9 * np.eye(3)))
    bleed = curve(best, sample.time_min)
    doubts = [Doubt("bleed model", settings.u_height * bleed)]
    for column in root.T:
        moved = curve(best + column, sample.time_min) - curve(best - column, sample.time_min)
        doubts.append(Doubt("bleed model", 0.5 * moved))
    return bleed, doubts
