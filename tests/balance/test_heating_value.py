"""Heating values from elements: what is known, what is not, water, ash and chlorine."""

import pytest
from energy_streams import mass_fractions, shares
from hypothesis import given
from hypothesis import strategies as st

from cutbook.balance.heating_value import constant, heating_value
from cutbook.model.amount import budget, measured, nominal, standard_uncertainty
from cutbook.model.elements import ElementShare


@given(st.floats(0.0, 0.6), st.sampled_from(["C2H4", "C8H8", "C10H8O4", "C5H8O2", "C16H14O3"]))
def test_water_in_a_material_burns_to_nothing(water, formula):
    dry = heating_value("dry", shares(formula))
    of_water, of_dry = mass_fractions("H2O"), mass_fractions(formula)
    wet = {
        symbol: (1 - water) * of_dry.get(symbol, 0.0) + water * of_water.get(symbol, 0.0)
        for symbol in {*of_water, *of_dry}
    }
    found = heating_value("wet", shares(**wet), water=water)
    assert nominal(found.gross) == pytest.approx((1 - water) * nominal(dry.gross), rel=1e-4)
    # the net value pays for evaporating that water too
    latent = nominal(constant("evaporation of water at 25 °C"))
    assert nominal(found.net) == pytest.approx((1 - water) * nominal(dry.net) - water * latent, rel=1e-4, abs=1e-3)


@given(st.floats(0.0, 0.5))
def test_water_in_a_material_with_chlorine_burns_to_nothing_too(water):
    dry = heating_value("dry", shares("C2H3Cl"))
    of_water, of_dry = mass_fractions("H2O"), mass_fractions("C2H3Cl")
    wet = {s: (1 - water) * of_dry.get(s, 0.0) + water * of_water.get(s, 0.0) for s in {*of_water, *of_dry}}
    found = heating_value("wet", shares(**wet), water=water)
    latent = nominal(constant("evaporation of water at 25 °C"))
    assert nominal(found.gross) == pytest.approx((1 - water) * nominal(dry.gross), rel=1e-4)
    assert nominal(found.net) == pytest.approx((1 - water) * nominal(dry.net) - water * latent, rel=1e-4, abs=1e-3)


def test_net_is_below_gross_by_two_and_a_half_megajoule_a_kilogram_of_water():
    found = heating_value("PE", shares("C2H4"))
    # 14.37 % hydrogen make 1.284 kg of water for each kg
    assert nominal(found.gross) - nominal(found.net) == pytest.approx(2.442 * 8.936 * 0.14372, rel=1e-3)
    assert nominal(found.gross) == pytest.approx(0.3491 * 85.628 + 1.1783 * 14.372, rel=1e-4)


def test_a_char_of_carbon_alone_gives_what_carbon_gives():
    # 393.51 kJ/mol over 12.011 is 32.76 MJ/kg; the correlation has 34.91, which its hydrogen limit already says
    found = heating_value("char", shares(C=1.0))
    assert set(found.outside) == {"C", "H"}
    assert abs(nominal(found.gross) - 32.76) < 2 * standard_uncertainty(found.gross)


def test_carbon_or_hydrogen_that_nobody_knows_gives_no_value():
    assert heating_value("oil", shares(C="?", H=0.14)) is None
    assert heating_value("oil", shares(C=0.86, H="?")) is None


def test_a_share_within_close_bounds_is_used_with_the_doubt_of_a_rectangle():
    close = dict(shares(C=0.86)) | {"H": ElementShare(None, 0.13, 0.15)}
    found = heating_value("oil", close)
    sure = heating_value("oil", shares(C=0.86, H=0.14))
    assert nominal(found.gross) == pytest.approx(nominal(sure.gross))
    extra = 117.83 * 0.02 / 12**0.5
    assert standard_uncertainty(found.gross) == pytest.approx(
        (standard_uncertainty(sure.gross) ** 2 + extra**2) ** 0.5, rel=1e-3
    )
    assert "hydrogen of oil" in dict(budget(found.gross))


def test_oxygen_that_nobody_measured_is_anything_that_is_left():
    found = heating_value("oil", shares(C=0.80, H=0.12, O="?", N="?"))
    # 8 % are left: between none and all of it is oxygen, at -0.1034 MJ/kg a percent
    expected = 0.3491 * 80 + 1.1783 * 12 - 0.1034 * 4
    assert nominal(found.gross) == pytest.approx(expected, rel=1e-4)
    assert dict(budget(found.gross))["oxygen of oil"] == pytest.approx(0.1034 * 8 / 12**0.5, rel=0.01)


def test_chlorine_changes_the_way_and_widens_the_doubt():
    trace = heating_value("oil", shares(C=0.857, H=0.1425, Cl=0.0005))
    rich = heating_value("PVC", shares("C2H3Cl"))
    assert (trace.by, rich.by) == ("elements", "oxygen")
    assert standard_uncertainty(rich.net) / nominal(rich.net) == pytest.approx(0.78 / 13.10, rel=1e-6)
    # what the correlation would say of it, 19.1 MJ/kg, is 1.5 MJ/kg above every published figure
    assert nominal(rich.gross) < 18.0


def test_ash_takes_its_part():
    clean = heating_value("char", shares(C=0.90, H=0.03))
    ashy = heating_value("char", shares(C=0.45, H=0.015), ash=0.5)
    assert nominal(ashy.gross) == pytest.approx(0.5 * nominal(clean.gross) - 0.0211 * 50, rel=1e-3)


def test_the_analysis_stays_one_variable():
    carbon = measured(0.86, 0.005, "carbon in oil")
    found = heating_value("oil", dict(shares(H=0.14)) | {"C": ElementShare(carbon)})
    assert standard_uncertainty(found.gross / found.gross - 1) == pytest.approx(0, abs=1e-12)
    assert dict(budget(found.gross))["carbon in oil"] == pytest.approx(34.91 * 0.005, rel=0.01)
