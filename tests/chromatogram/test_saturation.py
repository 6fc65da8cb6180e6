"""Ions at the ceiling of the detector."""

import os

import numpy as np
import pytest
from simulated_scans import GcMs, blank, ladder, simulate

from cutbook.chromatogram.saturation import find_saturation

RUNS = 250 if os.environ.get("CUTBOOK_LONG") else 50
KINDS = ("PE", "PP", "PS", "polyolefin", "mixed", "PVC")


def cut(counts, ceiling, wobble=0.0, seed=1):
    """Counts that end at a ceiling, which wobbles by a share of itself."""
    top = ceiling * (1 + wobble * np.random.default_rng(seed).standard_normal(counts.shape))
    return np.minimum(counts, top)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("share", [0.05, 0.3, 0.7])
def test_what_a_ceiling_cuts_off_is_flagged_and_nothing_else(kind, share):
    run = simulate(7, kind, GcMs(minutes=12.0))
    ceiling = share * run.counts.max()
    true = run.counts > ceiling
    found = find_saturation(cut(run.counts, ceiling), run.mz, "oil.mzML")
    assert true.sum() >= 3
    assert np.array_equal(found.mask, true)
    assert found.ceiling == pytest.approx(ceiling)
    assert np.array_equal(found.scans, true.any(axis=1))
    (told,) = found.step.cautions
    assert told.code == "scans.saturated"
    assert (told.facts["count"], told.facts["of"]) == (true.any(axis=1).sum(), len(true))


@pytest.mark.parametrize("kind", KINDS)
def test_a_ceiling_that_wobbles_is_seen_by_the_level_tops(kind):
    run = simulate(8, kind, GcMs(minutes=12.0))
    ceiling = 0.1 * run.counts.max()
    true = run.counts > ceiling * 1.05
    found = find_saturation(cut(run.counts, ceiling, 0.0008), run.mz, "oil.mzML")
    # tops of fewer than four scans cannot be told from apexes
    assert (found.mask & true).sum() > 0.75 * true.sum()
    assert not (found.mask & (run.counts < 0.97 * ceiling)).any()
    assert [one.code for one in found.step.cautions] == ["scans.saturated"]


def test_runs_below_the_ceiling_have_no_flags():
    flagged = []
    for seed in range(RUNS):
        run = GcMs(minutes=25.0 if os.environ.get("CUTBOOK_LONG") else 9.0)
        counts = simulate(seed, KINDS[seed % 6], run).counts if seed % 10 else blank(seed, run).counts
        if seed % 3 == 0:
            counts = np.round(counts)  # whole counts, as many instruments write them
        flagged.append(bool(find_saturation(counts, np.arange(counts.shape[1]), "run").mask.any()))
    assert sum(flagged) == 0


def test_weak_runs_of_few_whole_ions_have_no_flags():
    run = GcMs(minutes=9.0, gain=1.0, noise=0.0, oil_ions=2e4)
    for seed in range(20):
        found = find_saturation(simulate(seed, "mixed", run).counts, np.arange(316), "run")
        assert not found.mask.any() and found.ceiling is None and found.step.cautions == ()
    assert not find_saturation(ladder(1, run=run).counts, np.arange(316), "run").mask.any()


def test_a_constant_background_is_no_ceiling():
    counts = np.full((300, 5), 4e5)
    counts[:, 1] += np.random.default_rng(1).normal(0, 40, 300)
    counts[100:140, 2] = 2e5
    assert not find_saturation(np.delete(counts, [0, 2, 3, 4], axis=1), np.array([44]), "run").mask.any()
    assert not find_saturation(np.zeros((300, 5)), np.arange(5), "run").mask.any()
    assert not find_saturation(np.zeros((0, 5)), np.arange(5), "run").mask.any()


def test_the_input_stays_as_it_is():
    run = simulate(7, "PE", GcMs(minutes=6.0, ceiling=1e5))
    before = run.counts.copy()
    found = find_saturation(run.counts, run.mz, "run")
    assert np.array_equal(run.counts, before)
    assert not found.mask.flags.writeable
