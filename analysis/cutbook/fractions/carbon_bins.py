"""Where one carbon number ends and the next begins on the time axis of a ladder."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.model.carbon import Convention
from cutbook.model.cautions import caution
from cutbook.model.ladder import Ladder
from cutbook.model.lineage import Step
from cutbook.model.trace import Floats, frozen_array


@dataclass(frozen=True)
class CarbonBinSettings:
    """How bins are drawn.

    convention : "after" counts all that elutes after n-C(k-1) up to and including n-Ck as k, because in an
        oil the alkenes and branched alkanes of k carbons elute before n-Ck; "midpoint" draws the line halfway
        between neighbouring n-alkanes.
    most_of_gap : an edge "after" an n-alkane lies at the end of its peak, but at most this share of the way
        to the next, so that a tailing ladder peak does not swallow its neighbour's first compounds.
    """

    convention: Convention = "after"
    most_of_gap: float = 0.35


@dataclass(frozen=True, eq=False)
class CarbonBins:
    """Bins of carbon numbers.

    carbons : carbon number of each bin, without gaps, shape (k,) as a tuple. The first bin also takes what
        elutes before the ladder; ends_min : time in min at which each bin ends, shape (k,), rising. What comes
        after the last is beyond the ladder. interpolated : carbon numbers between rungs that the ladder lacks.
    """

    carbons: tuple[int, ...]
    ends_min: Floats
    interpolated: tuple[int, ...]
    step: Step

    def __post_init__(self) -> None:
        object.__setattr__(self, "ends_min", frozen_array(self.ends_min))


def carbon_bins(ladder: Ladder, settings: CarbonBinSettings = CarbonBinSettings()) -> CarbonBins:
    """Bin ends from a numbered ladder; nothing is extrapolated beyond its last rung.

    Parameters
    ----------
    ladder : with two rungs at least.
    settings : see `CarbonBinSettings`.

    Returns
    -------
    CarbonBins

    Notes
    -----
    Times of carbon numbers that the ladder lacks are interpolated by a monotone cubic in the carbon number.
    The last bin ends behind the last rung under both conventions, since there is no next one to be
    halfway to.
    """
    from scipy.interpolate import PchipInterpolator

    have = np.array(ladder.carbons, dtype=np.float64)
    carbons = np.arange(have[0], have[-1] + 1)
    times = PchipInterpolator(have, ladder.times_min)(carbons)
    tails = np.interp(carbons, have, [rung.peak.back_min - rung.peak.apex_min for rung in ladder.rungs])
    gaps = np.append(np.diff(times), np.inf)
    after = times + np.minimum(tails, settings.most_of_gap * gaps)
    ends = after if settings.convention == "after" else np.append((times[1:] + times[:-1]) / 2, after[-1])
    missing = tuple(int(n) for n in carbons if n not in have)
    raised = (
        (caution("ladder.interpolated", ladder.file, carbons=", ".join(f"C{n}" for n in missing)),) if missing else ()
    )
    step = Step("bin carbon numbers/1", inputs=(ladder.step,), settings=settings, cautions=raised)
    return CarbonBins(tuple(int(n) for n in carbons), ends, missing, step)
