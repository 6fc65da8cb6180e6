"""Scatter of ion heights, read from runs whose scatter is known."""

import numpy as np
import pytest

from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise, IonNoiseSettings, _Classes, estimate_ion_noise
from cutbook.model.lineage import Step


def peaks(rng, scans=3000, masses=60, background=0.3, tallest=3e4, width=3.0):
    """Ions expected: background and peaks of random height, place and spectrum."""
    expected = np.full((scans, masses), background)
    scan = np.arange(scans)
    for _ in range(150):
        shape = np.exp(-((scan - rng.uniform(0, scans)) ** 2) / (2 * width**2))
        expected += np.outer(shape, rng.dirichlet(np.full(masses, 0.2))) * tallest * 10 ** rng.uniform(-3, 0)
    return expected


def a_matrix(heights):
    time = np.arange(1, len(heights) + 1) / 120
    return IonMatrix("oil.cdf", time, 40, heights.astype(np.float32), Step("lay ions by nominal mass/1"))


@pytest.mark.parametrize("gain", [1.0, 37.5])
@pytest.mark.parametrize("seed", range(3))
def test_counts_per_ion_are_found(gain, seed):
    rng = np.random.default_rng(seed)
    noise = estimate_ion_noise(a_matrix(rng.poisson(peaks(rng)) * gain))
    assert noise.gain == pytest.approx(gain, rel=0.08)
    assert (noise.floor < 0.5 * gain).all()
    assert noise.ceiling is None


@pytest.mark.parametrize(("width", "within"), [(3.0, 0.12), (2.5, 0.25)])
def test_tall_peaks_of_few_scans_are_hardly_taken_for_noise(width, within):
    rng = np.random.default_rng(5)
    expected = peaks(rng, tallest=3e6, width=width)  # so that most windows lie on a flank
    assert estimate_ion_noise(a_matrix(rng.poisson(expected) * 1.0)).gain == pytest.approx(1.0, rel=within)


def test_the_floor_of_each_mass_is_found():
    rng = np.random.default_rng(6)
    floor = np.linspace(4.0, 20.0, 60)
    heights = rng.poisson(peaks(rng, background=60.0)) + rng.normal(0, 1, (3000, 60)) * floor
    noise = estimate_ion_noise(a_matrix(np.maximum(heights, 0)))
    assert noise.gain == pytest.approx(1.0, rel=0.25)
    # variance of a height of 60 is floor² + 60: what the two make together must be right
    assert noise.variance(np.full((1, 60), 60.0))[0] == pytest.approx(floor**2 + 60.0, rel=0.25)


@pytest.mark.parametrize("threshold", [5.0, 20.0])
def test_heights_below_a_threshold_that_are_missing_do_not_spoil_the_gain(threshold):
    rng = np.random.default_rng(7)
    heights = rng.poisson(peaks(rng, background=2.0)) * 1.0
    heights[heights < threshold] = 0.0
    noise = estimate_ion_noise(a_matrix(heights))
    assert noise.gain == pytest.approx(1.0, rel=0.25)
    assert noise.threshold == pytest.approx(threshold, abs=1.0)
    assert (noise.floor >= threshold / np.sqrt(12.0) * 0.999).all()


def test_electronic_noise_that_is_cut_off_at_zero_does_not_spoil_the_gain():
    rng = np.random.default_rng(10)
    ions = rng.poisson(peaks(rng, tallest=3e6, width=3.0))
    heights = np.maximum(20.0 * ions + rng.normal(0, 6.0, ions.shape), 0.0)
    noise = estimate_ion_noise(a_matrix(heights))
    assert noise.gain == pytest.approx(20.0, rel=0.15)
    assert np.median(noise.floor) < 20.0


def test_a_run_of_single_ions_in_electronic_noise_has_a_gain():
    rng = np.random.default_rng(11)
    expected = 0.3 + 30.0 * np.exp(-((np.arange(1200) - 600.0) ** 2) / 18.0)[:, None] * rng.random((1, 200)) ** 8
    heights = np.maximum(20.0 * rng.poisson(expected) + rng.normal(0, 6.0, expected.shape), 0.0)
    assert estimate_ion_noise(a_matrix(heights)).gain == pytest.approx(20.0, rel=0.25)


def test_cut_off_peaks_do_not_spoil_the_gain_and_the_ceiling_is_named():
    rng = np.random.default_rng(8)
    heights = np.minimum(rng.poisson(peaks(rng, tallest=3e5)) * 1.0, 2000.0)
    noise = estimate_ion_noise(a_matrix(heights))
    assert noise.gain == pytest.approx(1.0, rel=0.1)
    assert noise.ceiling == 2000.0


def test_variance_is_that_of_poisson_counts_at_every_height():
    rng = np.random.default_rng(9)
    noise = estimate_ion_noise(a_matrix(rng.poisson(peaks(rng)) * 10.0))
    heights = np.array([[30.0, 300.0, 3000.0, 30000.0]])
    assert noise.variance(heights, np.arange(4)) == pytest.approx(10.0 * heights, rel=0.15, abs=12.0)


@pytest.mark.parametrize("shape", [(2, 3), (4, 1), (300, 2)])
def test_runs_with_nothing_or_next_to_nothing_in_them_give_a_noise(shape):
    for heights in (np.zeros(shape), np.ones(shape)):
        noise = estimate_ion_noise(a_matrix(heights))
        assert noise.gain > 0 and (noise.floor > 0).all() and np.isfinite(noise.floor).all()


def test_a_stated_noise_counts_what_is_below_zero_as_zero():
    assert IonNoise(2.0, np.array([3.0])).variance(np.array([[-5.0], [4.0]])).tolist() == [[9.0], [17.0]]


def test_the_floor_of_a_class_is_the_median_over_its_windows():
    rng = np.random.default_rng(12)
    for masses in (2, 6, 7):  # of an even number the two in the middle count
        level = rng.exponential(100.0, (90, masses)).astype(np.float32)
        everywhere = np.ones(level.shape, dtype=bool)
        one = _Classes(level, level, level, everywhere, everywhere, IonNoiseSettings(bins=1))
        floor = rng.exponential(3.0, masses).astype(np.float32)
        assert one._medians(floor).tolist() == [float(np.median(np.tile(floor, 90)))]
