"""Turn a trace into a table of peaks: limits, area, shape, resolution, and how each area was come by."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from cutbook.chromatogram.blocks import outside
from cutbook.chromatogram.following_baseline import FollowingBaselineSettings, follow_baseline
from cutbook.chromatogram.noise import Noise, NoiseSettings, estimate_noise
from cutbook.chromatogram.overlap import OverlapSettings
from cutbook.chromatogram.peak_areas import share_areas
from cutbook.chromatogram.peak_detection import PeakDetectionSettings, find_candidates
from cutbook.chromatogram.peak_limits import PeakLimitSettings, set_limits
from cutbook.chromatogram.peak_measures import measure_peak
from cutbook.chromatogram.peak_width import PeakWidthSettings, WidthLaw, learn_widths
from cutbook.model.flat_tops import flat_tops
from cutbook.model.lineage import Step
from cutbook.model.peaks import Peak, PeakTable
from cutbook.model.trace import Baseline, Trace


@dataclass(frozen=True)
class IntegrationSettings:
    """How peaks are found and integrated; each part is described where it is obeyed."""

    noise: NoiseSettings = NoiseSettings()
    baseline: FollowingBaselineSettings = FollowingBaselineSettings()
    widths: PeakWidthSettings = PeakWidthSettings()
    detection: PeakDetectionSettings = PeakDetectionSettings()
    limits: PeakLimitSettings = PeakLimitSettings()
    overlap: OverlapSettings = OverlapSettings()


@dataclass(frozen=True, eq=False)
class Integration:
    """A trace, read: its noise, following baseline, width law and peaks."""

    trace: Trace
    noise: Noise
    following: Baseline
    widths: WidthLaw
    peaks: PeakTable


def integrate(
    trace: Trace,
    solvent_windows_min: tuple[tuple[float, float], ...] = (),
    settings: IntegrationSettings = IntegrationSettings(),
) -> Integration:
    """Find and integrate the peaks of a trace.

    Parameters
    ----------
    trace : evenly sampled signal.
    solvent_windows_min : (start, end) in min; peaks inside are flagged "solvent" and the baseline bridges them.
    settings : see `IntegrationSettings`.

    Returns
    -------
    Integration
        Peaks in order of elution. Areas are above the following baseline, in signal unit × min.
    """
    noise = estimate_noise(trace.signal, settings.noise)
    following = follow_baseline(trace, solvent_windows_min, 0.0, settings.baseline)
    clear = outside(trace.time_min, solvent_windows_min)
    widths = learn_widths(trace.time_min, np.where(clear, trace.signal - following.values, 0.0), noise, settings.widths)
    typical = float(widths.half_width(float(np.median(trace.time_min))))
    if settings.baseline.widths * typical * 60.0 > settings.baseline.cutoff_s:
        following = follow_baseline(trace, solvent_windows_min, typical, settings.baseline)
    corrected = trace.signal - following.values
    found = find_candidates(trace.time_min, corrected, noise, widths, settings.detection)
    limits = set_limits(trace.time_min, corrected, found, noise, widths, settings.limits)
    areas = share_areas(trace.time_min, corrected, limits, noise, widths, settings.overlap)
    flat = flat_tops(trace.signal)
    peaks = [
        _flagged(
            measure_peak(trace.time_min, corrected, limits, areas, number, noise, widths),
            solvent_windows_min,
            any(first <= limits.apex[number] <= last for first, last in flat),
            bool(limits.has_top[number]),
        )
        for number in range(len(limits.apex))
    ]
    step = Step(
        "find and integrate peaks/1",
        inputs=(following.step,),
        settings={"integration": settings, "solvent windows": solvent_windows_min},
    )
    return Integration(trace, noise, following, widths, PeakTable(tuple(peaks), trace.signal_unit, step))


def _flagged(peak: Peak, windows: tuple[tuple[float, float], ...], saturated: bool, has_top: bool) -> Peak:
    flags = list(peak.flags)
    if saturated:
        flags.insert(0, "saturated")
    if not has_top:
        flags.append("shoulder")
    if any(start <= peak.apex_min <= end for start, end in windows):
        flags.append("solvent")
    return replace(peak, flags=tuple(flags))
