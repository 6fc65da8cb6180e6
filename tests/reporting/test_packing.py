"""Packed and thinned traces: nothing lost but what is said."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from cutbook.reporting.packed_trace import packed, quantum, unpacked
from cutbook.reporting.thinning import thinned

VALUES = hnp.arrays(np.float64, st.integers(2, 300), elements=st.floats(-1e5, 1e5))


@given(VALUES, st.sampled_from([0.001, 0.01, 0.5, 2.0]))
def test_packing_and_unpacking_is_off_by_half_a_step_at_most(values, step):
    one = packed(values, step)
    again = unpacked(one.text, one.step)
    assert one.count == len(values) == len(again)
    assert np.abs(again - values).max() <= step / 2 * (1 + 1e-9) + 1e-9


def test_a_quiet_curve_packs_into_a_few_bytes():
    assert len(packed(np.full(100_000, 12.5), 0.01).text) < 20


@given(st.floats(1e-6, 1e6))
def test_the_step_is_a_round_number_and_fine_enough(span):
    step = quantum(np.array([0.0, span]))
    mantissa = step / 10.0 ** np.floor(np.log10(step) + 1e-9)
    assert min(abs(mantissa - m) for m in (1, 2, 5, 10)) < 1e-6
    assert span / step >= 50_000 * (1 - 1e-9)


@settings(max_examples=60)
@given(hnp.arrays(np.float64, st.integers(50, 2000), elements=st.floats(-1e5, 1e5)), st.integers(1, 40))
def test_thinning_keeps_the_least_and_the_greatest_of_every_stretch(signal, columns):
    keep = thinned(signal, columns)
    assert (np.diff(keep) > 0).all()
    assert keep[0] == 0
    assert keep[-1] == len(signal) - 1
    assert len(keep) <= max(2 * columns + 2, 0) or len(keep) == len(signal)
    edges = np.linspace(0, len(signal), columns + 1).astype(int)
    for start, end in zip(edges[:-1], edges[1:], strict=True):
        inside = keep[(keep >= start) & (keep < end)]
        assert signal[inside].max() == signal[start:end].max()
        assert signal[inside].min() == signal[start:end].min()
