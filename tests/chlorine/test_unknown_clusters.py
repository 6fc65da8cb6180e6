"""Chlorinated and brominated compounds that nobody looked for, found in runs whose content is known.

Short forms take seconds; CUTBOOK_LONG=1 tries 300 oils without chlorine and 120 with it.
"""

import os

import numpy as np
import pytest
from simulated_compounds import Species
from simulated_named import CHLORINATED, named
from simulated_scans import GcMs, Spike, record, simulate
from simulated_spectra import alkane, at_unit_mass, ions
from unknown_oils import OILS, SHORT, alone, at, matrix_of, searched, spiked_times, widths_of

from cutbook.chlorine.unknown_clusters import search_unknown_clusters
from cutbook.chlorine.unknown_limit import UnknownLimitSettings, unknown_limit
from cutbook.chromatogram.ion_noise import estimate_ion_noise
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.identification.isotope_pattern import isotope_pattern
from cutbook.model.atoms import atoms_of

LONG = os.environ.get("CUTBOOK_LONG") == "1"


def chlorine_of(name):
    """Chlorine atoms of the heaviest ion."""
    spectrum = named(name)
    heaviest = max(spectrum, key=lambda ion: max(at_unit_mass({ion: 1.0})))
    rest = heaviest[heaviest.index("Cl") + 2 :] if "Cl" in heaviest else "0"
    return int("".join(c for c in rest[:1] if c.isdigit()) or 1) if "Cl" in heaviest else 0


def test_oils_without_chlorine_raise_no_flag():
    count = 300 if LONG else 24
    flagged = []
    for seed in range(7000, 7000 + count):
        chlorinated, brominated = searched(simulate(seed, OILS[seed % 6]))
        flagged += [(seed, one.mz, round(one.time_min, 3)) for one in chlorinated + brominated]
    print(f"{len(flagged)} false flags in {count} oils without chlorine: {flagged}")
    assert len(flagged) <= count / 20, flagged


@pytest.mark.parametrize("atoms", [1, 2])
def test_three_times_the_limit_of_the_search_is_found_in_95_of_100(atoms):
    """A compound of the simulator at six random times of an oil, at three times the limit of its ion in that oil."""
    rng = np.random.default_rng(31 + atoms)
    names = [name for name in CHLORINATED if _tallest(name)[1] == atoms]
    count, found, tried, missed, limits, without = 60 if LONG else 6, 0, 0, [], [], []
    for seed in range(8000, 8000 + count):
        name = str(rng.choice(names))
        ion, _, share = _tallest(name)
        plain = simulate(seed, OILS[seed % 6])
        matrix = matrix_of(plain)
        settings = UnknownLimitSettings(formulas=(ion,))
        limit = unknown_limit(matrix, widths_of(plain.run), estimate_ion_noise(matrix), atoms, settings).ions
        if limit is None:
            without.append((seed, name))
            continue
        limits.append(limit)
        grid = np.arange(500.0, 3100.0)
        times = rng.uniform(plain.time_min[60], plain.time_min[-60], 6)
        places = np.interp(times, plain.run.time_of_index(grid), grid)
        spikes = [Spike(name, ions=3 * limit / share, index=float(index)) for index in places]
        run = simulate(seed, OILS[seed % 6], spikes=spikes)
        clusters = [*sum(searched(run), ())]
        for one in run.truth:
            if one["spike"] and one["recorded"]:
                tried += 1
                hit = at(clusters, one["time_min"], 0.03)
                found += bool(hit)
                missed += [] if hit else [(seed, one["name"], round(one["time_min"], 2))]
    print(f"Cl{atoms}: {found} of {tried} found, limits {min(limits):.0f} to {max(limits):.0f} ions, median "
          f"{np.median(limits):.0f}, no limit {without}, missed {missed}")  # fmt: skip
    assert len(without) <= count / 6
    assert found >= (0.95 if LONG else 0.9) * tried, missed


def _tallest(name):
    """Tallest ion with chlorine of a compound, its chlorine atoms, its tallest isotope's share in all ions."""
    spectrum = named(name)
    ion = max((ion for ion in spectrum if "Cl" in ion), key=lambda ion: spectrum[ion])
    isotopes = [share for _, share in isotope_pattern(ion)]
    whole = sum(spectrum.values())
    return ion, atoms_of(ion)["Cl"], spectrum[ion] / whole * max(isotopes) / sum(isotopes)


@pytest.mark.parametrize(
    ("name", "atoms", "mz", "character"),
    [
        ("chlorobenzene", 1, (112, 114), "aromatic"),
        ("2-chlorotoluene", 1, (126, 128), "aromatic"),
        ("1,2-dichlorobenzene", 2, (146, 148, 150), "aromatic"),
        ("1,2,4-trichlorobenzene", 3, (180, 182, 184, 186), "aromatic"),
        ("1,2,4,5-tetrachlorobenzene", 4, (214, 216, 218, 220), "aromatic"),
        ("hexachlorobenzene", 6, (282, 284, 286, 288, 290, 292), "aromatic"),
        ("1-chlorododecane", 1, (105, 107), "aliphatic"),
        ("2-chloro-2-methylheptane", 1, (133, 135), "aliphatic"),
    ],
)
def test_a_compound_is_one_cluster_with_its_atoms_masses_and_character(name, atoms, mz, character):
    run = alone([Spike(name, ions=3e5)], GcMs(minutes=25.0))
    chlorinated, brominated = searched(run)
    assert not brominated and len(chlorinated) == 1
    (one,) = chlorinated
    assert abs(one.time_min - spiked_times(run)[name]) < 0.01
    assert (one.chlorine_atoms, one.bromine_atoms, one.mz) == (atoms, 0, mz)
    assert one.character == character
    assert one.retention_index == pytest.approx(100.0 * one.time_min)


def test_losses_of_chlorine_and_of_hydrogen_chloride_are_named():
    run = alone([Spike("chlorobenzene", ions=3e5), Spike("1-chlorooctane", ions=3e5)])
    found = {name: at(searched(run)[0], time) for name, time in spiked_times(run).items()}
    assert 35 in found["chlorobenzene"][0].losses  # 112 to 77
    assert 36 in found["1-chlorooctane"][0].losses  # 91 to 55 and 105 to 69


def test_the_area_is_that_of_the_tallest_ion_of_the_cluster():
    run = alone([Spike("1,2-dichlorobenzene", ions=3e5)], GcMs(minutes=8.0, gain=20.0))
    (one,) = searched(run)[0]
    spectrum = at_unit_mass(named("1,2-dichlorobenzene"))
    # ions of 146, each of 20 counts, times the minutes of a scan
    assert one.area == pytest.approx(3e5 * spectrum[146] * 20.0 * 0.5 / 60, rel=0.1)
    assert one.u_area >= 0.04 * one.area
    assert one.current_area > one.area


def test_a_known_compound_is_not_reported_again_and_its_neighbour_is():
    run = alone([Spike("chlorobenzene", ions=3e5), Spike("1,2-dichlorobenzene", ions=3e5)])
    time = spiked_times(run)["chlorobenzene"]
    chlorinated, _ = searched(run, known=[(time, 0.05, (112, 114, 77))])
    assert [one.mz for one in chlorinated] == [(146, 148, 150)]
    elsewhere, _ = searched(run, known=[(time + 0.5, 0.05, (112, 114, 77))])
    assert len(elsewhere) == 2


BROMINATED = {  # compound: spectrum of ions from memory, atoms of chlorine and bromine, mass of the molecular ion
    "bromobenzene": ("C6H5Br 100 C6H5 90 C4H3 30 C4H2 20", 0, 1, 156),
    "2,4,6-tribromophenol": ("C6H3OBr3 100 C5H3Br2 20 C5H2Br 25 C6H2OBr 10 C5H2 15", 0, 3, 328),
    "dibromobenzene": ("C6H4Br2 100 C6H4Br 45 C6H4 40 C6H3 20", 0, 2, 234),
    "bromochlorobenzene": ("C6H4BrCl 100 C6H4Cl 55 C6H4 15 C6H3 20", 1, 1, 190),
}


@pytest.mark.parametrize("name", BROMINATED)
def test_bromine_of_flame_retardants_is_told_from_chlorine(name):
    text, chlorine, bromine, base = BROMINATED[name]
    run = alone([Spike(name, ions=4e5, index=1400.0, spectrum=at_unit_mass(ions(text)))], GcMs(minutes=25.0))
    chlorinated, brominated = searched(run)
    assert not chlorinated and len(brominated) == 1
    (one,) = brominated
    assert (one.chlorine_atoms, one.bromine_atoms, one.mz[0]) == (chlorine, bromine, base)


LOOKALIKES = {
    "octasulphur": {  # S8 with S2 to S7: M+2 is a third of M, as with chlorine
        64: ("S2", 90), 96: ("S3", 30), 128: ("S4", 60), 160: ("S5", 50), 192: ("S6", 40), 224: ("S7", 8), 256: ("S8", 70),
    },
    "dodecamethylhexasiloxane": {147: ("Si2C5H15O", 100), 221: ("Si3C7H21O2", 60), 73: ("SiC3H9", 60)},
    "cyclic siloxanes": {73: ("SiC3H9", 100), 147: ("Si2C5H15O", 40), 207: ("Si3C5H15O3", 60), 281: ("Si4C7H21O4", 90),
                         355: ("Si5C9H27O5", 60)},
    "benzothiophene": {134: ("C8H6S", 100), 89: ("C7H5", 12), 69: ("C3HS", 8)},
    "dimethyl trisulphide": {126: ("C2H6S3", 100), 79: ("CH3S2", 60), 64: ("S2", 20), 45: ("CHS", 40)},
}  # fmt: skip


@pytest.mark.parametrize("name", LOOKALIKES)
@pytest.mark.parametrize("amount", [1e4, 1e6])
def test_sulphur_and_silicon_are_not_taken_for_chlorine(name, amount):
    spectrum: dict[int, float] = {}
    for base, (formula, height) in LOOKALIKES[name].items():
        for offset, share in isotope_pattern(formula):
            spectrum[base + offset] = spectrum.get(base + offset, 0.0) + height * share
    recorded = GcMs(minutes=15.0, high=400)
    run = alone([Spike(name, ions=amount, index=1300.0, spectrum=spectrum)], recorded)
    assert searched(run) == ((), ())


def test_two_clusters_that_overlap_in_time_are_both_found():
    pair = [Spike("1,2-dichlorobenzene", ions=3e5, index=1100.0), Spike("4-chlorobiphenyl", ions=3e5, index=1101.5)]
    run = alone(pair, GcMs(minutes=12.0))
    clusters, _ = searched(run)
    assert {one.mz[0] for one in clusters} == {146, 188}


@pytest.mark.parametrize("ceiling", [3e5, 5e4])
def test_cut_off_peaks_are_read_on_their_flanks(ceiling):
    names = ("1,2,4-trichlorobenzene", "4-chlorobiphenyl", "1,4-dichlorobenzene")
    run = alone([Spike(name, ions=3e6) for name in names], GcMs(minutes=25.0, ceiling=ceiling))
    assert (run.counts >= ceiling).sum() > 20
    clusters, _ = searched(run)
    for name, time in spiked_times(run).items():
        (one,) = at(clusters, time, 0.05)
        assert one.chlorine_atoms == chlorine_of(name)


def test_masses_that_are_read_one_after_another_do_not_hide_a_cluster():
    names = ("chlorobenzene", "1,2-dichlorobenzene", "1,2,4-trichlorobenzene", "1-chloronaphthalene")
    run = alone([Spike(name, ions=1e6) for name in names], GcMs(minutes=25.0, skew=True))
    clusters, _ = searched(run)
    for name, time in spiked_times(run).items():
        (one,) = at(clusters, time, 0.02)
        assert one.chlorine_atoms == chlorine_of(name)
        assert 35 in one.losses


@pytest.mark.parametrize("name", ["1,2-dichlorobenzene", "1,2,4-trichlorobenzene", "1-chloronaphthalene"])
def test_a_compound_exactly_under_a_hundredfold_alkane_is_found(name):
    recorded = GcMs(minutes=25.0)
    alkanes = [Species("n-alkane C12", 1200.0, alkane(12), 1.0)]
    run = record(5, alkanes, recorded, [Spike(name, ions=2e5, index=1200.0)], False, whole=2e7 / recorded.oil_ions)
    (one,) = searched(run)[0]
    assert one.chlorine_atoms == chlorine_of(name)


@pytest.mark.parametrize("factor", [0.7, 1.4])
def test_a_width_law_that_is_off_hides_nothing_and_invents_nothing(factor):
    names = ("chlorobenzene", "1,2-dichlorobenzene", "1,2,4-trichlorobenzene", "1-chloronaphthalene")
    run = simulate(9, "polyolefin", spikes=[Spike(name, ions=1e6) for name in names])
    matrix, widths = matrix_of(run), widths_of(run.run)
    off = WidthLaw(factor * widths.at_start, factor * widths.slope, factor * widths.least)
    found, brominated, _ = search_unknown_clusters(matrix, off, estimate_ion_noise(matrix), lambda time: None)
    right = searched(run)[0]
    assert len(right) >= 3 and not brominated
    assert [one.mz for one in found] == [one.mz for one in right]


def test_hydrogen_chloride_or_nothing_at_all_is_no_compound():
    run = alone([])
    assert searched(run) == ((), ())
    empty = matrix_of(run)
    blank = type(empty)(empty.file, empty.time_min, empty.first_mz, np.zeros_like(empty.counts), empty.step)
    result = search_unknown_clusters(blank, widths_of(run.run), estimate_ion_noise(blank), lambda time: None)
    assert result[:2] == ((), ())


def test_every_flag_carries_its_evidence_and_its_step():
    run = alone([Spike("1,2-dichlorobenzene", ions=3e5)])
    (one,) = searched(run)[0]
    tests = {evidence.test: evidence for evidence in one.evidence}
    assert {"cluster pattern", "cluster apexes", "cluster carbons", "halogen lost", "cluster score"} <= set(tests)
    assert tests["cluster pattern"].outcome == "for"
    spectrum = at_unit_mass(named("1,2-dichlorobenzene"))
    assert tests["halogen lost"].found == pytest.approx(spectrum[111] / spectrum[146], rel=0.1)
    assert one.step.operation == "search unknown clusters/1"
    assert {"lay ions by nominal mass/1", "estimate ion noise/1"} <= {step.operation for step in one.step.walk()}


def test_time_grows_no_faster_than_the_run():
    import time

    spent = []
    for minutes in (10.0, 40.0):
        run = simulate(5, "mixed", GcMs(minutes=minutes, ramp_k_min=12.0 * 10.0 / minutes), minor=int(12.5 * minutes))
        matrix = matrix_of(run)
        noise = estimate_ion_noise(matrix)
        best = np.inf
        for _ in range(3):
            start = time.perf_counter()
            search_unknown_clusters(matrix, widths_of(run.run), noise, lambda time: None)
            best = min(best, time.perf_counter() - start)
        spent.append(best)
    assert np.log(spent[1] / spent[0]) / np.log(4.75) < 1.5, spent  # 480 and 4,560 … scans grow by 4.75


def test_the_search_needs_little_memory_beside_the_run():
    import tracemalloc

    run = simulate(5, "mixed", GcMs(minutes=25.0))
    matrix = matrix_of(run)
    noise = estimate_ion_noise(matrix)
    search_unknown_clusters(matrix, widths_of(SHORT), noise, lambda time: None)
    tracemalloc.start()
    search_unknown_clusters(matrix, widths_of(run.run), noise, lambda time: None)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 30 * 2**20
