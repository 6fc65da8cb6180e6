"""The ions by which a compound is told, and the window in which it is looked for."""

import numpy as np
import pytest

from cutbook.chlorine.claims import Claim, settle_claims
from cutbook.chlorine.places import place_by_index, place_by_time
from cutbook.chlorine.target_ions import own_masses, target_ions
from cutbook.chlorine.verdict import CONFIRMED, INDICATED, NOTHING, judge
from cutbook.identification.target_table import target_named, targets


def ions_of(name):
    return target_ions(target_named(name), 35, 400)


def test_the_cluster_of_chlorobenzene_is_its_molecule_and_the_masses_beside_it_are_asked():
    ions = ions_of("chlorobenzene")
    assert ions.mz[ions.cluster].tolist() == [112, 114]
    assert ions.mz[ions.third].tolist() == [77]
    assert ions.mz[ions.beside].tolist() == [113, 111]
    assert ions.beside_share[0] == pytest.approx(6 * 0.0107 / 0.9893, rel=0.02)  # IUPAC abundance of carbon-13
    assert ions.molecular


def test_the_fragments_of_an_alkyl_chloride_are_no_molecule():
    assert not ions_of("1-chlorooctane").molecular


def test_every_target_has_a_pair_of_isotope_ions_and_calls_none_of_its_own_ions_foreign():
    for target in targets():
        ions = target_ions(target, 26, 400)
        assert ions is not None, target.name
        assert ions.share[ions.cluster[0]] == 1.0
        assert {ion.mz for ion in target.ions} <= own_masses(target)


def test_a_pair_outside_the_range_that_was_scanned_tells_nothing():
    assert target_ions(target_named("hexachlorobenzene"), 35, 250) is None


def areas(ions, height, ratio=None, third=1.0, beside=0.0):
    made = height * ions.share.copy()
    if ratio is not None:
        made[ions.cluster[1]] = height * ratio
    made[ions.third] *= third
    made[ions.beside] = height * (ions.beside_share + beside)
    return made


def level(ions, height, u, **more):
    return int(judge(areas(ions, height, **more), np.full(len(ions.mz), u), ions).level)


def test_the_rules_one_by_one():
    ions = ions_of("chlorobenzene")
    assert level(ions, 100.0, 1.0) == CONFIRMED
    assert level(ions, 11.0, 1.0) == INDICATED  # the ratio is known to 30 % only
    assert level(ions, 4.0, 1.0) == NOTHING
    assert level(ions, 100.0, 1.0, ratio=0.62) == NOTHING
    assert level(ions, 100.0, 1.0, ratio=0.04) == NOTHING
    assert level(ions, 100.0, 1.0, third=0.0) == NOTHING
    assert level(ions, 100.0, 1.0, beside=0.6) == NOTHING
    assert level(ions, 100.0, 1.0, third=1.7) == INDICATED


def test_the_ratio_is_that_of_the_natural_abundance():
    """35Cl 0.7576, 37Cl 0.2424 (IUPAC): 0.31996 of one chlorine; two carbon-13 of six, and deuterium, add 0.0018."""
    ions = ions_of("chlorobenzene")
    assert ions.share[1] == pytest.approx(0.2424 / 0.7576 + 15 * (0.0107 / 0.9893) ** 2, rel=0.001)
    assert float(judge(areas(ions, 100.0), np.full(len(ions.mz), 1.0), ions).misfit) == pytest.approx(0.0, abs=1e-9)


class _Rungs:
    carbons, u_time_min = (8, 9, 10), 0.005
    times_min = np.array([4.0, 5.0, 6.2])


def test_a_window_is_as_wide_as_the_index_is_uncertain_and_none_lies_outside_the_ladder():
    target = target_named("chlorobenzene")
    place = place_by_index(target, _Rungs())
    assert place.centre_min == pytest.approx(4.0 + (target.index - 800) / 100)
    assert place.last_min - place.centre_min == pytest.approx(2 * target.u_index / 100 + 0.01)
    of_standard = place_by_index(target, _Rungs(), 848.0)
    assert (of_standard.index_from, of_standard.u_index) == ("standard", 1.5)
    assert place_by_index(target_named("hexachlorobenzene"), _Rungs()) is None
    assert place_by_time(target, 4.5, 0.01).last_min == pytest.approx(4.52)


class _View:
    class matrix:  # noqa: N801
        time_min = np.arange(1000) / 100.0

    @staticmethod
    def width_scans(time):
        return 6.0


def test_signals_are_shared_out_by_distance_and_none_twice():
    isomers = [target_named(name) for name in ("2-chlorotoluene", "3-chlorotoluene", "4-chlorotoluene")]
    claims = [
        Claim(number, (0, at), scan, INDICATED, 20.0, away)
        for number, own in enumerate(((0.2, 1.0), (-0.1, 0.7), (-0.5, 0.1)))
        for at, (scan, away) in enumerate(zip((100, 120), own, strict=True))
    ]
    settled = settle_claims(claims, isomers, _View())
    given = {number: at for number, (at, _) in settled.items() if at is not None}
    assert sorted(at for _, at in given.values()) == [0, 1]
    assert set(given) == {1, 2}  # least sum of squares: 0.01 + 0.01 against 0.04 + 0.01 and 0.04 + 0.49
    assert settled[0] == (None, ("3-chlorotoluene", "4-chlorotoluene"))


def test_the_larger_of_two_signals_is_the_compound_unless_it_lies_far_off():
    target = [target_named("chlorobenzene")]

    def given(z, away):
        near = Claim(0, (0, 0), 100, INDICATED, 6.0, 0.2)
        return settle_claims([near, Claim(0, (0, 1), 150, INDICATED, z, away)], target, _View())[0][0]

    assert given(60.0, 1.2) == (0, 1)  # 1.4 ln 10 = 3.2 against 0.7
    assert given(7.0, 1.2) == (0, 0)
    assert given(60.0, 2.6) == (0, 0)  # 3.4
