"""Isotope patterns against three general-purpose libraries (check values), rdkit's own table, and brute force."""

import csv
import itertools
import re
from math import comb, prod
from pathlib import Path

import pytest
from rdkit.Chem import GetPeriodicTable

from cutbook.identification.isotope_pattern import halogen_pattern, isotope_pattern, isotope_share, nominal_mass
from cutbook.model.errors import InputError
from cutbook.model.tables import reference

with (Path(__file__).parent / "data" / "07_chlorine_isotope_patterns.csv").open(encoding="utf-8") as table:
    ROWS = list(csv.DictReader(table))
PATTERNS = [row for row in ROWS if row["value_base"]]
ISOTOPES = reference("isotopes").rows


def formula_of(row):
    """ "Cl2 only" is Cl2, "molecular ion dichlorobenzene C6H4Cl2" is C6H4Cl2."""
    name = row["item"].removesuffix(" only")
    return name.split()[-1]


@pytest.mark.parametrize("row", PATTERNS, ids=lambda row: f"{formula_of(row)} {row['ion']} {row['source'][:10]}")
def test_every_published_pattern_is_met_within_0_3_percent_of_its_tallest_peak(row):
    offset = int(re.search(r"M\+(\d+)", row["ion"])[1])
    shares = dict(isotope_pattern(formula_of(row), 1e-6))
    tallest = max(shares.values())
    assert 100 * shares[offset] / tallest == pytest.approx(float(row["value_base"]), abs=0.3)
    if "only" in row["item"]:  # `value` is a share of the lightest there, of which the tallest may be twice as high
        assert 100 * shares[offset] == pytest.approx(float(row["value"]), abs=0.3 * tallest)


def test_the_check_values_were_all_read():
    assert len(PATTERNS) > 180
    assert {formula_of(row) for row in PATTERNS} >= {"Cl1", "Cl6", "C6H5Cl", "C6Cl6", "C12H6Cl4"}


@pytest.mark.parametrize("row", [row for row in ROWS if row["item"] == "abundance"], ids=lambda row: row["source"])
def test_the_abundance_of_chlorine_is_that_of_the_check_values(row):
    ours = next(float(one["abundance"]) for one in ISOTOPES if f"{one['mass_number']}{one['symbol']}" == row["ion"])
    assert ours == pytest.approx(float(row["value"]), abs=0.00025)  # the older table differs by 0.0002


@pytest.mark.parametrize(
    "row", [row for row in ISOTOPES if row["symbol"] != "D"], ids=lambda row: f"{row['mass_number']}{row['symbol']}"
)
def test_every_isotope_agrees_with_a_second_table(row):
    library, symbol, number = GetPeriodicTable(), row["symbol"], int(row["mass_number"])
    # rdkit carries an older evaluation; the largest change since is that of sulfur, 0.06 %
    assert 100 * float(row["abundance"]) == pytest.approx(library.GetAbundanceForIsotope(symbol, number), abs=0.061)
    assert float(row["mass"]) == pytest.approx(library.GetMassForIsotope(symbol, number), abs=2e-5)


def test_abundances_of_an_element_add_up_to_one():
    for symbol in {row["symbol"] for row in ISOTOPES}:
        assert sum(float(row["abundance"]) for row in ISOTOPES if row["symbol"] == symbol) == pytest.approx(1, abs=1e-9)


def test_halogens_alone_are_binomial():
    p, q = 0.7576, 0.2424
    for count in range(1, 9):
        shares = dict(halogen_pattern(count))
        for heavy in range(count + 1):
            expected = comb(count, heavy) * (q / p) ** heavy
            if expected > 1e-3:
                assert shares[2 * heavy] == pytest.approx(expected, rel=1e-9)
    assert dict(halogen_pattern(0, 1))[2] == pytest.approx(0.4931 / 0.5069)


def test_a_pattern_is_what_counting_every_isotopologue_gives():
    """Every way of putting isotopes on every atom of CHCl2Br, one by one."""
    abundance = {
        "C": {0: 0.9893, 1: 0.0107},
        "H": {0: 0.999885, 1: 0.000115},
        "Cl": {0: 0.7576, 2: 0.2424},
        "Br": {0: 0.5069, 2: 0.4931},
    }
    atoms = ["C", "H", "Cl", "Cl", "Br"]
    counted = {}
    for extra in itertools.product(*(abundance[atom] for atom in atoms)):
        share = prod(abundance[atom][one] for atom, one in zip(atoms, extra, strict=True))
        counted[sum(extra)] = counted.get(sum(extra), 0.0) + share
    for offset, share in isotope_pattern("CHCl2Br", 1e-5):
        assert share == pytest.approx(counted[offset] / counted[0], rel=1e-9)


def test_deuterium_counts_two_and_has_one_isotope():
    assert nominal_mass("C6H5Cl") == 112
    assert nominal_mass("C6D5Cl") == 117
    assert dict(isotope_pattern("C6D5Cl"))[2] == pytest.approx(dict(isotope_pattern("C6Cl"))[2])


def test_the_tallest_peak_need_not_be_the_lightest():
    assert isotope_share("C6H2Cl4", 214, 216) == pytest.approx(0.7802, abs=0.001)  # check values
    with pytest.raises(ValueError, match="no isotopologues"):
        isotope_share("C6H5Cl", 111, 112)


@pytest.mark.parametrize("formula", ["", "C6H5Q", "chlorobenzene", "C6H5-Cl", "C0H5Cl", "Xe"])
def test_what_is_no_formula_of_known_elements_is_refused_in_one_line(formula):
    with pytest.raises(InputError, match="expected a formula such as C6H5Cl") as caught:
        isotope_pattern(formula)
    assert "\n" not in str(caught.value)
