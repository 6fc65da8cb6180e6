"""Take the detector's answer without sample from a blank run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.blocks import block_means, outside
from cutbook.chromatogram.end_levels import EndLevelSettings, head_level, tail_level
from cutbook.chromatogram.noise import Noise, estimate_noise
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.trace import Baseline, Doubt, Floats, Trace


@dataclass(frozen=True)
class BlankBaselineSettings:
    """How a blank is fitted under a sample.

    u_scale : bleed of two runs of one column differs by this share, standard uncertainty (common practice).
    u_drift_share : a detector drifts over a run by this share of the bleed's rise, plus
    u_drift_noise : this many noise standard deviations (common practice).
    furthest_shift_min : the blank is moved along the time axis by this much at most to meet the sample.
    least_likeness : correlation of the two slopes before a shift is believed.
    smooth_s : the blank is averaged over blocks of this length, so that its noise does not add to the sample's.
    tail_sigmas : the end of the run counts as quiet when sample and blank differ there, in level and in slope, by
        no more than this many standard deviations of what scale and drift allow.
    """

    u_scale: float = 0.03
    u_drift_share: float = 0.01
    u_drift_noise: float = 3.0
    furthest_shift_min: float = 0.3
    least_likeness: float = 0.7
    smooth_s: float = 0.5
    tail_sigmas: float = 2.5
    most_below: float = 0.005
    ends: EndLevelSettings = EndLevelSettings()


def blank_baseline(
    sample: Trace,
    blank: Trace,
    windows_min: tuple[tuple[float, float], ...],
    noise: Noise,
    settings: BlankBaselineSettings = BlankBaselineSettings(),
    blank_windows_min: tuple[tuple[float, float], ...] = (),
) -> Baseline:
    """The blank under a sample, aligned in time and level; the unresolved hump stays in the sample.

    Parameters
    ----------
    sample, blank : traces of one method; the blank should be as long as the sample.
    windows_min : (start, end) of the solvent, which is left out of the comparison.
    noise : of the sample.
    settings : see `BlankBaselineSettings`.
    blank_windows_min : the solvent of the blank itself, which is bridged: a sample without solvent has none of it.

    Returns
    -------
    Baseline
        Of kind "blank", with the remaining doubts about its level, scale and drift.

    Notes
    -----
    baseline = B + o + s (B - B_head) + d (t - t_head)/T with the blank B. Offset o is read before the first peak;
    s and d have the expectation 0 and the standard uncertainties of the settings, sharpened by the difference at
    the end of the run when that is quiet, and wherever the sample would otherwise lie below the baseline (linear
    Gaussian estimation; JCGM 102:2011, 6.3 for the covariance).
    """
    raised: list[Caution] = []
    # a solvent that only the blank holds is no mark to align by
    shift = _shift(sample, blank, () if windows_min else blank_windows_min, settings)
    times, means = block_means(blank, settings.smooth_s / 60.0)
    clear = outside(times, blank_windows_min)
    if clear.sum() >= 2:
        times, means = times[clear], means[clear]
    if float(blank.time_min[-1]) < float(sample.time_min[-1]) - max(1.0, 0.02 * float(sample.time_min[-1])):
        raised.append(
            caution("blank.too_short", sample.file, blank=blank.file, end=round(float(blank.time_min[-1]), 1))
        )
    under = np.interp(sample.time_min, times + shift, means)
    kept = outside(sample.time_min, windows_min)
    rest = sample.signal - under
    span = float(sample.time_min[-1] - sample.time_min[0])
    head = head_level(sample.time_min, rest, noise, settings.ends)
    if head is None:
        raised.append(caution("baseline.no_quiet_head", sample.file))
    at_head = float(np.interp(head.time_min, sample.time_min, under)) if head else float(np.min(under[kept]))
    from_head = (sample.time_min - (head.time_min if head else float(sample.time_min[0]))) / span
    shapes = np.vstack([np.ones_like(under), under - at_head, from_head])
    u_drift = settings.u_drift_share * float(np.ptp(under[kept])) + settings.u_drift_noise * noise.sd
    # without a quiet head the blank's own level is taken, doubtful by a twentieth of it
    level = head.level if head else 0.0
    u_level = head.u if head else 0.05 * abs(at_head) + 5.0 * noise.sd
    mean, covariance = np.array([level, 0.0, 0.0]), np.diag([u_level, settings.u_scale, u_drift]) ** 2
    tail = tail_level(sample.time_min, rest, noise, settings.ends)
    at_tail = np.array([np.interp(tail.time_min, sample.time_min, shape) for shape in shapes])
    expected, variance = float(at_tail @ mean), float(at_tail @ covariance @ at_tail) + tail.u**2
    climb = float(shapes[1][-1] - np.interp(2 * tail.time_min - sample.time_min[-1], sample.time_min, shapes[1]))
    steepest = 4.0 * tail.u_slope + abs(
        settings.tail_sigmas * settings.u_scale * climb / (2 * (float(sample.time_min[-1]) - tail.time_min))
    )
    level_end = abs(tail.slope) <= steepest + u_drift / span
    if level_end and abs(tail.level - expected) <= settings.tail_sigmas * np.sqrt(variance):
        # a trace of product may hide in a quiet end: a quarter of what was allowed stays in doubt
        observed = tail.u**2 + variance / 16.0
        gain = covariance @ at_tail / (float(at_tail @ covariance @ at_tail) + observed)
        mean = mean + gain * (tail.level - expected)
        covariance = covariance - np.outer(gain, at_tail @ covariance)
    else:
        raised.append(
            caution("blank.end_differs", sample.file, difference=_short(tail.level - expected), unit=sample.signal_unit)
        )
    mean, covariance = _not_below(sample, rest, kept, shapes, mean, covariance, noise)
    roots = _square_root(covariance)
    below = _below(sample, under + mean @ shapes, kept, noise)
    if below > settings.most_below:
        raised.append(caution("blank.above_sample", sample.file, blank=blank.file, percent=round(100 * below, 1)))
    blank_noise = estimate_noise(blank.signal)
    averaged = max(1.0, settings.smooth_s / 60.0 / blank.interval_min)
    return Baseline(
        "blank",
        under + mean @ shapes,
        Step(
            "subtract blank/1",
            inputs=(sample.step, blank.step),
            settings={
                "blank": settings,
                "solvent windows": windows_min,
                "solvent windows of the blank": blank_windows_min,
                "shift_min": round(shift, 5),
            },
            cautions=tuple(raised),
        ),
        doubts=tuple(Doubt("blank subtraction", column @ shapes) for column in roots.T),
        noise_sd=blank_noise.sd / float(np.sqrt(averaged)),
    )


def _not_below(
    sample: Trace,
    rest: Floats,
    kept: np.ndarray,
    shapes: Floats,
    mean: Floats,
    covariance: Floats,
    noise: Noise,
    block_min: float = 0.5,
    most: int = 8,
) -> tuple[Floats, Floats]:
    """Correct an estimate that would leave less than nothing of the sample.

    A product cannot lower the signal: where the mean of half a minute lies below the baseline by more than twice its
    noise, the baseline is observed to be there. The worst such stretch is taken in, then the next, until none is left.
    """
    points = max(1, round(block_min / sample.interval_min))
    starts = np.arange(0, len(rest), points)
    counts = np.add.reduceat(kept.astype(np.float64), starts)
    full = counts >= 0.9 * points

    def means(values: Floats) -> Floats:
        return np.asarray(np.add.reduceat(values * kept, starts)[full] / counts[full])

    level, bases = means(rest), np.array([means(shape) for shape in shapes])
    u = noise.sd * float(np.sqrt(noise.correlation_points / points))
    # bleed of two runs is not the same curve twice: a quarter of the first doubt stays, as at the end of the run
    unlike = np.einsum("ik,ij,jk->k", bases, covariance, bases) / 16.0
    for _ in range(most):
        off = level - mean @ bases
        worst = int(np.argmin(off))
        if off[worst] > -2.0 * u:
            break
        at = bases[:, worst]
        gain = covariance @ at / (float(at @ covariance @ at) + u**2 + unlike[worst])
        mean = mean + gain * off[worst]
        covariance = covariance - np.outer(gain, at @ covariance)
    return mean, covariance


def _below(sample: Trace, baseline: Floats, kept: np.ndarray, noise: Noise) -> float:
    """Area by which the blank lies above the sample, beyond noise, as a share of the area of the sample above it."""
    off = (sample.signal - baseline) * kept
    above = float(np.sum(off[off > 0]))
    return float(-np.sum(off[off < -5.0 * noise.sd])) / above if above > 0 else 0.0


def _short(value: float) -> str:
    return f"{value:.3g}"


def _square_root(covariance: Floats) -> Floats:
    """Columns whose outer products add up to the covariance.

    Level and drift are in the unit of the signal, the scale is a pure number: the correlation matrix is taken apart,
    so that none is lost in the rounding of another.
    """
    sizes = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    by = np.where(sizes > 0, sizes, 1.0)
    values, vectors = np.linalg.eigh(covariance / np.outer(by, by))
    return np.asarray(sizes[:, None] * vectors * np.sqrt(np.maximum(values, 0.0)))


def _shift(
    sample: Trace, blank: Trace, ignored_min: tuple[tuple[float, float], ...], settings: BlankBaselineSettings
) -> float:
    """How far the blank must move to meet the sample, in min; 0 when nothing in the two tells.

    Solvent fronts and ghost peaks of a blank stand in the sample too: the slopes of both, clipped so that the
    sample's own peaks do not decide, are compared over a range of shifts. Only stretches where the blank moves
    are looked at.
    """
    step = settings.smooth_s / 60.0
    grid = np.arange(
        max(float(sample.time_min[0]), float(blank.time_min[0])),
        min(float(sample.time_min[-1]), float(blank.time_min[-1])),
        step,
    )
    if len(grid) < 50:
        return 0.0
    slopes = []
    for trace in (sample, blank):
        times, means = block_means(trace, step)
        slopes.append(np.gradient(np.interp(grid, times, means)))
    own, other = slopes
    reach_min = settings.furthest_shift_min
    apart = outside(grid, tuple((start - reach_min, end + reach_min) for start, end in ignored_min))
    moving = apart & (np.abs(other) > 8.0 * 1.4826 * float(np.median(np.abs(other - np.median(other)))) + 1e-300)
    if moving.sum() < 3:
        return 0.0
    most = max(1, round(settings.furthest_shift_min / step))
    reach = np.flatnonzero(moving)
    reach = reach[(reach >= most) & (reach < len(grid) - most)]
    if len(reach) < 3:
        return 0.0
    bound = float(np.max(np.abs(other[reach])))
    own = np.clip(own, -bound, bound)
    likeness = []
    for lag in range(-most, most + 1):
        a, b = own[reach + lag], other[reach]
        likeness.append(float(a @ b) / (float(np.linalg.norm(a) * np.linalg.norm(b)) + 1e-300))
    best = int(np.argmax(likeness))
    if likeness[best] < settings.least_likeness:
        return 0.0
    fine = 0.0
    if 0 < best < 2 * most:
        left, top, right = likeness[best - 1 : best + 2]
        bend = left - 2 * top + right
        fine = 0.5 * (left - right) / bend if bend < 0 else 0.0
    return (best - most + fine) * step
