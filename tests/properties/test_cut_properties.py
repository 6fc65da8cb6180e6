"""What holds for every way of cutting."""

import numpy as np
import pytest
from crowds import trace_of
from hypothesis import given, settings
from hypothesis import strategies as st
from simulation import CARBONS, INSTRUMENT, Bench, an_oil

from cutbook.fractions.carbon_cuts import carbon_cuts
from cutbook.fractions.cut_schemes import define_scheme
from cutbook.model.cuts import CutLimits

BENCH = Bench(an_oil())
BASE = INSTRUMENT.baseline(BENCH.time)
NOISE = np.random.default_rng(1).normal(0, INSTRUMENT.noise, (2, len(BENCH.time)))


def distributed(factor=1.0):
    """The oil with its signal scaled."""
    sample = trace_of(BENCH.time, factor * (BENCH.pure + BASE + NOISE[0]))
    return BENCH.distribute(sample, trace_of(BENCH.time, factor * (BASE + NOISE[1]), "blank"))


WHOLE = distributed()


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(5, 43), min_size=1, max_size=8, unique=True))
def test_cuts_of_any_scheme_add_up_to_the_whole(limits):
    ends = sorted(limits)
    starts = [1, *(end + 1 for end in ends)]
    cuts = [
        CutLimits(f"cut {number}", start, end)
        for number, (start, end) in enumerate(zip(starts, [*ends, float("inf")], strict=True))
    ]
    found = carbon_cuts(WHOLE, define_scheme("any", "carbon number", cuts), "any")
    assert sum(cut.mass.value for cut in found if cut.mass.value is not None) == pytest.approx(100, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.integers(5, 40), st.integers(0, 20))
def test_a_wider_cut_never_holds_less(start, width):
    narrow = CutLimits("narrow", start, min(start + width, 43))
    wide = CutLimits("wide", start, min(start + width + 1, 44))
    values = [
        carbon_cuts(WHOLE, define_scheme("one", "carbon number", [limits]), "one")[0].mass for limits in (narrow, wide)
    ]
    # a bin without product may come out below zero, by no more than its uncertainty
    assert values[1].value >= values[0].value - 3 * values[1].u


@settings(max_examples=8, deadline=None)
@given(st.floats(1e-9, 1e6))
def test_scaling_the_signal_leaves_every_share_alone(factor):
    other = distributed(factor)
    for one, two in zip(WHOLE.numbered(), other.numbered(), strict=True):
        assert two.mass.value == pytest.approx(one.mass.value, rel=1e-6, abs=1e-7)
        assert two.mass.u == pytest.approx(one.mass.u, rel=1e-3)


def test_every_carbon_number_of_the_ladder_has_its_share():
    assert [share.n for share in WHOLE.numbered()] == CARBONS
