"""Baselines against traces whose baseline is known."""

import numpy as np
import pybaselines
import pytest
from crowds import crowd, trace_of
from simulated_oil import Instrument, Oil, bell
from simulated_trace import render

from cutbook.chromatogram.blank_baseline import BlankBaselineSettings, blank_baseline
from cutbook.chromatogram.bleed_baseline import bleed_baseline
from cutbook.chromatogram.following_baseline import (
    FollowingBaselineSettings,
    expected_dip,
    follow_baseline,
    reweighted_baseline,
)
from cutbook.chromatogram.integration import integrate
from cutbook.chromatogram.noise import estimate_noise
from cutbook.chromatogram.signal_area import signal_shares, slice_areas


def codes(baseline):
    return [one.code for one in baseline.step.cautions]


def peak_errors(time, corrected, compounds, sizes):
    """% error of the area in a window of two widths about every peak above 1 pA."""
    found = []
    for mu, area, sigma in zip(compounds.time, compounds.area, compounds.sigma, strict=True):
        if area / sigma / 2.5066 > 1:
            here = slice(*np.searchsorted(time, [mu - 3 * sigma, mu + 4 * sigma]))
            found.append(100 * (corrected[here].sum() / sizes[here].sum() - 1))
    return np.array(found)


@pytest.mark.parametrize(
    "kind",
    [{}, {"noise": 0.5}, {"bleed_height": 60}, {"hump": 60}, {"peaks": 150}],
    ids=["400 peaks", "noise 0.5 pA", "bleed 60 pA", "hump 60 pA", "150 peaks"],
)
@pytest.mark.parametrize("seed", [51, 52])
def test_following_baseline_gets_total_and_peak_areas(kind, seed):
    time, signal, base, compounds = crowd(seed, **{"noise": 0.05, **kind})
    baseline = follow_baseline(trace_of(time, signal))
    pure = render(time, compounds)
    corrected = signal - baseline.values
    assert abs(100 * (corrected.sum() / pure.sum() - 1)) <= 1.0
    assert np.median(np.abs(peak_errors(time, corrected, compounds, pure))) <= 2.0
    assert codes(baseline) == []


@pytest.mark.parametrize(("kind", "least"), [({"bleed_height": 60}, 2.0), ({"hump": 60}, 20.0)])
def test_a_baseline_over_its_cliff_says_so(kind, least):
    time, signal, base, _ = crowd(51, noise=0.05, **kind)
    stiff = follow_baseline(trace_of(time, signal), settings=FollowingBaselineSettings(cutoff_s=156))
    assert abs(100 * ((signal - stiff.values).sum() / (signal - base).sum() - 1)) > least
    assert codes(stiff) == ["baseline.methods_disagree"]


def test_reweighted_baseline_agrees_with_a_general_library():
    _, signal, _, _ = crowd(51, noise=0.05, rate=2)
    ours = reweighted_baseline(signal, 1e5)
    theirs, _ = pybaselines.Baseline().arpls(signal, lam=1e5, tol=1e-3, max_iter=60)
    assert ours == pytest.approx(theirs, abs=0.002)  # the noise is 0.05


def test_the_lowest_of_many_deviates_is_foretold():
    rng = np.random.default_rng(1)
    assert expected_dip(61) == pytest.approx(-rng.normal(size=(20000, 61)).min(axis=1).mean(), abs=0.01)


@pytest.mark.parametrize("correlated", [1, 5])
def test_noise_and_its_persistence_are_found_between_peaks(correlated):
    time, signal, _, _ = crowd(51, noise=0.0, peaks=150)
    rng = np.random.default_rng(3)
    white = rng.normal(0, 0.2, len(time) + correlated - 1)
    drawn = np.convolve(white, np.ones(correlated) / np.sqrt(correlated), mode="valid")
    noise = estimate_noise(signal + drawn)
    assert noise.sd == pytest.approx(0.2, rel=0.1)
    assert noise.correlation_points == pytest.approx(correlated, rel=0.35)


def test_noise_is_never_below_what_rounding_gives():
    assert estimate_noise(np.repeat([1.0, 2.0], 500)).sd == pytest.approx(1 / np.sqrt(12))


INSTRUMENT = Instrument()


def an_oil(hump=30.0, seed=1, scale=1.0, offset=0.0, drift=0.0, shift=0.0, solvent=0.0):
    """Trace, blank and true area of an oil; the blank with its own scale, offset, drift and shift in time."""
    rng = np.random.default_rng(seed)
    time = INSTRUMENT.times()
    oil = Oil(bell(range(5, 41), 13, 6, 100 - hump), hump=(hump, 19, 5))
    front = solvent * np.exp(-0.5 * ((time - 1.35) / 0.03) ** 2)
    pure = oil.signal(time, INSTRUMENT)
    signal = pure + front + INSTRUMENT.baseline(time) + rng.normal(0, 0.05, len(time))
    moved = np.interp(time - shift, time, front + INSTRUMENT.baseline(time, scale, offset, drift))
    blank = moved + rng.normal(0, 0.05, len(time))
    return trace_of(time, signal), trace_of(time, blank, "blank"), float(np.trapezoid(pure, time))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_hump_of_thirty_percent_is_kept_and_found(seed):
    rng = np.random.default_rng(seed)
    sample, blank, _ = an_oil(30.0, seed, rng.normal(1, 0.01), rng.normal(), rng.normal(0, 0.1))
    read = integrate(sample)
    whole = blank_baseline(sample, blank, (), read.noise)
    hump, bleed = signal_shares(sample, read.following, whole, (), "oil")
    assert hump.value == pytest.approx(30.0, abs=2.0)
    time = sample.time_min
    base = INSTRUMENT.baseline(time) - INSTRUMENT.baseline(time)[0]
    raw = float(np.trapezoid(base, time)) + 100.0
    assert bleed.value == pytest.approx(100 * float(np.trapezoid(base, time)) / raw, abs=1.5)


def whole_area(sample, baseline, windows=()):
    noise = estimate_noise(sample.signal)
    return slice_areas(sample, baseline, np.array([0.0, 60.0]), windows, noise)


@pytest.mark.parametrize("seed", range(4))
def test_a_blank_leaves_almost_nothing_of_a_blank(seed):
    rng = np.random.default_rng(seed)
    time = INSTRUMENT.times()
    sample = trace_of(time, INSTRUMENT.baseline(time) + rng.normal(0, 0.05, len(time)))
    other = INSTRUMENT.baseline(time, rng.normal(1, 0.03), rng.normal(), rng.normal(0, 0.2))
    blank = trace_of(time, other + rng.normal(0, 0.05, len(time)), "blank")
    left = whole_area(sample, blank_baseline(sample, blank, (), estimate_noise(sample.signal))).areas[0]
    assert abs(left) < 0.005 * 400.0  # a sample well above the bleed of 150 pA min


@pytest.mark.parametrize("shift", [-0.15, 0.0, 0.12])
def test_a_blank_is_moved_to_where_the_sample_is(shift):
    sample, blank, _ = an_oil(shift=shift, solvent=500.0)
    baseline = blank_baseline(sample, blank, (), estimate_noise(sample.signal))
    assert baseline.step.settings["shift_min"] == pytest.approx(-shift, abs=0.004)


def test_a_blank_of_another_program_is_called_out():
    sample, blank, _ = an_oil(scale=1.8)
    baseline = blank_baseline(sample, blank, (), estimate_noise(sample.signal))
    assert codes(baseline) == ["blank.end_differs"]


def test_a_blank_that_ends_early_is_called_out():
    sample, blank, _ = an_oil()
    short = trace_of(blank.time_min[:-6000], blank.signal[:-6000], "blank")
    assert "blank.too_short" in codes(blank_baseline(sample, short, (), estimate_noise(sample.signal)))


def test_a_trace_that_begins_on_a_peak_is_called_out():
    sample, blank, _ = an_oil(solvent=500.0)
    late = [trace_of(one.time_min[790:], one.signal[790:], one.file) for one in (sample, blank)]
    noise = estimate_noise(sample.signal)
    assert "baseline.no_quiet_head" in codes(blank_baseline(*late, (), noise))
    assert "baseline.no_quiet_head" in codes(bleed_baseline(late[0], follow_baseline(late[0]), (), noise))


@pytest.mark.parametrize("hump", [0.0, 15.0, 40.0])
def test_bleed_from_the_trace_itself_gives_the_total_within_its_uncertainty(hump):
    sample, _, truth = an_oil(hump)
    noise = estimate_noise(sample.signal)
    baseline = bleed_baseline(sample, follow_baseline(sample), (), noise)
    assert baseline.kind == "bleed model"
    area = whole_area(sample, baseline)
    u = np.sqrt(sum(float(change[0]) ** 2 for _, change in area.by_doubt))
    assert area.areas[0] == pytest.approx(truth, abs=min(2 * u, 0.07 * truth))


def test_without_bleed_the_model_is_a_straight_line():
    time = INSTRUMENT.times()
    rng = np.random.default_rng(1)
    sample = trace_of(time, 12 + 0.002 * time + rng.normal(0, 0.05, len(time)))
    assert bleed_baseline(sample, follow_baseline(sample), (), estimate_noise(sample.signal)).kind == "straight"


def test_slices_add_up_to_the_whole_exactly():
    sample, blank, _ = an_oil()
    noise = estimate_noise(sample.signal)
    baseline = blank_baseline(sample, blank, (), noise)
    edges = np.sort(np.random.default_rng(1).uniform(0, sample.time_min[-1], 40))
    edges = np.concatenate([[0.0], edges, [sample.time_min[-1]]])
    slices = slice_areas(sample, baseline, edges, (), noise)
    whole = slice_areas(sample, baseline, edges[[0, -1]], (), noise)
    assert slices.areas.sum() == pytest.approx(float(whole.areas[0]), rel=1e-9)
    assert whole.areas[0] == pytest.approx(
        float(np.trapezoid(sample.signal - baseline.values, sample.time_min)), rel=1e-9
    )
    for (_, parts), (_, one) in zip(slices.by_doubt, whole.by_doubt, strict=True):
        assert parts.sum() == pytest.approx(float(one[0]), rel=1e-9, abs=1e-12)


def test_what_lies_in_a_solvent_window_counts_nowhere():
    sample, blank, truth = an_oil(solvent=900.0)
    noise = estimate_noise(sample.signal)
    window = ((1.2, 1.5),)
    baseline = blank_baseline(sample, blank, window, noise)
    with_window = whole_area(sample, baseline, window).areas[0]
    assert with_window < truth * 1.01
    assert whole_area(sample, baseline).areas[0] > with_window


def test_a_drift_that_may_be_larger_leaves_more_doubt():
    sample, blank, _ = an_oil()
    noise = estimate_noise(sample.signal)

    def u(settings):
        area = whole_area(sample, blank_baseline(sample, blank, (), noise, settings))
        return np.sqrt(sum(float(change[0]) ** 2 for _, change in area.by_doubt))

    assert u(BlankBaselineSettings(u_drift_share=0.05)) > 1.2 * u(BlankBaselineSettings(u_drift_share=0.0))


def test_a_solvent_that_only_the_blank_has_is_bridged_when_declared_and_called_out_when_not():
    sample, _, truth = an_oil()
    _, blank, _ = an_oil(solvent=900.0)
    noise = estimate_noise(sample.signal)
    silent = blank_baseline(sample, blank, (), noise)
    assert "blank.above_sample" in codes(silent)
    told = blank_baseline(sample, blank, (), noise, blank_windows_min=((1.2, 1.5),))
    assert codes(told) == []
    assert told.step.settings["shift_min"] == 0
    area = whole_area(sample, told)
    u = np.sqrt(sum(float(change[0]) ** 2 for _, change in area.by_doubt))
    assert u < 0.03 * truth
    assert area.areas[0] == pytest.approx(truth, abs=3 * u)
