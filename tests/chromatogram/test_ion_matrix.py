"""Ions laid by nominal mass."""

import tracemalloc

import numpy as np
import pytest

from cutbook.chromatogram.ion_matrix import ion_matrix
from cutbook.model.lineage import Step
from cutbook.model.scans import ScanSeries

CARBON, HYDROGEN, CHLORINE, SILICON, OXYGEN = 12.0, 1.00782503, 34.96885268, 27.97692653, 15.99491462


def a_series(spectra, kind="centroid"):
    counts = [len(one) for one in spectra]
    ions = [ion for one in spectra for ion in one]
    mz, heights = np.array([m for m, _ in ions], np.float32), np.array([h for _, h in ions], np.float32)
    total = np.array([sum(h for _, h in one) for one in spectra], float)
    return ScanSeries(
        "oil.mzML",
        np.arange(1, len(spectra) + 1) / 100,
        np.concatenate([[0], np.cumsum(counts)]),
        mz,
        heights,
        total,
        kind,
        Step("read scans/1"),
    )


def test_ions_of_one_nominal_mass_are_added_up_and_nothing_is_lost():
    spectra = [[(112.01, 5.0), (112.2, 2.0), (114.0, 3.0)], [], [(113.0, 7.0)]]
    matrix = ion_matrix(a_series(spectra))
    assert (matrix.first_mz, matrix.last_mz) == (112, 114)
    assert matrix.counts.tolist() == [[7.0, 0.0, 3.0], [0.0, 0.0, 0.0], [0.0, 7.0, 0.0]]
    assert matrix.trace(300).tolist() == [0.0, 0.0, 0.0]
    assert not matrix.counts.flags.writeable


@pytest.mark.parametrize("offset", [0.0, 0.04, -0.04])
def test_hydrocarbon_chlorinated_and_siloxane_ions_get_their_nominal_mass(offset):
    masses, nominal = [], []
    for carbons in range(1, 40):
        for hydrogens in range(max(carbons // 2 - 1, 0), 2 * carbons + 3):
            for chlorines in range(0, min(7, hydrogens + carbons)):
                mass = carbons * CARBON + hydrogens * HYDROGEN + chlorines * CHLORINE
                if mass < 550 and (chlorines == 0 or hydrogens + chlorines <= 2 * carbons + 2):
                    masses.append(mass)
                    nominal.append(12 * carbons + hydrogens + 35 * chlorines)
    for units in range(1, 8):  # (CH3)2SiO rings less one methyl
        masses.append(units * (SILICON + OXYGEN + 2 * CARBON + 6 * HYDROGEN) - CARBON - 3 * HYDROGEN)
        nominal.append(units * 74 - 15)
    matrix = ion_matrix(a_series([[(mass + offset, 1.0)] for mass in masses]))
    assert (matrix.counts.argmax(axis=1) + matrix.first_mz).tolist() == nominal


def test_a_known_offset_is_taken_off():
    matrix = ion_matrix(a_series([[(112.01 + 0.5, 1.0)]]), offset=0.5)
    assert matrix.first_mz == 112


def test_the_matrix_needs_little_beside_itself():
    rng = np.random.default_rng(3)
    spectra_count, ions = 3000, 300
    mz = np.sort(rng.uniform(35, 550, (spectra_count, ions)), axis=1).astype(np.float32).ravel()
    scans = ScanSeries(
        "oil.cdf", np.arange(1, spectra_count + 1) / 100, np.arange(spectra_count + 1) * ions, mz,
        np.ones(len(mz), np.float32), np.full(spectra_count, float(ions)), "centroid", Step("read scans/1"),
    )  # fmt: skip
    ion_matrix(scans)
    tracemalloc.start()
    matrix = ion_matrix(scans)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most - matrix.counts.nbytes <= 2 * matrix.counts.nbytes
    assert matrix.counts.sum() == len(mz)


def test_ions_heavier_than_asked_for_are_left_out_and_it_is_said():
    matrix = ion_matrix(a_series([[(112.0, 1.0), (712.3, 5.0)], [(114.0, 1.0)]]))
    assert matrix.last_mz == 700 and matrix.counts.sum() == 2.0
    (told,) = matrix.step.cautions
    assert (told.code, told.facts["count"]) == ("scans.heavy_left_out", 1)


def test_a_run_without_any_ion_is_an_empty_matrix():
    matrix = ion_matrix(a_series([[], []]))
    assert matrix.counts.shape == (2, 1) and not matrix.counts.any()
