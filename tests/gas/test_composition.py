"""A laboratory's table into a dry gas: nothing renormalised, filled or dropped without a word."""

import pytest

from cutbook.gas.composition import gas_composition, mixed
from cutbook.gas.substances import component_named, spellings
from cutbook.model.amount import nominal, standard_uncertainty
from cutbook.model.errors import InputError
from cutbook.model.gas import GasRow, GasTable
from cutbook.model.lineage import Step


def table(*rows, unit="fraction", total=None):
    read = []
    for number, row in enumerate(rows, 2):
        name, value, *more = row
        limit = more[0] if more else None
        read.append(GasRow(f"line {number}", name, component_named(name), value, None, limit, 0.001))
    return GasTable("gas.csv", unit, tuple(read), total, Step("read/1"))


def codes(found):
    return [one.code for one in found.step.cautions]


def shares(found):
    return {name: nominal(share) for name, share in found.shares.items()}


def test_a_whole_table_is_taken_as_it_is():
    found = gas_composition(table(("CH4", 0.6), ("C2H6", 0.4)), "dry", "gas")
    assert shares(found) == pytest.approx({"methane": 0.6, "ethane": 0.4})
    assert found.raw_sum == pytest.approx(1.0)
    assert codes(found) == []


@pytest.mark.parametrize(
    ("share", "code"), [(0.58, "gas.normalised"), (0.54, "gas.raw_sum_off"), (0.66, "gas.raw_sum_off")]
)
def test_a_sum_other_than_one_is_told_with_the_raw_sum(share, code):
    found = gas_composition(table(("CH4", share), ("C2H6", 0.4)), "dry", "gas")
    assert codes(found) == [code]
    assert found.step.cautions[0].facts["sum"] == pytest.approx(100 * (share + 0.4))
    assert found.raw_sum == pytest.approx(share + 0.4)
    assert sum(shares(found).values()) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("share", [0.01, 1.2])
def test_what_adds_up_to_no_composition_is_refused(share):
    with pytest.raises(InputError, match="about 100 %"):
        gas_composition(table(("CH4", share), ("C2H6", 0.4)), "dry", "gas")


def test_below_a_limit_is_nothing_with_a_limit_and_a_doubt():
    found = gas_composition(table(("CH4", 0.6), ("C2H6", 0.4), ("H2S", None, 0.01)), "dry", "gas")
    assert found.limits == {"hydrogen sulfide": pytest.approx(0.01)}
    assert nominal(found.shares["hydrogen sulfide"]) == 0
    # rectangular from -0.01 to 0.01
    assert standard_uncertainty(found.shares["hydrogen sulfide"]) == pytest.approx(0.01 / 3**0.5, rel=1e-6)
    assert codes(found) == ["gas.below_limit"]


def test_an_empty_cell_is_no_zero():
    found = gas_composition(table(("CH4", 0.6), ("C2H6", 0.4), ("CO", None)), "dry", "gas")
    assert "carbon monoxide" not in found.shares
    assert found.not_given == ("CO",)
    assert codes(found) == ["gas.not_given"]


def test_the_same_figure_twice_counts_once_and_two_figures_are_refused():
    found = gas_composition(table(("CH4", 0.6), ("C2H6", 0.4), ("Methan", 0.6)), "dry", "gas")
    assert shares(found)["methane"] == pytest.approx(0.6)
    assert codes(found) == ["gas.duplicate"]
    with pytest.raises(InputError, match="line 4.*'Methan'.*'CH4' at line 2"):
        gas_composition(table(("CH4", 0.6), ("C2H6", 0.2), ("Methan", 0.2)), "dry", "gas")


def test_an_empty_row_and_a_figure_for_the_same_component_are_the_figure():
    found = gas_composition(table(("CH4", None), ("C2H6", 0.4), ("Methan", 0.6)), "dry", "gas")
    assert shares(found)["methane"] == pytest.approx(0.6)


@pytest.mark.parametrize(("stated", "off"), [(1.0, False), (1.001, False), (0.95, True)])
def test_a_stated_total_is_held_against_the_sum(stated, off):
    found = gas_composition(table(("CH4", 0.6), ("C2H6", 0.4), total=stated), "dry", "gas")
    assert ("gas.total_disagrees" in codes(found)) == off


@pytest.mark.parametrize(
    ("one", "other"),
    [("C4 sum", "n-C4H10"), ("C4 sum", "isobutane"), ("C4 sum", "butenes"), ("C5+", "isopentane"), ("C5+", "C6+"),
     ("C6+", "toluene"), ("C7+", "n-decane")],
)  # fmt: skip
def test_a_sum_beside_its_members_is_doubted(one, other):
    for first, second in ((one, other), (other, one)):
        found = gas_composition(table(("CH4", 0.6), (first, 0.2), (second, 0.2)), "dry", "gas")
        assert codes(found) == ["gas.lump_overlaps"]
        assert {found.step.cautions[0].facts[key] for key in ("lump", "members")} == {
            component_named(one), component_named(other)
        }  # fmt: skip


@pytest.mark.parametrize(
    ("one", "other"),
    [("C4 sum", "C5+"), ("butanes", "butenes"), ("C5+", "n-butane"), ("C3 sum", "C3H4"), ("C6+", "hydrogen"),
     ("unidentified", "propene")],
)  # fmt: skip
def test_a_sum_beside_what_it_does_not_hold_is_not_doubted(one, other):
    assert codes(gas_composition(table(("CH4", 0.6), (one, 0.2), (other, 0.2)), "dry", "gas")) == []


def test_water_is_taken_out_of_a_wet_table():
    found = gas_composition(table(("CH4", 0.7), ("H2", 0.28), ("H2O", 0.02)), "wet", "gas")
    assert shares(found) == pytest.approx({"methane": 0.7 / 0.98, "hydrogen": 0.28 / 0.98})
    assert codes(found) == []


@pytest.mark.parametrize(
    ("basis", "rows", "code"),
    [
        ("wet", (("CH4", 1.0),), "gas.water_not_listed"),
        ("dry", (("CH4", 0.98), ("H2O", 0.02)), "gas.water_in_dry"),
        ("", (("CH4", 1.0),), "gas.basis_not_stated"),
    ],
)
def test_a_basis_that_the_table_does_not_bear_out_is_told(basis, rows, code):
    assert codes(gas_composition(table(*rows), basis, "gas")) == [code]


def test_areas_over_response_become_shares_with_a_wide_uncertainty():
    found = gas_composition(table(("CH4", 300.0), ("C2H6", 100.0), unit="area"), "dry", "gas")
    assert shares(found) == pytest.approx({"methane": 0.75, "ethane": 0.25})
    assert found.raw_sum is None
    assert codes(found) == ["gas.areas"]
    # derived: u(x) of a ratio to the sum, x(1 - x) sqrt(2) 5 %
    assert standard_uncertainty(found.shares["methane"]) == pytest.approx(0.75 * 0.25 * 2**0.5 * 0.05, rel=1e-6)


def test_samples_are_mixed_by_their_volumes():
    early = gas_composition(table(("CH4", 1.0)), "dry", "gas")
    late = gas_composition(table(("C2H6", 1.0)), "dry", "gas")
    found = mixed([(early, 3.0), (late, 1.0)], "gas", "volume")
    assert shares(found) == pytest.approx({"methane": 0.75, "ethane": 0.25})
    assert codes(found) == ["gas.bags_weighted", "gas.bag_lacks"]


def test_what_a_sample_does_not_give_is_told_when_samples_are_mixed():
    early = gas_composition(table(("CH4", 0.8), ("H2", 0.2)), "dry", "gas")
    late = gas_composition(table(("CH4", 0.8), ("C2H6", 0.2)), "dry", "gas")
    told = mixed([(early, 1.0), (late, 1.0)], "gas", "volume").step.cautions[-1]
    assert (told.code, told.facts["names"]) == ("gas.bag_lacks", "hydrogen, ethane")


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("Wasserstoff", "hydrogen"), ("H₂", "hydrogen"), ("h2", "hydrogen"), ("CO", "carbon monoxide"),
        ("Kohlenmonoxid", "carbon monoxide"), ("CO2", "carbon dioxide"), ("Propen", "propene"),
        ("propylene", "propene"), ("Methane (CH4)", "methane"), ("CH4 (Methan)", "methane"), ("i-Butan", "isobutane"),
        ("iso-butane", "isobutane"), ("n-C4H10", "n-butane"), ("nC4", "n-butane"), ("C4H8", "butenes"), ("C4 sum", "C4 sum"),
        ("Σ C4", "C4 sum"), ("C5+", "C5+"), ("C₅+", "C5+"), ("C6+", "C6+"), ("trans-2-Buten", "trans-2-butene"),
        ("1,3-Butadien", "1,3-butadiene"), ("Schwefelwasserstoff", "hydrogen sulfide"), ("HCl", "hydrogen chloride"), ("O2 + Ar", "oxygen"),
        ("Unbekannt", "unidentified"), ("phlogiston", ""),
    ],
)  # fmt: skip
def test_names_are_known_in_the_spellings_of_laboratories(written, name):
    assert component_named(written) == name


def test_no_spelling_means_two_components():
    from cutbook.gas.substances import folded
    from cutbook.model.tables import reference

    seen = {}
    for of in ("gas_components", "gas_lumps"):
        for row in reference(of).rows:
            for spelling in (row["name"], *row["aliases"].split("|")):
                if spelling:
                    assert seen.setdefault(folded(spelling), row["name"]) == row["name"], spelling
    assert seen == dict(spellings())
