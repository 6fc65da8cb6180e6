"""The filter that reads the height of a peak of known width out of a trace in which neighbours elute."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from cutbook.model.trace import Floats, frozen_array

_STEP = 1.06  # widths are rounded to this geometric grid: 3 % off costs a thousandth of a peak's height


@dataclass(frozen=True)
class PeakFilterSettings:
    """What the filter is laid out for.

    reach : half its length in widths; 1.5, beyond which a Gaussian has 0.2 % of its height.
    nearest, farthest : neighbours expected on either side, in widths. A neighbour nearer than 0.8 widths cannot be told
        from the peak itself by shape alone.
    neighbours : how much stronger than counting noise they are expected to be. 10 brings a neighbour one width away
        down to 0 and one half a width away to half of it, for a third more noise.
    """

    reach: float = 1.5
    nearest: float = 0.8
    farthest: float = 2.2
    neighbours: float = 10.0


@dataclass(frozen=True, eq=False)
class PeakFilter:
    """Weights by scan, shape (2 × half + 1,).

    width : full width at half height it is for, in scans. shape : the Gaussian, 1 at its apex.
    height : weights that give the height of the peak. slope : weights that give height × shift of the apex, in scans.
    level : what `height` gives of a constant 1.
    """

    width: float
    shape: Floats
    height: Floats
    slope: Floats
    level: float

    def __post_init__(self) -> None:
        for name in ("shape", "height", "slope"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def half(self) -> int:
        """Scans on either side."""
        return len(self.height) // 2


def peak_filter(width: float, settings: PeakFilterSettings = PeakFilterSettings()) -> PeakFilter:
    """The filter for a full width at half height in scans, at least 2; the width is rounded to 6 %.

    Notes
    -----
    Generalised least squares: with the noise of single scans and neighbours of unknown height at all distances as
    covariance C, the weights for a shape p are C⁻¹p / pᵀC⁻¹p. The shift is read against the first derivative of the
    shape, with the peak itself added to what must be passed over.
    """
    steps = round(np.log(max(width, 2.0)) / np.log(_STEP))
    return _made(steps, settings)


@cache
def _made(steps: int, settings: PeakFilterSettings) -> PeakFilter:
    width = _STEP**steps
    half = int(np.ceil(settings.reach * width))
    scan = np.arange(-half, half + 1.0)
    narrow = 4.0 * np.log(2.0) / width**2
    shape = np.exp(-narrow * scan**2)
    derivative = 2.0 * narrow * scan * shape
    covariance = np.eye(len(scan))
    distances = np.arange(settings.nearest, settings.farthest, 0.1) * width
    for distance in np.concatenate([-distances, distances]):
        neighbour = np.exp(-narrow * (scan - distance) ** 2)
        covariance += 0.1 * settings.neighbours * np.outer(neighbour, neighbour)
    height = np.linalg.solve(covariance, shape)
    height /= height @ shape
    slope = np.linalg.solve(covariance + 1e3 * np.outer(shape, shape), derivative)
    slope /= slope @ derivative
    return PeakFilter(width, shape, height, slope, float(height.sum()))
