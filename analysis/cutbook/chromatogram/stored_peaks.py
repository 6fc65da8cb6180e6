"""Hold the peak table that a file brings along against our own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.model.cautions import Caution, caution
from cutbook.model.peaks import Peak, PeakTable
from cutbook.model.trace import StoredPeak, Trace

AGREES = 0.05
"""Two integrations of a resolved peak agree within a few per cent (common practice, no source)."""


@dataclass(frozen=True)
class ComparedPeak:
    """A peak of the file's own table and ours at the same place, None where we have none."""

    stored: StoredPeak
    ours: Peak | None

    @property
    def difference(self) -> float | None:
        """Our area over the file's, less one; None where either is missing."""
        if self.ours is None or not self.stored.area:
            return None
        return self.ours.area / self.stored.area - 1.0


def compared_peaks(trace: Trace, peaks: PeakTable) -> tuple[ComparedPeak, ...]:
    """The file's own peaks, each beside ours.

    Parameters
    ----------
    trace : with its stored peaks. peaks : read from it.

    Returns
    -------
    tuple of ComparedPeak
        Ours is the peak whose apex comes closest, within its own limits. The file integrates above its own
        baselines, so that areas differ where peaks overlap or stand on a hump.
    """
    apexes = np.array([peak.apex_min for peak in peaks])
    found = []
    for stored in trace.stored_peaks:
        ours = None
        if stored.apex_min is not None and len(apexes):
            near = peaks.peaks[int(np.argmin(np.abs(apexes - stored.apex_min)))]
            ours = near if near.front_min <= stored.apex_min <= near.back_min else None
        found.append(ComparedPeak(stored, ours))
    return tuple(found)


def compare_stored_peaks(trace: Trace, peaks: PeakTable) -> tuple[Caution, ...]:
    """One caution that tells how far the two tables agree; none where the file has no table."""
    compared = compared_peaks(trace, peaks)
    if not compared:
        return ()
    differences = [one.difference for one in compared if one.difference is not None]
    agree = sum(abs(one) <= AGREES for one in differences)
    return (
        caution("peaks.file_has_own", trace.file, count=len(compared), found=len(differences), agree=agree,
                within=round(100 * AGREES)),
    )  # fmt: skip
