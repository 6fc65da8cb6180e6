"""A series of meter readings, the purge in it, and acid that passed it: hand calculations."""

import pytest

from cutbook.gas.air import product_gas
from cutbook.gas.amount import GasBeside, gas_amount
from cutbook.gas.meter import MeterEntry, metered_gas, passed_between
from cutbook.gas.purge import PurgeFlow, purge_let_in
from cutbook.importers.gas_meter import read_meter_heading, read_meter_log
from cutbook.importers.trace_file import TraceFile
from cutbook.model.amount import measured, nominal
from cutbook.model.errors import InputError
from cutbook.model.gas import GasComposition
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Product
from cutbook.model.units import parse_quantity

SHEET = Source("run.toml", "0" * 64)


def read(text, dimension):
    return parse_quantity(text, dimension, "run.toml", dimension)


def log_of(text, **columns):
    return read_meter_log(TraceFile("meter.csv", text.encode(), "0" * 64), columns)


def entry(temperature="19.0 °C", pressure="100.9 kPa", factor=None, top=None):
    return MeterEntry(
        "gas", "[[gas_meter]] 1", read(temperature, "temperature") if temperature else None,
        read(pressure, "pressure") if pressure else None, read(factor, "ratio") if factor else None,
        read(top, "volume") if top else None,
    )  # fmt: skip


def counted(text, **given):
    return metered_gas(log_of(text), entry(**given), SHEET)


def codes(found):
    return {one.code for one in found.step.all_cautions()}


def kinds(found):
    return [one.kind for one in found.repairs]


PLAIN = "time (min),reading (L)\n0,120.0\n30,150.5\n60,181.0\n90,211.0\n120,241.0\n"


def test_what_passed_is_the_last_reading_less_the_first():
    found = counted(PLAIN)
    assert found.passed.value == pytest.approx(121.0)
    # two readings of 0.1 L each, rectangular; what is between cancels
    assert found.passed.u == pytest.approx(0.1 / 12**0.5 * 2**0.5)
    assert found.duration_min == 120
    assert not codes(found)


def test_a_factor_multiplies_and_is_one_error_of_all():
    found = counted(PLAIN, factor="0.980 ± 0.010")
    assert found.passed.value == pytest.approx(121.0 * 0.98)
    assert dict(found.passed.budget)["factor of the meter"] == pytest.approx(1.21)


@pytest.mark.parametrize(
    ("heading", "field", "unit"),
    [
        ("Zählerstand [L]", "reading", "L"), ("meter reading (m3)", "reading", "m³"), ("gas volume (L)", "reading", "L"),
        ("counter / L", "reading", "L"), ("Stand in L", "reading", "L"), ("Uhrzeit", "time", ""), ("t (min)", "time", "min"),
        ("T (°C)", "temperature", "°C"), ("Gastemperatur (°C)", "temperature", "°C"), ("p (mbar)", "pressure", "mbar"),
        ("Bemerkung", "note", ""), ("Farbe", "", ""),
    ],
)  # fmt: skip
def test_headings_are_told(heading, field, unit):
    found = read_meter_heading(heading)
    assert (found.field, found.unit) == (field, unit)


def test_a_log_as_a_hand_keeps_it_is_read():
    text = (
        "Gasuhr Trommel 5 L\nUhrzeit;Zählerstand (L);T (°C);p (mbar);Bemerkung\n"
        "23:40;118,2;19,0;1009;Beginn\n00:10;149,8;\";\";\n00:40;;19,5;1009;vergessen\n01:10;213,0;20,0;1008;\n"
    )  # fmt: skip
    log = log_of(text)
    assert [one.volume_ml for one in log.readings] == pytest.approx([118200, 149800, 213000])
    assert [one.time_min for one in log.readings] == [0, 30, 90]
    assert [one.temperature_c for one in log.readings] == [19.0, 19.0, 20.0]
    assert [one.pressure_kpa for one in log.readings] == pytest.approx([100.9, 100.9, 100.8])
    assert {one.kind for one in log.repairs} == {"above_headings", "ditto", "midnight", "no_reading"}
    found = metered_gas(log, entry(None, None), SHEET)
    assert found.passed.value == pytest.approx(94.8)
    assert {"gas.meter_rows_missing", "gas.meter_repairs"} <= codes(found)


def test_a_counter_that_goes_over_its_top_is_counted_on():
    text = "time (min),reading (L)\n0,9950\n30,9980\n60,10\n90,40\n"
    found = counted(text)
    assert found.passed.value == pytest.approx(90.0)
    assert kinds(found) == ["counter_over_top"]
    assert "gas.meter_over_top" in codes(found)
    # a drum of five litres goes over its top all the time, so its top must be said
    drum = "time (min),reading (L)\n0,4.50\n1,4.90\n2,0.30\n3,0.70\n"
    assert counted(drum, top="5 L").passed.value == pytest.approx(1.2)


def test_a_meter_that_is_connected_backwards_counts_what_it_loses():
    found = counted("time (min),reading (L)\n0,241\n30,211\n60,181\n90,151\n")
    assert found.passed.value == pytest.approx(90.0)
    assert "gas.meter_backward" in codes(found)


@pytest.mark.parametrize("misread", ["105.0", "950.0"])
def test_a_lone_misread_figure_is_left_out_and_listed(misread):
    found = counted(PLAIN.replace("181.0", misread))
    assert found.passed.value == pytest.approx(121.0)
    assert kinds(found) == ["meter_misread"]


@pytest.mark.parametrize(("last", "told"), [("2410.0", True), ("241.0", False), ("331.0", False)])
def test_a_jump_of_the_counter_is_told(last, told):
    found = counted(PLAIN.replace("241.0", last))
    # as it stands, all the same
    assert found.passed.value == pytest.approx(float(last) - 120.0)
    assert ("gas.meter_jump" in codes(found)) == told


def test_a_counter_that_is_set_back_loses_what_it_had_and_says_so():
    found = counted("time (min),reading (L)\n0,0\n30,30\n60,60\n90,10\n120,40\n150,70\n")
    # 60 and 70 are known; between 60 and 90 min something from 0 to the usual 30 passed before the counter was set back
    assert found.passed.value == pytest.approx(60 + 70 + 15)
    assert found.passed.u == pytest.approx(30 / 12**0.5, rel=0.01)
    assert "gas.meter_reset" in codes(found)


def test_a_fall_that_nothing_explains_is_refused_in_one_line():
    with pytest.raises(InputError, match=r"meter.csv, line 4: found a counter that falls from 450 to 300 L"):
        counted("time (min),reading (L)\n0,400\n30,450\n60,300\n90,340\n")


def test_a_pause_in_the_readings_is_told():
    text = "time (min),reading (L)\n0,0\n10,10\n20,20\n30,30\n120,120\n130,130\n"
    assert "gas.meter_gap" in codes(counted(text))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("time (min),reading\n0,1\n1,2\n", "'reading' without a unit"),
        ("time (min),reading (L)\n0,1\n", "1 readings of the counter"),
        ("time (min),reading (L)\n0,a lot\n1,2\n2,3\n", "expected a number"),
        ("time (min),reading (L)\n0,5\n1,5\n2,5\n", "0 L passed in all"),
    ],
)
def test_what_is_no_series_is_refused(text, told):
    with pytest.raises(InputError, match=told):
        counted(text)


def test_the_state_of_the_gas_must_be_somewhere():
    with pytest.raises(InputError, match="no pressure of the gas in the meter"):
        counted(PLAIN, pressure=None)


def test_what_passed_between_two_times_follows_the_readings():
    found = counted(PLAIN)
    parts = passed_between(found, [float("-inf"), 15.0, 75.0, float("inf")])
    # half of the first 30.5 L; the other half, 30.5 and half of 30; the rest
    assert [nominal(one) / 1000 for one in parts] == pytest.approx([15.25, 15.25 + 30.5 + 15.0, 45.0])


def of(shares, purge="none"):
    amounts = {name: measured(share, 0.02 * share, f"analysis of {name}") for name, share in shares.items()}
    whole = sum(amounts.values())
    analysed = GasComposition({n: a / whole for n, a in amounts.items()}, {}, (), 1.0, Step("given/1"))
    return analysed, product_gas(analysed, purge, "gas")


GAS = {"methane": 0.5, "propene": 0.5, "nitrogen": 0.0, "oxygen": 0.0}
WET = Product("gas", "[[product]] 2", wet=True)


def test_a_series_at_one_state_is_the_same_as_one_volume():
    one = Product("gas", "[[product]] 2", volume=read("121.0 L", "volume"), temperature=read("19.0 °C", "temperature"),
                  pressure=read("100.9 kPa", "pressure"), wet=True)  # fmt: skip
    by_volume = gas_amount(one, *of(GAS), SHEET)
    by_meter = gas_amount(WET, *of(GAS), SHEET, meter=counted(PLAIN))
    assert by_meter.mass.value == pytest.approx(by_volume.mass.value, rel=1e-9)
    assert by_meter.water.value == pytest.approx(by_volume.water.value)
    assert "readings of the meter" in dict(by_meter.mass.budget)


def test_a_wet_series_becomes_the_mass_of_a_hand_calculation():
    """100 L at 20 °C and 100.0 kPa, then 50 L at 30 °C and 99.0 kPa, over water (steam tables: 2.3393 and 4.2470 kPa)."""
    text = "reading (L),T (°C),p (kPa)\n0.0,20.0,100.0\n100.0,20.0,100.0\n100.0,30.0,99.0\n150.0,30.0,99.0\n"
    found = gas_amount(WET, *of(GAS), SHEET, meter=counted(text, temperature=None, pressure=None))
    dry = (100.0 - 2.3393) * 100 / (8.314462 * 293.15) + (99.0 - 4.2470) * 50 / (8.314462 * 303.15)
    # Z by hand: summation factors at 20 °C, mean pressure 99.67 kPa, mean water 0.0298
    water = 2 / 3 * 2.3393 / 100 + 1 / 3 * 4.2470 / 99
    z = 1 - 99.667 / 101.325 * (0.5 * (1 - water) * (0.04317 + 0.1225) + water * 0.2191) ** 2
    assert found.mass.value == pytest.approx(dry / z * (0.5 * 16.04246 + 0.5 * 42.08), rel=1e-3)
    dry_meter = gas_amount(
        Product("gas", "", wet=False), *of(GAS), SHEET, meter=counted(text, temperature=None, pressure=None)
    )
    assert dry_meter.mass.value / found.mass.value == pytest.approx(1 / (1 - water), rel=2e-3)


def test_one_pressure_that_no_room_has_is_told_though_the_mean_looks_sound():
    text = "reading (L),T (°C),p (kPa)\n0.0,20.0,{p}\n10.0,20.0,{p}\n100.0,20.0,100.0\n"
    for pressure, told in (("10.0", True), ("99.0", False)):
        found = gas_amount(
            WET, *of(GAS), SHEET, meter=counted(text.replace("{p}", pressure), temperature=None, pressure=None)
        )
        assert ("gas.pressure_unlikely" in {one.code for one in found.mass.step.all_cautions()}) == told


def flow(gas="nitrogen", rate="0.50 ± 0.01 L/min", time="60 min", temperature="0 °C", pressure="101.325 kPa"):
    state = (read(temperature, "temperature"), read(pressure, "pressure")) if temperature else (None, None)
    return purge_let_in(PurgeFlow(gas, read(rate, "flow"), read(time, "time"), *state), "gas", SHEET)


def test_what_a_flow_lets_in_is_its_volume_over_the_molar_volume():
    """22.414 L/mol at 0 °C and 101.325 kPa (CODATA)."""
    found = flow()
    assert found.value == pytest.approx(30 / 22.414, rel=1e-4)
    # 2 % of the flow; half the last digit of 60 min and of 0 °C
    assert found.u / found.value == pytest.approx(
        (0.02**2 + (1 / 60) ** 2 / 12 + (1 / 273.15) ** 2 / 12) ** 0.5, rel=1e-3
    )


def test_a_flow_without_its_state_lies_between_the_normal_state_and_the_room():
    found = flow(temperature=None)
    assert 30 / 24.055 < found.value < 30 / 22.414
    assert [one.code for one in found.step.cautions] == ["gas.purge_flow_state"]
    spread = (30 / 22.414 - 30 / 24.055) / 12**0.5
    assert dict(found.budget)["reference state of the purge flow"] == pytest.approx(spread, rel=0.01)


def with_purge(moles, wet=False, **purge):
    """The gas of 121 L dry, in which the analysis finds so many mol of purge nitrogen."""
    whole = gas_amount(Product("gas", "", wet=wet), *of(GAS), SHEET, meter=counted(PLAIN)).total.value
    share = moles / whole
    mixed = {"methane": 0.5 * (1 - share), "propene": 0.5 * (1 - share), "nitrogen": share, "oxygen": 0.0}
    let_in = flow(**purge)
    beside = GasBeside(("nitrogen", let_in))
    return gas_amount(Product("gas", "", wet=wet), *of(mixed, "nitrogen"), SHEET, meter=counted(PLAIN), beside=beside)


@pytest.mark.parametrize(
    ("moles", "code"),
    [(30 / 22.414, "gas.purge_agrees"), (2.2, "gas.purge_too_much"), (0.7, "gas.purge_too_little")],
)
def test_the_purge_is_held_against_the_composition(moles, code):
    found = with_purge(moles)
    assert found.purge.found.value == pytest.approx(moles, rel=0.01)
    assert found.purge.difference.value == pytest.approx(moles - 30 / 22.414, abs=0.01)
    assert code in {one.code for one in found.mass.step.all_cautions()}


def test_purge_gas_that_the_analysis_does_not_see_is_taken_from_what_was_metered():
    whole = gas_amount(Product("gas", "", wet=False), *of(GAS, "helium"), SHEET, meter=counted(PLAIN))
    beside = GasBeside(("helium", flow("helium")))
    found = gas_amount(Product("gas", "", wet=False), *of(GAS, "helium"), SHEET, meter=counted(PLAIN), beside=beside)
    assert found.product.value == pytest.approx(whole.product.value - 30 / 22.414, rel=1e-6)
    assert "flow of the purge gas" in dict(found.mass.budget)
    assert found.purge.found.value is None
    assert "gas.purge_subtracted" in {one.code for one in found.mass.step.all_cautions()}


def test_more_purge_than_was_metered_leaves_no_product_and_says_why():
    beside = GasBeside(("helium", flow("helium", time="600 min")))
    found = gas_amount(Product("gas", "", wet=False), *of(GAS, "helium"), SHEET, meter=counted(PLAIN), beside=beside)
    assert found.mass.value is None
    assert found.mass.reason == "gas.less_than_let_in"


ACID = Result("hydrogen chloride", measured(0.5, 0.01, "titration"), "mol", "", Step("titrate/1"))


def test_acid_that_was_metered_and_not_analysed_is_taken_out_in_moles():
    whole = gas_amount(Product("gas", "", wet=False), *of(GAS), SHEET, meter=counted(PLAIN))
    found = gas_amount(
        Product("gas", "", wet=False), *of(GAS), SHEET, meter=counted(PLAIN), beside=GasBeside(acid=ACID)
    )
    assert found.product.value == pytest.approx(whole.product.value - 0.5, rel=1e-6)
    assert "titration" in dict(found.mass.budget)


def test_acid_that_was_analysed_too_is_counted_once():
    shares = {"methane": 0.45, "propene": 0.45, "hydrogen chloride": 0.1, "nitrogen": 0.0, "oxygen": 0.0}
    whole = gas_amount(Product("gas", "", wet=False), *of(shares), SHEET, meter=counted(PLAIN))
    found = gas_amount(
        Product("gas", "", wet=False), *of(shares), SHEET, meter=counted(PLAIN), beside=GasBeside(acid=ACID)
    )
    assert found.mass.value == pytest.approx(whole.mass.value - 0.5 * 36.461, rel=1e-6)
    assert "gas.acid_analysed_too" in {one.code for one in found.mass.step.all_cautions()}


def test_a_top_below_the_readings_is_told_as_such():
    with pytest.raises(
        InputError, match=r"line 2: found a reading of 120 L; expected readings up to the counter_top of"
    ):
        counted(PLAIN, top="1 L")
