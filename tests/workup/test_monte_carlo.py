"""First-order uncertainties of whole runs held against random draws, on demand."""

import json
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from cutbook.balance.propagation_check import MonteCarloSettings, held_against_draws
from cutbook.cli.main import main
from cutbook.importers.run_sheet import read_run
from cutbook.model.amount import measured
from cutbook.model.draws import drawing
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.workup.method import Method
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
METHOD = replace(Method(), monte_carlo=MonteCarloSettings(10_000))


@pytest.fixture(scope="module")
def crate():
    return work_up(read_run(EXAMPLES / "crate-oil"), METHOD)


def test_balance_gas_and_cuts_of_an_example_hold_and_take_less_than_5_s(crate):
    from cutbook.workup.monte_carlo import monte_carlo

    before = time.perf_counter()
    found = monte_carlo(crate)
    assert time.perf_counter() - before < 5.0
    names = {one.name for one in found.results}
    assert {"balance.closure", "gas.mass", "gas.net_calorific_value", "cuts.carbon-number.gasoline.yield"} <= names
    # the oxygen that was fed is the moisture, known to a quarter, over which its closure is a quotient
    assert [one.name for one in found.results if one.departure == "too narrow" and not one.agrees] == [
        "elements.O.closure"
    ]
    closure = next(one for one in found.results if one.name == "balance.closure")
    assert closure.agrees and closure.u_drawn == pytest.approx(closure.u, rel=0.03)


def test_what_is_drawn_is_the_run_and_not_its_linearisation(crate):
    # the arithmetic written out anew: the yield of oil is a ratio of two normal weighings
    one = next(r for r in crate.monte_carlo.results if r.name == "balance.products.oil.yield")
    rng = np.random.default_rng(1)
    feed = 812.4 + 205.3 + 0.5 * 2**0.5 * rng.standard_normal(400_000)
    oil = 431.2 + 0.5 * rng.standard_normal(400_000)
    low, high = np.quantile(100 * oil / feed, (0.025, 0.975))
    assert (one.low, one.high) == (pytest.approx(low, abs=0.08 * one.u), pytest.approx(high, abs=0.08 * one.u))


def quotient(u, draws=20_000):
    step = Step("quotient/1")

    def made():
        return Result("q", 100.0 / measured(10.0, u, "x"), "1", "", step)

    before = made()
    with drawing(draws, 5):
        return held_against_draws("q", before, made(), draws)


def test_a_curved_result_is_told_and_a_nearly_straight_one_is_not():
    assert quotient(0.05).agrees
    curved = quotient(2.0)
    # 100/x with x = 10 ± 2: the draws reach up to 100/(10 − 1.96 · 2) = 16.4, first order to 13.9
    assert not curved.agrees and curved.departure == "too narrow"
    assert curved.high == pytest.approx(100 / (10 - 1.959964 * 2), rel=0.02)
    assert curved.off == pytest.approx(16.45 - 13.92, rel=0.05)


def test_a_result_of_one_last_digit_is_told_as_too_wide():
    step = Step("reading/1")
    before = Result("m", measured(88.0, 1 / 12**0.5, "read"), "g", "", step)
    with drawing(20_000, 6):
        after = Result("m", measured(88.0, 1 / 12**0.5, "read", rectangular=True), "g", "", step)
        found = held_against_draws("m", before, after, 20_000)
    # rectangular: 95 % within ± 0.475, normal: ± 1.96 / √12 = 0.566
    assert found.high - 88.0 == pytest.approx(0.475, abs=0.005)
    assert not found.agrees and found.departure == "too wide"


def test_it_is_done_on_demand_and_stands_in_results_workbook_and_page(tmp_path):
    import shutil

    import openpyxl

    folder = shutil.copytree(EXAMPLES / "mixed-film", tmp_path / "run")
    asked = CliRunner().invoke(main, ["workup", str(folder), "--monte-carlo", "2000"])
    assert asked.exit_code == 0 and "2000 random draws" in asked.output
    found = json.loads((folder / "results" / "results.json").read_text(encoding="utf-8"))
    assert found["monte_carlo"]["draws"] == 2000 and len(found["monte_carlo"]["results"]) > 20
    assert "monte_carlo.too_wide" in {one["code"] for one in found["cautions"]}, "wax is read to a gram"
    book = openpyxl.load_workbook(folder / "results" / "workbook.xlsx", read_only=True)
    assert "Random draws" in book.sheetnames
    assert "2000 random draws" in (folder / "results" / "report.html").read_text(encoding="utf-8")
    # asked again without, the results are made anew and the sheet is gone
    CliRunner().invoke(main, ["workup", str(folder)])
    found = json.loads((folder / "results" / "results.json").read_text(encoding="utf-8"))
    assert found["monte_carlo"] is None


def test_too_few_draws_are_refused_in_one_line(tmp_path):
    asked = CliRunner().invoke(main, ["workup", str(tmp_path), "--monte-carlo", "10"])
    assert asked.exit_code == 2 and "1000<=x<=200000" in asked.output
