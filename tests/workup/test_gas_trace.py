"""A run whose gas was injected too, on a column of its own: gas-borne C5+ counts with the gasoline."""

import shutil
from pathlib import Path

import numpy as np
import pytest
from simulated_trace import Compounds, render

from cutbook.importers.run_sheet import read_run
from cutbook.workup.read_method import read_method
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TIMES = {1: 1.5, 2: 1.9, 3: 2.8, 4: 4.3, 5: 6.1, 6: 8.0, 7: 9.8, 8: 11.5}
GAS = {1: 12.0, 2: 25.0, 3: 30.0, 4: 20.0, 5: 9.0, 6: 4.0}


def write(path, amounts, seed):
    t = np.arange(0, 15, 1 / 600)
    times = np.array([TIMES[n] for n in amounts])
    sigma = np.full(len(times), 0.02)
    peaks = Compounds(times, 3.0 * np.array(list(amounts.values())), sigma, 0.2 * sigma)
    signal = render(t, peaks) + 6 + np.random.default_rng(seed).normal(0, 0.05, len(t))
    rows = [f"{a:.5f}\t{b:.4f}" for a, b in zip(t, signal, strict=True)]
    path.write_text("\n".join(["time (min)\tFID (pA)", *rows]), encoding="utf-8")


@pytest.fixture(scope="module")
def findings(tmp_path_factory):
    folder = tmp_path_factory.mktemp("runs") / "crate-oil"
    shutil.copytree(EXAMPLES / "crate-oil", folder, ignore=shutil.ignore_patterns("results"))
    write(folder / "traces" / "gas.txt", GAS, 1)
    write(folder / "traces" / "gas-ladder.txt", dict.fromkeys(TIMES, 5.0), 2)
    with (folder / "run.toml").open("a", encoding="utf-8") as sheet:
        sheet.write(
            """
[[trace]]
file = "traces/gas.txt"
detector = "FID"
role = "sample"
of = "gas"
ladder = "traces/gas-ladder.txt"
[[trace]]
file = "traces/gas-ladder.txt"
role = "ladder"
ladder_carbons = [1, 2, 3, 4, 5, 6, 7, 8]
"""
        )
    (folder / "method.toml").write_text(
        '[ladder.known_peak]\ncarbon = 3\ntime_min = 2.8\nfile = "traces/gas-ladder.txt"\n', encoding="utf-8"
    )
    return work_up(read_run(folder), read_method(folder))


def test_each_ladder_has_its_own_known_peak(findings):
    ladders = {sample.of: sample.ladder.carbons for sample in findings.samples}
    assert ladders["gas"] == tuple(TIMES)
    assert ladders["oil"] == tuple(range(5, 45))


def test_gas_borne_gasoline_is_counted_once(findings):
    grams = 188.4 * 1.88
    whole = {cut.cut: cut for cut in findings.cuts if cut.scheme == "carbon-number"}
    light = sum(amount for n, amount in GAS.items() if n <= 4) / sum(GAS.values())
    parts = dict(whole["gas"].parts)
    assert set(parts) == {"gas"}
    assert parts["gas"] == pytest.approx(grams * light, rel=0.01)
    parts = dict(whole["gasoline"].parts)
    assert parts["gas"] == pytest.approx(grams * (1 - light), rel=0.01)
    assert set(parts) == {"oil", "wax", "gas"}
    assert "gas, not analysed" not in whole
    total = sum(cut.yield_as_charged.value for cut in whole.values() if cut.yield_as_charged.value is not None)
    assert total == pytest.approx(findings.balance.closure.value, abs=0.05)


def test_a_gas_is_no_liquid_with_a_flash_point(findings):
    about = {one.about for one in findings.cautions if one.code == "safety.light_ends"}
    assert "gas" not in about
