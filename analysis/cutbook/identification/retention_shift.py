"""Tell whether the retention times of a sample have moved against those of its ladder."""

from __future__ import annotations

import numpy as np

from cutbook.model.cautions import Caution, caution
from cutbook.model.ladder import Ladder
from cutbook.model.peaks import PeakTable

LARGEST_SHIFT_MIN = 0.1
"""Six seconds: the repeatability of retention times that the simulated-distillation standards allow."""


def retention_shift(name: str, peaks: PeakTable, ladder: Ladder) -> tuple[Caution, ...]:
    """Compare the n-alkanes of a sample with the ladder.

    Parameters
    ----------
    name : of the sample. peaks : its peaks. ladder : run under the same method.

    Returns
    -------
    tuple of Caution
        `sample.retention_shift` when the sample's strong peaks show a common displacement of more than 0.1 min.

    Notes
    -----
    n-Alkanes end each carbon number of a cracked polyolefin as its strongest peaks. For displacements up to half the
    closest spacing of the rungs, the height of the sample near the displaced rungs is added up (as the root of
    peak area, so that no single peak decides); the displacement with the largest sum is believed when it stands out
    from the sum at zero. A sample without alkanes gives no clear maximum and no caution.
    """
    times = ladder.times_min
    apexes = np.array([peak.apex_min for peak in peaks if "solvent" not in peak.flags])
    weights = np.sqrt([max(peak.area, 0.0) for peak in peaks if "solvent" not in peak.flags])
    inside = (apexes > times[0] - 0.5) & (apexes < times[-1] + 0.5)
    apexes, weights = apexes[inside], weights[inside]
    if len(apexes) < 5 or len(times) < 5:
        return ()
    most = min(0.5, 0.4 * float(np.min(np.diff(times))))
    offsets = apexes[:, None] - times[None, :]
    nearest = np.abs(offsets).argmin(axis=1)
    off = offsets[np.arange(len(apexes)), nearest]
    scatter = 0.015
    trial = np.arange(-most, most + 1e-9, 0.005)
    sums = np.array([float(np.sum(weights * np.exp(-0.5 * ((off - d) / scatter) ** 2))) for d in trial])
    best = int(np.argmax(sums))
    at_zero = float(np.sum(weights * np.exp(-0.5 * (off / scatter) ** 2)))
    if abs(trial[best]) <= LARGEST_SHIFT_MIN or sums[best] < 2.0 * at_zero or sums[best] < 0.35 * float(weights.sum()):
        return ()
    return (caution("sample.retention_shift", name, shift=round(float(trial[best]), 2)),)
