"""The isotope ratio in every scan of a peak, neighbours taken away, against the natural abundance of chlorine."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.chlorine.ion_areas import Design, IonAreas
from cutbook.chlorine.target_ions import TargetIons
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class AlongPeakSettings:
    """How ratios scan by scan are read.

    least_chance : chi-square probability below which they speak against the compound; 0.001, so that one true compound
        in a thousand is lost by it.
    scatter : of a ratio from scan to scan beyond counting, relative; 0.05, as the masses of a scan are not read at one
        moment. offset : by which the ratio of the whole peak may differ from theory, relative; 0.2, the tolerance of
        the isotope ratio at 2.5 of its uncertainties: whether it is right on the whole the areas tell.
    on_peak : share of its height above which a scan is asked; 0.4, since the feet belong to the neighbours as well.
    """

    least_chance: float = 0.001
    scatter: float = 0.05
    offset: float = 0.2
    on_peak: float = 0.4


@dataclass(frozen=True, eq=False)
class AlongPeak:
    """What the scans of a peak say, one entry a piece.

    matrix : what neighbours give of each ion, shape (c, n, k). misfit : chi-square by its degrees of freedom; chance :
    its probability; both shape (c,). scans : of the peak, shape (c,).
    """

    matrix: Floats
    misfit: Floats
    chance: Floats
    scans: Floats


def along_peak(
    heights: Floats,
    read: IonAreas,
    design: Design,
    at: tuple[NDArray[np.intp], NDArray[np.intp]],
    ions: TargetIons,
    settings: AlongPeakSettings = AlongPeakSettings(),
) -> AlongPeak:
    """Hold every scan of a peak against theory.

    Parameters
    ----------
    heights : of the compound's ions in each piece, shape (c, n, k). read : their areas. design : what was fitted.
    at : pieces and positions that are asked. ions : of the compound.

    Notes
    -----
    ``χ² = Σ (y_p - R y_b)² / (v_p + R² v_b + (t R y_b)²)`` over the scans of the peak and the partners p of the tallest
    ion b of its cluster; R the weighted mean ratio of the peak, held to theory by `offset`, and t the scatter.
    """
    from scipy.special import chdtrc

    pieces, positions = at
    variance, shapes = read.variance[pieces], design.shapes[pieces, :, positions]
    matrix = read.matrix(design.around, pieces, positions)
    rest = heights[pieces] - matrix
    on = shapes > settings.on_peak * shapes.max(axis=1, keepdims=True)
    base, partners = ions.cluster[0], ions.cluster[1:]
    share = ions.share[partners]
    tallest, others = rest[:, :, base, None], rest[:, :, partners]
    weight = np.where(on[:, :, None], 1.0 / variance[:, :, partners], 0.0)
    mean = (weight * tallest * others).sum(axis=1) / np.maximum((weight * tallest**2).sum(axis=1), 1e-300)
    ratio = np.minimum(np.maximum(mean, share * (1 - settings.offset)), share * (1 + settings.offset))[:, None, :]
    expected = tallest * ratio
    spread = variance[:, :, partners] + ratio**2 * variance[:, :, base, None] + (settings.scatter * expected) ** 2
    by_scan = ((others - expected) ** 2 / spread).sum(axis=2)
    scans = on.sum(axis=1)
    freedom = np.maximum(scans * len(partners), 1)
    total = np.where(on, by_scan, 0.0).sum(axis=1)
    return AlongPeak(matrix, total / freedom, chdtrc(freedom, total), scans)
