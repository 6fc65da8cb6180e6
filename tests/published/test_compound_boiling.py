"""Boiling points and vapour pressures of compounds against a second source.

Second source: the chemicals library, which carries the CRC Handbook's boiling points and the correlations of Perry's
Handbook, McGarry (Wagner equation) and the VDI Heat Atlas; for indene the Merck Index.
"""

import numpy as np
import pytest

from cutbook.fractions.compound_boiling import compound_boiling, compound_names, compound_pressure_kpa
from cutbook.model.errors import InputError
from cutbook.model.tables import reference

chemicals = pytest.importorskip("chemicals")
CAS = {row["name"]: row["cas"] for row in reference("compound_boiling").rows}


def second_pressure(cas):
    """A vapour pressure law in kPa of another source than ours, and its name."""
    from chemicals import vapor_pressure as tables
    from chemicals.dippr import EQ101

    if cas in tables.Psat_data_Perrys2_8.index:
        r = tables.Psat_data_Perrys2_8.loc[cas]
        return lambda t: EQ101(t + 273.15, r.C1, r.C2, r.C3, r.C4, r.C5) / 1000
    if cas in tables.Psat_data_WagnerMcGarry.index:
        r = tables.Psat_data_WagnerMcGarry.loc[cas]
        return lambda t: tables.Wagner_original(t + 273.15, r.Tc, r.Pc, r.A, r.B, r.C, r.D) / 1000
    if cas in tables.Psat_data_VDI_PPDS_3.index:
        r = tables.Psat_data_VDI_PPDS_3.loc[cas]
        return lambda t: tables.Wagner(t + 273.15, r.Tc, r.Pc, r.A, r.B, r.C, r.D) / 1000
    return None


def boiling_at(pressure_kpa, law):
    from scipy.optimize import brentq

    return brentq(lambda t: np.log(float(law(t)) / pressure_kpa), -60.0, 420.0)


@pytest.mark.parametrize("name", compound_names())
def test_boiling_points_agree_with_a_second_source(name):
    others = [chemicals.Tb(CAS[name], method=method) - 273.15
              for method in ("CRC_ORG", "COMMON_CHEMISTRY") if method in chemicals.Tb_methods(CAS[name])]  # fmt: skip
    assert others
    assert min(abs(compound_boiling(name).boiling_c - other) for other in others) <= 2.0
    assert compound_boiling(name).molar_mass == pytest.approx(chemicals.MW(CAS[name]), abs=0.02)


@pytest.mark.parametrize("name", compound_names())
@pytest.mark.parametrize("pressure_kpa", [5.0, 20.0, 101.325])
def test_compounds_boil_under_reduced_pressure_where_a_second_source_says(name, pressure_kpa):
    other = second_pressure(CAS[name])
    if other is None:
        pytest.skip("no second source for its vapour pressure")
    ours = boiling_at(pressure_kpa, lambda t: compound_pressure_kpa(compound_boiling(name), t))
    assert ours == pytest.approx(boiling_at(pressure_kpa, other), abs=2.0)


@pytest.mark.parametrize(("mmhg", "boiling_c"), [(400, 157.8), (100, 114.7), (40, 90.7), (10, 58.5)])
def test_indene_boils_as_the_merck_index_says(mmhg, boiling_c):
    ours = boiling_at(mmhg * 101.325 / 760, lambda t: compound_pressure_kpa(compound_boiling("indene"), t))
    assert ours == pytest.approx(boiling_c, abs=2.5)


def test_enough_compounds_have_a_second_source():
    assert sum(second_pressure(cas) is not None for cas in CAS.values()) >= 30


@pytest.mark.parametrize("name", compound_names())
def test_pressure_rises_without_a_step_within_and_beyond_the_range_of_the_constants(name):
    at = np.linspace(-40.0, 450.0, 981)
    log_p = np.log(compound_pressure_kpa(compound_boiling(name), at))
    assert np.all(np.diff(log_p) > 0)
    assert np.max(np.abs(np.diff(log_p, 2))) < 0.01


def test_a_compound_is_found_by_its_other_names_and_a_mistyped_one_is_refused():
    assert compound_boiling("Benzol").name == "benzene"
    assert compound_boiling(" 1,2-dichlorobenzene ").name == "1,2-dichlorobenzene"
    with pytest.raises(InputError, match="Did you mean 'chlorobenzene'"):
        compound_boiling("chlorbenzene")


def test_names_and_numbers_are_those_of_the_table_of_compounds():
    compounds = reference("compounds").by("name")
    shared = [name for name in compound_names() if name in compounds]
    assert len(shared) >= 15
    for name in shared:
        assert compounds[name]["cas"] == CAS[name]
