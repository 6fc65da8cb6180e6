"""Cuts by boiling range on the boiling points of a ladder."""

import numpy as np
import pytest
from crowds import trace_of
from simulated_oil import ladder_signal
from simulation import CARBONS, INSTRUMENT, Bench, an_oil

from cutbook.chromatogram.blank_baseline import blank_baseline
from cutbook.chromatogram.noise import estimate_noise
from cutbook.chromatogram.signal_area import slice_areas
from cutbook.fractions.boiling_cuts import boiling_cuts, boiling_time_min, scheme_times_min
from cutbook.fractions.cut_schemes import cut_scheme, scheme_names
from cutbook.fractions.sensitivity import customary_limits, cut_sensitivity
from cutbook.model.peaks import PeakTable
from cutbook.model.tables import reference
from cutbook.quantitation.mass_slices import weigh_slices

BOILING = reference("n_alkanes").numbers("carbon_number", "boiling_c")
SCHEMES = [name for name in scheme_names() if cut_scheme(name).kind == "boiling range"]


@pytest.fixture(scope="module")
def bench():
    return Bench(an_oil())


def alkane_cuts(bench, amounts, scheme):
    rng = np.random.default_rng(1)
    base = INSTRUMENT.baseline(bench.time)
    signal = sum(ladder_signal(bench.time, INSTRUMENT, [n], amount, ()) for n, amount in amounts.items())
    noise = rng.normal(0, INSTRUMENT.noise, (2, len(bench.time)))
    sample = trace_of(bench.time, signal + base + noise[0])
    whole = blank_baseline(sample, trace_of(bench.time, base + noise[1], "blank"), (), estimate_noise(sample.signal))
    times = scheme_times_min(bench.ladder, scheme)
    edges = np.array(sorted({float(bench.time[0]), float(bench.time[-1]), *times}))
    areas = slice_areas(sample, whole, edges, (), estimate_noise(sample.signal))
    slices = weigh_slices("oil", areas, bench.ladder, PeakTable((), "pA", sample.step), None, (whole.step,))
    return boiling_cuts("oil", slices, bench.ladder, scheme, scheme.name)


@pytest.mark.parametrize("name", SCHEMES)
def test_each_alkane_falls_into_the_cut_of_its_boiling_point(bench, name):
    """The boiling points are those of the reference table, itself held to a second source."""
    scheme = cut_scheme(name)
    amounts = {n: 5.0 + n / 9 for n in CARBONS}
    cuts = {cut.cut: cut.mass.value for cut in alkane_cuts(bench, amounts, scheme)}
    whole = sum(amounts.values())
    for limits in scheme.cuts:
        inside = sum(amount for n, amount in amounts.items() if limits.lower <= BOILING[n] < limits.upper)
        if cuts[limits.cut] is not None:
            assert cuts[limits.cut] == pytest.approx(100 * inside / whole, abs=0.05)
    known = [cuts[limits.cut] for limits in scheme.cuts if cuts[limits.cut] is not None]
    assert sum(known) == pytest.approx(100, abs=0.05)


def test_an_edge_between_two_alkanes_lies_between_their_peaks(bench):
    times = bench.ladder.times_min
    for carbon in (8, 15, 25, 40):
        at = CARBONS.index(carbon)
        for share in (0.001, 0.3, 0.999):
            edge = BOILING[carbon] + share * (BOILING[carbon + 1] - BOILING[carbon])
            assert times[at] < boiling_time_min(bench.ladder, edge) < times[at + 1]


def test_nothing_is_extrapolated_beyond_the_ladder(bench):
    assert boiling_time_min(bench.ladder, BOILING[5] - 10) is None
    assert boiling_time_min(bench.ladder, BOILING[44] + 10) is None
    assert boiling_time_min(bench.ladder, 36.0) == bench.ladder.rungs[0].peak.start_min  # n-pentane boils at 36.1 °C


def test_customary_limits_stay_near_ones_own():
    limits = customary_limits(cut_scheme("boiling-36-200-350"))
    assert {170.0, 200.0, 225.0} <= set(limits[200.0])
    assert {320.0, 350.0, 380.0} <= set(limits[350.0])
    assert max(abs(other - own) for own, others in limits.items() for other in others) <= 35
    carbon = customary_limits(cut_scheme("carbon-4-12-20"))
    assert 11.0 in carbon[12.0]


def test_sensitivity_is_the_range_over_customary_limits(bench):
    scheme = cut_scheme("boiling-36-200-350")
    amounts = dict.fromkeys(CARBONS, 5.0)
    cuts = alkane_cuts(bench, amounts, scheme)

    def share(lower, upper):
        return 100 * sum(lower <= BOILING[n] < upper for n in CARBONS) / len(CARBONS)

    told = {one.cut: one for one in cut_sensitivity(scheme, cuts, share)}
    variants = dict(told["gasoline"].variants)
    assert variants["36–170 °C"] == share(36, 170)
    assert variants["36–225 °C"] == share(36, 225)
    assert (told["diesel"].low, told["diesel"].high) == (share(225, 320), share(170, 380))
    assert told["wax"].low <= told["wax"].value <= told["wax"].high


def test_a_scheme_of_the_other_kind_is_a_mistake_of_the_caller(bench):
    with pytest.raises(ValueError, match="no boiling-range scheme"):
        boiling_cuts("oil", None, bench.ladder, cut_scheme("carbon-4-12-20"), "x")
