"""Reference tables against a second, independent source."""

import csv
from collections import defaultdict
from pathlib import Path

import pytest

from cutbook.model.tables import reference, table_names

DATA = Path(__file__).parent / "data"


def published_boiling_points(usable):
    found = defaultdict(dict)
    with (DATA / "01_n_alkane_boiling_points.csv").open(encoding="utf-8") as table:
        for row in csv.DictReader(table):
            if row["usable"].startswith(usable):
                found[int(row["carbon_number"])][row["method"]] = float(row["value"])
    return found


@pytest.mark.parametrize("method", ["CRC_ORG", "HEOS", "COMMON_CHEMISTRY", "WEBBOOK"])
def test_boiling_points_agree_with_a_second_source(method):
    ours = reference("n_alkanes").numbers("carbon_number", "boiling_c")
    compared = 0
    for n, values in published_boiling_points("yes").items():
        if method in values and n in ours:
            compared += 1
            assert ours[n] == pytest.approx(values[method], abs=2 if n <= 30 else 5), f"n-C{n}"
    assert compared >= 14


def test_misread_library_entries_did_not_get_into_the_table():
    ours = reference("n_alkanes").numbers("carbon_number", "boiling_c")
    wrong = published_boiling_points("NO")
    assert {26, 27, 36, 40} <= set(wrong)
    for n, values in wrong.items():
        if n in ours:
            assert all(abs(ours[n] - value) > 2 for value in values.values()), f"n-C{n}"


@pytest.mark.parametrize("column", ["boiling_c", "convention_c"])
def test_boiling_points_rise_and_the_gap_never_grows_by_more_than_two_degrees(column):
    points = reference("n_alkanes").numbers("carbon_number", column)
    numbers = [n for n in range(4, 51) if n in points]
    gaps = [points[b] - points[a] for a, b in zip(numbers, numbers[1:], strict=False)]
    assert min(gaps) > 0
    assert all(later - earlier <= 2 for earlier, later in zip(gaps, gaps[1:], strict=False))


def test_alkane_formulas_and_molar_masses_follow_from_the_carbon_number():
    for row in reference("n_alkanes").rows:
        n = int(row["carbon_number"])
        carbon = f"C{n}" if n > 1 else "C"
        assert row["formula"] == f"{carbon}H{2 * n + 2}"
        # IUPAC conventional atomic masses 12.011 and 1.008
        assert float(row["molar_mass"]) == pytest.approx(12.011 * n + 1.008 * (2 * n + 2), abs=0.01)


@pytest.mark.parametrize("table", ["n_alkanes", "compounds", "gas_components"])
def test_cas_numbers_have_the_right_check_digit(table):
    checked = 0
    for row in reference(table).rows:
        if row["cas"]:
            digits = row["cas"].replace("-", "")
            total = sum(position * int(digit) for position, digit in enumerate(reversed(digits[:-1]), 1))
            assert total % 10 == int(digits[-1]), row["name"]
            checked += 1
    assert checked > 20


def test_compound_formulas_follow_from_their_structures():
    from rdkit import Chem
    from rdkit.Chem.rdMolDescriptors import CalcMolFormula

    for row in reference("compounds").rows:
        formula = CalcMolFormula(Chem.MolFromSmiles(row["smiles"]), separateIsotopes=False)
        plain = row["formula"]
        if "D" in plain:  # the table counts deuterium apart, the formula of the library does not here
            deuterium = int(plain.split("D")[1].split("Cl")[0] or 1) if plain.split("D")[1][:1].isdigit() else 1
            assert f"H{deuterium}" in formula
        else:
            assert formula == plain, row["name"]


def test_cuts_of_every_scheme_adjoin_without_gap_or_overlap():
    schemes = defaultdict(list)
    for row in reference("cut_schemes").rows:
        schemes[row["scheme"], row["kind"]].append((row["lower"], row["upper"]))
    assert len(schemes) >= 14
    for (name, kind), cuts in schemes.items():
        step = 1 if kind == "carbon number" else 0
        for (_, upper), (lower, _) in zip(cuts, cuts[1:], strict=False):
            assert float(lower) == float(upper) + step, name
        assert cuts[-1][1] == "", f"{name} does not end open"


@pytest.mark.parametrize("name", table_names())
def test_every_table_has_a_twin_that_tells_its_source_and_describes_its_columns(name):
    table = reference(name)
    for key in ("title", "source", "read_on", "read_by", "checked", "columns"):
        assert table.about.get(key), f"{name}.toml lacks {key}"
    assert list(table.about["columns"]) == list(table.rows[0]), name
    keys = [column for column, about in table.about["columns"].items() if about.get("key")]
    if keys:
        seen = [tuple(row[key] for key in keys) for row in table.rows]
        assert len(seen) == len(set(seen)), f"{name}: key columns repeat"
