"""The size from which a peak passes the rules on areas, against peaks drawn at random."""

import numpy as np
import pytest
from screened_oils import target_named

from cutbook.chlorine.passing_level import passing_level
from cutbook.chlorine.target_ions import target_ions
from cutbook.chlorine.verdict import INDICATED, VerdictSettings, judge

RULES = VerdictSettings()


def share_found(ions, level, rest, u_rest, counting, draws=4000):
    """Of peaks of one size, their noise drawn anew."""
    rng = np.random.default_rng(3)
    u = np.sqrt(u_rest**2 + level * counting)
    share = ions.share.copy()
    share[ions.beside] = ions.beside_share
    areas = rest + level * share + u * rng.standard_normal((draws, len(u)))
    return np.mean(judge(areas, np.broadcast_to(u, areas.shape), ions).level >= INDICATED)


@pytest.mark.parametrize("name", ["chlorobenzene", "1,4-dichlorobenzene", "hexachlorobenzene", "2-chloronaphthalene"])
@pytest.mark.parametrize("counting", [0.0, 1.0, 1e4])
def test_nineteen_in_twenty_peaks_of_that_size_are_indicated(name, counting):
    ions = target_ions(target_named(name), 40, 550)
    rest, u_rest = np.zeros(len(ions.mz)), np.full(len(ions.mz), 2.0)
    counts = counting * ions.share
    level = passing_level(rest[None], u_rest[None], counts[None], ions, RULES)[0]
    assert 0.88 <= share_found(ions, level, rest, u_rest, counts) <= 0.995  # each rule takes its own twentieth
    assert share_found(ions, 0.5 * level, rest, u_rest, counts) < 0.5


def test_counting_is_told_as_well_from_far_away():
    """Where counting is all there is, z = A s / √(A c) makes the size z² c / s² whatever the uncertainty without it."""
    ions = target_ions(target_named("chlorobenzene"), 40, 550)
    counts = 30.0 * ions.share
    sizes = [
        passing_level(np.zeros((1, len(u))), u[None], counts[None], ions, RULES)[0]
        for u in (np.full(len(ions.mz), 1e-6), np.full(len(ions.mz), 1e-3))
    ]
    own = ions.share[ions.cluster]
    alone = (RULES.least_signal + 1.645) ** 2 * 30.0 / own.sum()  # counts of all ions of the cluster add
    assert sizes[0] >= 0.9 * alone and sizes[0] == pytest.approx(sizes[1], rel=0.15)


def test_what_is_there_already_asks_for_more():
    """A tenth of the tallest ion in its partner alone bends the ratio; the peak must outweigh it."""
    ions = target_ions(target_named("chlorobenzene"), 40, 550)
    rest, u_rest = np.zeros((2, len(ions.mz))), np.full((2, len(ions.mz)), 1.0)
    rest[1, ions.cluster[1]] = 40.0
    without, beside = passing_level(rest, u_rest, np.zeros_like(rest), ions, RULES)
    assert beside > 5 * without
    assert (
        share_found(ions, beside, rest[1], u_rest[1], 0.0) > 0.85 > share_found(ions, without, rest[1], u_rest[1], 0.0)
    )
