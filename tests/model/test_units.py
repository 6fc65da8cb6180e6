"""Quantities as written on the bench."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from cutbook.model.errors import UnitError
from cutbook.model.units import known_units, parse_factor, parse_quantity


def read(text, dimension="mass"):
    return parse_quantity(text, dimension, "run.toml", "[[product]] 1, mass")


@pytest.mark.parametrize(
    ("text", "dimension", "value", "u", "stated"),
    [
        ("812.4 ± 0.5 g", "mass", 812.4, 0.5, True),
        ("812.4 +/- 0.5 g", "mass", 812.4, 0.5, True),
        ("812.4 g ± 0.5 g", "mass", 812.4, 0.5, True),
        ("812.4 g ± 0.5", "mass", 812.4, 0.5, True),
        ("812.4g", "mass", 812.4, 0.1 / math.sqrt(12), False),
        ("1,5 kg", "mass", 1500, 100 / math.sqrt(12), False),
        ("1.2e-3 kg", "mass", 1.2, 0.1 / math.sqrt(12), False),
        ("0 g", "mass", 0, 1 / math.sqrt(12), False),
        ("-5 °C", "temperature", -5, 1 / math.sqrt(12), False),
        ("300.0 ± 1.8 °F", "temperature", (300 - 32) / 1.8, 1.0, True),
        ("300 K", "temperature", 26.85, 1 / math.sqrt(12), False),
        ("212 L", "volume", 212_000, 1000 / math.sqrt(12), False),
        ("760 mmHg", "pressure", 101.325, 0.133322 / math.sqrt(12), False),
        ("1.2 %", "fraction", 0.012, 0.001 / math.sqrt(12), False),
        ("42 mg/kg", "fraction", 42e-6, 1e-6 / math.sqrt(12), False),
        ("0.012", "fraction", 0.012, 0.001 / math.sqrt(12), False),
        ("792 kg/m3", "density", 0.792, 0.001 / math.sqrt(12), False),
        ("90 s", "time", 1.5, 1 / 60 / math.sqrt(12), False),
        ("10000 kcal/kg", "heating value", 41.868, 0.0041868 / math.sqrt(12), False),
        ("10000 cal/g", "heating value", 41.868, 0.0041868 / math.sqrt(12), False),
        ("10.000 kcal/g", "heating value", 41.868, 0.0041868 / math.sqrt(12), False),
        ("45.2 ± 0.1 MJ/kg", "heating value", 45.2, 0.1, True),
        ("45.2 kJ/g", "heating value", 45.2, 0.1 / math.sqrt(12), False),
        ("45200 kJ/kg", "heating value", 45.2, 0.001 / math.sqrt(12), False),
        ("19430 BTU/lb", "heating value", 45.19418, 0.002326 / math.sqrt(12), False),
        ("19430 Btu/lb", "heating value", 45.19418, 0.002326 / math.sqrt(12), False),
        ("12.5 kWh/kg", "heating value", 45.0, 0.36 / math.sqrt(12), False),
        ("5.1 kWh", "energy", 18.36, 0.36 / math.sqrt(12), False),
        ("18.4 ± 0.2 MJ", "energy", 18.4, 0.2, True),
        ("17400 BTU", "energy", 18.35797, 0.001055056 / math.sqrt(12), False),
    ],
)
def test_a_quantity_is_read_in_bench_units_with_its_uncertainty(text, dimension, value, u, stated):
    entered = read(text, dimension)
    assert entered.value == pytest.approx(value, rel=1e-5, abs=1e-9)
    assert entered.u == pytest.approx(u, rel=1e-4)
    assert entered.u_stated is stated


@pytest.mark.parametrize(
    ("text", "dimension", "line"),
    [
        (
            "212 L",
            "mass",
            'run.toml, [[product]] 1, mass: found "212 L", a volume; expected a mass with its unit, such as "812.4 g". '
            "Give the volume as volume, with a density (or, for a gas, temperature and pressure).",
        ),
        (
            812.4,
            "mass",
            "run.toml, [[product]] 1, mass: found 812.4, a number without a unit; expected a mass with its unit, such "
            'as "812.4 g". Write "812.4 g" if that is the unit.',
        ),
        (
            "812.4",
            "mass",
            'run.toml, [[product]] 1, mass: found "812.4", no unit; expected a mass with its unit, such as "812.4 g". '
            'Write "812.4 g" if that is the unit.',
        ),
        (
            "1,234 g",
            "mass",
            'run.toml, [[product]] 1, mass: found "1,234", which may be a decimal comma or a thousands separator; '
            'expected a mass with its unit, such as "812.4 g". Write "1.234" or "1234".',
        ),
        (
            "5 grm",
            "mass",
            'run.toml, [[product]] 1, mass: found "5 grm", unknown unit "grm"; expected one of g, kg, lb, mg, oz, µg. '
            'Did you mean "gram"?',
        ),
        (
            "-3 g",
            "mass",
            'run.toml, [[product]] 1, mass: found "-3 g", a negative mass; expected a mass of 0 or more',
        ),
        (
            "-300 °C",
            "temperature",
            'run.toml, [[product]] 1, mass: found "-300 °C", below absolute zero; expected a temperature above '
            "-273.15 °C",
        ),
        (
            "120 %",
            "fraction",
            'run.toml, [[product]] 1, mass: found "120 %", outside 0 to 100 %; expected a share between 0 and 100 %',
        ),
        (
            "5 ± -1 g",
            "mass",
            'run.toml, [[product]] 1, mass: found "5 ± -1 g", a negative uncertainty; expected an uncertainty of 0 or '
            "more",
        ),
        (
            "5 g ± 1 kg",
            "mass",
            'run.toml, [[product]] 1, mass: found "5 g ± 1 kg", two units; expected one unit for the value and its '
            "uncertainty. Write both in one unit.",
        ),
    ],
)
def test_a_wrong_quantity_is_refused_with_the_fix(text, dimension, line):
    with pytest.raises(UnitError) as refused:
        read(text, dimension)
    assert str(refused.value) == line


@pytest.mark.parametrize("text", ["", "g", "nan g", "inf g", "12 34 g", "1.234,5 g", "--5 g", "1e999 g", "5 ± g"])
def test_what_is_no_quantity_is_refused(text):
    with pytest.raises(UnitError):
        read(text)


@pytest.mark.parametrize(
    ("unit", "si", "bench"),
    [
        ("atm", constants.atm, 1e3),
        ("Torr", constants.torr, 1e3),
        ("mmHg", constants.mmHg, 1e3),
        ("psi", constants.psi, 1e3),
        ("bar", constants.bar, 1e3),
        ("lb", constants.lb, 1e-3),
        ("oz", constants.oz, 1e-3),
        ("min", constants.minute, 60),
        ("h", constants.hour, 60),
        ("d", constants.day, 60),
        ("L", constants.liter, 1e-6),
        ("kWh/kg", 1000 * constants.hour, 1e6),
        ("kcal/kg", 1000 * constants.calorie_IT, 1e6),
        ("BTU/lb", constants.Btu / constants.lb, 1e6),
        ("kWh", 1000 * constants.hour, 1e6),
        ("BTU", constants.Btu, 1e6),
        ("kcal", 1000 * constants.calorie_IT, 1e6),
    ],
)
def test_factors_agree_with_a_general_table_of_constants(unit, si, bench):
    # scipy.constants, after CODATA and NIST SP 811
    assert known_units()[unit].factor == pytest.approx(si / bench, rel=1e-6)


def test_fahrenheit_agrees_with_a_general_table_of_constants():
    assert read("451 °F", "temperature").value == pytest.approx(constants.convert_temperature(451, "F", "C"))


@given(st.floats(1e-6, 1e6), st.floats(0, 1e3), st.sampled_from(["g", "kg", "mg"]))
def test_what_was_written_is_read_back(value, u, unit):
    entered = read(f"{value:.6f} ± {u:.6f} {unit}")
    factor = known_units()[unit].factor
    assert entered.value == pytest.approx(float(f"{value:.6f}") * factor)
    assert entered.u == pytest.approx(float(f"{u:.6f}") * factor)


@given(st.text(max_size=30))
def test_no_text_does_worse_than_be_refused(text):
    try:
        read(text)
    except UnitError as refused:
        assert "\n" not in str(refused)
    parse_factor(text)


def test_a_condition_is_a_quantity_or_a_level():
    assert parse_factor("455 °C").value == 455
    assert parse_factor("45 min").unit == "min"
    assert parse_factor("nitrogen") is None
    assert parse_factor("5 of 9") is None
