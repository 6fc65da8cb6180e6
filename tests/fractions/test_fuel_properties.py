"""Properties from curve and density: values, doubts, and honest gaps."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from liquids import DIESEL, PRODUCT, SHEET, curve, properties, watson

import cutbook
from cutbook.fractions import property_equations as equations
from cutbook.fractions.curve_conversions import convert_curve
from cutbook.fractions.fuel_properties import fuel_properties
from cutbook.fractions.method_ranges import ranges_of
from cutbook.model.boiling import CurvePoint
from cutbook.model.entered import Entered
from cutbook.model.result import Result
from cutbook.model.tables import reference


def plate_points(plate):
    return [plate[p] for p in (10.0, 30.0, 50.0, 70.0, 90.0)]


def test_each_property_is_its_equation_on_the_converted_curve():
    found, _ = properties()
    plate = convert_curve(DIESEL, "SD to D86")
    sg = equations.specific_gravity(0.85)
    mean = equations.mean_average_boiling_c(*(plate[p] for p in (10.0, 30.0, 50.0, 70.0, 90.0)))
    expected = {
        "density": 0.85,
        "one_plate_50": plate[50.0],
        "api_gravity": equations.api_gravity(sg),
        "mean_average_boiling_point": mean,
        "watson_k": equations.watson_k(mean, sg),
        "volume_average_boiling_point": sum(plate[p] for p in (10.0, 30.0, 50.0, 70.0, 90.0)) / 5,
        "molar_average_boiling_point": equations.molar_average_boiling_c(*plate_points(plate)),
        "molar_mass": equations.molar_mass(mean, sg),
        "hydrogen_carbon_ratio": equations.hydrogen_carbon_ratio(mean, sg),
        "hydrogen": equations.hydrogen_percent(equations.hydrogen_carbon_ratio(mean, sg)),
        "cetane_index_four_variables": equations.cetane_index_four(0.85, plate[10.0], plate[50.0], plate[90.0]),
        "cetane_index_two_variables": equations.cetane_index_two(0.85, plate[50.0]),
        "flash_point": equations.flash_point_c(plate[10.0]),
        "gross_heat_of_combustion": equations.gross_heat_mj_kg(equations.api_gravity(sg)),
        "net_heat_of_combustion": equations.net_heat_mj_kg(equations.api_gravity(sg)),
    }
    for name, value in expected.items():
        assert found[name].result.value == pytest.approx(value), name
    assert {name for name, one in found.items() if not one.estimate} == {"density"}


def test_doubts_of_density_curve_and_method_all_count():
    found, _ = properties()
    tags = dict(found["cetane_index_four_variables"].result.budget)
    assert {"density of oil", "conversion to a one-plate curve", "correlation ASTM D4737 A"} <= set(tags)
    sharper, _ = properties(u_cetane=0.0, u_one_plate_c=0.0)
    assert sharper["cetane_index_four_variables"].result.u < found["cetane_index_four_variables"].result.u
    # density alone: the derivative by a small step
    step = 1e-6
    plate = convert_curve(DIESEL, "SD to D86")
    slope = (
        equations.cetane_index_four(0.85 + step, plate[10.0], plate[50.0], plate[90.0])
        - equations.cetane_index_four(0.85, plate[10.0], plate[50.0], plate[90.0])
    ) / step
    assert tags["density of oil"] == pytest.approx(abs(slope) * 0.001, rel=0.01)


def test_without_a_density_what_hangs_on_it_is_missing_and_the_rest_is_there():
    for product in (None, replace(PRODUCT, density=None)):
        found, codes = properties(product=product)
        assert found["flash_point"].result.value is not None
        for name in ("density", "api_gravity", "watson_k", "molar_mass", "gross_heat_of_combustion"):
            assert found[name].result.value is None
            assert found[name].result.reason == "properties.no_density"
        assert "properties.no_density" in codes


def test_a_curve_that_stays_open_gives_what_it_reaches():
    found, codes = properties({at: t for at, t in DIESEL.items() if at <= 50})
    assert found["one_plate_90"].result.reason == "properties.curve_too_short"
    assert found["watson_k"].result.value is None
    assert found["cetane_index_two_variables"].result.value is not None
    assert "properties.curve_too_short" in codes
    nothing, _ = properties({10.0: 100.0})
    assert nothing["flash_point"].result.value is None


def test_outside_its_range_a_correlation_says_nothing():
    light = {at: t - 150 for at, t in DIESEL.items()}
    found, codes = properties(light, replace(PRODUCT, density=Entered(0.74, 0.001, "g/mL", "0.740 g/mL", True)))
    for name in ("cetane_index_four_variables", "cetane_index_two_variables"):
        assert found[name].result.reason == "properties.outside_range"
    assert "properties.outside_range" in codes


def test_a_low_flash_point_is_a_danger_and_a_wide_cut_a_note():
    light = {10.0: 120.0, 30.0: 160.0, 50.0: 200.0, 70.0: 260.0, 90.0: 380.0}
    _, codes = properties(light)
    assert {"safety.flash_estimate", "properties.wide_cut"} <= codes
    _, calm = properties({at: t + 60 for at, t in DIESEL.items()})
    assert not {"safety.flash_estimate", "properties.wide_cut"} & calm


def test_each_range_is_that_of_a_property_and_holds_at_its_limits():
    low, high = ranges_of("cetane_index_two_variables")["density"]
    for density, there in ((low, True), (high, True), (low - 1e-6, False), (high + 1e-6, False)):
        found, _ = properties(product=replace(PRODUCT, density=Entered(density, 1e-4, "g/mL", "x", True)))
        assert (found["cetane_index_two_variables"].result.value is not None) == there
    named = {row["method"] for row in reference("method_ranges").rows}
    source = "".join(path.read_text(encoding="utf-8") for path in Path(cutbook.__file__).parent.rglob("*.py"))
    asked = set(re.findall(r'ranges_of\("(\w+)"\)', source))
    assert named == asked | (named & set(properties()[0]))


def test_what_boils_too_low_for_the_flash_point_is_a_danger_too():
    found, codes = properties({10.0: 40.0, 30.0: 70.0, 50.0: 100.0, 70.0: 130.0, 90.0: 160.0})
    assert found["flash_point"].result.reason == "properties.outside_range"
    assert "safety.flash_below_range" in codes
    assert "safety.flash_below_range" not in properties()[1]
    whole = curve(DIESEL)
    before = Result.missing("t", "°C", "oil", whole.step, "boiling.before_ladder")
    late = replace(whole, points=(CurvePoint(10.0, before), *whole.points[1:]))
    _, step = fuel_properties("oil", late, PRODUCT, SHEET, None)
    assert "safety.flash_below_range" in {one.code for one in step.cautions}


def test_the_uncertainty_agrees_with_drawing_the_inputs():
    found, _ = properties()
    rng = np.random.default_rng(1)
    drawn = []
    for _ in range(4000):
        points = {at: t + rng.normal(0, 0.5) for at, t in DIESEL.items()}
        plate = convert_curve(points, "SD to D86")
        common = rng.normal(0, 3.0)
        mean = equations.mean_average_boiling_c(*(plate[p] + common for p in (10.0, 30.0, 50.0, 70.0, 90.0)))
        drawn.append(equations.watson_k(mean, equations.specific_gravity(rng.normal(0.85, 0.001))))
    assert found["watson_k"].result.u == pytest.approx(np.std(drawn), rel=0.06)


def test_a_density_that_was_not_measured_is_estimated_and_all_that_hangs_on_it_says_so():
    found, codes = properties(product=None, factor=watson(12.0, 0.24))
    plate = convert_curve(DIESEL, "SD to D86")
    mean = equations.mean_average_boiling_c(*plate_points(plate))
    sg = (1.8 * (mean + 273.15)) ** (1 / 3) / 12.0  # the definition of the Watson factor
    density = found["density"]
    assert density.result.value == pytest.approx(sg * 0.999016)  # of water at 60 °F in g/mL
    assert density.estimate
    assert density.method == "Watson factor 12, assumed for oil of PE"
    assert density.result.u / density.result.value == pytest.approx(0.02, rel=0.02)  # 0.24 of 12, the curve adds little
    for name in ("api_gravity", "molar_mass", "hydrogen_carbon_ratio", "gross_heat_of_combustion"):
        assert found[name].method.endswith("; density estimated"), name
        assert found[name].estimate
    for name in ("flash_point", "mean_average_boiling_point", "one_plate_50"):
        assert "density" not in found[name].method
    assert {"properties.density_estimated", "properties.watson_assumed"} <= codes
    assert "properties.no_density" not in codes


def test_a_watson_factor_that_was_put_in_does_not_come_out():
    found, _ = properties(product=None, factor=watson())
    assert found["watson_k"].result.value is None
    assert found["watson_k"].result.reason == "properties.watson_assumed"
    measured_one, _ = properties(factor=watson())
    assert measured_one["watson_k"].result.value is not None


def test_an_estimated_density_makes_what_hangs_on_it_doubtful():
    sharp, _ = properties()
    wide, _ = properties(product=None, factor=watson(11.8, 0.6))
    assert wide["cetane_index_two_variables"].result.u > 5 * sharp["cetane_index_two_variables"].result.u
    assert wide["flash_point"].result.u == pytest.approx(sharp["flash_point"].result.u)


def test_a_measured_density_takes_the_place_of_the_assumption():
    found, codes = properties(factor=watson())
    assert found["density"].result.value == 0.85
    assert not found["density"].estimate
    assert not {"properties.density_estimated", "properties.watson_assumed"} & codes


def test_without_a_mean_boiling_point_nothing_is_assumed():
    found, codes = properties({at: t for at, t in DIESEL.items() if at <= 50}, None, watson())
    assert found["density"].result.reason == found["watson_k"].result.reason == "properties.no_density"
    assert "properties.density_estimated" not in codes


@pytest.mark.parametrize(
    ("entered", "u"),
    [
        (Entered(0.85, 0.003, "g/mL", "0.85 g/mL", False), 0.003),  # the last digit is coarser than a hydrometer
        (Entered(0.85, 3e-5, "g/mL", "0.8500 g/mL", False), 0.0005 * 0.85),  # as many digits as one likes
        (Entered(0.85, 1e-4, "g/mL", "0.85 ± 0.0001 g/mL", True), 1e-4),  # who states it is believed
    ],
)
def test_a_density_without_an_uncertainty_is_no_better_than_a_hydrometer(entered, u):
    found, _ = properties(product=replace(PRODUCT, density=entered))
    assert found["density"].result.u == pytest.approx(u)


def test_the_heat_of_an_oil_of_aromatics_is_not_given():
    # 0.92 g/mL at a mean boiling point of diesel is a Watson factor of 10.9
    found, _ = properties(product=replace(PRODUCT, density=Entered(0.93, 0.001, "g/mL", "0.930 g/mL", True)))
    assert found["watson_k"].result.value < 11
    for name in ("gross_heat_of_combustion", "net_heat_of_combustion"):
        assert found[name].result.reason == "properties.outside_range"


def test_a_curve_of_one_compound_has_finite_doubts():
    found, _ = properties(dict.fromkeys(DIESEL, 216.3))
    for name, one in found.items():
        if one.result.value is not None:
            assert np.isfinite(one.result.value), name


def test_what_is_half_a_gas_has_no_one_plate_curve_and_is_a_danger():
    found, codes = properties({10.0: -40.0, 30.0: -12.0, 50.0: -1.0, 70.0: 10.0, 90.0: 40.0}, None, watson())
    for name in ("one_plate_50", "density", "mean_average_boiling_point", "flash_point", "hydrogen"):
        assert found[name].result.reason == "properties.outside_range", name
    assert "safety.flash_below_range" in codes


def test_a_wide_light_curve_gives_real_numbers():
    found, _ = properties({10.0: -150.0, 30.0: -60.0, 50.0: 21.0, 70.0: 22.0, 90.0: 24.0}, None, watson())
    assert all(one.result.value is None or np.isfinite(one.result.value) for one in found.values())
