"""The cuts of a sample: their slices of its curve, and what follows from them."""

import numpy as np
import pytest
from liquids import watson

from cutbook.fractions import property_equations as equations
from cutbook.fractions.curve_conversions import convert_curve
from cutbook.fractions.cut_curves import cut_curves
from cutbook.fractions.cut_properties import cut_properties
from cutbook.fractions.fuel_properties import ONE_PLATE, PropertySettings, fuel_properties
from cutbook.model.amount import measured
from cutbook.model.boiling import BoilingCurve, CurvePoint
from cutbook.model.cuts import Cut
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Product

SHEET = Source("run.toml", "ab" * 32)
RECOVERED = (0.5, *(float(p) for p in range(1, 100)), 99.5)
EDGES = {"gas": (-np.inf, 36.0), "gasoline": (36.0, 200.0), "diesel": (200.0, 350.0), "wax": (350.0, np.inf)}


def straight(first=20.0, per_percent=4.3, last=100.0, reason="boiling.did_not_elute"):
    """A curve that rises evenly: T = first + per_percent · F, up to `last` %."""
    step = Step("read boiling curve/1")
    points = []
    for at in RECOVERED:
        if at <= last:
            amount = measured(first + per_percent * at, 0.4, f"curve at {at:g}")
            points.append(CurvePoint(at, Result("t", amount, "°C", "oil", step)))
        else:
            points.append(CurvePoint(at, Result.missing("t", "°C", "oil", step, reason)))
    return BoilingCurve("oil", tuple(points), "n_alkanes, handbook values", True, step)


def cuts_of(first=20.0, per_percent=4.3, residue=0.0, missing=()):
    """Shares of the four cuts on that curve, exactly."""
    step = Step("sum boiling range/1")
    end = first + per_percent * (100.0 - residue)
    found = []
    for name, (lower, upper) in EDGES.items():
        share = max(min(upper, end) - max(lower, first), 0.0) / per_percent
        mass = Result(f"share of {name}", measured(share, 0.3, name), "%", "oil", step)
        if name in missing:
            mass = Result.missing(f"share of {name}", "%", "oil", step, missing[name])
        found.append(Cut("boiling-range", "boiling-36-200-350", name, f"{name} limits", mass))
    lost = Result("did not elute", measured(residue, 0.2, "residue"), "%", "oil", step)
    return (*found, Cut("boiling-range", "boiling-36-200-350", "residue", "did not elute", lost))


def of_sample(curve, density=0.80):
    product = Product("oil", "[[product]] 1", density=Entered(density, 0.001, "g/mL", f"{density} g/mL", True))
    return fuel_properties("oil", curve, product, SHEET, None)[0]


def found_in(curve=None, cuts=None, properties=None, settings=None):
    curve = curve or straight()
    made, step = cut_properties(
        curve,
        cuts or cuts_of(),
        of_sample(curve) if properties is None else properties,
        watson(11.5, 0.7),
        settings or PropertySettings(),
    )
    return {one.cut: {p.name: p for p in one.properties} for one in made}, step


def test_a_slice_of_a_straight_curve_is_straight_between_its_limits():
    curves = dict(zip((*EDGES, "residue"), cut_curves(straight(), cuts_of(), ONE_PLATE), strict=True))
    for name in ("gasoline", "diesel"):
        lower, upper = EDGES[name]
        for q in ONE_PLATE:
            assert curves[name].at(q).value == pytest.approx(lower + q / 100 * (upper - lower), abs=1e-6), (name, q)
    top = 20.0 + 4.3 * 100
    assert curves["wax"].at(50.0).value == pytest.approx(0.5 * (350.0 + top))


def test_an_open_cut_ends_where_the_sample_stops_eluting():
    curves = cut_curves(straight(last=92.0), cuts_of(residue=8.0), ONE_PLATE)
    assert curves[3].at(50.0).value == pytest.approx(0.5 * (350.0 + 20.0 + 4.3 * 92.0))
    assert {curves[4].at(q).reason for q in ONE_PLATE} == {"boiling.did_not_elute"}


def test_a_point_next_to_a_missing_one_is_missing_with_its_reason():
    curves = cut_curves(straight(last=60.0, reason="boiling.beyond_ladder"), cuts_of(), ONE_PLATE)
    assert curves[2].at(50.0).value is not None  # 58.8 % of the sample
    assert curves[2].at(90.0).reason == "boiling.beyond_ladder"


def test_a_cut_before_the_ladder_is_counted_in_the_next_one():
    cuts = cuts_of(first=36.0, missing={"gas": "cuts.before_ladder"})
    curves = cut_curves(straight(first=36.0), cuts, ONE_PLATE)
    assert curves[0].at(50.0).reason == "cuts.before_ladder"
    assert curves[1].at(50.0).value == pytest.approx(118.0)


def test_after_a_cut_of_unknown_share_nothing_can_be_placed():
    cuts = cuts_of(missing={"diesel": "cuts.beyond_ladder"})
    curves = cut_curves(straight(), cuts, ONE_PLATE)
    assert curves[1].at(50.0).value is not None
    assert curves[2].at(50.0).reason == curves[3].at(50.0).reason == "cuts.beyond_ladder"


def test_the_doubt_of_the_curve_is_carried_over():
    (_, gasoline, *_) = cut_curves(straight(), cuts_of(), ONE_PLATE)
    result = gasoline.at(50.0)
    place = (118.0 - 20.0) / 4.3
    share = place - int(place)
    assert result.u == pytest.approx(0.4 * (share**2 + (1 - share) ** 2) ** 0.5)


def test_each_property_of_a_cut_is_its_equation_on_its_slice():
    curve = straight()
    cuts, step = found_in(curve)
    sample = {one.name: one.result for one in of_sample(curve)}
    plate = convert_curve({q: 200 + 1.5 * q for q in ONE_PLATE}, "SD to D86")
    mean = equations.mean_average_boiling_c(*(plate[q] for q in ONE_PLATE))
    sg = equations.watson_k(mean, 1.0) / sample["watson_k"].value  # the Watson factor of the sample
    diesel = {name: one.result.value for name, one in cuts["diesel"].items()}
    density = sg * 0.999016  # of water at 60 °F in g/mL
    assert diesel["density"] == pytest.approx(density)
    assert diesel["mean_average_boiling_point"] == pytest.approx(mean)
    assert diesel["molar_mass"] == pytest.approx(equations.molar_mass(mean, sg))
    assert diesel["flash_point"] == pytest.approx(equations.flash_point_c(plate[10.0]))
    assert diesel["cetane_index_two_variables"] == pytest.approx(equations.cetane_index_two(density, plate[50.0]))
    assert diesel["hydrogen_carbon_ratio"] == pytest.approx(equations.hydrogen_carbon_ratio(mean, sg))
    assert all(one.estimate for one in cuts["diesel"].values())
    assert cuts["diesel"]["density"].method.endswith("that of the whole sample")
    told = next(one for one in step.cautions if one.code == "properties.cuts")
    assert told.facts["origin"] == "that of the whole sample"


def test_the_cuts_have_the_names_of_the_sample():
    curve = straight()
    names = [one.name for one in of_sample(curve)]
    cuts, _ = found_in(curve)
    assert all(list(one) == names for one in cuts.values())


def test_the_volumes_of_the_cuts_add_up_to_that_of_the_sample():
    # one Watson factor for all makes densities that are good to a few per cent; narrow cuts and wide sample agree so
    cuts, _ = found_in(straight(first=37.0, per_percent=4.0), cuts_of(37.0, 4.0))
    shares = {cut.cut: cut.mass.value for cut in cuts_of(37.0, 4.0)}
    volume = sum(shares[name] / cuts[name]["density"].result.value for name in ("gasoline", "diesel", "wax"))
    density = 100 / volume * sum(shares[n] for n in ("gasoline", "diesel", "wax")) / 100
    assert density == pytest.approx(0.80, rel=0.025)


def test_heavier_cuts_are_denser_and_flash_later():
    cuts, _ = found_in()
    for name in ("density", "molar_mass", "flash_point", "mean_average_boiling_point"):
        found = [cuts[cut][name].result.value for cut in ("gasoline", "diesel", "wax")]
        assert found == sorted(found), name


def test_the_drift_of_the_watson_factor_is_a_doubt_of_every_density():
    cuts, _ = found_in()
    density = cuts["diesel"]["density"].result
    assert dict(density.budget)["Watson factor of a cut"] / density.value == pytest.approx(0.3 / 12, rel=0.1)
    calm, _ = found_in(settings=PropertySettings(u_watson_cut=0.0))
    assert calm["diesel"]["density"].result.u < density.u


def test_without_the_factor_of_the_sample_the_assumed_one_serves():
    curve = straight(last=80.0)  # no 90 % point, so no mean boiling point of the sample
    cuts, step = found_in(curve, cuts_of(residue=20.0))
    assert cuts["gasoline"]["density"].method == "Watson factor 11.5, assumed for oil of PE"
    told = next(one for one in step.cautions if one.code == "properties.cuts")
    assert told.facts["origin"] == "assumed for oil of PE"


def test_a_light_cut_that_may_be_lit_is_a_danger_and_named():
    _, step = found_in()
    dangers = {one.about: one.code for one in step.cautions if one.code.startswith("safety.")}
    start = convert_curve({q: 36 + 1.64 * q for q in ONE_PLATE}, "SD to D86")[10.0]
    assert start > 65  # within the range of the correlation
    assert dangers == {"oil, gasoline": "safety.flash_estimate"}
    _, lighter = found_in(straight(first=-60.0, per_percent=3.0), cuts_of(-60.0, 3.0))
    assert "oil, gas" in {one.about for one in lighter.cautions if one.code == "safety.flash_below_range"}
    _, heavy = found_in(straight(first=210.0, per_percent=2.5), cuts_of(210.0, 2.5))
    assert not [one for one in heavy.cautions if one.code.startswith("safety.")]


def test_a_cut_too_small_for_the_curve_has_no_properties_and_says_why():
    curve = straight(first=30.0, per_percent=3.0)  # 2 % of gas, nothing above 330 °C
    cuts, step = found_in(curve, cuts_of(30.0, 3.0))
    assert {one.result.reason for one in cuts["gas"].values()} == {"properties.cut_too_small"}
    told = [one for one in step.cautions if one.code == "properties.cut_too_small"]
    assert [one.about for one in told] == ["oil, gas; oil, wax; oil, residue"]


def test_what_did_not_elute_has_no_properties():
    curve = straight(last=80.0)
    cuts, _ = found_in(curve, cuts_of(residue=20.0))
    assert {one.result.reason for one in cuts["residue"].values()} == {"boiling.did_not_elute"}
    assert all(one.result.value is None for one in cuts["residue"].values())


def test_outside_its_range_a_correlation_says_nothing_of_a_cut_either():
    cuts, step = found_in()
    assert cuts["gasoline"]["cetane_index_two_variables"].result.reason == "properties.outside_range"
    about = [one.about for one in step.cautions if one.code == "properties.outside_range"]
    assert any("oil, gasoline" in one for one in about)
