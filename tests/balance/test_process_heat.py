"""Heat of the process and energy of the burner: parts, ends, what is declared."""

import pytest

from cutbook.balance.burner_fuel import burner_energy
from cutbook.balance.process_heat import process_heat
from cutbook.model.amount import measured
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step

SHEET = Source("run.toml", "ab" * 32)


def heat(masses, peak=450.0, feed=1000.0):
    return process_heat({name: measured(g, 0.0, name) for name, g in masses.items()}, feed, Step("charge/1"), peak)


def test_a_kilogram_of_polyethylene_by_hand():
    found = heat({"PE": 1000.0})
    # all lower and all upper ends: 1.8 x 85 and 2.8 x 115, 100 and 250, 2.2 x 315 and 2.9 x 345 J/g, 70 kJ/mol over
    # 250 g/mol and 90 over 80, 200 and 310 J/g
    low = 0.153 + 0.100 + 0.693 + 0.280 + 0.200
    high = 0.322 + 0.250 + 1.0005 + 1.125 + 0.310
    assert (found.low, found.high) == (pytest.approx(low), pytest.approx(high))
    assert found.energy.value == pytest.approx((low + high) / 2)
    assert found.energy.u == pytest.approx((high - low) / 12**0.5)
    assert found.energy.unit == "MJ"
    parts = {part.name: (part.low, part.high) for part in found.parts}
    assert parts["warming the solid"] == pytest.approx((1.8 * 85 / 1000, 2.8 * 115 / 1000))
    assert parts["cracking"] == pytest.approx((70 / 250, 90 / 80))


def test_hotter_takes_more_by_the_heat_of_the_melt():
    difference = heat({"PE": 1000.0}, 500.0).energy.value - heat({"PE": 1000.0}, 450.0).energy.value
    assert difference == pytest.approx(2.55 * 50 / 1000)


def test_only_polyolefins_count_and_their_share_is_told():
    found = heat({"PE": 600.0, "PET": 300.0}, feed=1000.0)
    assert found.polymers == ("PE",)
    assert found.covered == pytest.approx(60.0)
    assert found.energy.value == pytest.approx(0.6 * heat({"PE": 1000.0}).energy.value)
    assert heat({"PET": 500.0}) is None


@pytest.mark.parametrize("peak", [None, 90.0, 1200.0])
def test_without_a_credible_peak_temperature_one_is_assumed(peak):
    found = process_heat({"PE": measured(1.0, 0.0, "PE")}, 1.0, Step("charge/1"), peak)
    assert found.assumed
    assert found.peak_c == 450.0
    assert not heat({"PE": 1.0}, 455.0).assumed


def entered(value, u, unit, text):
    return Entered(value, u, unit, text, True)


def test_fuel_by_weight_gives_its_net_heating_value():
    found = burner_energy("propane", entered(420.0, 10.0, "g", "0.42 ± 0.01 kg"), None, SHEET)
    # 46.1 MJ/kg in the middle of the range
    assert found.energy.value == pytest.approx(0.42 * 46.1)
    assert found.energy.u == pytest.approx(((0.01 * 46.1) ** 2 + (0.42 * 0.6 / 12**0.5) ** 2) ** 0.5, rel=1e-4)
    assert found.used == "0.42 ± 0.01 kg propane"


def test_fuel_by_volume_takes_its_density():
    found = burner_energy("diesel", entered(1000.0, 10.0, "mL", "1.00 L"), None, SHEET)
    assert found.energy.value == pytest.approx(0.8325 * 42.75)
    gas = burner_energy("natural gas", entered(1e6, 1e4, "mL", "1.00 m³"), None, SHEET)
    assert gas.energy.value == pytest.approx(0.765 * 43.0)


def test_electricity_is_added_as_metered():
    alone = burner_energy("", None, entered(18.36, 0.1, "MJ", "5.1 kWh"), SHEET)
    assert (alone.fuel, alone.energy.value) == ("", pytest.approx(18.36))
    both = burner_energy("propane", entered(100.0, 1.0, "g", "100 g"), entered(18.36, 0.1, "MJ", "5.1 kWh"), SHEET)
    assert both.energy.value == pytest.approx(4.61 + 18.36)
    assert both.used == "100 g propane and 5.1 kWh electricity"


def test_a_fuel_without_an_amount_tells_nothing():
    assert burner_energy("propane", None, None, SHEET) is None
