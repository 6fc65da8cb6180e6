"""Properties from curve and density: values, doubts, and honest gaps."""

from dataclasses import replace

import numpy as np
import pytest

from cutbook.fractions import property_equations as equations
from cutbook.fractions.curve_conversions import convert_curve
from cutbook.fractions.fuel_properties import PropertySettings, fuel_properties
from cutbook.fractions.method_ranges import ranges_of
from cutbook.model.amount import measured
from cutbook.model.boiling import BoilingCurve, CurvePoint
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Product
from cutbook.model.tables import reference

SHEET = Source("run.toml", "ab" * 32)
PRODUCT = Product("oil", "[[product]] 1", density=Entered(0.85, 0.001, "g/mL", "0.850 ± 0.001 g/mL", True))
DIESEL = {10.0: 215.0, 30.0: 245.0, 50.0: 265.0, 70.0: 285.0, 90.0: 315.0}


def curve(points, u=0.5):
    step = Step("read boiling curve/1")
    found = []
    for at, value in points.items():
        amount = measured(value, u, f"curve at {at:g}")
        found.append(CurvePoint(at, Result("t", amount, "°C", "oil", step)))
    return BoilingCurve("oil", tuple(found), "n_alkanes, handbook values", True, step)


def properties(points=DIESEL, product=PRODUCT, **settings):
    found, step = fuel_properties("oil", curve(points), product, SHEET, PropertySettings(**settings))
    return {one.name: one for one in found}, {one.code for one in step.cautions}


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
        "molar_mass": equations.molar_mass(mean, sg),
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
    named = {row["method"] for row in reference("method_ranges").rows} - {"boiling_curve", "flammable_liquid"}
    assert named < set(properties()[0])


def test_what_boils_too_low_for_the_flash_point_is_a_danger_too():
    found, codes = properties({10.0: 40.0, 30.0: 70.0, 50.0: 100.0, 70.0: 130.0, 90.0: 160.0})
    assert found["flash_point"].result.reason == "properties.outside_range"
    assert "safety.flash_below_range" in codes
    assert "safety.flash_below_range" not in properties()[1]
    whole = curve(DIESEL)
    before = Result.missing("t", "°C", "oil", whole.step, "boiling.before_ladder")
    late = replace(whole, points=(CurvePoint(10.0, before), *whole.points[1:]))
    _, step = fuel_properties("oil", late, PRODUCT, SHEET)
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
