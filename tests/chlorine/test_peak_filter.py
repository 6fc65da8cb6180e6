"""The filter that reads peak heights, and the heights of a whole run."""

import numpy as np
import pytest
from unknown_oils import SHORT, widths_of

from cutbook.chlorine.peak_filter import peak_filter
from cutbook.chlorine.peak_heights import BLOCK, EDGE, height_blocks
from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise
from cutbook.model.lineage import Step


def gaussian(width, scan, apex):
    return np.exp(-4 * np.log(2) * ((scan - apex) / width) ** 2)


@pytest.mark.parametrize("width", [3.0, 6.8, 15.0])
def test_a_peak_of_the_width_is_read_with_its_height_and_shift(width):
    weights = peak_filter(width)
    scan = np.arange(-weights.half, weights.half + 1.0)
    assert weights.width == pytest.approx(width, rel=0.03)
    assert weights.height @ gaussian(weights.width, scan, 0.0) == pytest.approx(1.0)
    assert weights.slope @ gaussian(weights.width, scan, 0.0) == pytest.approx(0.0, abs=1e-9)
    assert weights.slope @ gaussian(weights.width, scan, 0.05 * width) == pytest.approx(0.05 * width, rel=0.03)


@pytest.mark.parametrize("distance", [1.0, 1.25, 1.5, 2.0])
def test_a_neighbour_one_width_away_or_farther_hardly_shows(distance):
    weights = peak_filter(6.8)
    scan = np.arange(-weights.half, weights.half + 1.0)
    assert abs(weights.height @ gaussian(weights.width, scan, distance * weights.width)) < 0.05


def test_the_price_is_a_third_more_variance_than_the_best_filter_without_neighbours():
    weights = peak_filter(6.8)
    assert weights.height @ weights.height == pytest.approx(1.33 / (weights.shape @ weights.shape), rel=0.05)


def test_blocks_join_without_a_seam_and_know_their_variance():
    rng = np.random.default_rng(4)
    scans, masses, gain = 5 * BLOCK + 17, 12, 7.0
    time = np.arange(scans) * 0.5 / 60
    matrix = IonMatrix(
        "oil.cdf", time, 100, (gain * rng.poisson(40.0, (scans, masses))).astype(np.float32), Step("lay ions/1")
    )
    blocks = list(height_blocks(matrix, widths_of(SHORT), IonNoise(gain, np.full(masses, 1e-3))))
    assert [block.first for block in blocks] == list(range(0, scans, BLOCK))
    for before, after in zip(blocks[:-1], blocks[1:], strict=True):
        if before.weights.width == after.weights.width:
            seam = before.height[-2 * EDGE :] + before.level, after.height[: 2 * EDGE] + after.level
            assert np.allclose(*seam, atol=1e-3 * gain * 40)
    inner = np.concatenate([block.height[EDGE:-EDGE] for block in blocks])
    variance = np.concatenate([block.variance[EDGE:-EDGE] for block in blocks])
    assert inner.var() == pytest.approx(variance.mean(), rel=0.15)
    assert abs(inner.mean()) < 0.2 * np.sqrt(variance.mean())
