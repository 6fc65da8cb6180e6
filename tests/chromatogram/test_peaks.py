"""Peaks against traces whose peaks are known."""

import numpy as np
import pytest
from crowds import crowd, trace_of
from simulated_trace import Compounds, emg, render

from cutbook.chromatogram.following_baseline import follow_baseline
from cutbook.chromatogram.integration import IntegrationSettings, integrate
from cutbook.chromatogram.noise import Noise, estimate_noise
from cutbook.chromatogram.overlap import fit_cluster
from cutbook.chromatogram.peak_detection import find_candidates
from cutbook.chromatogram.peak_shape import shape_and_slopes, tailed_gaussian
from cutbook.chromatogram.peak_width import WidthLaw, learn_widths

FRESH = (81, 82, 83, 84)  # not the seeds on which thresholds were chosen (61 to 64)


def matched(true_min, sigma, found_min):
    """For each true peak whether it was found, and the share of found ones that are true."""
    distance = np.abs(true_min[:, None] - found_min[None, :])
    rows, columns = np.nonzero(distance < 0.6 * sigma[:, None])
    hit, used = np.zeros(len(true_min), dtype=bool), set()
    for place in np.argsort(distance[rows, columns]):
        i, j = rows[place], columns[place]
        if not hit[i] and j not in used:
            hit[i] = True
            used.add(j)
    return hit, len(used) / len(found_min)


@pytest.fixture(scope="module")
def detection():
    """Pooled over noise and fresh seeds: hits, distance to the neighbour in sigma, signal to noise; precision."""
    hits, apart, strong, precision = [], [], [], []
    for noise in (0.02, 0.1, 0.5):
        for seed in FRESH:
            time, signal, _, compounds = crowd(seed, noise=noise)
            corrected = signal - follow_baseline(trace_of(time, signal)).values
            level = estimate_noise(signal)
            widths = learn_widths(time, corrected, level)
            found = find_candidates(time, corrected, level, widths)
            apexes = compounds.apexes()
            hit, right = matched(apexes, compounds.sigma, time[found.index])
            hits.append(hit)
            precision.append(right)
            gap = np.minimum(np.diff(apexes, prepend=-9), np.diff(apexes, append=99)) / compounds.sigma
            apart.append(gap)
            strong.append(compounds.area / compounds.sigma / 2.5066 / noise)
    return np.concatenate(hits), np.concatenate(apart), np.concatenate(strong), np.array(precision)


def test_found_peaks_are_peaks(detection):
    assert detection[3].mean() >= 0.97


@pytest.mark.parametrize(("low", "high", "least"), [(100, np.inf, 0.97), (10, 100, 0.88)])
def test_lone_peaks_are_found(detection, low, high, least):
    hits, apart, strong, _ = detection
    lone = (apart > 3) & (strong >= low) & (strong < high)
    assert lone.sum() > 100
    assert hits[lone].mean() >= least


def test_the_width_law_is_learned_from_the_run():
    time, signal, base, compounds = crowd(85, peaks=150)
    law = learn_widths(time, signal - base, estimate_noise(signal))
    for at in (5.0, 25.0, 45.0):
        # tau = 0.4 sigma widens a Gaussian's half-height width by 7 to 10 %
        true = 2.3548 * np.interp(at, compounds.time, compounds.sigma) * 1.08
        assert law.half_width(at) == pytest.approx(true, rel=0.07)


def lone_peaks(tail, noise, seed=1):
    rng = np.random.default_rng(seed)
    time = np.arange(0, 20, 1 / 600)
    centre = np.arange(2.0, 19.0, 1.0)
    sigma = np.full(17, 0.03)
    compounds = Compounds(centre, rng.uniform(1, 20, 17), sigma, tail * sigma)
    return time, render(time, compounds) + 5 + rng.normal(0, noise, len(time)), compounds


@pytest.mark.parametrize("tail", [0.1, 0.5, 1.0])
def test_well_separated_peaks_have_their_area_within_half_a_percent(tail):
    time, signal, compounds = lone_peaks(tail, 0.02)
    peaks = integrate(trace_of(time, signal)).peaks
    assert len(peaks) == 17
    assert [peak.area for peak in peaks] == pytest.approx(list(compounds.area), rel=0.005)
    assert {peak.area_rule for peak in peaks} == {"isolated"}
    assert [peak.apex_min for peak in peaks] == pytest.approx(list(compounds.apexes()), abs=0.002)


def test_shape_measures_follow_their_definitions():
    time, signal, compounds = lone_peaks(0.8, 0.002)
    fine = np.linspace(-0.3, 0.6, 200_001)
    shape = emg(fine, 0.0, 0.03, 0.024)
    top = shape.argmax()

    def crossings(share):
        above = np.flatnonzero(shape >= share * shape[top])
        return fine[above[0]], fine[above[-1]]

    half, foot = crossings(0.5), crossings(0.05)
    peak = integrate(trace_of(time, signal)).peaks.peaks[8]
    assert peak.half_width_min == pytest.approx(half[1] - half[0], rel=0.01)
    assert peak.tailing == pytest.approx((foot[1] - foot[0]) / (2 * (fine[top] - foot[0])), rel=0.03)
    assert peak.height == pytest.approx(compounds.area[8] * shape[top], rel=0.01)
    assert peak.signal_to_noise == pytest.approx(2 * peak.height / (5 * 0.002), rel=0.15)
    assert peak.resolution == pytest.approx(1.18 * 1.0 / (2 * (half[1] - half[0])), rel=0.03)


@pytest.mark.parametrize("resolution", [0.7, 0.85, 1.0, 1.25, 1.5])
@pytest.mark.parametrize("ratio", [1, 5, 20])
@pytest.mark.parametrize("side", [1, -1])
def test_the_smaller_of_two_overlapping_peaks_is_fitted(resolution, ratio, side):
    law = WidthLaw(0.03 * 2.3548, 0.0, 0.001)
    errors = []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        time = np.arange(0, 1.2, 1 / 600)
        centre = np.array([0.6, 0.6 + side * resolution * 2 * 2.3548 * 0.03 / 1.18])
        sigma = 0.03 * np.exp(rng.normal(0, 0.03 / np.sqrt(2), 2))  # the two differ by 3 %
        compounds = Compounds(centre, np.array([1.0, 1.0 / ratio]), sigma, 0.4 * np.array([0.03, 0.03]))
        signal = render(time, compounds)
        noise = float(signal.max()) / 1000
        signal = signal + rng.normal(0, noise, len(time))
        apexes = compounds.apexes()
        order = np.argsort(apexes)
        at = apexes[order] + rng.normal(0, 0.05 * 0.03, 2)
        fit = fit_cluster(time, signal, at, np.interp(at, time, signal), noise, law)
        errors.append(100 * (fit.area[int(np.flatnonzero(order == 1)[0])] * ratio - 1))
    assert np.sqrt(np.mean(np.square(errors))) <= 5.0


def triplets(ratio, resolution, noise=0.01, seed=1):
    """Pairs of a major and a minor peak along a run, the minor one after the major."""
    rng = np.random.default_rng(seed)
    time = np.arange(0, 20, 1 / 600)
    major = np.arange(1.0, 19.5, 1.0)
    sigma = np.full(len(major), 0.03)
    minor = major + resolution * 2 * 2.3548 * 0.03 / 1.18
    compounds = Compounds(
        np.concatenate([major, minor]), np.concatenate([np.ones(len(major)), np.full(len(major), 1 / ratio)]),
        np.tile(sigma, 2), 0.3 * np.tile(sigma, 2),
    )  # fmt: skip
    signal = render(time, compounds) + 3 + rng.normal(0, noise, len(time))
    return time, signal, minor


@pytest.mark.parametrize(("ratio", "resolution"), [(5, 1.0), (20, 1.25), (20, 1.5), (2, 0.8)])
def test_overlapping_pairs_are_found_and_shared_in_a_whole_trace(ratio, resolution):
    time, signal, minor = triplets(ratio, resolution)
    peaks = list(integrate(trace_of(time, signal)).peaks)
    found = [min(peaks, key=lambda peak, at=at: abs(peak.apex_min - at)) for at in minor]
    errors = np.array([100 * (peak.area * ratio - 1) for peak in found])
    assert np.sqrt(np.mean(errors**2)) <= 5.0
    assert len(peaks) == 2 * len(minor)


def test_the_way_an_area_was_shared_is_recorded():
    time, signal, _ = triplets(5, 1.0)
    assert {peak.area_rule for peak in integrate(trace_of(time, signal)).peaks} == {"fitted"}
    time, signal, _ = triplets(2, 2.1)
    assert "fitted" not in {peak.area_rule for peak in integrate(trace_of(time, signal)).peaks}


def test_peak_shape_agrees_with_a_general_library():
    time = np.linspace(-1, 5, 2001)
    for sigma, tau in ((0.1, 0.02), (0.1, 0.1), (0.05, 0.8)):
        assert tailed_gaussian(time, 0.3, sigma, tau) == pytest.approx(emg(time, 0.3, sigma, tau), abs=1e-9, rel=1e-6)


def test_slopes_of_the_peak_shape_are_its_derivatives():
    time = np.linspace(0, 1, 301)
    at = np.array([0.4, 0.05, 0.03])
    analytic = shape_and_slopes(time, *at)[1:]
    for place in range(3):
        step = np.zeros(3)
        step[place] = 1e-6
        numeric = (tailed_gaussian(time, *(at + step)) - tailed_gaussian(time, *(at - step))) / 2e-6
        assert analytic[place] == pytest.approx(numeric, abs=1e-6 * float(np.abs(numeric).max()))


def test_uncertainty_of_a_lone_area_is_that_of_repeated_noise():
    areas = []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        time = np.arange(0, 4, 1 / 600)
        signal = 2 * emg(time, 2.0, 0.03, 0.01) + rng.normal(0, 0.3, len(time))
        peak = max(integrate(trace_of(time, signal)).peaks, key=lambda one: one.area)
        areas.append((peak.area, peak.u_area))
    spread = np.std([area for area, _ in areas], ddof=1)
    assert np.median([u for _, u in areas]) == pytest.approx(spread, rel=0.6)


def test_a_flat_top_is_flagged_as_saturated():
    time, signal, _ = lone_peaks(0.3, 0.02)
    clipped = np.minimum(signal, 100.0)
    peaks = list(integrate(trace_of(time, clipped)).peaks)
    flags = ["saturated" in peak.flags for peak in peaks]
    assert flags == [peak.height > 94 for peak in peaks]
    assert any(flags)


def test_peaks_in_the_solvent_window_are_flagged():
    time, signal, _ = lone_peaks(0.3, 0.02)
    peaks = integrate(trace_of(time, signal), ((1.8, 2.2),)).peaks
    assert [("solvent" in peak.flags) for peak in peaks] == [peak.apex_min < 2.2 for peak in peaks]


def test_scaling_the_signal_scales_areas_and_nothing_else():
    time, signal, _ = triplets(5, 1.0)
    one, ten = (integrate(trace_of(time, signal * factor)).peaks for factor in (1.0, 10.0))
    assert [p.area for p in ten] == pytest.approx([10 * p.area for p in one], rel=1e-3)
    assert [p.apex_min for p in ten] == pytest.approx([p.apex_min for p in one])


def test_shifting_the_time_axis_shifts_times_and_nothing_else():
    time, signal, _ = triplets(5, 1.0)
    here, there = (integrate(trace_of(time + shift, signal)).peaks for shift in (0.0, 3.0))
    assert [p.apex_min for p in there] == pytest.approx([p.apex_min + 3 for p in here], abs=1e-4)
    assert [p.area for p in there] == pytest.approx([p.area for p in here], rel=0.01)


def test_a_trace_of_noise_alone_has_no_peaks():
    rng = np.random.default_rng(1)
    time = np.arange(0, 30, 1 / 600)
    assert len(integrate(trace_of(time, rng.normal(10, 0.1, len(time)))).peaks) <= 1


def test_settings_reach_the_step():
    time, signal, _ = lone_peaks(0.3, 0.02)
    step = integrate(trace_of(time, signal), settings=IntegrationSettings()).peaks.step
    assert step.settings["integration"]["baseline"]["cutoff_s"] == 56.0


def test_white_noise_persists_for_one_point():
    assert Noise(0.1, 1.0).peak_to_peak == pytest.approx(0.5)
