"""Bins of carbon numbers on the time axis."""

import numpy as np
import pytest
from scipy.stats import norm

from cutbook.fractions.carbon_bins import CarbonBinSettings, carbon_bins
from cutbook.identification.spacing import alkane_parameters, elution_times
from cutbook.model.ladder import Ladder, Rung
from cutbook.model.lineage import Step
from cutbook.model.peaks import Peak

SIGMA = 0.02


def ladder_of(carbons, tail=4 * SIGMA):
    times = elution_times(alkane_parameters(np.array(carbons, dtype=float)), 40, 2, 10, 1.2)
    rungs = tuple(
        Rung(n, Peak(t - 4 * SIGMA, t, t + tail, 1.0, 0.0, 1.0, 2.355 * SIGMA, 1.0, None, 1e3, "isolated"))
        for n, t in zip(carbons, times, strict=True)
    )
    return Ladder("ladder.csv", rungs, (), 0.01, np.arange(len(rungs), dtype=float), "test", Step("test"))


@pytest.mark.parametrize("convention", ["after", "midpoint"])
def test_every_pure_alkane_lies_wholly_in_its_own_bin(convention):
    ladder = ladder_of(range(6, 41))
    bins = carbon_bins(ladder, CarbonBinSettings(convention))
    ends = np.concatenate([[-np.inf], bins.ends_min])
    for index, time in enumerate(ladder.times_min):
        inside = norm.cdf(ends[index + 1], time, SIGMA) - norm.cdf(ends[index], time, SIGMA)
        assert inside == pytest.approx(1.0, abs=1e-4), f"C{bins.carbons[index]}"


def test_a_compound_just_before_an_alkane_counts_with_it_under_after_and_below_halfway_under_midpoint():
    ladder = ladder_of(range(6, 21))
    t9, t10 = ladder.times_min[3], ladder.times_min[4]
    compound = t9 + 0.4 * (t10 - t9)  # index 940: a branched decane

    def bin_of(convention):
        bins = carbon_bins(ladder, CarbonBinSettings(convention))
        return bins.carbons[int(np.searchsorted(bins.ends_min, compound))]

    assert bin_of("after") == 10
    assert bin_of("midpoint") == 9


def test_midpoints_lie_halfway_between_the_rungs():
    ladder = ladder_of(range(6, 21))
    ends = carbon_bins(ladder, CarbonBinSettings("midpoint")).ends_min
    assert ends[:-1] == pytest.approx((ladder.times_min[1:] + ladder.times_min[:-1]) / 2)


def test_missing_rungs_are_interpolated_close_to_where_they_belong_and_said():
    full = ladder_of(range(6, 41))
    gappy = ladder_of([n for n in range(6, 41) if n not in (13, 19, 21, 33)])
    bins = carbon_bins(gappy)
    assert bins.carbons == tuple(range(6, 41))
    assert bins.interpolated == (13, 19, 21, 33)
    spacing = np.diff(full.times_min).min()
    assert np.abs(bins.ends_min - carbon_bins(full).ends_min).max() < 0.05 * spacing
    assert [c.code for c in bins.step.cautions] == ["ladder.interpolated"]


def test_a_tailing_rung_does_not_reach_far_into_the_next_bin():
    ladder = ladder_of(range(6, 21), tail=5.0)
    gaps = np.diff(ladder.times_min)
    assert carbon_bins(ladder).ends_min[:-1] == pytest.approx(ladder.times_min[:-1] + 0.35 * gaps)
