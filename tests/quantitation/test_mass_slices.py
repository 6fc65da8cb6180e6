"""From slices of signal to shares of mass."""

import dataclasses

import numpy as np
import pytest
from crowds import trace_of
from simulated_oil import Oil, bell
from simulation import AREA, CARBONS, INSTRUMENT, Bench, an_oil

from cutbook.chromatogram.blank_baseline import blank_baseline
from cutbook.chromatogram.integration import integrate
from cutbook.chromatogram.signal_area import slice_areas
from cutbook.identification.retention_index import index_peaks
from cutbook.model.entered import Entered
from cutbook.model.errors import InputError
from cutbook.model.lineage import Source
from cutbook.model.run import InternalStandard, TraceEntry
from cutbook.quantitation.internal_standard import find_internal_standard
from cutbook.quantitation.mass_slices import KnownCompound, ResponseSettings, weigh_slices
from cutbook.quantitation.response import alkane_response, relative_response
from cutbook.quantitation.solvent import solvent_windows

STANDARD = "methyl octanoate"
SMILES = "CCCCCCCC(=O)OC"
SHEET = Source("run.toml", "ab" * 32)


@pytest.fixture(scope="module")
def bench():
    return Bench(an_oil())


def share(value, u=0.0):
    return Entered(value, u, "1", "", True)


def weighed(bench, oil, entry, seed, response=ResponseSettings()):  # noqa: B008
    rng = np.random.default_rng(seed)
    base = INSTRUMENT.baseline(bench.time)
    noise = rng.normal(0, INSTRUMENT.noise, (2, len(bench.time)))
    sample = trace_of(bench.time, oil.signal(bench.time, INSTRUMENT) + base + noise[0])
    read = integrate(sample)
    peaks = index_peaks(read.peaks, bench.ladder)
    whole = blank_baseline(sample, trace_of(bench.time, base + noise[1], "blank"), (), read.noise)
    edges = np.array([bench.time[0], *bench.bins.ends_min, bench.time[-1]])
    areas = slice_areas(sample, whole, edges, (), read.noise)
    standard = find_internal_standard(entry, SHEET, peaks, bench.ladder) if entry.internal_standard else None
    return weigh_slices("oil", areas, bench.ladder, peaks, standard, (whole.step,), response)


def spiked(lost, concentration):
    """An oil of which a share does not elute, with a standard of a concentration in the mixture."""
    plain = an_oil()
    grams = AREA / alkane_response(12) / (1 - lost)
    area = grams * concentration / (1 - concentration) * relative_response(SMILES).value
    return dataclasses.replace(plain, named=((STANDARD, 1126.0, area),))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("lost", [0.15, 0.4])
def test_what_does_not_elute_is_found_by_the_internal_standard(bench, seed, lost):
    entry = TraceEntry("t", "[[trace]] 1", "sample", internal_standard=InternalStandard(STANDARD, share(0.02, 1e-4)))
    found = weighed(bench, spiked(lost, 0.02), entry, seed)
    assert found.residue.nominal_value == pytest.approx(100 * lost, abs=2.0)
    eluted = found.between(found.edges_min[0], found.edges_min[-1])
    assert eluted.nominal_value + found.residue.nominal_value == pytest.approx(100.0)


def test_a_standard_by_mass_is_that_of_the_same_concentration(bench):
    gram = lambda value: Entered(value, 0.0, "g", "", True)  # noqa: E731
    of_mixture = TraceEntry("t", "p", "sample", internal_standard=InternalStandard(STANDARD, share(0.02)))
    by_mass = TraceEntry(
        "t", "p", "sample", sample_mass=gram(0.098), internal_standard=InternalStandard(STANDARD, mass=gram(0.002))
    )
    in_solvent = TraceEntry(
        "t",
        "p",
        "sample",
        sample_mass=gram(0.098),
        solvent_mass=gram(0.9),
        internal_standard=InternalStandard(STANDARD, share(0.002)),
    )
    residues = [
        weighed(bench, spiked(0.15, 0.02), entry, 1).residue.nominal_value
        for entry in (of_mixture, by_mass, in_solvent)
    ]
    # 0.2 % of a solution of 0.098 g in 0.9 g: 0.002 g of standard
    assert residues[1] == pytest.approx(residues[0], abs=1e-6)
    assert residues[2] == pytest.approx(residues[0], abs=0.05)


def test_more_than_was_injected_is_a_danger(bench):
    entry = TraceEntry("t", "p", "sample", internal_standard=InternalStandard(STANDARD, share(0.03)))
    found = weighed(bench, spiked(0.0, 0.02), entry, 1)
    assert [one.code for one in found.step.cautions] == ["sample.more_than_injected"]
    assert found.residue.nominal_value < -40


def test_a_standard_outside_the_table_brings_its_doubt(bench):
    entry = TraceEntry(
        "t", "p", "sample", internal_standard=InternalStandard("house standard", share(0.02), None, None, 1126.0)
    )
    peaks = index_peaks(
        integrate(
            trace_of(
                bench.time,
                spiked(0.15, 0.02).signal(bench.time, INSTRUMENT)
                + np.random.default_rng(1).normal(0, 0.05, len(bench.time)),
            )
        ).peaks,
        bench.ladder,
    )
    found = find_internal_standard(entry, SHEET, peaks, bench.ladder)
    assert [one.code for one in found.step.cautions] == ["standard.response_unknown"]
    assert found.response.std_dev == pytest.approx(0.1)


def test_a_known_aromatic_counts_by_its_own_response(bench):
    naphthalene = relative_response("c1ccc2ccccc2c1")
    oil = Oil(bell(range(5, 41), 13, 6.5, AREA * 0.9), named=(("naphthalene", 1186.8, AREA * 0.1),))
    entry = TraceEntry("t", "p", "sample")
    unknown = weighed(bench, oil, entry, 1, ResponseSettings("effective carbon number"))
    known = weighed(
        bench, oil, entry, 1, ResponseSettings("effective carbon number", (KnownCompound("naphthalene", 6.0),))
    )
    edge = bench.bins.ends_min
    at = CARBONS.index(12)
    before, after = (one.between(float(edge[at - 1]), float(edge[at])).nominal_value for one in (unknown, known))
    own, rest = 0.1 / naphthalene.value, 0.9 / alkane_response(12)
    assert after - before == pytest.approx(100 * own / (own + rest) - 10.0, abs=0.1)


def test_a_known_compound_that_is_not_there_is_said(bench):
    settings = ResponseSettings("effective carbon number", (KnownCompound("hexachlorobenzene", 0.5),))
    found = weighed(bench, an_oil(), TraceEntry("t", "p", "sample"), 1, settings)
    assert [one.code for one in found.step.cautions] == ["response.known_not_found"]


def test_an_unknown_known_compound_is_refused(bench):
    with pytest.raises(InputError, match="found 'unobtainium'; expected a compound of the reference table"):
        weighed(
            bench, an_oil(), TraceEntry("t", "p", "sample"), 1, ResponseSettings(known=(KnownCompound("unobtainium"),))
        )


def test_a_blank_in_place_of_the_sample_is_refused(bench):
    empty = Oil({20: 0.0})
    with pytest.raises(InputError, match="Were sample and blank swapped"):
        weighed(bench, empty, TraceEntry("t", "p", "sample"), 1)


def test_shares_do_not_depend_on_the_size_of_the_signal(bench):
    base = INSTRUMENT.baseline(bench.time)
    one, ten = (
        bench.distribute(
            trace_of(bench.time, factor * (bench.pure + base)), trace_of(bench.time, factor * base, "blank")
        )
        for factor in (1, 10)
    )
    for a, b in zip(one.numbered(), ten.numbered(), strict=True):
        assert a.mass.value == pytest.approx(b.mass.value, rel=1e-6, abs=1e-9)


def test_solvent_is_found_by_name_before_the_ladder_and_on_it(bench):
    base = INSTRUMENT.baseline(bench.time) + np.random.default_rng(1).normal(0, 0.05, len(bench.time))
    pure = bench.pure
    front = 4000 * np.exp(-0.5 * ((bench.time - 1.35) / 0.02) ** 2)
    early = trace_of(bench.time, pure + base + front)
    (window,) = solvent_windows(early, TraceEntry("t", "p", "sample", solvent="CS2"), bench.ladder).windows_min
    assert 1.2 < window[0] < 1.32
    assert 1.38 < window[1] < 1.5
    at = float(np.interp(7.653, CARBONS, bench.ladder.times_min))
    late = trace_of(bench.time, pure + base + 4000 * np.exp(-0.5 * ((bench.time - at) / 0.03) ** 2))
    (window,) = solvent_windows(late, TraceEntry("t", "p", "sample", solvent="toluene"), bench.ladder).windows_min
    assert window[0] < at < window[1]
    assert window[1] - window[0] < 0.4


def test_a_solvent_that_does_not_stand_out_is_said(bench):
    plain = trace_of(bench.time, bench.pure + INSTRUMENT.baseline(bench.time))
    found = solvent_windows(plain, TraceEntry("t", "p", "sample", solvent="dichloromethane"), bench.ladder)
    assert found.windows_min == ()
    assert [one.code for one in found.step.cautions] == ["solvent.not_seen"]


def test_a_given_window_is_taken_as_given(bench):
    plain = trace_of(bench.time, bench.pure)
    found = solvent_windows(plain, TraceEntry("t", "p", "sample", solvent_window_min=(1.0, 2.0)), bench.ladder)
    assert found.windows_min == ((1.0, 2.0),)
