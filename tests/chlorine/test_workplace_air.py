"""Workplace limits beside what was found: Raoult's law by hand, who gets a figure, and how it lies to the limits."""

import pytest
from screened import a_run, a_screened, a_target

from cutbook.chlorine.concentration import quantify
from cutbook.chlorine.surrogate import surrogate
from cutbook.chlorine.workplace_air import (
    WorkplaceAirSettings,
    acid_row,
    workplace_air,
    workplace_cautions,
)
from cutbook.model.amount import measured
from cutbook.model.chlorine import ScreenedOil
from cutbook.model.lineage import Step
from cutbook.model.result import Result

MOLAR = Result("molar_mass", measured(180.0, 0.0, "molar mass of oil"), "g/mol", "oil", Step("by hand/1"))
IDEAL = WorkplaceAirSettings(activity=1.0, u_activity=0.0, u_molar_mass=0.0)


def an_oil(*screened):
    run = a_run(screened, current=1e6)
    targets = quantify(run, by_surrogate=surrogate(run))  # 40 counts·min of chlorobenzene are 100 mg/kg
    return ScreenedOil("oil", "oil.mzML", targets, (), (), Step("screen oil/1"))


def chlorobenzene(area=40.0):
    return a_screened("chlorobenzene", "confirmed", area, 0.0)


def test_vapour_is_that_of_raoults_law():
    (row,) = workplace_air(an_oil(chlorobenzene()), MOLAR, IDEAL)
    moles, rest = 100e-6 / 112.557, (1 - 100e-6) / 180.0
    expected = 1e6 * moles / (moles + rest) * 1.600 / 101.325  # kPa at 25 °C, Landolt-Börnstein
    assert row.vapour.value == pytest.approx(expected, rel=1e-6)
    assert expected == pytest.approx(2.53, abs=0.01)
    assert row.vapour.unit == "ppm"
    assert row.verdict == "confirmed"


def test_an_oil_that_is_all_chlorobenzene_gives_its_vapour_pressure():
    (row,) = workplace_air(an_oil(chlorobenzene(area=40.0 * 9999)), MOLAR, IDEAL)  # 999.9 g/kg
    assert row.vapour.value == pytest.approx(1e6 * 1.600 / 101.325, rel=1e-3)


def test_uncertainty_holds_activity_and_molar_mass_and_the_concentration():
    (row,) = workplace_air(an_oil(chlorobenzene()), MOLAR)
    (plain,) = workplace_air(an_oil(chlorobenzene()), MOLAR, IDEAL)
    assert row.vapour.value == pytest.approx(1.2 * plain.vapour.value)
    tags = {tag for tag, _ in row.vapour.budget}
    assert {"activity in the oil", "mean molar mass by number", "vapour pressure of chlorobenzene"} <= tags
    relative = row.vapour.u / row.vapour.value
    assert relative**2 == pytest.approx((plain.vapour.u / plain.vapour.value) ** 2 + 0.1**2 + 0.1**2, rel=1e-3)


@pytest.mark.parametrize(
    ("area", "beside"),
    [(0.4, "below"), (80.0, "not told apart from"), (40000.0, "above")],  # 1, 200, 100,000 mg/kg: 0.03, 5, 2500 ppm
)
def test_figure_is_set_below_beside_or_above_the_lowest_limit(area, beside):
    (row,) = workplace_air(an_oil(chlorobenzene(area)), MOLAR, IDEAL)
    assert row.lowest.value == 5.0  # European Union, 8 h
    assert row.beside == beside


def test_what_was_not_found_and_what_has_no_limit_is_not_listed():
    screened = [
        a_screened("1,4-dichlorobenzene", limit_area=4.0), a_screened("1,2,4-trichlorobenzene", "masked"),
        a_screened("4-chlorotoluene", "confirmed", 10.0, 0.0), a_screened("dichloromethane", "confirmed", 10.0, 0.0),
    ]  # fmt: skip
    assert workplace_air(an_oil(*screened), MOLAR) == ()
    assert workplace_cautions((), "oil") == ()


def test_without_a_molar_mass_or_a_vapour_pressure_limits_stand_alone_and_the_reason_is_told():
    (row,) = workplace_air(an_oil(chlorobenzene()), None)
    assert row.vapour.reason == "chlorine.no_vapour"
    assert row.limits
    assert row.beside == ""
    codes = {one.code: one.facts for one in workplace_cautions([row], "oil")}
    assert codes["chlorine.no_vapour"]["names"] == "chlorobenzene"
    assert codes["chlorine.workplace_air"]["names"] == "chlorobenzene"
    # nobody knows the vapour pressure of the undercooled liquid of hexachlorobenzene here
    from cutbook.identification.target_table import target_named

    one = a_screened("chlorobenzene", "indicated", 4.0, 0.0, target=target_named("hexachlorobenzene"))
    (row,) = workplace_air(an_oil(one), MOLAR)
    assert row.vapour.value is None
    assert [limit.unit for limit in row.limits] == ["mg/m³"]
    assert row.lowest is None


def test_hydrogen_chloride_has_limits_and_no_figure():
    row = acid_row()
    assert row.vapour is None
    assert len(row.limits) >= 4
    assert row.lowest.value == 2.0
    assert [one.code for one in workplace_cautions([row], "feed")] == ["chlorine.workplace_air"]


def test_a_standard_that_somebody_added_is_not_listed():
    target = a_target("chlorobenzene", kind="internal standard")
    assert workplace_air(an_oil(a_screened("chlorobenzene", "confirmed", 40.0, 0.0, target=target)), MOLAR) == ()
