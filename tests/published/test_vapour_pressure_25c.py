"""Vapour pressures at 25 °C against the tables that they were computed from, and against second ones.

Sources, carried by the chemicals library: Landolt-Börnstein (Antoine constants in kelvin and pascal, natural
logarithm), Perry's Chemical Engineers' Handbook, 8th ed., table 2-8, and the VDI Heat Atlas (2010).
"""

import math

import pytest

from cutbook.identification.target_table import target_named
from cutbook.model.tables import reference

chemicals = pytest.importorskip("chemicals")
ROWS = {row["name"]: row for row in reference("vapour_pressure_25c").rows}
AT_K = 298.15


def tables():
    from chemicals import vapor_pressure

    return vapor_pressure


@pytest.mark.parametrize("name", ROWS)
def test_pressures_are_those_of_landolt_bornstein(name):
    row = ROWS[name]
    constants = tables().Psat_data_Landolt_Antoine.loc[row["cas"]]
    expected_kpa = math.exp(constants.A - constants.B / (AT_K + constants.C)) / 1000
    assert float(row["pressure_kpa"]) == pytest.approx(expected_kpa, abs=6e-4)
    assert row["cas"] == target_named(name).cas


@pytest.mark.parametrize("name", ["chlorobenzene", "1,2-dichlorobenzene", "1,4-dichlorobenzene"])
def test_perrys_handbook_agrees_within_the_uncertainty(name):
    from chemicals.dippr import EQ101

    row = ROWS[name]
    r = tables().Psat_data_Perrys2_8.loc[row["cas"]]
    other = EQ101(AT_K, r.C1, r.C2, r.C3, r.C4, r.C5) / 1000
    assert float(row["pressure_kpa"]) == pytest.approx(other, abs=2 * float(row["u_kpa"]))


@pytest.mark.parametrize("name", ["chlorobenzene", "benzyl chloride"])
def test_the_heat_atlas_agrees_within_the_uncertainty(name):
    row = ROWS[name]
    r = tables().Psat_data_VDI_PPDS_3.loc[row["cas"]]
    other = tables().Wagner(AT_K, r.Tc, r.Pc, r.A, r.B, r.C, r.D) / 1000
    assert float(row["pressure_kpa"]) == pytest.approx(other, abs=2 * float(row["u_kpa"]))
