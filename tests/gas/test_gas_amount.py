"""Volume to mass: hand calculations, and the saturation pressure of a reference library."""

import pytest

from cutbook.gas.air import product_gas
from cutbook.gas.amount import gas_amount, saturation_kpa
from cutbook.gas.substances import substances
from cutbook.model.amount import measured, nominal, standard_uncertainty
from cutbook.model.errors import InputError
from cutbook.model.gas import GasComposition
from cutbook.model.lineage import Source, Step
from cutbook.model.run import Product
from cutbook.model.units import parse_quantity

SHEET = Source("run.toml", "0" * 64)


def entry(volume="212 L", temperature="19 °C", pressure="100.9 kPa", wet=True):
    def read(text, dimension):
        return parse_quantity(text, dimension, "run.toml", dimension)

    return Product("gas", "[[product]] 2", volume=read(volume, "volume"), temperature=read(temperature, "temperature"),
                   pressure=read(pressure, "pressure"), wet=wet)  # fmt: skip


def of(shares):
    amounts = {name: measured(share, 0.02 * share, f"analysis of {name}") for name, share in shares.items()}
    whole = sum(amounts.values())
    analysed = GasComposition({n: a / whole for n, a in amounts.items()}, {}, (), 1.0, Step("given/1"))
    return analysed, product_gas(analysed, "none", "gas")


GAS = {"methane": 0.5, "propene": 0.5, "nitrogen": 0.0, "oxygen": 0.0}


@pytest.mark.parametrize("celsius", [0.01, 5, 10, 15, 19, 20, 25, 37, 50, 75, 100])
def test_the_saturation_pressure_is_that_of_a_reference_library(celsius):
    """chemicals library: saturation pressure of IAPWS-95."""
    from chemicals.iapws import iapws95_Psat

    assert nominal(saturation_kpa(celsius)) == pytest.approx(iapws95_Psat(celsius + 273.15) / 1000, rel=1e-3)


def test_water_boils_at_one_atmosphere_and_has_its_triple_point():
    """IAPWS SR1-86: 0.611657 kPa at 0.01 °C; 101.325 kPa at 99.974 °C."""
    assert nominal(saturation_kpa(0.01)) == pytest.approx(0.611657, rel=2e-4)
    assert nominal(saturation_kpa(99.974)) == pytest.approx(101.325, rel=2e-4)
    assert nominal(saturation_kpa(19.0)) == pytest.approx(2.2, abs=0.01)


def test_a_wet_volume_becomes_the_mass_of_a_hand_calculation():
    """212 L at 19 °C and 100.9 kPa over water: n = (p - pw) V/(R T), and a compression factor of 0.991 by hand."""
    analysed, product = of(GAS)
    found = gas_amount(entry(), analysed, product, SHEET)
    pw = 2.1982  # kPa, saturated at 19 °C (steam tables)
    ideal = (100.9 - pw) * 212 / (8.314462 * 292.15)
    x_water = pw / 100.9
    # summation factors at 19 °C between those of 15 and 20 °C, by hand
    s = {"methane": 0.04344, "propene": 0.1233, "water": 0.2222}
    z = 1 - 100.9 / 101.325 * (0.5 * (1 - x_water) * (s["methane"] + s["propene"]) + x_water * s["water"]) ** 2
    expected = ideal / z * (0.5 * 16.04246 + 0.5 * 42.08)
    assert found.mass.value == pytest.approx(expected, rel=1e-3)
    assert found.water.value == pytest.approx(100 * x_water, rel=3e-3)


def test_dry_gas_of_the_same_volume_is_heavier_by_its_water():
    analysed, product = of(GAS)
    wet = gas_amount(entry(), analysed, product, SHEET)
    dry = gas_amount(entry(wet=False), analysed, product, SHEET)
    assert dry.water.value == 0
    assert wet.product.value / dry.product.value == pytest.approx(1 - 2.1982 / 100.9, abs=1e-3)  # and Z


def test_what_nobody_says_about_humidity_is_between_wet_and_dry_with_that_doubt():
    analysed, product = of(GAS)
    wet, dry, unsaid = (gas_amount(entry(wet=wet), analysed, product, SHEET) for wet in (True, False, None))
    assert wet.mass.value < unsaid.mass.value < dry.mass.value
    assert {one.code for one in unsaid.mass.step.cautions} == {"gas.humidity_not_stated"}
    tags = dict(unsaid.mass.budget)
    assert tags["whether gas was wet"] == pytest.approx((dry.mass.value - wet.mass.value) / 12**0.5, rel=0.01)


def test_air_in_the_bag_is_no_mass_of_product():
    air = {"nitrogen": 0.78084, "oxygen": 0.20946}
    mixed = {name: 0.8 * GAS.get(name, 0.0) + 0.2 * air.get(name, 0.0) for name in GAS}
    whole, part = (gas_amount(entry(), *of(shares), SHEET) for shares in (GAS, mixed))
    assert part.mass.value == pytest.approx(0.8 * whole.mass.value, rel=5e-3)


def test_the_budget_names_what_the_mass_hangs_on_and_adds_up():
    analysed, product = of(GAS)
    found = gas_amount(entry("212 ± 4 L", "19 ± 1 °C", "100.9 ± 0.3 kPa"), analysed, product, SHEET)
    budget = dict(found.mass.budget)
    assert budget["volume of gas"] == pytest.approx(found.mass.value * 4 / 212, rel=1e-3)
    assert {"temperature of gas", "pressure of gas", "analysis of propene", "saturation of gas with water"} <= set(
        budget
    )
    assert sum(part**2 for part in budget.values()) == pytest.approx(found.mass.u**2, rel=1e-9)


def test_the_uncertainty_is_that_of_a_monte_carlo():
    """5000 draws of volume, temperature, pressure and composition through the equations (JCGM 101)."""
    import random

    analysed, product = of({"methane": 0.5, "propene": 0.5})
    found = gas_amount(entry("212 ± 6 L", "19 ± 3 °C", "100.9 ± 1 kPa"), analysed, product, SHEET)
    draw = random.Random(7)
    masses = []
    for _ in range(5000):
        v, t, p = draw.gauss(212, 6), draw.gauss(19, 3), draw.gauss(100.9, 1)
        x, y = draw.gauss(0.5, 0.01), draw.gauss(0.5, 0.01)
        water = nominal(saturation_kpa(t)) * (1 + draw.gauss(0, 0.05))
        molar = (x * nominal(substances()["methane"].molar_mass) + y * nominal(substances()["propene"].molar_mass)) / (
            x + y
        )
        masses.append((p - water) * v / (8.314462 * (t + 273.15)) * molar)
    mean = sum(masses) / len(masses)
    spread = (sum((m - mean) ** 2 for m in masses) / (len(masses) - 1)) ** 0.5
    assert standard_uncertainty(found.mass.amount) == pytest.approx(spread, rel=0.05)


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"temperature": "300 °C"}, "-20 to 100 °C"),
        ({"pressure": "0 kPa"}, "a pressure above 0"),
        ({"temperature": "99 °C", "pressure": "90 kPa"}, "water would fill it"),
    ],
)
def test_a_state_that_no_gas_is_measured_in_is_refused(changed, told):
    with pytest.raises(InputError, match=told):
        gas_amount(entry(**changed), *of(GAS), SHEET)


@pytest.mark.parametrize(
    ("temperature", "told"), [("-1 °C", False), ("25 °C", False), ("26 °C", True), ("-6 °C", True)]
)
def test_summation_factors_far_outside_their_temperatures_are_told(temperature, told):
    found = gas_amount(entry(temperature=temperature, wet=False), *of(GAS), SHEET)
    assert ("gas.compression_held" in {one.code for one in found.mass.step.cautions}) == told
    # those of 0 or 20 °C, by hand
    s = {"methane": 0.04886, "propene": 0.1378} if "-" in temperature else {"methane": 0.04317, "propene": 0.1225}
    z = 1 - 100.9 / 101.325 * (0.5 * (s["methane"] + s["propene"])) ** 2
    kelvin = float(temperature.split()[0]) + 273.15
    assert found.total.value == pytest.approx(100.9 * 212 / (z * 8.314462618 * kelvin), rel=1e-6)
