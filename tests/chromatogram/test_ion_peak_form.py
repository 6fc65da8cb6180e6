"""Width and tail of the peaks of a run, learned from its own ions."""

import numpy as np
import pytest
from simulated_instrument import GcMs
from simulated_scans import simulate

from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise
from cutbook.chromatogram.ion_peak_form import PeakForm, PeakFormSettings, learn_peak_form
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.model.lineage import Step


def learned(counts, time, gain=0.001, floor=0.001, like=None):
    counts = np.asarray(counts, np.float32)
    matrix = IonMatrix("oil.cdf", time, 40, counts, Step("lay ions/1"))
    return learn_peak_form(matrix, IonNoise(gain, np.full(counts.shape[1], floor)), like=like)


def test_width_and_tail_of_a_simulated_oil_are_found():
    recorded = GcMs(width_s=(2.2, 3.8))
    run = simulate(3, "PP", recorded)
    form = learned(run.counts, run.time_min, recorded.gain, recorded.noise)
    # the tail of tau = 0.35 sigma makes a peak 1.06 times as wide as its Gaussian part (numerically, from the shape)
    for minute in (5.0, 12.0, 20.0):
        first, last = recorded.width_s
        expected = 1.06 * (first + (last - first) * minute / recorded.minutes) / 60
        assert float(form.width.half_width(minute)) == pytest.approx(expected, rel=0.03)
    assert form.tail == pytest.approx(0.35, abs=0.15)


def bell(scans, apex, height, width, top=np.inf):
    """A Gaussian peak, its apex anywhere between scans, its full width at half height in scans."""
    return np.minimum(height * 0.5 ** ((2.0 * (np.arange(scans) - apex) / width) ** 2), top)


@pytest.mark.parametrize("width", [4.2, 6.0, 9.7])
def test_peaks_are_as_wide_as_they_are_drawn_wherever_their_scans_lie(width):
    scans, interval = 1800, 1 / 128
    places = np.arange(40, scans - 40, 80) + np.random.default_rng(4).uniform(
        -0.5, 0.5, len(np.arange(40, scans - 40, 80))
    )
    free = sum(bell(scans, at, 1000.0 + at, width) for at in places)
    level = sum(bell(scans, at, 2400.0, 14, top=1500.0) for at in places) + bell(scans, 1770, 4000.0, width)
    later = np.roll(free, 30)
    alike = sum(bell(scans, at, 3000.0, 9.0, top=2000.0) for at in places)  # all at the ceiling
    time = np.arange(scans) * interval
    form = learned(np.stack([free, level, later, alike], axis=1), time)
    assert form.peaks == 2 * len(places) + 1
    assert form.width.half_width(np.array([1.0, 7.0, 13.0])) == pytest.approx(width * interval, rel=0.004)
    assert form.tail == pytest.approx(0.0, abs=0.02)  # front and back are alike


def test_merged_peaks_do_not_widen_the_form():
    """In half of the peaks a second one of a third of the height stands half a width behind, and no valley tells it."""
    scans, interval, width = 3000, 1 / 128, 8.0
    rng = np.random.default_rng(7)
    places = np.arange(40, scans - 40, 60) + rng.uniform(-0.5, 0.5, len(np.arange(40, scans - 40, 60)))
    traces = [
        sum(bell(scans, at, 3000.0, width * rng.normal(1.0, 0.01)) for at in np.roll(places, k)) for k in range(4)
    ]
    for trace in traces[:2]:
        trace += sum(bell(scans, at + rng.uniform(0.4, 0.8) * width, 1000.0, width) for at in places)
    form = learned(np.stack(traces, axis=1), np.arange(scans) * interval)
    assert form.width.half_width(np.array([1.0, 12.0, 22.0])) == pytest.approx(width * interval, rel=0.01)


def test_the_shape_has_its_apex_where_it_is_told_and_unit_area():
    time = np.linspace(0, 2, 4001)
    for tail in (0.0, 0.35, 1.5):
        shape = PeakForm(WidthLaw(0.05, 0.0, 0.001), tail, 99).shape(time, 1.0)
        assert time[shape.argmax()] == pytest.approx(1.0, abs=0.001)
        assert np.trapezoid(shape, time) == pytest.approx(1.0, rel=1e-3)
        half = time[shape > 0.5 * shape.max()]
        assert half[-1] - half[0] == pytest.approx(0.05, abs=0.002)


def test_a_run_without_free_peaks_gets_the_usual_form():
    rng = np.random.default_rng(1)
    form = learned(rng.poisson(5.0, (300, 30)), np.arange(300) / 100, 1.0, 0.1)
    assert form.peaks < PeakFormSettings().fewest
    assert float(form.width.half_width(1.0)) == pytest.approx(PeakFormSettings().usual_points / 100)


def test_spikes_of_few_ions_are_no_peaks():
    """Three ions in a scan, and nothing in those beside it, look like a narrow peak a hundred times over in a blank."""
    rng = np.random.default_rng(2)
    counts = 20.0 * rng.poisson(0.02, (3000, 40))
    form = learned(counts, np.arange(3000) / 100, 20.0, 6.0)
    assert form.peaks < PeakFormSettings().fewest and form.file == ""


def test_a_run_of_few_compounds_takes_the_form_of_its_method_and_without_one_no_slope():
    scans, interval = 3000, 1 / 128
    places = [300.3, 304.9 + 60, 460.1]  # all early: their widths tell nothing of the end of the run
    traces = [sum(bell(scans, at, 3000.0, 8.0 + 0.01 * (at - 300)) for at in places) for _ in range(4)]
    time = np.arange(scans) * interval
    alone = learned(np.stack(traces, axis=1), time)
    assert alone.width.slope == 0.0 and alone.peaks == 12
    assert alone.width.half_width(20.0) == pytest.approx(8.6 * interval, rel=0.02)
    assert alone.times == 3
    assumed = PeakForm(WidthLaw(0.06, 0.0, 0.01), 0.4, 2)
    assert learned(np.stack(traces, axis=1), time, like=assumed) == alone
    method = PeakForm(WidthLaw(0.06, 0.001, 0.01), 0.3, 400, "oil.cdf", 60)
    assert learned(np.stack(traces, axis=1), time, like=method) is method
