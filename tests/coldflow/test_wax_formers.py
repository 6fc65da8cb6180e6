"""Straight chains read from traces whose content is known."""

from pathlib import Path

import pytest
from simulated_oil import Oil, bell

from cutbook.importers.run_sheet import read_run
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).parents[2] / "examples"
# as the generator of the examples makes the oil of the crates: a bell of triplets and a hump, in area
TRIPLETS, HUMP = 620.0, 230.0
KINDS = Oil({}).kinds


@pytest.fixture(scope="module")
def crates():
    return {sample.of: sample for sample in work_up(read_run(EXAMPLES / "crate-oil")).samples}


def truth(n, kind):
    return 100.0 * KINDS[kind] * bell(range(5, 41), 12.5, 6.5, TRIPLETS)[n] / (TRIPLETS + HUMP)


def chains_of(sample, family):
    return {chain.n: chain for chain in sample.wax_formers.chains if chain.family == family}


@pytest.mark.parametrize(("family", "kind"), [("n-alkane", "alkane"), ("1-alkene", "alkene")])
def test_parted_peaks_give_what_was_put_in(crates, family, kind):
    found = chains_of(crates["oil"], family)
    assert all(found[n].source == "peak" for n in range(8, 26))
    for n in range(8, 26):
        # the baseline under the peaks follows the hump, and takes a little of a crowded triplet with it
        assert found[n].mass.value == pytest.approx(truth(n, kind), rel=0.08)
        assert abs(found[n].mass.value - truth(n, kind)) < 3 * found[n].mass.u


@pytest.mark.parametrize(("family", "kind"), [("n-alkane", "alkane"), ("1-alkene", "alkene")])
def test_what_stands_in_one_peak_is_divided_as_the_neighbours_are(crates, family, kind):
    found = chains_of(crates["oil"], family)
    merged = [n for n, chain in found.items() if chain.source == "both in one peak"]
    assert {27, 28, 29, 30} <= set(merged)
    for n in (27, 28, 29, 30):
        assert abs(found[n].mass.value - truth(n, kind)) < 2 * found[n].mass.u
        assert found[n].mass.u > 0.2 * found[n].mass.value
    assert "cold.pairs_merged" in {caution.code for caution in crates["oil"].wax_formers.step.cautions}


def test_chains_and_rest_make_up_what_eluted(crates):
    formers = crates["oil"].wax_formers
    light = sum(share.mass.value for share in crates["oil"].carbons.numbered() if share.n < 8)
    whole = sum(chain.mass.value for chain in formers.chains) + sum(mass for _, mass in formers.rest)
    assert whole == pytest.approx(100.0, abs=0.3)
    assert sum(mass for n, mass in formers.rest if n < 8) == pytest.approx(light, abs=1e-6)


def test_what_did_not_elute_is_bounded_and_told(crates):
    # 15 % of the wax does not elute; none to twice the waxiness of the last carbon numbers is a rectangle of 0.58
    formers = crates["wax"].wax_formers
    tail = [chain for chain in formers.chains if chain.source == "heavy tail assumed"]
    assert formers.heavy == pytest.approx(15.0, abs=1.0)
    assert {chain.n for chain in tail} == set(range(45, 55))
    assert all(chain.mass.u == pytest.approx(0.58 * chain.mass.value, rel=1e-6) for chain in tail)
    rest = sum(mass for n, mass in formers.rest if n > 44)
    assert sum(chain.mass.value for chain in tail) + rest == pytest.approx(formers.heavy)
    assert "cold.heavy_tail" in {caution.code for caution in formers.step.cautions}


def test_without_an_internal_standard_the_tail_is_unknown_and_told(crates):
    formers = crates["oil"].wax_formers
    assert formers.heavy is None
    assert "cold.tail_unknown" in {caution.code for caution in formers.step.cautions}


def test_a_gas_has_no_wax_formers(crates):
    assert "gas" not in crates or crates["gas"].wax_formers is None
