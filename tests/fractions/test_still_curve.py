"""Curves of distillations: shares of the charge, losses, cuts, and what is said about them."""

import math

import pytest
from still_logs import codes, curve_of, facts, receiver

from cutbook.fractions.still_properties import still_properties

# waste polypropylene oil, full test distillation: Mishra et al., J. Fuels 2014, 289380, Table 1
V1 = "recovered (%),temperature (°C)\nIBP,71\n" + "".join(
    f"{p},{t}\n" for p, t in zip((5, 10, 20, 30, 40, 50, 60, 70, 80, 85, 90),
                                 (110, 141, 185, 226, 261, 291, 319, 343, 365, 380, 390), strict=True)
)  # fmt: skip
V1_SCHEMES = (
    ("j", (170.0, 380.0)),
    ("a", (200.0, 380.0)),
    ("b", (225.0, 350.0)),
)


@pytest.fixture(scope="module")
def published():
    return curve_of(V1, "0.7930 g/mL", V1_SCHEMES, kind="standard-test", pressure="101.3 kPa")


def share(curve, scheme, cut):
    return next(one.mass for one in curve.cuts if (one.scheme, one.cut) == (scheme, f"cut {cut}"))


def volumes(curve):
    return [point.volume_recovered.value for point in curve.points]


def test_published_curve_keeps_its_volumes(published):
    assert volumes(published) == pytest.approx([0, 5, 10, 20, 30, 40, 50, 60, 70, 80, 85, 90])
    assert [point.equivalent_temperature.value for point in published.points][:3] == pytest.approx([71, 110, 141])


@pytest.mark.parametrize(("limit", "expected"), [(170, 16.6), (200, 23.7), (225, 29.8), (350, 73.2), (380, 85.0)])
def test_published_volumes_at_stated_temperatures(limit, expected):
    # a density would put the cuts on mass; the published split is by volume
    curve = curve_of(V1, None, (("at", (float(limit),)),), kind="standard-test", pressure="101.3 kPa")
    assert curve.basis == "volume"
    assert share(curve, "at", 1).value == pytest.approx(expected, abs=0.5)


def test_published_split_and_open_end():
    curve = curve_of(V1, None, V1_SCHEMES, kind="standard-test", pressure="101.3 kPa")
    split = [share(curve, "j", n) for n in (1, 2, 3)]
    assert [one.value for one in split] == pytest.approx([16.6, 68.4, 15.0], abs=0.1)
    assert sum(one.value for one in split) == pytest.approx(100.0, abs=1e-9)
    assert [one.code for one in split[2].step.cautions] == ["still.heavy_by_difference"]
    properties, step = still_properties(curve)
    by_name = {one.name: one.result for one in properties}
    assert by_name["final_boiling_point"].value is None
    assert by_name["final_boiling_point"].reason == "still.not_to_the_end"
    assert by_name["initial_boiling_point"].value == pytest.approx(71, abs=0.01)
    assert by_name["recovered_50"].value == pytest.approx(291, abs=0.01)
    assert by_name["recovered_95"].value is None
    assert "still.not_to_the_end" in {one.code for one in step.cautions}


PLAIN = "head °C,volume mL\n80,0\n120,25\n160,50\n200,75\n240,95\n"


def test_with_a_density_the_published_split_stands_beside_the_one_by_mass():
    curve = curve_of(V1, "0.7930 g/mL", V1_SCHEMES, kind="standard-test", pressure="101.3 kPa")
    assert curve.basis == "mass"
    split = [one.mass.value for one in curve.cuts_by_volume if one.scheme == "j"]
    assert split == pytest.approx([16.6, 68.4, 15.0], abs=0.1)
    by_mass = [one.mass.value for one in curve.cuts if one.scheme == "j"]
    assert sum(by_mass) == pytest.approx(100.0)
    assert by_mass[0] < split[0]  # what boils low is light


def test_masses_from_volumes_add_up_to_the_mean_density_of_the_charge():
    """With one Watson factor for all, what distils whole has the density that its curve implies."""
    curve = curve_of(PLAIN, "0.790 g/mL", charge_volume="100 mL", pressure="101.3 kPa", kind="simple")
    masses = [point.mass_recovered.value for point in curve.points]
    assert curve.basis == "mass"
    # by hand: K = (1.8 T)^(1/3)/SG at the middle reading (160 °C); each slice at its mean temperature
    gravity = 0.790 / 0.999016
    factor = (1.8 * (160 + 273.15)) ** (1 / 3) / gravity
    expected, total, last = [0.0], 0.0, 80.0
    for ml, t in ((25, 120), (25, 160), (25, 200), (20, 240)):
        density = (1.8 * (0.5 * (last + t) + 273.15)) ** (1 / 3) / factor * 0.999016
        total += ml * density
        expected.append(100 * total / 79.0)
        last = t
    assert masses == pytest.approx(expected, abs=0.01)
    assert "still.cut_density" in codes(curve)


def test_without_a_density_there_are_no_masses_and_1_is_not_assumed():
    curve = curve_of(PLAIN, None, charge_volume="100 mL", pressure="101.3 kPa")
    assert curve.basis == "volume"
    assert all(point.mass_recovered.value is None for point in curve.points)
    assert {point.mass_recovered.reason for point in curve.points} == {"still.no_density"}
    assert "still.no_density" in codes(curve)


def test_a_weighed_log_needs_no_density():
    curve = curve_of("head °C,mass g\n80,0\n160,40\n240,90\n", None, charge_mass="100 g", residue_mass="8 g")
    assert [point.mass_recovered.value for point in curve.points] == pytest.approx([0, 40, 90])
    assert {point.volume_recovered.reason for point in curve.points} == {"still.no_volume"}
    assert curve.recovered.value + curve.residue.value + curve.loss.value == pytest.approx(100.0)
    assert curve.loss.value == pytest.approx(2.0)
    # loss = 100 (charge - distillate - residue)/charge: weighings of 0.05 g and of half a last digit
    charge = residue = 1 / math.sqrt(12)
    derived = math.sqrt((90 * charge / 100 + 8 * charge / 100) ** 2 + residue**2 + max(0.05, 1 / math.sqrt(12)) ** 2)
    assert curve.loss.u == pytest.approx(derived, rel=0.02)


def test_charge_is_accounted_for_by_mass_and_by_volume_where_both_were_measured():
    said = {"charge_mass": "79.0 g", "charge_volume": "100.0 mL", "residue_mass": "4.0 g", "residue_volume": "4.5 mL"}
    curve = curve_of(PLAIN, "0.790 g/mL", pressure="101.3 kPa", **said)
    assert curve.basis == "mass"
    recovered, residue, loss = (one.value for one in curve.by_volume)
    assert (recovered, residue, loss) == pytest.approx((95.0, 4.5, 0.5))
    assert curve.recovered.value + curve.residue.value + curve.loss.value == pytest.approx(100.0)
    assert curve_of(PLAIN, "0.790 g/mL", charge_mass="79.0 g", residue_mass="4.0 g").by_volume is None


def test_a_residue_that_was_not_weighed_leaves_the_loss_open():
    curve = curve_of("head °C,mass g\n80,0\n160,40\n240,90\n", None, charge_mass="100 g")
    assert curve.loss.value is None
    assert curve.residue.value is None
    assert curve.loss.reason == "still.residue_unknown"
    assert "still.residue_unknown" in codes(curve)


def test_more_than_was_charged_is_a_danger_and_is_reported_as_found():
    curve = curve_of("head °C,mass g\n80,0\n160,40\n240,98\n", None, charge_mass="100.0 g", residue_mass="8.0 g")
    assert curve.loss.value == pytest.approx(-6.0)
    assert facts(curve, "still.more_than_charged")["total"] == pytest.approx(106.0)


def test_weighed_receivers_count_and_disagreement_with_the_log_is_said():
    text = "head °C,mass g,receiver\n80,0,1\n160,40,1\n170,0,2\n240,48,2\n"
    both = (receiver("1", "40.0 g"), receiver("2", "48.2 g"))
    curve = curve_of(text, None, charge_mass="100.0 g", residue_mass="10.0 g", receivers=both)
    assert curve.recovered.value == pytest.approx(88.2)
    assert [one.mass.value for one in curve.receivers] == pytest.approx([40.0, 48.2])
    assert curve.receivers[0].limits == "80–160 °C"
    assert curve.receivers_by_volume == ()
    assert "still.receivers_differ" not in codes(curve)
    off = (receiver("1", "40.0 g"), receiver("2", "41.0 g"))
    assert "still.receivers_differ" in codes(curve_of(text, None, charge_mass="100.0 g", receivers=off))
    assert "still.receiver_unknown" in codes(
        curve_of(text, None, charge_mass="100.0 g", receivers=(receiver("A", "40.0 g"),))
    )


def test_where_a_density_is_missing_masses_end_and_no_total_is_made_up():
    text = "head °C,volume mL,receiver\n80,0,1\n160,50,1\n170,0,2\n240,40,2\n"
    one = (receiver("1", density="0.740 g/mL"),)
    curve = curve_of(text, None, charge_mass="80.0 g", residue_mass="10.0 g", receivers=one)
    assert [point.mass_recovered.value for point in curve.points][:2] == pytest.approx([0, 100 * 37 / 80])
    assert curve.points[-1].mass_recovered.reason == "still.receiver_without_density"
    assert (curve.recovered.value, curve.loss.value) == (None, None)
    assert curve.recovered.reason == "still.receiver_without_density"
    assert facts(curve, "still.receiver_without_density")["place"] == "line 5"


def test_receivers_are_added_up_only_when_all_of_them_were_weighed():
    text = "head °C,mass g,receiver\n80,0,1\n160,40,1\n170,0,2\n240,48,2\n"
    curve = curve_of(text, None, charge_mass="100.0 g", receivers=(receiver("1", "40.0 g"),))
    assert curve.recovered.value == pytest.approx(88.0)  # by the log, not the 40 g of the one weighed


def test_densities_of_receivers_make_their_masses():
    text = "head °C,volume mL,receiver\n80,0,1\n160,50,1\n170,0,2\n240,40,2\n"
    both = (receiver("1", density="0.740 g/mL"), receiver("2", mass="32.0 g", volume="40.0 mL"))
    curve = curve_of(text, None, charge_mass="80.0 g", receivers=both)
    masses = [point.mass_recovered.value for point in curve.points]
    assert masses == pytest.approx([0, 100 * 37 / 80, 100 * 37 / 80, 100 * (37 + 32) / 80])
    assert "still.receiver_density" in codes(curve)


def test_cuts_interpolate_between_readings_and_miss_what_lies_outside():
    text = "head °C,mass g\n80,0\n160,40\n240,90\n"
    curve = curve_of(text, None, (("two", (120.0, 300.0)), ("low", (60.0, 200.0))), charge_mass="100 g",
                     pressure="101.3 kPa")  # fmt: skip
    assert share(curve, "two", 1).value == pytest.approx(20.0, abs=0.01)
    for number in (2, 3):
        assert share(curve, "two", number).value is None
        assert share(curve, "two", number).reason == "still.ends_before"
    assert share(curve, "low", 1).value == 0.0
    assert share(curve, "low", 2).value == pytest.approx(65.0, abs=0.01)
    assert share(curve, "low", 3).value == pytest.approx(35.0, abs=0.01)


def test_a_log_that_starts_late_does_not_tell_what_boils_lower():
    curve = curve_of("head °C,mass g\n120,20\n160,40\n240,90\n", None, (("low", (100.0,)),), charge_mass="100 g")
    assert share(curve, "low", 1).reason == "still.starts_late"
    initial = still_properties(curve)[0][0].result
    assert (initial.value, initial.reason) == (None, "still.no_first_drop")


def test_uncertainty_of_a_cut_follows_the_slope():
    """A thermometer half a degree off moves a limit on a curve of 0.5 % a degree by 0.25 %."""
    text = "head °C,mass g\n80,0\n160,40\n240,80\n"
    curve = curve_of(text, None, (("one", (160.0,)),), charge_mass="100.000 g", pressure="101.300 kPa")
    budget = dict(share(curve, "one", 1).budget)
    assert budget["thermometer"] == pytest.approx(0.5 * 0.5, rel=0.01)


def test_barometer_stem_and_lag_are_applied_in_turn():
    text = "time min,head °C,mass g\n0,100,0\n10,150,40\n20,200,80\n"
    curve = curve_of(text, None, charge_mass="100 g", pressure="95.0 kPa", emergent_stem_c=80.0,
                     stem_temperature="30 °C", thermometer_lag="0.5 min")  # fmt: skip
    middle = curve.points[1]
    corrected = 150 + 1.6e-4 * 80 * (150 - 30) + 0.5 * 5.0
    assert middle.head_temperature.value == pytest.approx(corrected)
    expected = corrected + 0.0009 * (101.3 - 95.0) * (273 + corrected)
    assert middle.equivalent_temperature.value == pytest.approx(expected, abs=1e-6)
    assert middle.pressure.value == pytest.approx(95.0)
    assert "stem and lag of the thermometer" in dict(middle.equivalent_temperature.budget)


def test_a_lag_without_times_is_not_corrected_and_said():
    curve = curve_of("head °C,mass g\n80,0\n160,40\n", None, charge_mass="100 g", thermometer_lag="0.5 min")
    assert curve.points[1].head_temperature.value == 160
    assert "still.lag_without_time" in codes(curve)


def test_no_pressure_is_assumed_with_a_wide_uncertainty():
    curve = curve_of("head °C,mass g\n80,0\n200,40\n", None, charge_mass="100 g")
    assert "still.no_barometer" in codes(curve)
    # 2 kPa of an unknown barometer: 0.0009 x 2 x 473
    budget = dict(curve.points[1].equivalent_temperature.budget)
    assert budget["barometer, not read"] == pytest.approx(0.0009 * 2.0 * 473, rel=0.01)


def test_vacuum_readings_are_converted_row_by_row_with_the_watson_factor():
    text = "head °C,mass g,pressure mmHg\n80,0,760\n160,40,760\n150,60,10\n200,80,10\n"
    bare = curve_of(text, None, charge_mass="100 g")
    values = [point.equivalent_temperature.value for point in bare.points]
    assert values[2:] == pytest.approx([289.13, 348.82], abs=0.05)
    assert [point.vacuum for point in bare.points] == [False, False, True, True]
    assert {"safety.vacuum_still", "still.watson_assumed"} <= codes(bare)
    # an oil of 0.80 g/mL: its factor shifts them by 1.3889 (K - 12) log10(10/760)
    dense = curve_of(text, "0.800 g/mL", charge_mass="100 g")
    # K from the middle reading, of four the third: 289 °C
    factor = (1.8 * (289.13 + 273.15)) ** (1 / 3) / (0.800 / 0.999016)
    shift = 1.3889 * (factor - 12) * math.log10(10 / 760)
    found = [point.equivalent_temperature.value for point in dense.points]
    assert found[3] - values[3] == pytest.approx(shift, abs=0.05)
    assert "still.watson_assumed" not in codes(dense)


def test_corrected_loss_of_a_standard_test():
    text = "recovered (%),temperature (°C)\nIBP,40\n5,60\n50,120\n94.2,190\n"
    curve = curve_of(text, None, kind="standard-test", pressure="98.6 kPa", residue_volume="1.1 mL",
                     charge_volume="100 mL")  # fmt: skip
    assert curve.basis == "volume"
    assert curve.loss.value == pytest.approx(4.7)
    by_name = {one.name: one.result for one in still_properties(curve)[0]}
    assert by_name["corrected_loss"].value == pytest.approx(3.64, abs=0.01)
    assert by_name["corrected_recovery"].value == pytest.approx(95.26, abs=0.01)
    # 50 % evaporated is 45.3 % recovered
    at_45 = 60 + (45.3 - 5) / 45 * 60
    assert by_name["evaporated_50"].value == pytest.approx(at_45 + 0.0009 * 2.7 * (273 + at_45), abs=0.1)


def test_the_file_is_behind_every_number():
    curve = curve_of(PLAIN, "0.790 g/mL", charge_volume="100 mL")
    for result in (curve.loss, curve.points[1].mass_recovered, curve.cuts[0].mass):
        assert "still.csv" in {source.path for source in result.step.sources()}
        assert "run.toml" in {source.path for source in result.step.sources()}
