"""Turn scans recorded as profiles into centroids: one m/z and one intensity for each peak of a scan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.scans import Ions, ScanSeries
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class CentroidSettings:
    """How profiles are told from centroids and turned into them.

    widest_spacing : points of a profile lie closer than this, in m/z; centroids of unit-mass spectra lie 1 apart, and
        with fewer than three points a unit a peak has no shape.
    even : share of neighbouring gaps that must be alike within a fifth; points of a profile are evenly spaced, the
        centroids of a finer instrument are not.
    apart : peaks closer than this many full widths are one; below 0.6 counting noise splits a peak in two, above 1 a
        small peak is lost on the flank of the next mass.
    gap : a peak ends where the next point is further off than this many spacings; programs leave out zeros.
    block : points worked on at a time, which bounds the memory.
    """

    widest_spacing: float = 0.3
    even: float = 0.6
    apart: float = 0.6
    gap: float = 2.5
    block: int = 1_000_000


def is_profile(scans: ScanSeries, settings: CentroidSettings = CentroidSettings()) -> bool:
    """Whether the ions of a series are the points of profiles, by their spacing, whatever the file calls them.

    Parameters
    ----------
    scans : the series. settings : see `CentroidSettings`.
    """
    return bool(np.isfinite(_spacing(scans, settings)))


def centroided(scans: ScanSeries, settings: CentroidSettings = CentroidSettings()) -> ScanSeries:
    """The series as centroids: itself where it holds centroids already.

    Parameters
    ----------
    scans : the series, profile or centroid. settings : see `CentroidSettings`.

    Returns
    -------
    ScanSeries
        kind "centroid". Of each peak of a profile the intensity is the sum of its points, so that the sum over a scan
        is kept; its m/z is the centre of gravity of the points above half its height.

    Notes
    -----
    A peak is a local maximum of the profile, smoothed over half a peak's width, and reaches to the lowest point
    towards the next peak, or to a gap. That point is shared out as the points beside it stand. The full width is the
    median of the tallest peaks of the run.
    """
    spacing = _spacing(scans, settings)
    if not np.isfinite(spacing):
        if scans.kind == "centroid":
            return scans
        cautions = (caution("scans.called_profile", scans.file),) if scans.kind == "profile" else ()
        step = Step("centroid scans/1", inputs=(scans.step,), settings={"spacing": "of centroids"}, cautions=cautions)
        return ScanSeries(
            scans.file, scans.time_min, scans.starts, scans.mz, scans.intensity, scans.total, "centroid", step
        )
    points = _peak_points(scans, spacing, settings)
    mz, intensity, counts = [], [], []
    for first, last in _blocks(scans.starts, settings.block):
        part = slice(scans.starts[first], scans.starts[last])
        found = _centroids(
            np.asarray(scans.mz[part], dtype=np.float64),
            np.asarray(scans.intensity[part], dtype=np.float64),
            scans.starts[first : last + 1] - scans.starts[first],
            spacing * settings.gap,
            points,
            settings,
        )
        mz.append(found[0])
        intensity.append(found[1])
        counts.append(found[2])
    starts = np.concatenate([[0], np.cumsum(np.concatenate(counts))])
    whole = np.concatenate(mz)
    step = Step(
        "centroid scans/1",
        inputs=(scans.step,),
        settings={"spacing_mz": round(float(spacing), 4), "points_across_half_height": points, **vars(settings)},
        cautions=_cautions(scans, len(whole)),
    )
    return ScanSeries(
        scans.file, scans.time_min, starts, whole, np.concatenate(intensity), scans.total, "centroid", step
    )


def _cautions(scans: ScanSeries, count: int) -> tuple[Caution, ...]:
    found = [caution("scans.centroided", scans.file, points=len(scans.mz), ions=count)]
    if scans.kind == "centroid":
        found.append(caution("scans.called_centroid", scans.file))
    return tuple(found)


def _sample(scans: ScanSeries, most: int = 400) -> list[tuple[Ions, Ions]]:
    """Scans spread over the run, the fullest among them."""
    sizes = np.diff(scans.starts)
    spread = np.linspace(0, len(scans) - 1, min(most // 2, len(scans))).astype(int)
    fullest = np.argsort(-np.asarray(scans.total), kind="stable")[: most // 2]
    return [scans.scan(int(n)) for n in np.unique(np.concatenate([spread, fullest])) if sizes[n] >= 8]


def _spacing(scans: ScanSeries, settings: CentroidSettings) -> float:
    """Distance in m/z between neighbouring points of a profile; NaN where these are no profiles."""
    sampled = [mz for mz, _ in _sample(scans)]
    if not sampled:
        return float("nan")
    gap = np.diff(np.concatenate(sampled).astype(np.float64))
    inside = np.ones(len(gap), dtype=bool)
    inside[np.cumsum([len(mz) for mz in sampled])[:-1] - 1] = False  # from one scan to the next
    even = np.abs(gap[1:] - gap[:-1]) <= 0.2 * np.maximum(gap[1:], gap[:-1])
    spacing = float(np.median(gap[inside]))
    regular = float(even[inside[1:] & inside[:-1]].mean()) >= settings.even
    return spacing if 0 < spacing < settings.widest_spacing and regular else float("nan")


def _peak_points(scans: ScanSeries, spacing: float, settings: CentroidSettings) -> int:
    """Points across half the height of the tallest peaks; at least 2."""
    widths = []
    for mz, intensity in _sample(scans, 100):
        top = int(np.argmax(intensity))
        above = np.asarray(intensity, dtype=np.float64) >= 0.5 * intensity[top]
        joined = np.diff(np.asarray(mz, dtype=np.float64)) <= settings.gap * spacing
        left = right = top
        while left > 0 and above[left - 1] and joined[left - 1]:
            left -= 1
        while right < len(mz) - 1 and above[right + 1] and joined[right]:
            right += 1
        if intensity[top] > 0:
            widths.append(right - left + 1)
    return max(2, round(float(np.median(widths)))) if widths else 2


def _blocks(starts: NDArray[np.int64], most: int) -> list[tuple[int, int]]:
    """Runs of whole scans with about so many points."""
    found, first, count = [], 0, len(starts) - 1
    while first < count:
        last = max(first + 1, int(np.searchsorted(starts, starts[first] + most, side="right")) - 1)
        found.append((first, min(last, count)))
        first = found[-1][1]
    return found


def _centroids(
    mz: Floats, intensity: Floats, starts: NDArray[np.int64], gap: float, points: int, settings: CentroidSettings
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """m/z and intensity of the peaks of some scans, and how many each scan has."""
    scans = len(starts) - 1
    none = np.empty(0)
    if not len(mz):
        return none, none, np.zeros(scans, dtype=np.int64)
    begins = np.zeros(len(mz), dtype=bool)  # the first point of each stretch without a gap
    begins[starts[:-1][np.diff(starts) > 0]] = True
    begins[1:] |= np.diff(mz) > gap
    stretch = np.cumsum(begins) - 1
    apex = _apexes(intensity, stretch, max(1, round(settings.apart * points)), points)
    if not len(apex):
        return none, none, np.zeros(scans, dtype=np.int64)
    valleys = _valleys(intensity, stretch, apex)
    first = np.unique(np.concatenate([np.flatnonzero(begins), valleys]))
    height = np.maximum.reduceat(intensity, first)
    size = np.diff(np.append(first, len(mz)))
    upper = np.where(intensity >= 0.5 * np.repeat(height, size), np.maximum(intensity, 0.0), 0.0)
    whole = np.add.reduceat(intensity, first)
    before, after = (np.maximum(intensity[valleys + side], 0.0) for side in (-1, 1))
    earlier = np.maximum(intensity[valleys], 0.0) * before / np.maximum(before + after, 1e-300)
    place = np.searchsorted(first, valleys)
    whole[place] -= earlier
    whole[place - 1] += earlier
    kept = (whole > 0) & (height > 0)
    centre = np.add.reduceat(upper * mz, first)[kept] / np.add.reduceat(upper, first)[kept]
    of_scan = np.searchsorted(starts, first[kept], side="right") - 1
    # empty scans share their start with the next; the last of them is the one that holds the point
    return centre, whole[kept], np.bincount(of_scan, minlength=scans).astype(np.int64)


def _apexes(intensity: Floats, stretch: NDArray[np.int64], reach: int, points: int) -> NDArray[np.intp]:
    """Where the smoothed profile is highest within `reach` points on either side, looking across no gap."""
    from scipy.ndimage import maximum_filter1d, uniform_filter1d

    pad = 2 * reach + points
    at = np.arange(len(intensity)) + pad * (stretch + 1)
    padded = np.zeros(int(at[-1]) + pad + 1)
    padded[at] = intensity
    smooth = uniform_filter1d(padded, max(1, 2 * (points // 4) + 1), mode="constant")
    before = maximum_filter1d(smooth, reach, mode="constant", origin=(reach - 1) // 2)  # points i-reach+1 … i
    after = maximum_filter1d(smooth, reach, mode="constant", origin=-(reach // 2))  # points i … i+reach-1
    left = np.concatenate([[0.0], before[:-1]])
    right = np.concatenate([after[1:], [0.0]])
    top = (smooth > left) & (smooth >= right) & (smooth > 0)
    found: NDArray[np.intp] = np.flatnonzero(top[at])
    return found


def _valleys(intensity: Floats, stretch: NDArray[np.int64], apex: NDArray[np.intp]) -> NDArray[np.intp]:
    """The lowest point between neighbouring apexes of a stretch, neither of them."""
    pairs = np.flatnonzero(stretch[apex[1:]] == stretch[apex[:-1]])
    if not len(pairs):
        return np.empty(0, dtype=np.intp)
    begin, end = apex[pairs] + 1, apex[pairs + 1]  # apexes lie two points apart at least
    size = end - begin
    low = np.minimum.reduceat(intensity, np.stack([begin, end], axis=1).ravel())[::2]
    inside = np.arange(int(size.sum())) - np.repeat(np.cumsum(size) - size, size) + np.repeat(begin, size)
    pair = np.repeat(np.arange(len(pairs)), size)
    lowest = inside[intensity[inside] <= low[pair]]
    _, firsts = np.unique(np.searchsorted(begin, lowest, side="right"), return_index=True)
    found: NDArray[np.intp] = lowest[firsts]
    return found
