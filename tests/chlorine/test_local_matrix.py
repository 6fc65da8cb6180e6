"""Neighbours taken away: areas of a compound's ions beside compounds of other shapes."""

import numpy as np
import pytest

from cutbook.chlorine.ion_areas import Design, IonAreaSettings, ion_areas, usual_part
from cutbook.chlorine.local_matrix import LocalMatrixSettings, Pieces, lay_pieces, neighbours, piece_ions

SCANS, GAIN = 41, 4.0
PLAIN = IonAreaSettings()


def bell(centre, width=3.0):
    shape = np.exp(-0.5 * ((np.arange(SCANS) - centre) / width) ** 2)
    return shape / shape.sum()


def courses_of(counts, variance, quantifier):
    """Of pieces one after another, shape (c, n, m)."""
    count, scans, ions = counts.shape
    pieces = Pieces(np.arange(count) * scans, scans, np.zeros((count, 1), np.int64))
    heights, variance = (np.asarray(one, np.float32).reshape(-1, ions) for one in (counts, variance))
    return neighbours(piece_ions(heights, variance, pieces, np.arange(ions)), np.ones(ions, bool), quantifier)


def pieces_with(seed, area, ion_share, other, away=4.0, clean=60):
    """Counts of `clean` ions that only a neighbour gives, and of three ions that both give; 200 pieces of one noise."""
    rng = np.random.default_rng(seed)
    spectrum = rng.uniform(0.05, 1.0, clean)
    neighbour = bell(20 + away)
    expected_clean = 3000.0 * neighbour[:, None] * spectrum + 2.0
    expected = (
        area * bell(20)[:, None] * np.array(ion_share) + other * neighbour[:, None] * np.array([1.0, 0.7, 0.4]) + 2.0
    )
    clean_counts = GAIN * rng.poisson(expected_clean, (200, SCANS, clean))
    own = GAIN * rng.poisson(expected, (200, SCANS, 3))
    around = courses_of(clean_counts, GAIN * clean_counts + 1.0, own[:, :, 0].max(axis=1))
    shapes = np.broadcast_to(bell(20)[None, :, None], (200, SCANS, 1))
    return own.astype(float), around, shapes


@pytest.mark.parametrize("usual", [True, False])
def test_areas_are_unbiased_and_scatter_as_they_say_beside_a_neighbour(usual):
    heights, around, shapes = pieces_with(1, 400.0, (1.0, 0.32, 0.57), 600.0)
    floor = np.ones(3)
    part = usual_part(heights, floor, GAIN, around) if usual else None
    read = ion_areas(heights, floor, GAIN, Design(around, shapes), part)
    for ion, share in enumerate((1.0, 0.32, 0.57)):
        area, u = read.area[:, 0, ion], read.u_area[:, 0, ion]
        truth = GAIN * 400.0 * share
        assert area.mean() == pytest.approx(truth, abs=4 * area.std() / np.sqrt(200) + 0.01 * truth)
        assert np.median(u) == pytest.approx(area.std(), rel=0.25)


def test_without_a_compound_the_areas_are_those_of_noise():
    heights, around, shapes = pieces_with(2, 0.0, (1.0, 0.32, 0.57), 600.0)
    read = ion_areas(heights, np.ones(3), GAIN, Design(around, shapes), None)
    z = read.area[:, 0] / read.u_area[:, 0]
    assert np.abs(z).mean() < 1.0 and (np.abs(z) > 3).mean() < 0.02


def test_a_neighbour_whose_shape_is_told_by_few_counts_is_not_believed_too_far():
    """Its clean ions are counted in hundreds, its part of the compound's ions in hundreds of thousands: the shape's own
    counting noise is then larger than that of the ions."""
    rng = np.random.default_rng(8)
    neighbour = bell(24.0)
    clean = GAIN * rng.poisson(300.0 * neighbour[:, None] * rng.uniform(0.3, 1.0, 30) + 0.5, (300, SCANS, 30))
    own = GAIN * rng.poisson(2e5 * neighbour[:, None] * np.array([1.0, 0.7, 0.4]) + 0.5, (300, SCANS, 3))
    around = courses_of(clean, GAIN * np.maximum(clean, 1.0), np.zeros(300))
    shapes = np.broadcast_to(bell(20)[None, :, None], (300, SCANS, 1))
    read = ion_areas(own.astype(float), np.ones(3), GAIN, Design(around, shapes), None)
    z = read.area[:, 0] / read.u_area[:, 0]
    assert np.sqrt(np.mean(z**2)) < 1.5
    assert np.median(read.misfit) < 2.0  # of a chi-square by its degrees of freedom, 1 where the noise is told right


def test_a_neighbour_of_the_same_shape_leaves_nothing_to_tell():
    near, around, shapes = pieces_with(3, 400.0, (1.0, 0.32, 0.57), 600.0, away=0.0)
    read = ion_areas(near, np.ones(3), GAIN, Design(around, shapes), None)
    assert np.median(read.free[:, 0, 0]) < 0.01
    assert np.median(read.u_area[:, 0, 0]) > 400.0


def test_ions_that_neighbours_never_give_keep_their_whole_signal():
    heights, around, shapes = pieces_with(4, 0.0, (1.0, 1.0, 1.0), 0.0, away=1.0)
    usual = usual_part(heights, np.ones(3), GAIN, around)
    assert (usual == 0).all()
    added = heights + GAIN * 200.0 * bell(20)[None, :, None]
    keen, strict = (ion_areas(added, np.ones(3), GAIN, Design(around, shapes), part) for part in (usual, None))
    assert np.median(keen.u_area) < 0.5 * np.median(strict.u_area)
    assert keen.area.mean() == pytest.approx(GAIN * 200.0, rel=0.03)


def test_pure_noise_has_no_courses():
    rng = np.random.default_rng(5)
    counts = rng.poisson(9.0, (100, SCANS, 80)).astype(np.float32)
    around = courses_of(counts, np.full_like(counts, 9.0), np.zeros(100))
    assert (np.isfinite(around.strength) & (around.strength > 0)).sum() <= 2


def test_what_neighbours_give_is_told_beside_the_compound():
    heights, around, _ = pieces_with(6, 400.0, (1.0, 0.32, 0.57), 600.0)
    shapes = np.broadcast_to(bell(20)[None, :, None], (200, SCANS, 1))
    read = ion_areas(heights, np.ones(3), GAIN, Design(around, shapes), None)
    part = read.matrix(around, np.arange(200), np.zeros(200, int))
    truth = GAIN * (600.0 * bell(24.0) + 2.0)
    assert part.mean(axis=0)[:, 0] == pytest.approx(truth, abs=0.06 * truth.max())


def test_pieces_hold_every_scan_of_the_window_once_and_stay_inside_the_run():
    for first, last in ((0, 30), (100, 180), (960, 999)):
        pieces = lay_pieces(1000, first, last, 6.0, LocalMatrixSettings())
        held = np.sort(pieces.positions[pieces.positions >= 0])
        assert held.tolist() == list(range(first, last + 1))
        assert pieces.first.min() >= 0 and pieces.first.max() + pieces.scans <= 1000
        rows = pieces.rows()
        for row, positions in zip(rows, pieces.positions, strict=True):
            assert np.isin(positions[positions >= 0], row).all()


def test_without_ions_there_are_no_neighbours():
    pieces = Pieces(np.arange(3) * SCANS, SCANS, np.zeros((3, 1), np.int64))
    none = np.zeros((3 * SCANS, 0), np.float32)
    around = neighbours(piece_ions(none, none, pieces, np.arange(0)), np.ones(0, bool), np.zeros(3))
    assert around.courses.shape[:2] == (3, SCANS) and not np.isfinite(around.strength).any()
