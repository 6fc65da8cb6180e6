"""Mass balance, yields, closure and reconciliation against published and derived values."""

import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutbook.balance.mass_balance import mass_balance
from cutbook.model.entered import Entered
from cutbook.model.errors import BalanceError
from cutbook.model.lineage import Source
from cutbook.model.run import Feed, Product

DATA = Path(__file__).parents[1] / "published" / "data"
SHEET = Source("run.toml", "0" * 64)


def entered(value, u=0.1, unit="g"):
    return Entered(value, u, unit, f"{value} ± {u} {unit}", True)


def feed(value=812.4, u=0.5, **more):
    return Feed("HDPE", entered(value, u), "[[feed]] 1", **more)


def product(fraction, value=None, u=0.1, **more):
    mass = None if value is None else entered(value, u)
    return Product(fraction, f"[[product]] {fraction}", mass=mass, **more)


def bench_run():
    products = [product("oil", 402.1, 0.5), product("wax", 120.3, 0.5), product("char", 61.0, 0.3)]
    return mass_balance([feed()], [*products, product("gas", 205.0, 4.0)], SHEET)


def published():
    with (DATA / "12_mass_balance.csv").open(encoding="utf-8") as table:
        return {row["quantity"]: row for row in csv.DictReader(table)}


@pytest.mark.parametrize("name", ["oil", "wax", "char", "gas"])
def test_yields_and_their_uncertainty_are_those_of_first_order_propagation(name):
    # JCGM 100, checked there against two million Monte Carlo draws
    row = published()[f"yield {name} %"]
    found = {entry.fraction: entry.yield_as_charged for entry in bench_run().products}[name]
    assert found.value == pytest.approx(float(row["value"]), abs=1e-4)
    assert found.u == pytest.approx(float(row["u"]), rel=0.01)


def test_closure_keeps_the_correlation_through_the_feed():
    row = published()["closure %"]
    closure = bench_run().closure
    assert closure.value == pytest.approx(float(row["value"]), abs=1e-4)
    assert closure.u == pytest.approx(float(row["u"]), rel=0.01)
    assert closure.budget[0][0] == "weighing of gas"
    assert sum(part**2 for _, part in closure.budget) == pytest.approx(closure.u**2)


# Singh 2018, J. Anal. Appl. Pyrolysis 134, 150-161: eight HDPE runs, oil / gas / residue in %
SINGH = [
    (80, 19.69, 0.31, 100.00),
    (84.40, 15.35, 0.28, 100.03),
    (88.22, 11.53, 0.25, 100.00),
    (92, 7.77, 0.30, 100.07),
    (79, 20.50, 0.50, 100.00),
    (82, 17.55, 0.49, 100.04),
    (84, 15.65, 0.35, 100.00),
    (91, 8.59, 0.41, 100.00),
]


@pytest.mark.parametrize(("oil", "gas", "residue", "closure"), SINGH)
def test_published_closures_come_out_as_printed_and_are_suspected(oil, gas, residue, closure):
    found = mass_balance(
        [feed(100.0, 0.1)], [product("oil", oil), product("gas", gas), product("char", residue)], SHEET
    )
    assert found.closure.value == pytest.approx(closure, abs=0.005)
    assert "balance.closes_too_well" in {c.code for c in found.step.all_cautions()}


def test_a_product_by_difference_leaves_the_closure_untested():
    found = mass_balance([feed()], [product("oil", 402.1), product("gas", by_difference=True)], SHEET)
    assert found.closure.value is None and found.closure.reason == "balance.by_difference"
    assert found.verdict == "not tested"
    gas = found.products[1].mass
    assert gas.value == pytest.approx(812.4 - 402.1)
    assert gas.u == pytest.approx((0.5**2 + 0.1**2) ** 0.5)


def test_a_negative_difference_beyond_two_u_is_an_error_and_within_it_a_caution():
    with pytest.raises(BalanceError, match="exceed the feed by 5.00 g"):
        mass_balance([feed(100.0, 0.5)], [product("oil", 105.0), product("gas", by_difference=True)], SHEET)
    found = mass_balance([feed(100.0, 0.5)], [product("oil", 100.4), product("gas", by_difference=True)], SHEET)
    assert "balance.negative_difference" in {c.code for c in found.step.cautions}
    assert found.products[1].mass.value == pytest.approx(-0.4)


def test_a_product_without_mass_is_missing_and_not_zero():
    found = mass_balance([feed()], [product("oil", 402.1), product("gas", volume=entered(212_000, 1, "mL"))], SHEET)
    gas = found.products[1]
    assert gas.mass.value is None and gas.yield_as_charged.value is None
    assert found.closure.value is None and found.closure.reason == "balance.not_measured"


def test_volume_times_density_is_a_mass_with_both_uncertainties():
    oil = product("oil", volume=entered(500.0, 2.0, "mL"), density=entered(0.79, 0.002, "g/mL"))
    found = mass_balance([feed()], [oil], SHEET).products[0]
    assert found.how == "volume × density"
    assert found.mass.value == pytest.approx(395.0)
    assert found.mass.u == pytest.approx(395.0 * ((2 / 500) ** 2 + (0.002 / 0.79) ** 2) ** 0.5)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.0, 0.3), st.floats(0.0, 0.2))
def test_bases_differ_exactly_by_moisture_and_ash(moisture, ash):
    charged = feed(moisture=entered(moisture, 0.0, "1"), ash=entered(ash, 0.0, "1"))
    oil = mass_balance([charged], [product("oil", 400.0)], SHEET).products[0]
    assert oil.yield_dry.value == pytest.approx(oil.yield_as_charged.value / (1 - moisture))
    assert oil.yield_dry_ash_free.value == pytest.approx(oil.yield_as_charged.value / (1 - moisture - ash))


def test_correcting_one_weighing_leaves_the_ids_of_the_others():
    one = mass_balance([feed()], [product("oil", 400.0), product("char", 60.0)], SHEET)
    two = mass_balance([feed()], [product("oil", 401.0), product("char", 60.0)], Source("run.toml", "1" * 64))
    assert one.products[1].mass.step.id == two.products[1].mass.step.id
    assert one.products[0].mass.step.id != two.products[0].mass.step.id
    assert one.closure.step.id != two.closure.step.id


@pytest.mark.parametrize(
    ("oil", "verdict", "code"),
    [
        (98.0, "good", None),
        (104.0, "acceptable", None),
        (93.0, "explain", "balance.explain"),
        (85.0, "explain", "balance.far_off"),
    ],
)
def test_classes_of_closure(oil, verdict, code):
    found = mass_balance([feed(100.0, 0.1)], [product("oil", oil)], SHEET)
    assert found.verdict == verdict
    if code:
        assert code in {c.code for c in found.step.cautions}
