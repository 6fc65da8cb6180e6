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
