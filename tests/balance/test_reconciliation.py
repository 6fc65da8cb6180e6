"""Reconciliation against networks of the literature, against a direct solution, and of whole runs."""

import csv
import re
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from run_streams import FEED, FEED_SHARES, FILLED_PVC, STEP, filled_pvc_run, stream
from scipy.optimize import minimize
from uncertainties import covariance_matrix

from cutbook.balance.gross_errors import gross_errors
from cutbook.balance.reconciliation import reconcile
from cutbook.balance.run_reconciliation import ReconciliationSettings, reconcile_run
from cutbook.model.amount import measured, nominal
from cutbook.model.result import Result

DATA = Path(__file__).parents[1] / "published" / "data"


def networks():
    found = defaultdict(lambda: {"measured": {}, "reconciled": {}, "serial": []})
    with (DATA / "12b_reconciliation_examples.csv").open(encoding="utf-8") as table:
        for row in csv.DictReader(table):
            place = found[row["example"]]
            if row["quantity"].startswith("balances"):
                place["balances"] = [[int(t) for t in part.split()] for part in row["value2"].split("|")]
            elif match := re.match(r"stream (\d+): (measured|reconciled)", row["quantity"]):
                place[match[2]][int(match[1])] = [float(row[k]) for k in ("value", "value2", "value3") if row[k]]
            elif row["quantity"].startswith("global test"):
                place["global"] = [float(row[k]) for k in ("value", "value2", "value3")]
            elif match := re.match(r"serial elimination step \d+: stream (\d+)", row["quantity"]):
                estimate = float(re.match(r"estimate ([\d.]+)", row["remark"])[1])
                place["serial"].append((int(match[1]), float(row["value"]), int(float(row["value2"])), estimate))
    return {name: place for name, place in found.items() if place.get("balances") and "global" in place}


def arrays(example):
    streams = sorted(example["measured"])
    position = {stream: index for index, stream in enumerate(streams)}
    balances = np.zeros((len(example["balances"]), len(streams)))
    for row, signed in enumerate(example["balances"]):
        for one in signed:
            balances[row, position[abs(one)]] += np.sign(one)
    read = np.array([example["measured"][s][0] for s in streams])
    u = np.array([example["measured"][s][1] for s in streams])
    return read, u, balances, position


def test_all_seven_networks_were_read():
    assert len(networks()) == 7


@pytest.mark.parametrize("name", networks())
def test_reconciliation_reproduces_the_networks_of_the_literature(name):
    example = networks()[name]
    measured, u, balances, position = arrays(example)
    found = reconcile(measured, u, balances)
    for one, values in example["reconciled"].items():
        at = position[one]
        assert found.values[at] == pytest.approx(values[0], rel=2e-4, abs=0.01)
        assert found.u[at] == pytest.approx(values[1], rel=2e-3, abs=2e-4)
        if len(values) > 2:  # the steam network has streams of which the table gives no test
            assert found.tests[at] == pytest.approx(values[2], rel=2e-3, abs=2e-3)
    assert found.chi_square == pytest.approx(example["global"][0], abs=6e-4)
    assert found.degrees_of_freedom == example["global"][1]
    assert found.p == pytest.approx(example["global"][2], rel=2e-3)


@pytest.mark.parametrize("name", [name for name, place in networks().items() if place["serial"]])
def test_the_order_of_the_gross_errors_is_that_of_serial_elimination(name):
    example = networks()[name]
    measured, u, balances, position = arrays(example)
    whole = reconcile(measured, u, balances)
    checked = np.flatnonzero(whole.redundancy > 0)
    named = gross_errors(whole.directions[:, checked], whole.imbalances, u[checked], 0.05, 0.0, 9)
    left = whole.chi_square
    for one, (number, chi_square, _, _) in zip(named, example["serial"], strict=False):
        assert checked[one.place] == position[number]
        left -= one.test**2
        assert left == pytest.approx(chi_square, abs=2e-3)
    assert len(named) >= len(example["serial"])
    # and what the others say of the named ones, when all of them are taken for unmeasured
    gone = [position[number] for number, *_ in example["serial"]]
    kept = [at for at in range(len(u)) if at not in gone]
    without = reconcile(measured[kept], u[kept], balances[:, kept], balances[:, gone])
    assert without.chi_square == pytest.approx(example["serial"][-1][1], abs=2e-3)
    assert without.degrees_of_freedom == example["serial"][-1][2]
    assert without.solved[-1] == pytest.approx(example["serial"][-1][3], abs=2e-3)


def mass_balance_rows():
    with (DATA / "12_mass_balance.csv").open(encoding="utf-8") as table:
        return {row["quantity"]: row for row in csv.DictReader(table)}


def bench_run(**gas):
    """feed 812.4 ± 0.5; oil 402.1 ± 0.5; wax 120.3 ± 0.5; char 61.0 ± 0.3; gas 205.0 ± 4.0 g; nothing analysed."""
    unknown = ("C", "H", "O", "N", "Cl")
    masses = {"feed": (812.4, 0.5), "oil": (402.1, 0.5), "wax": (120.3, 0.5), "char": (61.0, 0.3), "gas": (205.0, 4.0)}
    return [
        stream(name, mass, u, {}, name == "feed", unknown=unknown, **(gas if name == "gas" else {}))
        for name, (mass, u) in masses.items()
    ]


def test_reconciled_masses_are_the_published_ones_and_the_gas_is_to_be_looked_at():
    found = reconcile_run(bench_run())
    for one in found.masses:
        row = mass_balance_rows()[f"{one.stream} g"]
        assert one.reconciled.value == pytest.approx(float(row["value"]), abs=1e-4)
        assert one.reconciled.u == pytest.approx(float(row["u"]), abs=1e-4)
    assert found.chi_square == pytest.approx(34.2043, abs=1e-3)
    assert found.p == pytest.approx(4.96e-09, rel=2e-3)
    first = found.suspects[0]
    assert (first.stream, first.element) == ("gas", "")
    assert first.others.value == pytest.approx(812.4 - 402.1 - 120.3 - 61.0)
    assert first.others.u == pytest.approx((3 * 0.5**2 + 0.3**2) ** 0.5)
    # with one balance nothing tells the streams apart; all others are named with it
    assert {stream for stream, _ in first.alike} == {"feed", "oil", "wax", "char"}
    assert {one.of for one in found.imbalances} == {"mass"}


def test_a_reconciled_mass_keeps_what_it_was_made_from():
    gas = next(one for one in reconcile_run(bench_run()).masses if one.stream == "gas")
    # with one balance the gas is the mean of its own weighing and of the others' difference, weighted by variance
    own, others = 4.0**2, 3 * 0.5**2 + 0.3**2
    weight = others / (own + others)
    budget = dict(gas.reconciled.budget)
    assert budget["weighing of gas"] == pytest.approx(weight * 4.0)
    assert budget["weighing of feed"] == pytest.approx((1 - weight) * 0.5)
    assert set(budget) == {f"weighing of {one}" for one in ("feed", "oil", "wax", "char", "gas")}


def test_a_run_without_redundancy_is_refused():
    assert reconcile_run(bench_run(by_difference=True)) is None


def test_a_mass_by_difference_is_solved_for_and_tells_nothing_of_the_others():
    # what the elements say of oil and char when the gas is by difference: C and H close with two unknowns less
    made = [one for one in filled_pvc_run(np.random.default_rng(3), 0.01) if one.name != "gas"]
    gas = stream("gas", 150.0, 30.0, FILLED_PVC["gas"][1], by_difference=True)
    found = reconcile_run([*made, gas])
    solved = next(one for one in found.masses if one.stream == "gas")
    assert solved.standing == "solved" and solved.raw.value is None
    assert solved.reconciled.value == pytest.approx(200.0, abs=4 * solved.reconciled.u)
    assert found.degrees_of_freedom == 3


def test_what_nobody_analysed_is_solved_for_where_one_stream_lacks_it():
    exact = [stream("feed", FEED, 0.1, FEED_SHARES, True)]
    for name, (mass, shares) in FILLED_PVC.items():
        exact.append(stream(name, mass, 0.1, shares, unknown=("C", "H") if name == "char" else ()))
    found = reconcile_run(exact)
    by = {(one.stream, one.element): one for one in found.shares}
    assert by["char", "C"].standing == "solved"
    assert by["char", "C"].reconciled.value == pytest.approx(55.0, abs=1e-6)
    assert by["char", "H"].reconciled.value == pytest.approx(2.0, abs=1e-6)
    # two streams without an analysis: nothing can be said
    both = [stream(one.name, one.mass.value, 0.1, {}, one.feed, unknown=("C",)) for one in exact[:2]] + exact[2:]
    lost = {(one.stream, one.element): one for one in reconcile_run(both).shares}
    assert lost["oil", "C"].standing == lost["feed", "C"].standing == "not determined"
    assert lost["oil", "C"].reconciled.value is None


def test_a_mass_that_nothing_checks_is_told_so():
    # the ash of a feed that goes all into a char nobody weighs: its mass follows, and checks nothing
    made = [
        stream("feed", 100.0, 0.1, {"C": 0.8}, True),
        stream("oil", 90.0, 0.1, {"C": 0.85}, unknown=("C",)),
        stream("char", None, 0.1, {"C": 0.5}, unknown=("C",)),
    ]
    assert reconcile_run(made) is None


def independent(x, v, a, b):
    """Minimum of (x̂ − x)ᵀ V⁻¹ (x̂ − x) under A x̂ + B y = 0, by the equations of Lagrange in one matrix."""
    n, k, m = len(x), b.shape[1], len(a)
    inverse = np.linalg.inv(v)
    top = np.hstack([inverse, np.zeros((n, k)), a.T])
    middle = np.hstack([np.zeros((k, n + k)), b.T])
    below = np.hstack([a, b, np.zeros((m, m))])
    right = np.concatenate([inverse @ x, np.zeros(k + m)])
    solved = np.linalg.lstsq(np.vstack([top, middle, below]), right, rcond=None)[0]
    return solved[:n], solved[n : n + k]


@given(st.integers(0, 10_000), st.integers(0, 2))
@settings(max_examples=40, deadline=None)
def test_correlated_and_unmeasured_values_agree_with_the_equations_of_lagrange(seed, unmeasured):
    rng = np.random.default_rng(seed)
    n, m = 6, 4
    a, b = rng.normal(size=(m, n)), rng.normal(size=(m, unmeasured))
    root = rng.normal(size=(n, n))
    v = root @ root.T + 0.1 * np.eye(n)
    x = rng.normal(10.0, 3.0, n)
    values, solved = independent(x, v, a, b)
    found = reconcile(x, v, a, b)
    assert found.values == pytest.approx(values, rel=1e-6, abs=1e-6)
    assert found.solved == pytest.approx(solved, rel=1e-6, abs=1e-6)
    assert found.degrees_of_freedom == m - unmeasured
    assert (a @ found.values + b @ found.solved) == pytest.approx(np.zeros(m), abs=1e-7)


def test_products_of_mass_and_share_are_solved_as_a_general_minimiser_does():
    made = filled_pvc_run(np.random.default_rng(8), 0.02, u_share=0.01)
    found = reconcile_run(made)
    masses = np.array([one.mass.value for one in made])
    shares = {(i, e): one.elements[e].share for i, one in enumerate(made) for e in ("C", "H", "Cl")}
    free = [key for key, share in shares.items() if getattr(share, "std_dev", 0.0) > 0]
    x0 = np.concatenate([masses, [shares[key].nominal_value for key in free]])
    u = np.concatenate([[one.mass.u for one in made], [shares[key].std_dev for key in free]])
    signs = np.array([1.0, -1, -1, -1, -1])
    spread = np.array([one.difference.u for one in found.imbalances])

    def closes(z):
        x = x0 + u * z
        flows = {key: 0.0 for key in ("C", "H", "Cl")}
        for at, (i, e) in enumerate(free):
            flows[e] += signs[i] * x[i] * x[5 + at]
        return np.array([signs @ x[:5], *flows.values()]) / spread

    best = minimize(
        lambda z: z @ z, np.zeros(len(u)), jac=lambda z: 2 * z, constraints={"type": "eq", "fun": closes},
        method="SLSQP", options={"ftol": 1e-12, "maxiter": 200},
    )  # fmt: skip
    assert best.success
    assert found.chi_square == pytest.approx(best.fun, rel=1e-3)
    assert [one.reconciled.value for one in found.masses] == pytest.approx(list((x0 + u * best.x)[:5]), rel=1e-5)


def test_redundancy_is_the_share_of_the_variance_that_the_balances_take():
    # one balance over equal uncertainties: each of n values keeps (n - 1)/n of its variance
    found = reconcile(np.array([100.0, 60.0, 39.0]), np.full(3, 2.0), np.array([[1.0, -1.0, -1.0]]))
    assert found.redundancy == pytest.approx(np.full(3, 1 / 3))
    assert found.u**2 == pytest.approx(np.full(3, 4.0 * 2 / 3))


def test_no_raw_value_is_changed():
    made = filled_pvc_run(np.random.default_rng(1), 0.01, "oil", 1.05)
    found = reconcile_run(made)
    assert [one.raw.value for one in found.masses] == [one.mass.value for one in made]


def test_statements_that_no_uncertainty_allows_for_are_told():
    certain = [
        stream("feed", 100.0, 0.0, {"C": 0.9}, True),
        stream("oil", 90.0, 0.0, {"C": 0.9}),
        stream("gas", 9.0, 0.5, {"C": 0.9}, by_difference=True),
    ]
    assert reconcile_run(certain) is None
    twice = [*certain[:2], stream("gas", 9.0, 0.5, {"C": 0.5}), stream("tar", 1.0, 0.1, {"C": 0.5})]
    found = reconcile_run(twice)
    assert "balance.contradiction" in {c.code for c in found.step.cautions}


def test_settings_say_how_many_are_named():
    made = filled_pvc_run(np.random.default_rng(5), 0.001, "oil", 1.2)
    made = [
        stream(one.name, one.mass.value * (0.7 if one.name == "char" else 1.0), one.mass.u, FEED_SHARES
               if one.feed else FILLED_PVC[one.name][1], one.feed)
        for one in made
    ]  # fmt: skip
    assert len(reconcile_run(made).suspects) >= 2
    assert len(reconcile_run(made, ReconciliationSettings(most=1)).suspects) == 1


def one_scale(wrong):
    """The blend on one scale that weighs 2 % wrong at most, each mass read to 0.3 % besides; one of them mistaken."""
    scale = measured(1.0, 0.02, "scale")
    made = []
    for name, (true, shares) in {"feed": (FEED, FEED_SHARES), **FILLED_PVC}.items():
        grams = true * (1.06 if name == wrong else 1.0)
        one = stream(name, grams, 0.003 * true, shares, name == "feed")
        made.append(replace(one, mass=Result("m", one.mass.amount * scale, "g", "", STEP)))
    return made


def test_what_the_others_say_keeps_what_they_share_with_the_value_that_is_doubted():
    made = one_scale("oil")
    suspect = reconcile_run(made).suspects[0]
    assert (suspect.stream, suspect.element) == ("oil", "")
    # the same by the equations of Lagrange: the error of the oil is one more unknown, and everything is linear in the
    # masses since the shares are exact
    masses = [one.mass.amount for one in made]
    x, v = np.array([one.nominal_value for one in masses]), np.array(covariance_matrix(masses))
    rows = [[1.0] * 5] + [[nominal(one.elements[e].share) for one in made] for e in ("C", "H", "Cl")]
    a = np.array(rows) * np.array([1.0, -1, -1, -1, -1])

    def others(read):
        values, error = independent(read, v, a, -a[:, [1]])
        return values[1] - error[0]

    slopes = np.array([others(x + step) - others(x) for step in np.eye(5)])
    assert suspect.others.value == pytest.approx(others(x), rel=1e-6)
    assert suspect.others.u == pytest.approx(np.sqrt(slopes @ v @ slopes), rel=1e-4)
    # the scale is wrong for all of them alike, and so stays in what they say
    assert suspect.others.u > 0.02 * suspect.others.value


def test_without_a_product_there_is_nothing_to_reconcile():
    assert reconcile_run([stream("feed", 800.0, 0.5, {"C": 0.857, "H": 0.143}, True)]) is None


def test_traces_of_what_no_formula_holds_accuse_nobody():
    # an exact share of 0 is that of a formula; nitrogen measured in the oil then contradicts nothing
    made = [
        stream("feed", 100.0, 0.1, {"C": 0.857, "H": 0.143}, True, {"C": 0.004, "H": 0.001}),
        stream("oil", 100.0, 0.1, {"C": 0.857, "H": 0.142, "N": 0.001}, u_share={"C": 0.003, "H": 0.001, "N": 0.0001}),
    ]
    found = reconcile_run(made)
    assert not found.suspects and {one.of for one in found.imbalances} == {"mass", "C", "H"}
    # where the feed was analysed for it, the balance counts
    made[0] = stream("feed", 100.0, 0.1, {"C": 0.857, "H": 0.143}, True, {"C": 0.004, "H": 0.001, "N": 0.0001})
    assert {one.of for one in reconcile_run(made).imbalances} == {"mass", "C", "H", "N"}


def test_air_and_purge_gas_in_a_weighed_gas_balance_no_feed():
    def run(own):
        gas = stream("gas", 20.0, 0.1, {}, unknown=("C", "H"))
        return [
            stream("feed", 99.0, 0.1, {"C": 0.857, "H": 0.143}, True),
            stream("oil", 80.0, 0.1, {}, unknown=("C", "H")), replace(gas, own=own),
        ]  # fmt: skip

    # 1 g of the 20 g came from the purge: 99 = 80 + 19
    assert reconcile_run(run(0.95)).chi_square == pytest.approx(0.0, abs=1e-12)
    assert reconcile_run(run(1.0)).chi_square == pytest.approx(1 / 0.03)
    # half of it: 9 g too many, and half of the error of the weighing
    assert reconcile_run(run(0.5)).chi_square == pytest.approx(81 / (0.01 + 0.01 + 0.25 * 0.01))


def test_feeds_of_one_name_are_told_apart_and_a_feed_from_a_product_of_its_name():
    made = [
        stream("PE", 60.0, 0.1, {}, True), stream("wax", 30.0, 0.1, {}, True), stream("PE", 10.0, 0.1, {}, True),
        stream("wax", 100.0, 0.1, {}),
    ]  # fmt: skip
    assert [one.stream for one in reconcile_run(made).masses] == [
        "feed 1 (PE)", "feed 2 (wax)", "feed 3 (PE)", "wax",
    ]  # fmt: skip
