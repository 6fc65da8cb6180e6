"""Measured phase temperatures of mixtures of known composition.

Sets A and B of 09b: eutectics of n-alkanes by calorimetry. Jet fuels: composition by class and carbon number from an open
data set, freezing points of the same fuels from memory. Mean deviations are held to the bar of 3 °C.
"""

import csv
from pathlib import Path

import numpy as np
import pytest
from oils import an_oil

from cutbook.coldflow.solid_liquid import EquilibriumSettings, appearance_k, solid_curve
from cutbook.coldflow.solid_properties import constant
from cutbook.model.cold import Components

DATA = Path(__file__).parent / "data"
FUELS = Path(__file__).resolve().parents[3] / "shared" / "data" / "carbon-number-tables"
BAR_K = 3.0
with (DATA / "09b_wax_measured.csv").open(encoding="utf-8") as _table:
    ROWS = list(csv.DictReader(_table))
EUTECTICS = [
    row for row in ROWS
    if row["quantity"].startswith("measured eutectic") and "ternary" not in row["quantity"]
]  # fmt: skip


def carbons(name):
    return int(name.removeprefix("n-C"))


def eutectic(light, heavy, settings):
    """The lowest temperature at which any mixture of the two is still all liquid, in K, and its mole fraction."""
    x = np.linspace(0.02, 0.5, 49)
    at = np.array([appearance_k(an_oil({light: 1.0 - one, heavy: one}, by_mole=True), settings) for one in x])
    return float(at.min()), float(x[int(at.argmin())])


def deviations(settings):
    return [
        eutectic(carbons(row["solvent"]), carbons(row["solute"]), settings)[0] - float(row["value"])
        for row in EUTECTICS
    ]


def test_measured_eutectics_are_met_within_the_bar():
    found = deviations(EquilibriumSettings())
    assert len(found) == 4
    assert np.mean(np.abs(found)) < BAR_K  # 1.2 K
    assert np.max(np.abs(found)) < BAR_K


def test_the_heat_capacity_brings_eutectics_nearer():
    counted = np.mean(np.abs(deviations(EquilibriumSettings())))
    left_out = np.mean(np.abs(deviations(EquilibriumSettings(heat_capacity="left out"))))
    assert counted < left_out


def test_one_crystal_for_all_is_wrong_for_two_short_even_chains():
    # why "whichever appears first": octane and decane do not share a crystal, and the eutectic would be 10 K too low
    octane_decane = deviations(EquilibriumSettings(solid="solid solution"))[0]
    assert octane_decane < -2 * BAR_K


def test_compositions_of_eutectics_are_met():
    # set A, rounded to 0.01; the model's optimum is flat
    for row in EUTECTICS[:2]:
        _, x = eutectic(carbons(row["solvent"]), carbons(row["solute"]), EquilibriumSettings())
        assert x == pytest.approx(float(row["composition"]), abs=0.03)


def test_the_ternary_eutectic_is_met_and_the_one_that_contradicts_its_own_paper_is_not_counted():
    rows = [row for row in ROWS if "ternary" in row["quantity"]]
    by_composition = {row["composition"]: float(row["value"]) for row in rows}
    light = an_oil({11: 86.0, 12: 10.0, 14: 4.0})
    assert appearance_k(light) == pytest.approx(by_composition["86/10/4"], abs=BAR_K)
    # 28 % of tetradecane liquid at 246.5 K: the same authors find 10 % at 246.9 K in undecane alone
    heavy = an_oil({11: 67.0, 12: 5.0, 14: 28.0})
    assert appearance_k(heavy) - by_composition["67/5/28"] > 2 * BAR_K


# freezing points (ASTM D5972 or D2386) of the reference fuels of the US National Jet Fuel Combustion Program, from memory
FREEZING_C = {"posf10264_init.csv": -49.0, "posf10289_init.csv": -50.0}


@pytest.mark.skipif(not FUELS.is_dir(), reason="the jet fuels are not at ../shared/data")
def test_jet_fuels_freeze_where_they_were_measured_to():
    differences = []
    for name, measured in FREEZING_C.items():
        alkanes, rest = {}, 0.0
        with (FUELS / name).open(encoding="utf-8-sig") as table:
            for row in csv.DictReader(table):
                share = float(row["Weight %"])
                if row["Compound"].startswith("n-C") and share > 0:
                    alkanes[int(row["Compound"][3:])] = share
                else:
                    rest += share
        assert sum(alkanes.values()) > 10
        oil = an_oil(alkanes, rest=rest, rest_carbons=11.2)  # mean molar mass 158 g/mol
        differences.append(appearance_k(oil) - 273.15 - measured)
    assert np.mean(np.abs(differences)) < BAR_K  # 1.7 K


def test_the_crude_of_set_c_holds_less_wax_than_if_every_carbon_number_were_n_alkane():
    # a bound, no more: the set says nothing of n-alkanes, its last fraction is 624 g/mol, its points were read from a plot
    rows = [row for row in ROWS if row["data_set"] == "C"]
    parts = [row for row in rows if row["quantity"].startswith("crude")]
    points = [row for row in rows if row["quantity"].startswith("measured precipitated")]
    molar = np.array([float(row["composition"]) for row in parts])
    moles = np.array([float(row["value"]) for row in parts])
    mass = molar * moles / (molar @ moles)
    chain = np.clip(np.rint((molar - 2.016) / 14.027), 1, 44)
    families = tuple("n-alkane" if n >= 7 else "rest" for n in chain)
    whole = Components(chain, families, mass, molar)
    t = np.array([float(row["composition"]) for row in points])
    curve = solid_curve(whole, t)
    wax = np.array([float(row["value"]) for row in points]) / 100.0
    assert len(points) >= 10
    assert np.all(wax <= np.asarray(curve.solid) + 0.005)


def test_wax_appears_later_on_cooling_than_it_goes_on_warming():
    lag = next(row for row in ROWS if row["data_set"] == "D")
    assert constant("cooling_lag") == float(lag["value"])
    assert constant("cooling_lag_u") == float(lag["uncertainty"])
