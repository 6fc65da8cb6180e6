"""What elutes where benzene does."""

import numpy as np
import pytest
from simulated_oil import ladder_signal
from simulated_trace import Compounds, render
from simulation import INSTRUMENT, Bench, an_oil

from cutbook.chromatogram.integration import integrate
from cutbook.chromatogram.noise import estimate_noise
from cutbook.chromatogram.signal_area import slice_areas
from cutbook.fractions.benzene_window import benzene_window
from cutbook.fractions.boiling_cuts import boiling_cuts, scheme_times_min
from cutbook.fractions.cut_schemes import cut_scheme
from cutbook.identification.retention_index import index_peaks
from cutbook.model.lineage import Step
from cutbook.model.tables import reference
from cutbook.model.trace import Baseline
from cutbook.quantitation.mass_slices import weigh_slices
from cutbook.reporting.cautions import put_into_words

SCHEME = cut_scheme("boiling-36-200-350")
BENZENE = reference("compounds").by("name")["benzene"]


@pytest.fixture(scope="module")
def bench():
    return Bench(an_oil())


def told(bench, index, share):
    """Cautions of a sample of n-alkanes with a further peak at an index that holds a share of it, in %."""
    from crowds import trace_of

    alkanes = {n: 20.0 for n in (7, 9, 11, 13, 15, 17, 19, 21)}
    whole = sum(alkanes.values())
    area = whole * share / (100.0 - share)
    signal = sum(ladder_signal(bench.time, INSTRUMENT, [n], amount, ()) for n, amount in alkanes.items())
    at = float(np.interp(index, 100.0 * np.array(bench.ladder.carbons), bench.ladder.times_min))
    signal = signal + render(
        bench.time, Compounds(np.array([at]), np.array([area]), np.array([0.02]), np.array([0.004]))
    )
    noise = np.random.default_rng(1).normal(0, 0.002, len(bench.time))
    trace = trace_of(bench.time, signal + 10.0 + noise)
    level = Baseline("straight", np.full(len(bench.time), 10.0), Step("level/1"))
    edges = sorted({float(bench.time[0]), float(bench.time[-1]), *scheme_times_min(bench.ladder, SCHEME)})
    areas = slice_areas(trace, level, np.array(edges), (), estimate_noise(trace.signal))
    peaks = index_peaks(integrate(trace).peaks, bench.ladder)
    slices = weigh_slices("oil", areas, bench.ladder, peaks, None, (trace.step,))
    cuts = boiling_cuts("oil", slices, bench.ladder, SCHEME, "boiling-range")
    return benzene_window("oil", peaks, slices, bench.ladder, None, SCHEME, cuts)


def test_a_peak_at_the_index_of_benzene_is_told_with_its_share_and_not_called_benzene(bench):
    (found,) = told(bench, float(BENZENE["retention_index"]), 2.0)
    assert float(found.facts["share"]) == pytest.approx(2.0, abs=0.1)
    # of the gasoline: the peak and n-C7, n-C9, n-C11, which boil at 98 to 196 °C; each alkane is 98 / 8 %
    assert float(found.facts["of_cut"]) == pytest.approx(100 * 2.0 / (2.0 + 3 * 98 / 8), abs=0.3)
    assert found.facts["cut"] == "gasoline"
    words = put_into_words(found)
    assert "may be benzene" in words.text and "not identified" in words.text
    assert "accredited laboratory" in words.do


@pytest.mark.parametrize(("share", "there"), [(0.07, False), (0.14, True)])
def test_it_is_told_from_the_share_at_which_a_product_counts_as_carcinogenic(bench, share, there):
    assert bool(told(bench, float(BENZENE["retention_index"]), share)) == there


@pytest.mark.parametrize("off", [-40.0, 35.0])
def test_a_peak_beside_the_window_is_none(bench, off):
    assert told(bench, float(BENZENE["retention_index"]) + off, 5.0) == ()
