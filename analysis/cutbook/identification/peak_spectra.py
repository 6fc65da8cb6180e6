"""Take the spectra of the tallest peaks out of a series of scans, with what stands beside each peak taken away."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.ion_matrix import nominal_masses
from cutbook.model.scans import ScanSeries, Spectrum
from cutbook.model.trace import Floats

_FEWEST = 5  # scans; fewer make no peak, and each is shown as it is


@dataclass(frozen=True)
class PeakSpectraSettings:
    """Which spectra are taken.

    most : peaks, the tallest first; 10, what a person looks at.
    least : rise of the total current over the feet, as a share of the largest, from which it is a peak; 0.01.
    foot : of the height of a peak, counted from its apex, at which its feet are read; 0.9.
    beside : scans on either side of the apex that are added to it; 1, so that counts of ions scatter less.
    """

    most: int = 10
    least: float = 0.01
    foot: float = 0.9
    beside: int = 1


def peak_spectra(scans: ScanSeries, settings: PeakSpectraSettings = PeakSpectraSettings()) -> tuple[Spectrum, ...]:
    """Spectra at nominal mass of the tallest peaks of the total ion current, the tallest first.

    Parameters
    ----------
    scans : of one run. settings : see there.

    Returns
    -------
    tuple of Spectrum
        The scans at the apex less the mean of those at both feet, for each mass that is left above nothing, over the
        tallest ion of the run. Of fewer than five scans each is given as it is. () without any current.

    Notes
    -----
    A difference of scans is as linear in each ion as the scans themselves: what elutes evenly beneath a peak leaves
    its isotopes alone.
    """
    from scipy.signal import find_peaks, peak_widths

    largest = float(np.max(np.abs(scans.total)))
    if not 0.0 < largest < np.inf or not len(scans.mz):
        return ()
    total = np.asarray(scans.total, dtype=np.float64) / largest
    if len(scans) < _FEWEST:
        order = np.argsort(-total, kind="stable")[: settings.most]
        return tuple(Spectrum(float(scans.time_min[one]), *_nominal(scans, [int(one)])) for one in order)
    found, told = find_peaks(total, prominence=settings.least * float(np.ptp(total)) or np.inf)
    best = found[np.argsort(-told["prominences"], kind="stable")][: settings.most]
    _, _, lefts, rights = peak_widths(total, best, rel_height=settings.foot)
    last = len(scans) - 1
    spectra = []
    for apex, left, right in zip(best.tolist(), lefts.tolist(), rights.tolist(), strict=True):
        of = range(max(apex - settings.beside, 0), min(apex + settings.beside, last) + 1)
        feet = [max(int(np.floor(left)), 0), min(int(np.ceil(right)), last)]
        mz, height = _nominal(scans, of)
        below, under = _nominal(scans, feet)
        under = under * len(of) / len(feet)
        if not len(mz):  # a total that the file states without ions
            continue
        place = np.searchsorted(mz, below).clip(0, len(mz) - 1)
        same = mz[place] == below
        np.subtract.at(height, place[same], under[same])
        spectra.append(Spectrum(float(scans.time_min[apex]), mz[height > 0], height[height > 0]))
    return tuple(spectra)


def _nominal(scans: ScanSeries, of: range | list[int]) -> tuple[Floats, Floats]:
    """Nominal masses of some scans, rising, and the sum of what each holds over the tallest ion of the run."""
    parts = [scans.scan(one) for one in of]
    masses = nominal_masses(np.concatenate([mz for mz, _ in parts]))
    heights = np.concatenate([height for _, height in parts]).astype(np.float64)
    heights /= max(float(np.max(np.abs(scans.intensity))), np.finfo(np.float64).tiny)
    mz, place = np.unique(masses, return_inverse=True)
    return mz.astype(np.float64), np.bincount(place, weights=heights, minlength=len(mz)).astype(np.float64)
