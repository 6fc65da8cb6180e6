"""The four worked examples of 13_batch_distillation_examples.csv; the answers marked TRAP are never given."""

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from cutbook.fractions.batch_still import Ending, StillSettings, distil
from cutbook.fractions.column_stages import Column, bubble_c, column_stages
from cutbook.fractions.cut_schemes import cut_scheme
from cutbook.fractions.still_plan import PlanSettings, plan_fractionation
from cutbook.model.amount import measured
from cutbook.model.boiling import BoilingCurve, CurvePoint
from cutbook.model.lineage import Step
from cutbook.model.properties import WatsonFactor
from cutbook.model.result import Result

with (Path(__file__).parent / "data" / "13_batch_distillation_examples.csv").open(encoding="utf-8") as _table:
    ROWS = list(csv.DictReader(_table))
FINE = StillSettings(tolerance=1e-9)
OF_NO_TERM = WatsonFactor(measured(12.0, 0.0, "factor"), "at which its term vanishes", Step("made for a test/1"))
KPA_PER_ATM, KPA_PER_MMHG = 101.325, 101.325 / 760.0


def row(example, quantity):
    (found,) = [r for r in ROWS if r["example"].startswith(example) and r["quantity"].startswith(quantity)]
    return found


def value(example, quantity, column="value"):
    return float(row(example, quantity)[column].split(" (")[0])


def volatilities(*alphas):
    log = np.log(np.array(alphas))
    return lambda t: (log + 0.03 * t[:, None], np.full((len(t), log.size), 0.03))


def simple_still(charge, law, passed, pressure_kpa=101.325):
    column = Column(0, 0.0, pressure_kpa)
    return distil(np.log(charge), column, law, [Ending("done", passed)], FINE).states[-1]


def test_constant_volatility_of_benzene_over_toluene():
    name = "benzene-toluene simple batch still, alpha 2.9"
    charge = np.array([60.0, 40.0])
    target = value(name, "final residue benzene")
    end = simple_still(charge, volatilities(value(name, "alpha"), 1.0), lambda s: target - s.stages.pot[0])
    left, over = end.left, charge - end.left
    assert np.log(left.sum() / charge.sum()) == pytest.approx(value(name, "ln(W/W0)"), rel=0.005)
    for found, quantity in (
        (left.sum(), "residue"), (left[0], "residue benzene"), (left[1], "residue toluene"),
        (over[0], "distillate benzene"), (over[1], "distillate toluene"),
        (over[0] / over.sum(), "distillate mean benzene"),
    ):  # fmt: skip
        exact = [r for r in ROWS if r["example"] == name and r["quantity"] == quantity][0]
        assert found == pytest.approx(float(exact["value"]), rel=0.005), quantity
        assert found == pytest.approx(float(exact["recomputed"]), abs=5e-4), quantity


def test_bubble_points_of_benzene_and_toluene():
    name = "benzene-toluene batch still by bubble point"
    constants = [[float(part) for part in row(name, q)["value"].split(";")]
                 for q in ("Antoine benzene", "Antoine toluene")]  # fmt: skip
    a, b, c = np.array(constants).T

    def law(t):
        below = t[:, None] + c
        return np.log(10.0) * (a - b / below) + np.log(KPA_PER_MMHG), np.log(10.0) * b / below**2

    charge, pressure = np.array([60.0, 40.0]), 1.2 * KPA_PER_ATM
    assert bubble_c(np.log([0.6, 0.4]), pressure, law) == pytest.approx(value(name, "initial temperature"), abs=0.01)
    end = simple_still(charge, law, lambda s: s.stages.pot[1] - 0.8, pressure)
    assert end.stages.pot_c == pytest.approx(value(name, "temperature at 80"), abs=0.01)
    assert end.left.sum() == pytest.approx(value(name, "liquid left"), abs=0.02)
    over = charge - end.left
    assert over[0] / over.sum() == pytest.approx(value(name, "mean distillate", "recomputed"), abs=5e-4)
    trap = value(name, "TRAP")
    assert abs(end.left.sum() - trap) > 5.0
    # the wrong answer is what follows from the volatilities of the beginning
    first = law(np.array([value(name, "initial temperature")]))[0][0]
    frozen = simple_still(charge, volatilities(*np.exp(first)), lambda s: s.stages.pot[1] - 0.8)
    assert abs(frozen.left.sum() - end.left.sum()) > 0.1


def equilibrium_table(name):
    """Vapour pressures that give back a table of x and y at 101.325 kPa; the temperature is only a mark on it."""
    pairs = [[float(part) for part in pair.split(",")] for pair in row(name, "x,y table")["value"].split(";")]
    x, y = np.array(sorted(pairs)).T
    mark = -100.0 * x  # falls with x, as boiling points do
    order = np.argsort(mark)
    both = np.log(101.325 * np.column_stack([y / x, (1 - y) / (1 - x)]))[order]
    spline = CubicSpline(mark[order], both, bc_type="natural")
    slope = spline.derivative()
    return lambda t: (spline(t), slope(t))


@pytest.mark.parametrize(
    ("start", "residue", "mean"), [(0.7054, 0.6382, 0.8236), (0.70, 0.6320, 0.8361)], ids=["as printed", "from charge"]
)
def test_a_table_of_equilibrium_is_integrated_from_where_the_charge_is(start, residue, mean):
    name = "benzene-toluene, tabulated equilibrium"
    law = equilibrium_table(name)
    charge = np.array([start, 1.0 - start])
    column, near = Column(0, 0.0, 101.325), np.array([-100.0 * start])
    run = distil(np.log(charge), column, law,
                 [Ending("a third", lambda s: 2.0 / 3.0 - float(s.left.sum()))], FINE, near)  # fmt: skip
    left, over = run.states[-1].left, charge - run.states[-1].left
    assert np.log(left.sum()) == pytest.approx(value(name, "ln(L/L0)"), abs=1e-4)
    assert left[0] / left.sum() == pytest.approx(residue, abs=5e-4)
    if start == 0.70:
        assert left[0] / left.sum() != pytest.approx(value(name, "residue benzene, as printed"), abs=5e-3)
        assert over[0] / over.sum() == pytest.approx(mean, abs=2e-3)
    else:  # the printed mean mixes the two: this residue, but a balance from the true charge of 0.70
        assert 3.0 * (0.70 - 2.0 / 3.0 * left[0] / left.sum()) == pytest.approx(mean, abs=1e-3)
        assert over[0] / over.sum() != pytest.approx(mean, abs=1e-2)
    assert column_stages(np.log(charge), column, law, near).head_c == pytest.approx(-100.0 * start, abs=0.01)


def test_three_components_of_constant_volatility():
    name = "ternary simple batch distillation"
    over_toluene, over_xylene = 2.90, 6.94
    law = volatilities(over_xylene, over_xylene / over_toluene, 1.0)
    end = simple_still(np.array([50.0, 25.0, 25.0]), law, lambda s: value(name, "benzene left") - s.left[0])
    assert np.log(end.left[1] / 25.0) == pytest.approx(value(name, "ln(toluene left"), abs=1e-3)
    assert end.left[1] == pytest.approx(value(name, "toluene left", "recomputed"), abs=0.01)
    assert end.left[2] == pytest.approx(value(name, "p-xylene left", "recomputed"), abs=0.01)


def test_one_plate_over_the_pot_distils_a_petroleum_fraction_much_as_the_standard_test_does():
    # worked example of procedure 3A3.2 of the API Technical Data Book: a simulated curve and the one-plate curve of the
    # standard test, which has about one plate and little reflux; an outside check of curve, vapour pressures and still
    with (Path(__file__).parent / "data" / "02b_simdist_published.csv").open(encoding="utf-8") as table:
        rows = [r for r in csv.DictReader(table)
                if r["procedure"] == "SD->D86 Daubert 1994 (degF)" and r["quantity"] == "worked example"]  # fmt: skip
    at, simulated, one_plate = np.array([[float(r[key]) for key in ("at", "input", "value")] for r in rows]).T
    step = Step("published example/1")
    points = tuple(
        CurvePoint(p, Result("t", measured(float(np.interp(p, at, (simulated - 32) / 1.8)), 1.0, "t"), "°C", "", step))
        for p in (0.5, *map(float, range(1, 100)), 99.5)
    )
    curve = BoilingCurve("fraction", points, "published", True, step)
    plan = plan_fractionation(curve, OF_NO_TERM, 100.0, cut_scheme("boiling-textbook"), ["bottoms"],
                              settings=PlanSettings(plates=1, reflux=0.3))  # fmt: skip
    heads = np.interp(at, [p.distillate for p in plan.points], [p.equivalent_c for p in plan.points])
    inner = (at >= 10) & (at <= 90)
    assert inner.sum() == 5
    assert heads[inner] == pytest.approx((one_plate[inner] - 32) / 1.8, abs=17.0)
    spread = (simulated[inner][-1] - simulated[inner][0]) / 1.8
    assert heads[inner][-1] - heads[inner][0] == pytest.approx(np.ptp(one_plate[inner]) / 1.8, abs=12.0)  # fmt: skip
    assert heads[inner][-1] - heads[inner][0] < spread  # narrower than the simulated curve


def test_the_answers_of_the_rows_are_those_of_the_closed_equation():
    # an independent check of the first example: the bisected equation of Rayleigh
    def left(x):
        return np.exp((np.log(x / 0.6) + 2.9 * np.log(0.4 / (1 - x))) / 1.9)

    found = brentq(lambda x: left(x) - 0.112955, 0.01, 0.59)
    assert found == pytest.approx(0.1, abs=1e-5)
