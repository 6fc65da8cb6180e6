"""Detector responses computed from structures against independently computed and published values."""

import csv
from pathlib import Path

import pytest

from cutbook.model.tables import reference
from cutbook.quantitation.response import alkane_response, effective_carbon_number, relative_response

DATA = Path(__file__).parents[1] / "published" / "data"


def smiles_of(name):
    plain = {"n-heptane": "C" * 7, "n-decane": "C" * 10, "n-hexadecane": "C" * 16}
    return plain.get(name) or reference("compounds").by("name")[name]["smiles"]


def rows(file):
    with (DATA / file).open(encoding="utf-8") as table:
        return [(row["species"].split(" (")[0], float(row["value"])) for row in csv.DictReader(table)]


def combustion_rows():
    with (DATA / "05b_combustion_enthalpy.csv").open(encoding="utf-8") as table:
        relative = [row for row in csv.DictReader(table) if "n-heptane 1" in row["table"]]
    return [(row["species"].split(" (")[0], float(row["value"])) for row in relative]


@pytest.mark.parametrize(("name", "expected"), rows("05_effective_carbon_number.csv"))
def test_effective_carbon_numbers_counted_from_the_structure_give_the_hand_counted_responses(name, expected):
    assert relative_response(smiles_of(name)).effective_carbon_number == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize(("name", "expected"), combustion_rows())
def test_combustion_enthalpy_model_gives_the_values_of_its_published_constants(name, expected):
    assert relative_response(smiles_of(name)).combustion_enthalpy == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize(("name", "measured"), [("benzene", 1.12), ("toluene", 1.07)])
def test_measured_sensitivities_of_dietz_lie_within_three_standard_uncertainties(name, measured):
    # Dietz, J. Gas Chromatogr. 5 (1967) 68, Table I
    response = relative_response(smiles_of(name))
    assert abs(response.value - measured) <= 3 * response.u


def test_the_difference_of_the_models_is_the_uncertainty():
    response = relative_response(smiles_of("chlorobenzene"))
    difference = response.effective_carbon_number - response.combustion_enthalpy
    assert response.u == pytest.approx(difference / 3**0.5)


def test_alkanes_answer_alike_per_gram():
    assert alkane_response(7) == pytest.approx(1.0)
    assert all(0.95 < alkane_response(n) < 1.03 for n in range(5, 61))
    assert effective_carbon_number("C" * 12) == 12.0
