"""Width and tail of the peaks of a run, learned from its own ions."""

import numpy as np
import pytest
from simulated_instrument import GcMs
from simulated_scans import simulate

from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_peak_form import PeakForm, PeakFormSettings, learn_peak_form
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.model.lineage import Step


def matrix_of(counts, time):
    return IonMatrix("oil.cdf", time, 40, np.asarray(counts, np.float32), Step("lay ions/1"))


def test_width_and_tail_of_a_simulated_oil_are_found():
    recorded = GcMs(width_s=(2.2, 3.8))
    run = simulate(3, "PP", recorded)
    form = learn_peak_form(matrix_of(run.counts, run.time_min))
    # the tail of tau = 0.35 sigma makes a peak 1.06 times as wide as its Gaussian part (numerically, from the shape)
    for minute in (5.0, 12.0, 20.0):
        first, last = recorded.width_s
        expected = 1.06 * (first + (last - first) * minute / recorded.minutes) / 60
        assert float(form.width.half_width(minute)) == pytest.approx(expected, rel=0.08)
    assert form.tail == pytest.approx(0.35, abs=0.15)


def triangle(scans, apex, height, reach, top=np.inf):
    """A peak with straight flanks: half as high half its reach away from the apex, to the scan exactly."""
    flanks = height * np.maximum(1.0 - np.abs(np.arange(scans) - apex) / reach, 0.0)
    return np.minimum(flanks, top)


def test_peaks_with_straight_flanks_are_as_wide_as_they_are_drawn():
    scans, interval, reach = 1200, 1 / 128, 9  # an odd reach: half the height lies between two scans
    places = np.arange(40, scans - 40, 80)
    free = sum(triangle(scans, at, 1000.0 + at, reach) for at in places)
    later = np.roll(free, 30)
    level = sum(triangle(scans, at, 2400.0, 14, top=1500.0) for at in places) + triangle(scans, 1190, 4000.0, reach)
    alike = sum(triangle(scans, at, 3000.0, reach) for at in places)  # all at the ceiling
    merged = np.maximum(free, 0.7 * np.roll(free, 8))
    time = np.arange(scans) * interval
    form = learn_peak_form(matrix_of(np.stack([free, level, later, alike], axis=1), time))
    assert form.peaks == 2 * len(places) + 1
    assert form.width.half_width(np.array([1.0, 5.0, 9.0])) == pytest.approx(reach * interval)
    assert form.tail == pytest.approx(0.0, abs=0.01)  # front and back are alike
    form = learn_peak_form(matrix_of(np.stack([merged, alike], axis=1), time))
    assert form.peaks == len(places)  # of each pair the second does not stand free


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
    form = learn_peak_form(matrix_of(rng.poisson(5.0, (300, 30)), np.arange(300) / 100))
    assert form.peaks < PeakFormSettings().fewest
    assert float(form.width.half_width(1.0)) == pytest.approx(PeakFormSettings().usual_points / 100)
