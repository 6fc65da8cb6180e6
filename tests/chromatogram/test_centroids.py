"""Scans recorded as profiles become centroids."""

import numpy as np
import pytest
from simulated_scans import GcMs, simulate

from cutbook.chromatogram.centroids import CentroidSettings, _apexes, centroided, is_profile
from cutbook.model.lineage import Step
from cutbook.model.scans import ScanSeries

RUN = simulate(4, "mixed", GcMs(minutes=6.5, start_min=5.5, noise=0.0, high=160), masses=True)


def shape(x, kind):
    """A peak of unit sum on a fine grid: a squared cosine 0.9 wide at its foot, or a Gauss curve 0.5 wide at half."""
    if kind == "cosine":
        return np.where(np.abs(x) < 0.45, np.cos(np.pi * x / 0.9) ** 2, 0.0)
    return np.exp(-4 * np.log(2) * (x / 0.5) ** 2)


def profile(run, spacing=0.1, kind="cosine", rng=None, called="profile", zeros=False):
    """The expected ions of a run as profile points; `rng` counts them."""
    grid = np.arange(run.run.low - 1, run.run.high + 1, spacing)
    scans = []
    for ions, excess in zip(run.expected, run.excess, strict=True):
        points = (shape(grid[:, None] - (run.mz + excess)[None, :], kind) * spacing * 2.0) @ ions
        if rng is not None:
            points = rng.poisson(points).astype(float)
        kept = np.ones(len(grid), dtype=bool) if zeros else points > 1e-9
        scans.append((grid[kept], points[kept]))
    return series(run.time_min, scans, called)


def series(time, scans, called):
    starts = np.concatenate([[0], np.cumsum([len(mz) for mz, _ in scans])])
    mz, intensity = (np.concatenate([one[k] for one in scans]) for k in (0, 1))
    total = [one[1].sum() for one in scans]
    return ScanSeries("profile.mzML", time, starts, mz, intensity, total, called, Step("read scans/1"))


def matrix(scans, run):
    found = np.zeros(run.expected.shape)
    scan = np.repeat(np.arange(len(scans)), np.diff(scans.starts))
    column = np.floor(scans.mz + 0.3).astype(int) - run.run.low
    inside = (column >= 0) & (column < found.shape[1])
    np.add.at(found, (scan[inside], column[inside]), scans.intensity[inside])
    return found


@pytest.mark.parametrize("spacing", [0.05, 0.1, 0.15])
@pytest.mark.parametrize("zeros", [False, True])
def test_areas_and_masses_of_profiles_are_kept(spacing, zeros):
    scans = profile(RUN, spacing, zeros=zeros)
    found = centroided(scans)
    assert found.kind == "centroid"
    # a scan keeps its sum
    summed = np.bincount(np.repeat(np.arange(len(found)), np.diff(found.starts)), found.intensity, len(found))
    assert summed == pytest.approx(scans.total, rel=1e-9)
    # and each mass its area; the squared cosine 0.9 wide has the area 0.45, doubled above
    ours, true = matrix(found, RUN), RUN.expected * 0.9
    bright = true.sum(axis=0) > 1e-4 * true.sum()
    assert bright.sum() > 40
    # six points across the foot of a peak are coarse
    assert ours.sum(axis=0)[bright] == pytest.approx(true.sum(axis=0)[bright], rel=0.02 if spacing < 0.12 else 0.05)
    assert_masses(found)


def assert_masses(found):
    scan = np.repeat(np.arange(len(found)), np.diff(found.starts))
    column = np.floor(found.mz + 0.3).astype(int) - RUN.run.low
    strong = found.intensity > 300
    assert strong.sum() > 1000
    assert np.abs(found.mz - RUN.mz[column] - RUN.excess[scan, column])[strong].max() < 0.05


def test_counting_noise_splits_no_peak():
    counted = profile(RUN, 0.1, "gauss", rng=np.random.default_rng(1))
    found = centroided(counted)
    ours, true = matrix(found, RUN), RUN.expected * 2 * 0.5 * np.sqrt(np.pi / np.log(2)) / 2
    tall = [m - RUN.run.low for m in (43, 57, 70, 91)]
    assert ours.sum(axis=0)[tall] == pytest.approx(true.sum(axis=0)[tall], rel=0.02)
    scan = np.repeat(np.arange(len(found)), np.diff(found.starts))
    strong = found.intensity > 300
    column = np.floor(found.mz + 0.3).astype(int)
    assert np.unique(scan[strong] * 1000 + column[strong], return_counts=True)[1].max() == 1
    assert np.abs(found.mz - column - RUN.excess[scan, column - RUN.run.low])[found.intensity > 2000].max() < 0.05


def test_profiles_are_told_by_their_points_and_not_by_their_name():
    for called in ("centroid", "", "profile"):
        scans = profile(RUN, called=called)
        assert is_profile(scans)
        found = centroided(scans)
        assert found.kind == "centroid"
        codes = [one.code for one in found.step.cautions]
        assert codes == ["scans.centroided"] + (["scans.called_centroid"] if called == "centroid" else [])
        assert found.step.inputs == (scans.step,)
        assert dict(found.step.cautions[0].facts) == {"points": len(scans.mz), "ions": len(found.mz)}


@pytest.mark.parametrize("masses", [{"whole": True}, {"jitter": 0.03}, {"jitter": 0.05, "step": 0.1}])
def test_centroids_are_left_alone(masses):
    scans = RUN.series(np.random.default_rng(2), **masses)
    assert not is_profile(scans)
    assert centroided(scans) is scans
    named = ScanSeries(scans.file, scans.time_min, scans.starts, scans.mz, scans.intensity, scans.total, "profile",
                       scans.step)  # fmt: skip
    found = centroided(named)
    assert found.kind == "centroid" and np.array_equal(found.mz, scans.mz)
    assert [one.code for one in found.step.cautions] == ["scans.called_profile"]


def test_centroids_of_a_fine_instrument_are_no_profile():
    rng = np.random.default_rng(3)
    scans = [(np.sort(rng.uniform(40, 300, 4000)), rng.exponential(100, 4000)) for _ in range(50)]
    assert not is_profile(series(np.arange(50) / 60, scans, "centroid"))


def test_small_blocks_give_the_same():
    scans = profile(RUN, 0.1, rng=np.random.default_rng(5))
    whole, parts = centroided(scans), centroided(scans, CentroidSettings(block=5000))
    assert np.array_equal(whole.mz, parts.mz) and np.array_equal(whole.starts, parts.starts)


def test_empty_scans_stay_where_they_are():
    scans = [(np.empty(0), np.empty(0)), *[(np.arange(50, 60, 0.1), shape(np.arange(50, 60, 0.1) - 55, "gauss"))] * 9,
             (np.empty(0), np.empty(0)), (np.empty(0), np.empty(0))]  # fmt: skip
    found = centroided(series(np.arange(12) / 60, scans, "profile"))
    assert np.diff(found.starts).tolist() == [0, *[1] * 9, 0, 0]
    assert found.mz == pytest.approx(55.0, abs=1e-6)
    empty = centroided(series(np.arange(2) / 60, scans[-2:], "profile"))
    assert len(empty.mz) == 0


def test_an_apex_is_the_highest_point_within_reach():
    rng = np.random.default_rng(7)
    for reach in (1, 2, 3, 5):
        values = rng.uniform(1, 2, 300)
        found = _apexes(values, np.zeros(300, dtype=np.int64), reach, 1)  # 1 point a peak: nothing is smoothed
        padded = np.concatenate([np.zeros(reach), values, np.zeros(reach)])
        expected = [i for i in range(300) if values[i] == padded[i : i + 2 * reach + 1].max()]
        assert found.tolist() == expected
