"""A sample whose retention times have moved against its ladder."""

import numpy as np
import pytest
from crowds import trace_of
from simulation import INSTRUMENT, Bench, an_oil

from cutbook.chromatogram.integration import integrate
from cutbook.identification.retention_shift import retention_shift


@pytest.fixture(scope="module")
def bench():
    return Bench(an_oil())


def told(bench, shift):
    signal = np.interp(bench.time - shift, bench.time, bench.pure + INSTRUMENT.baseline(bench.time))
    noise = np.random.default_rng(1).normal(0, INSTRUMENT.noise, len(bench.time))
    return retention_shift("oil", integrate(trace_of(bench.time, signal + noise)).peaks, bench.ladder)


@pytest.mark.parametrize("shift", [-0.05, 0.0, 0.03, 0.08])
def test_what_the_standards_allow_is_not_called_out(bench, shift):
    assert told(bench, shift) == ()


@pytest.mark.parametrize("shift", [-0.14, 0.13])
def test_a_shift_of_more_than_six_seconds_is_called_out_with_its_size(bench, shift):
    (one,) = told(bench, shift)
    assert one.code == "sample.retention_shift"
    assert one.facts["shift"] == pytest.approx(shift, abs=0.02)
