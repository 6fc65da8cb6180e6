"""Find peaks, resolved ones by their tops and hidden ones by the curvature of their neighbour's flank."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.noise import Noise
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class PeakDetectionSettings:
    """When a rise is a peak.

    least_noise : prominence of a top over the noise of the smoothed trace; 6 leaves no false peak in a
        million independent points and spares ripples on flanks.
    least_height : height of the smoothed trace above the baseline over its noise; noise alone dips and rises, and
        its prominence is twice its height.
    curvature_noise : as least_noise, for the downward curvature that betrays a shoulder.
    smoothing : standard deviation of the smoothing kernel as a share of the peak's own, for tops and for
        curvature.
    neighbour_share : a shoulder's curvature against that of the strongest peak within three widths, at least;
        ripples on the tail of a large peak stay below.
    apart : least distance between two peaks as a share of the full width at half height.
    """

    least_noise: float = 6.0
    least_height: float = 4.5
    curvature_noise: float = 7.0
    smoothing: tuple[float, float] = (0.4, 0.4)
    neighbour_share: float = 0.002
    apart: float = 0.3


@dataclass(frozen=True, eq=False)
class Candidates:
    """Where peaks are: index of each in the trace, rising, shape (k,); whether it has a top of its own."""

    index: np.ndarray
    has_top: np.ndarray


def find_candidates(
    time_min: Floats,
    corrected: Floats,
    noise: Noise,
    widths: WidthLaw,
    settings: PeakDetectionSettings = PeakDetectionSettings(),
) -> Candidates:
    """Peaks of a trace above its following baseline.

    Parameters
    ----------
    time_min, corrected : shape (n,).
    noise : of the trace. widths : its width law.
    settings : see `PeakDetectionSettings`.

    Returns
    -------
    Candidates
        The union of tops and curvature minima; a minimum that belongs to a top is not counted again.
    """
    interval = float(np.median(np.diff(time_min)))
    sigma_points = widths.sigma(time_min) / interval
    top, curve = settings.smoothing
    smoothed, gain = _filtered(corrected, np.maximum(top * sigma_points, 0.6), noise, order=0)
    tall = smoothed > settings.least_height * noise.sd * gain
    tops = _tops(smoothed, settings.least_noise * noise.sd * gain)
    tops = tops[tall[tops]]
    bent, gain = _filtered(corrected, np.maximum(curve * sigma_points, 0.8), noise, order=2)
    bent = -bent * sigma_points**2
    hidden = _bends(bent, noise.sd * gain * sigma_points**2, sigma_points, settings)
    hidden = hidden[tall[hidden]]
    apart = np.maximum(settings.apart * 2.3548 * sigma_points, 2.0)
    return _united(tops, hidden, bent, apart, _own_apart(smoothed, tops, apart, settings))


def _filtered(signal: Floats, sigma_points: Floats, noise: Noise, order: int) -> tuple[Floats, Floats]:
    """Gaussian derivative filter whose width grows along the trace, and its noise gain at every point.

    The width is constant over stretches within which it would change by less than a tenth.
    """
    from scipy.ndimage import gaussian_filter1d

    low, high = float(sigma_points.min()), float(sigma_points.max())
    classes = max(1, int(np.ceil(np.log(high / low) / 0.1)))
    edges = low * (high / low) ** (np.arange(classes + 1) / classes) if classes > 1 else np.array([low, high])
    which = np.clip(np.searchsorted(edges, sigma_points, side="right") - 1, 0, classes - 1)
    out, gain = np.empty_like(signal), np.empty_like(signal)
    for number in np.flatnonzero(np.bincount(which)):
        width = float(np.sqrt(edges[number] * edges[number + 1]))
        at = np.flatnonzero(which == number)
        reach = int(4.0 * width + 0.5)
        impulse = np.zeros(2 * reach + 1)
        impulse[reach] = 1.0
        kernel = gaussian_filter1d(impulse, width, order=order, mode="constant", radius=reach)
        first, last = max(int(at[0]) - reach, 0), min(int(at[-1]) + reach + 1, len(signal))
        # the same as the filter itself, whose loop over points is several times slower
        out[at] = np.convolve(np.pad(signal[first:last], reach, mode="edge"), kernel, mode="valid")[at - first]
        # noise that persists over several points is averaged away less
        gain[at] = float(np.sqrt(np.sum(kernel**2) * min(noise.correlation_points, max(1.0, width))))
    return out, gain


def _tops(smoothed: Floats, threshold: Floats) -> np.ndarray:
    from scipy.signal import find_peaks

    found, about = find_peaks(smoothed, prominence=float(threshold.min()))
    return np.asarray(found[about["prominences"] > threshold[found]])


def _bends(bent: Floats, noise: Floats, sigma_points: Floats, settings: PeakDetectionSettings) -> np.ndarray:
    from scipy.ndimage import maximum_filter1d
    from scipy.signal import find_peaks

    found, about = find_peaks(bent, height=0.0, prominence=0.0)
    reach = 2 * int(np.ceil(3.0 * 2.3548 * float(np.median(sigma_points)))) + 1
    strongest = maximum_filter1d(bent, reach)[found]
    threshold = np.maximum(settings.curvature_noise * noise[found], settings.neighbour_share * strongest)
    return np.asarray(found[(about["prominences"] > threshold) & (bent[found] > threshold)])


def _own_apart(smoothed: Floats, tops: np.ndarray, apart: Floats, settings: PeakDetectionSettings) -> Floats:
    """How far a shoulder must lie from each top: by the width law, or by the top's own width when that is larger.

    A broad or fronting peak bends twice near its apex without holding two compounds.
    """
    from scipy.signal import peak_widths

    if not len(tops):
        return np.zeros(0)
    own = settings.apart * peak_widths(smoothed, tops, rel_height=0.5)[0]
    return np.asarray(np.clip(own, apart[tops], 3.0 * apart[tops]))


def _united(tops: np.ndarray, hidden: np.ndarray, bent: Floats, apart: Floats, from_top: Floats) -> Candidates:
    """All tops, and the bends that are not the bend of a top; of two too close together the stronger stays."""
    taken = [int(top) for top in tops]
    has_top = dict.fromkeys(taken, True)
    lone = hidden
    if len(tops) and len(hidden):
        lone = hidden[(np.abs(hidden[:, None] - tops[None, :]) > from_top[None, :]).all(axis=1)]
    for index in sorted((int(i) for i in lone), key=lambda i: -float(bent[i])):
        if all(abs(index - other) > apart[index] for other in taken):
            taken.append(index)
            has_top[index] = False
    ordered = np.array(sorted(taken), dtype=np.int64)
    return Candidates(ordered, np.array([has_top[int(i)] for i in ordered], dtype=bool))
