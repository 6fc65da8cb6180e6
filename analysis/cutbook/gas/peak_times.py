"""Tell the peaks of a gas trace by when they elute, allowing for the drift that all of them share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cutbook.model.gas import GasPeak


@dataclass(frozen=True)
class PeakTimeSettings:
    """How far a peak may lie from where it is expected.

    window : half-height widths of the peak, after the drift is allowed for; neighbours that are resolved at all lie
        further apart.
    least_min : never less than this in min; stated times are written to a hundredth or two.
    drift : largest common drift of all times, relative (15 %: a standard of months ago, on a column that was cut or
        renewed since; judged).
    earned : a drift has to tell a component more than no drift tells for each of this much (5 %, which one column
        does not exceed on one day, common practice, no source).
    """

    window: float = 1.0
    least_min: float = 0.02
    drift: float = 0.15
    earned: float = 0.05


@dataclass(frozen=True, eq=False)
class ToldPeaks:
    """Which peak is which component. drift : the common factor of all times; shift_min : largest departure of a told
    peak from where it was expected before the drift was allowed for."""

    peaks: Mapping[str, GasPeak]
    drift: float
    shift_min: float


def tell_peaks(
    expected_min: Mapping[str, float], peaks: Sequence[GasPeak], settings: PeakTimeSettings = PeakTimeSettings()
) -> ToldPeaks:
    """Peaks by name.

    Parameters
    ----------
    expected_min : retention time in min by component. peaks : of the trace.

    Returns
    -------
    ToldPeaks
        The nearest peak within the window of each component, after the common factor of all times that tells most
        components beyond what it has to earn, of several the nearest to 1; then after the straight line through what
        it told.

    Notes
    -----
    A change of flow stretches all times alike, one of the instant of injection moves them alike: the factor finds the
    neighbourhood, the line takes what is left. Two components never share a peak.
    """
    factors = {1.0} | {
        peak.apex_min / time
        for peak in peaks
        for time in expected_min.values()
        if time > 0 and abs(peak.apex_min / time - 1) <= settings.drift
    }

    def told_by(factor: float) -> dict[str, GasPeak]:
        return _nearest({name: factor * time for name, time in expected_min.items()}, peaks, settings)

    best = max(factors, key=lambda f: (len(told_by(f)) - abs(f - 1) / settings.earned, -abs(f - 1)))
    told = told_by(best)
    start, slope = _line([(expected_min[name], peak.apex_min) for name, peak in told.items()], best)
    again = _nearest({name: start + slope * time for name, time in expected_min.items()}, peaks, settings)
    told = again if len(again) >= len(told) else told
    shift = max((peak.apex_min - expected_min[name] for name, peak in told.items()), key=abs, default=0.0)
    return ToldPeaks(told, best, shift)


def _nearest(at_min: Mapping[str, float], peaks: Sequence[GasPeak], settings: PeakTimeSettings) -> dict[str, GasPeak]:
    """The nearest peak within the window of each component, the closest pairs first."""
    pairs = sorted(
        (abs(peak.apex_min - time), name, place)
        for name, time in at_min.items()
        for place, peak in enumerate(peaks)
        if abs(peak.apex_min - time) <= max(settings.window * peak.half_width_min, settings.least_min)
    )
    found: dict[str, GasPeak] = {}
    taken: set[int] = set()
    for _, name, place in pairs:
        if name not in found and place not in taken:
            found[name] = peaks[place]
            taken.add(place)
    return found


def _line(pairs: Sequence[tuple[float, float]], factor: float) -> tuple[float, float]:
    """Start and slope of found against expected times: from three peaks on a line, else the factor alone."""
    if len(pairs) < 3:
        return 0.0, factor
    n = len(pairs)
    x_mean, y_mean = sum(x for x, _ in pairs) / n, sum(y for _, y in pairs) / n
    spread = sum((x - x_mean) ** 2 for x, _ in pairs)
    if spread <= 0:
        return 0.0, factor
    slope = sum((x - x_mean) * (y - y_mean) for x, y in pairs) / spread
    return y_mean - slope * x_mean, slope
