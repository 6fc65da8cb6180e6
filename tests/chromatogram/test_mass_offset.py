"""By how much the mass scale of a run is off."""

import re

import numpy as np
import pytest
from simulated_scans import GcMs, blank, ladder, simulate, standard

from cutbook.chromatogram.mass_offset import _most_intense, mass_offset
from cutbook.model.lineage import Step
from cutbook.model.scans import ScanSeries
from cutbook.model.tables import reference

OILS = {kind: simulate(3, kind, GcMs(minutes=14.0), masses=True) for kind in ("PE", "PP", "PS", "mixed", "PVC")}


def test_masses_of_the_table_are_sums_of_isotope_masses():
    from rdkit.Chem import GetPeriodicTable

    table = GetPeriodicTable()
    for row in reference("calibration_ions").rows:
        atoms = re.findall(r"([A-Z][a-z]?)(\d*)", row["ion"])
        exact = sum(table.GetMostCommonIsotopeMass(element) * int(count or 1) for element, count in atoms)
        # the mass of the electron: CODATA 2018
        assert float(row["mz"]) == pytest.approx(exact - 0.000548580, abs=1e-5)
        assert int(row["unit_mass"]) == round(exact)


@pytest.mark.parametrize("kind", OILS)
@pytest.mark.parametrize("offset", [-0.2, -0.1, 0.0, 0.15, 0.3])
@pytest.mark.parametrize("more", [{"jitter": 0.02}, {"jitter": 0.05, "step": 0.1}], ids=str)
def test_an_offset_is_found(kind, offset, more):
    found = mass_offset(OILS[kind].series(np.random.default_rng(1), offset=offset, **more))
    assert found.offset == pytest.approx(offset, abs=0.03)
    assert abs(found.offset - offset) < 2.5 * found.u
    assert len(found.ions) >= 4 and not found.whole_numbers
    assert found.step.cautions == ()


@pytest.mark.parametrize("offset", [-0.2, 0.0, 0.3])
def test_ladder_and_blank_and_standard_tell_it_too(offset):
    run = GcMs(minutes=25.0)
    for made in (ladder(1, run=run, masses=True), blank(2, run, masses=True),
                 standard(3, {"chlorobenzene": 50.0}, run, masses=True)):  # fmt: skip
        found = mass_offset(made.series(np.random.default_rng(1), offset=offset, jitter=0.03))
        assert found.offset == pytest.approx(offset, abs=0.03)


def test_once_it_is_taken_off_every_ion_falls_to_its_mass():
    run = OILS["PVC"]
    for offset in (-0.2, 0.3):
        scans = run.series(offset=offset)
        found = mass_offset(scans)
        unit = np.floor(scans.mz - found.offset + 0.3).astype(int)
        assert np.array_equal(unit, run.series(whole=True).mz.astype(int))


def test_whole_numbers_have_no_offset():
    found = mass_offset(OILS["PE"].series(whole=True))
    assert found.offset is None and found.whole_numbers and found.step.cautions == ()


def series(scans):
    starts = np.concatenate([[0], np.cumsum([len(mz) for mz, _ in scans])])
    mz, intensity = (np.concatenate([one[k] for one in scans]) for k in (0, 1))
    total = [one[1].sum() for one in scans]
    time = np.arange(len(scans)) / 100
    return ScanSeries("x.mzML", time, starts, mz, intensity, total, "centroid", Step("read scans/1"))


def test_a_run_without_known_ions_says_so():
    found = mass_offset(series([(np.array([200.1, 301.2]), np.array([5.0, 6.0]))] * 30))
    assert found.offset is None and not found.whole_numbers
    assert [dict(one.facts) for one in found.step.cautions] == [{"count": 0, "needed": 3}]
    empty = ScanSeries("x.mzML", [0.1, 0.2], [0, 0, 0], np.empty(0), np.empty(0), [0.0, 0.0], "centroid", Step("r/1"))
    assert mass_offset(empty).offset is None


def test_a_scale_that_stretches_is_told():
    run = OILS["mixed"]
    scans = run.series(np.random.default_rng(1), jitter=0.01)
    stretched = ScanSeries(scans.file, scans.time_min, scans.starts, scans.mz * 1.004 - 0.17, scans.intensity,
                           scans.total, scans.kind, scans.step)  # fmt: skip
    # 43 and 117 are then 0.30 apart
    assert [one.code for one in mass_offset(stretched).step.cautions] == ["scans.uneven_mass_scale"]


def test_of_equally_intense_scans_the_earlier_are_read():
    intensity = np.array([5.0, 7.0, 5.0, 9.0, 5.0])
    for count, expected in (
        (1, {3}),
        (2, {1, 3}),
        (3, {0, 1, 3}),
        (4, {0, 1, 2, 3}),
        (5, set(range(5))),
        (9, set(range(5))),
    ):
        assert set(_most_intense(intensity, count).tolist()) == expected
