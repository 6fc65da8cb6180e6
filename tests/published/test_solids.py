"""Solid properties and ideal solubility against handbook values, and the traps of their tables."""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from oils import an_oil

from cutbook.coldflow.liquid_activity import molar_volume_ml_mol, solubility_parameter
from cutbook.coldflow.solid_liquid import EquilibriumSettings, appearance_k
from cutbook.coldflow.solid_properties import (
    ln_solubility,
    orthorhombic_melting_k,
    pure_solids,
    total_enthalpy_j_mol,
    vaporisation_j_mol,
)
from cutbook.model.tables import reference

DATA = Path(__file__).parent / "data"
ALONE = EquilibriumSettings(solid="pure solids", heat_capacity="left out")


def rows_of(name):
    with (DATA / name).open(encoding="utf-8") as table:
        return list(csv.DictReader(table))


def table():
    return {int(row["carbon_number"]): row for row in reference("n_alkane_solid").rows}


def published(quantity, source):
    return {
        int(row["n"]): float(row["value"])
        for row in rows_of("09_n_alkane_solid_data.csv")
        if row["quantity"] == quantity and source in row["source"]
    }


# ---- the table ---------------------------------------------------------------------------------------------------


def test_melting_temperatures_are_those_of_the_handbook_to_its_last_digit():
    ours = table()
    theirs = published("fusion temperature", "CRC_ORG")
    assert len(theirs) >= 35
    for n, melting in theirs.items():
        assert float(ours[n]["melting_k"]) == pytest.approx(melting, abs=0.006), n


@pytest.mark.parametrize(("source", "out", "bar"), [
    ("COMMON_CHEMISTRY", {9, 24, 28, 38}, 1.5),
    ("WEBBOOK", {37, 41}, 2.1),
    ("OPEN_NTBKM", set(), 2.3),
])  # fmt: skip
def test_melting_temperatures_agree_with_a_second_source(source, out, bar):
    ours = table()
    theirs = {n: t for n, t in published("fusion temperature", source).items() if n not in out}
    assert len(theirs) >= 25
    differences = [abs(float(ours[n]["melting_k"]) - t) for n, t in theirs.items()]
    assert max(differences) <= bar
    assert np.median(differences) <= 0.4


def test_misread_melting_temperatures_did_not_get_into_the_table():
    ours = table()
    wrong = published("fusion temperature", "WEBBOOK")
    for n in (37, 41):  # 319.9 K and 342.1 K, below their neighbours
        assert abs(float(ours[n]["melting_k"]) - wrong[n]) > 10
    melting = [float(ours[n]["melting_k"]) for n in range(8, 61)]
    assert np.all(np.diff(melting) > 0)


def test_melting_temperatures_follow_the_published_laws():
    ours = table()
    for n in range(45, 61):  # Broadhurst 1962, stated for n > 44
        assert float(ours[n]["melting_k"]) == pytest.approx(414.3 * (n - 1.5) / (n + 5.0), abs=1.0)
    for n in range(15, 61):  # Coutinho and Daridon 2001; even chains up to C20 melt from another crystal
        assert float(ours[n]["melting_k"]) == pytest.approx(
            float(orthorhombic_melting_k(n)), abs=2.0 if n < 20 else 1.0
        )


def test_enthalpies_are_those_of_the_handbook_and_contain_the_transition_once():
    ours = table()
    for n, fusion in published("fusion enthalpy", "CRC").items():
        if n != 46:  # 176.0 kJ/mol, more than C50
            assert float(ours[n]["fusion_j_mol"]) == fusion, n
    for n, row in ours.items():
        assert (row["includes_transition"] == "yes") == (n >= 37)
        assert not (row["includes_transition"] == "yes" and row["transition_j_mol"])
        if n >= 17:  # the line of Coutinho and Daridon; a transition counted twice would be 25 % off
            whole = float(row["fusion_j_mol"]) + float(row["transition_j_mol"] or 0)
            assert whole == pytest.approx(float(total_enthalpy_j_mol(n)), rel=0.13), n


def test_transitions_are_those_of_the_list_and_lie_below_melting():
    ours = table()
    temperatures = published("solid-solid transition temperature", "")
    enthalpies = published("solid-solid transition enthalpy", "")
    assert len(temperatures) >= 17
    for n, t in temperatures.items():
        assert float(ours[n]["transition_k"]) == t
        assert float(ours[n]["transition_j_mol"]) == enthalpies[n]
    for row in ours.values():
        if row["transition_k"]:
            assert float(row["transition_k"]) < float(row["melting_k"])


def test_alkenes_melt_below_their_alkanes_and_agree_with_a_second_source():
    ours = table()
    last = 0.0
    compared = 0
    for row in reference("alkene_solid").rows:
        n, melting = int(row["carbon_number"]), float(row["melting_k"])
        assert melting > last
        last = melting
        assert melting < float(ours[n]["melting_k"])
        if row["second_melting_k"]:
            compared += 1
            assert melting == pytest.approx(float(row["second_melting_k"]), abs=0.7)
    assert compared >= 17


def test_enthalpies_of_vaporisation_agree_with_a_library():
    from chemicals import phase_change

    column = phase_change.Hvap_data_CRC["Hvap298"].dropna()
    compared = 0
    for row in reference("n_alkanes").rows:
        n = int(row["carbon_number"])
        if 5 <= n <= 20 and row["cas"] in column.index:
            compared += 1
            assert float(vaporisation_j_mol(n)) == pytest.approx(float(column[row["cas"]]), rel=0.03), n
    assert compared >= 8


@pytest.mark.parametrize(("n", "density"), [(6, 0.6548), (8, 0.6986), (10, 0.7264), (12, 0.7452), (16, 0.7701)])
def test_molar_volumes_agree_with_densities_at_25_degrees(n, density):
    # densities of the CRC Handbook, from memory
    molar_mass = 12.011 * n + 1.008 * (2 * n + 2)
    ours = float(molar_volume_ml_mol(np.array([298.15]), np.array([float(n)]))[0, 0])
    assert ours == pytest.approx(molar_mass / density, rel=0.01)


@pytest.mark.parametrize(("n", "delta"), [(7, 7.41), (10, 7.71), (20, 8.09), (30, 8.25)])
def test_solubility_parameters_agree_with_those_of_won(n, delta):
    # Won, Fluid Phase Equilib. 30 (1986) 265, as transcribed in public code beside the crude of set C
    assert float(solubility_parameter(np.array([float(n)]))[0]) == pytest.approx(delta, abs=0.1)


# ---- ideal solubility --------------------------------------------------------------------------------------------

SOLUBILITY = [row for row in rows_of("09_wax_solubility.csv") if row["quantity"].startswith("ideal solubility")]
APPEARANCE = [row for row in rows_of("09_wax_solubility.csv") if row["quantity"].startswith("appearance temperature")]


def solids_of(solute, transition):
    solids = pure_solids(an_oil({int(solute.removeprefix("n-C")): 1.0}))
    return solids if transition else replace(solids, transition_j_mol=np.zeros(1))


@pytest.mark.parametrize("row", SOLUBILITY, ids=lambda row: f"{row['solute']} {row['T_K']} {row['quantity'][17:24]}")
def test_ideal_solubility(row):
    with_transition = "with solid-solid" in row["quantity"]
    tolerance = 0.02 if row["tolerance"].startswith("2 %") else 1e-4
    solids = solids_of(row["solute"], with_transition)
    ours = np.exp(ln_solubility([float(row["T_K"])], solids, "left out"))[0, 0]
    assert ours == pytest.approx(float(row["value"]), rel=tolerance)


@pytest.mark.parametrize("row", APPEARANCE, ids=lambda row: row["solute"])
def test_appearance_temperature_without_transition(row):
    solute, x = row["solute"].split(" at x=")
    solids = solids_of(solute, False)
    t = float(row["value"])
    low, high = (float(np.exp(ln_solubility([t + d], solids, "left out"))[0, 0]) for d in (-0.05, 0.05))
    assert low <= float(x) <= high


def test_every_row_of_the_solubility_table_is_tried_or_is_a_statement():
    rest = [row for row in rows_of("09_wax_solubility.csv") if row not in SOLUBILITY and row not in APPEARANCE]
    assert len(SOLUBILITY) >= 55 and len(APPEARANCE) == 15
    assert all(row["T_K"] == "" for row in rest)


def test_a_transition_counted_twice_is_noticed():
    # C38: the handbook's enthalpy holds the transition; the line of Coutinho and Daridon would add 30 kJ/mol more
    solids = pure_solids(an_oil({38: 1.0}))
    once = float(ln_solubility([300.0], solids, "left out")[0, 0])
    twice = replace(solids, transition_k=np.array([345.0]), transition_j_mol=np.array([30000.0]))
    assert float(ln_solubility([300.0], twice, "left out")[0, 0]) < once - 1.5
    assert solids.transition_j_mol[0] == 0.0


# ---- melting -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("n", range(8, 61))
def test_a_pure_alkane_melts_where_the_table_says(n):
    assert appearance_k(an_oil({n: 1.0})) == pytest.approx(float(table()[n]["melting_k"]), abs=0.1)


@pytest.mark.parametrize(("n", "melting_c"), [(16, 18), (20, 37), (24, 51), (28, 61)])
def test_known_alkanes_melt_where_every_chemist_expects(n, melting_c):
    assert appearance_k(an_oil({n: 1.0})) - 273.15 == pytest.approx(melting_c, abs=1.0)


def test_the_ideal_binary_eutectic_is_where_both_curves_cross():
    from scipy.optimize import brentq

    def saturation(n, t):
        return float(np.exp(ln_solubility([t], pure_solids(an_oil({n: 1.0})), "left out"))[0, 0])

    crossing = brentq(lambda t: saturation(8, t) + saturation(10, t) - 1.0, 200.0, 216.0)
    oil = an_oil({8: saturation(8, crossing), 10: saturation(10, crossing)}, by_mole=True)
    assert appearance_k(oil, ALONE) == pytest.approx(crossing, abs=0.01)
    assert crossing == pytest.approx(213.67, abs=0.02)  # 09b, set A, ideal prediction
