"""The simulated boiling curve: exact for n-alkanes, true for oils of known content, honest about its doubts."""

import time as clock

import numpy as np
import pytest
from crowds import trace_of
from simulated_oil import Instrument, Oil, bell, ladder_signal, time_of_index
from simulated_trace import alkane_time

from cutbook.chromatogram.integration import integrate
from cutbook.chromatogram.noise import estimate_noise
from cutbook.chromatogram.signal_area import slice_areas
from cutbook.fractions.boiling_curve import RECOVERED, _at_apex, boiling_curve
from cutbook.identification.ladder import LadderSettings, number_ladder
from cutbook.identification.retention_index import index_peaks
from cutbook.model.lineage import Step
from cutbook.model.peaks import Peak, PeakTable
from cutbook.model.tables import reference
from cutbook.model.trace import Baseline
from cutbook.quantitation.mass_slices import ResponseSettings, weigh_slices

INSTRUMENT = Instrument()
CARBONS = list(range(5, 45))
BOILING = reference("n_alkanes").numbers("carbon_number", "boiling_c")


@pytest.fixture(scope="module")
def ladder():
    t = INSTRUMENT.times()
    rng = np.random.default_rng(0)
    signal = (
        ladder_signal(t, INSTRUMENT, CARBONS, 9.0) + INSTRUMENT.baseline(t) + rng.normal(0, INSTRUMENT.noise, len(t))
    )
    return number_ladder(
        integrate(trace_of(t, signal, "ladder")).peaks, "ladder", tuple(CARBONS), "", (), LadderSettings()
    )


def curve_of(signal, ladder, noise=0.002, seed=1):
    """The curve of a pure signal on a level baseline that is known exactly but for its noise."""
    t, response = INSTRUMENT.times(), ResponseSettings()
    trace = trace_of(t, signal + 10.0 + np.random.default_rng(seed).normal(0, noise, len(t)))
    level = Baseline("straight", np.full(len(t), 10.0), Step("level/1"))
    of_noise = estimate_noise(trace.signal)
    span = (float(t[0]), float(t[-1]))

    def sliced(edges):
        return slice_areas(trace, level, edges, (), of_noise)

    peaks = index_peaks(integrate(trace).peaks, ladder)
    slices = weigh_slices("oil", sliced(np.linspace(*span, 30)), ladder, peaks, None, (trace.step,), response)
    return boiling_curve("oil", sliced, span, ladder, peaks, slices, None, response)


def value(curve, recovered):
    return curve.at(recovered).value


def true_temperatures(index, area):
    """Boiling point at each % of compounds given by retention index and area, by the definition of the scale."""
    order = np.argsort(index)
    carbons = np.array(sorted(BOILING))
    boiling = np.interp(np.asarray(index)[order] / 100, carbons, [BOILING[n] for n in carbons])
    share = 100 * np.cumsum(np.asarray(area)[order]) / np.sum(area)
    return lambda recovered: float(boiling[np.searchsorted(share, recovered)])


def test_a_mixture_of_n_alkanes_boils_in_steps_at_their_boiling_points(ladder):
    carbons = [6, 8, 10, 12, 14, 16, 18, 20, 24, 28]
    signal = INSTRUMENT.compounds(np.array([100.0 * n for n in carbons]), np.full(10, 20.0))
    from simulated_trace import render

    curve = curve_of(render(INSTRUMENT.times(), signal), ladder)
    for recovered in RECOVERED:
        place = recovered / 10.0
        if abs(place - round(place)) > 0.05:  # within half a percent of a step noise decides
            assert value(curve, recovered) == pytest.approx(BOILING[carbons[int(place)]], abs=0.5), recovered
    found = [value(curve, recovered) for recovered in RECOVERED]
    assert found == sorted(found)


def test_limits_that_reach_over_a_neighbour_never_make_the_curve_fall():
    listed = [
        Peak(start, apex, end, 1.0, 0.0, None, None, None, None, None, "as listed")
        for start, apex, end in ((4.0, 9.0, 10.0), (3.0, 8.0, 12.0), (5.5, 6.0, 6.5))
    ]
    times = np.linspace(0.0, 15.0, 1501)
    moved = _at_apex(times, PeakTable(tuple(listed), "", Step("read peak list/1")))
    assert (np.diff(moved) >= 0).all()
    assert moved[times < 3.0] == pytest.approx(times[times < 3.0])
    assert moved[-1] == 15.0


def test_every_tenth_of_an_oil_is_within_two_degrees_of_the_truth(ladder):
    oil = Oil(bell(range(5, 41), 13, 6.5, 600.0))
    curve = curve_of(oil.signal(INSTRUMENT.times(), INSTRUMENT), ladder)
    peaks = oil.peaks(INSTRUMENT)
    index = np.interp(peaks.time, time_of_index(100.0 * np.arange(3, 61)), 100.0 * np.arange(3, 61))
    truth = true_temperatures(index, peaks.area)
    for recovered in range(10, 100, 10):
        assert value(curve, recovered) == pytest.approx(truth(recovered), abs=2.0), recovered


def test_what_boils_before_or_after_the_ladder_is_missing_and_said(ladder):
    from simulated_trace import Compounds, render

    t = INSTRUMENT.times()
    at = np.array([alkane_time(4.2), alkane_time(12), alkane_time(20), 45.0])
    assert at[0] < ladder.rungs[0].peak.front_min
    assert at[-1] > ladder.rungs[-1].peak.back_min
    curve = curve_of(render(t, Compounds(at, np.full(4, 50.0), np.full(4, 0.03), np.full(4, 0.005))), ladder)
    assert curve.at(10.0).reason == "boiling.before_ladder"
    assert curve.at(90.0).reason == "boiling.beyond_ladder"
    assert value(curve, 40.0) == pytest.approx(BOILING[12], abs=1.0)
    assert {"boiling.before_ladder", "boiling.beyond_ladder", "boiling.scope_heavy"} <= {
        one.code for one in curve.step.cautions
    }


def test_the_doubt_of_a_point_in_a_gap_between_peaks_reaches_to_its_neighbours(ladder):
    from simulated_trace import render

    compounds = INSTRUMENT.compounds(np.array([1000.0, 2000.0]), np.array([50.0, 50.0]))
    curve = curve_of(render(INSTRUMENT.times(), compounds), ladder)
    assert curve.at(25.0).u < 1.0
    gap = BOILING[20] - BOILING[10]
    # at 50 % a little more or less is the one alkane or the other; no tangent may make that nothing, or more
    assert 0.2 * gap < curve.at(50.0).u < gap


def test_the_uncertainty_names_what_it_comes_from(ladder):
    oil = Oil(bell(range(5, 41), 13, 6.5, 600.0), hump=(150.0, 19.0, 5.5))
    curve = curve_of(oil.signal(INSTRUMENT.times(), INSTRUMENT), ladder)
    tags = {tag for point in curve.points for tag, _ in point.temperature.budget}
    assert {"retention times of the ladder", "detector noise", "detector response C11–C15"} <= tags
    assert all(point.temperature.u > 0 for point in curve.points)


def test_the_effect_of_the_other_table_is_told_where_it_matters(ladder):
    from simulated_trace import render

    heavy = INSTRUMENT.compounds(np.array([3600.0, 3800.0, 4000.0, 4200.0]), np.full(4, 50.0))
    curve = curve_of(render(INSTRUMENT.times(), heavy), ladder)
    (told,) = [one for one in curve.step.cautions if one.code == "boiling.table_matters"]
    convention = reference("n_alkanes").numbers("carbon_number", "convention_c")
    most = max((convention[n] - BOILING[n] for n in (36, 38, 40, 42)), key=abs)
    assert told.facts["most"] == pytest.approx(most, abs=0.3)
    light = curve_of(
        render(INSTRUMENT.times(), INSTRUMENT.compounds(np.array([1000.0, 1400.0]), np.full(2, 50.0))), ladder
    )
    assert "boiling.table_matters" not in {one.code for one in light.step.cautions}


def test_a_curve_is_read_in_little_time(ladder):
    oil = Oil(bell(range(5, 41), 13, 6.5, 600.0))
    signal = oil.signal(INSTRUMENT.times(), INSTRUMENT)
    curve_of(signal, ladder)
    begun = clock.process_time()
    curve_of(signal, ladder)
    assert clock.process_time() - begun < 5.0  # with integration; the bench measures the curve alone


def test_a_rise_of_the_hump_is_no_compound(ladder):
    t = INSTRUMENT.times()
    at = time_of_index(np.array([900.0, 1300.0, 1700.0, 2100.0]))
    broad = sum(25.0 * np.exp(-0.5 * ((t - one) / 0.4) ** 2) for one in at)
    curve = curve_of(broad, ladder)
    # truth: what has eluted up to each time, on the boiling points of the alkanes; a compound at its own
    carbons = np.array(sorted(BOILING))
    axis = np.interp(t, time_of_index(100.0 * carbons), [BOILING[n] for n in carbons])
    eluted = np.cumsum(broad)
    for recovered in (5, 10, 15, 20, 30, 35, 40, 45, 55, 60, 65, 70, 80, 85, 90, 95):  # not in the gaps between them
        truth = float(np.interp(recovered, 100 * eluted / eluted[-1], axis))
        assert value(curve, recovered) == pytest.approx(truth, abs=1.5), recovered
