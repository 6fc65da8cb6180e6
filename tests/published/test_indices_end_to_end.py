"""Retention indices from files: a trace made of published retention times, read, integrated, placed on its ladder.

Times: open retention database (PMC10249385), 5 % phenyl, 40 °C 2 min then 10 K/min; copy in data/ with its source.
Indices: computed from the same database for the same program, check-values 06 (read there, rows typed here).
"""

import csv
from pathlib import Path

import numpy as np
import pytest
from simulated_trace import Compounds, render

from cutbook.identification.retention_index import programmed_index
from cutbook.importers.run_sheet import read_run
from cutbook.workup.work_up import work_up

TABLE = (Path(__file__).parent / "data" / "06_ladder_retention_times.csv").read_text(encoding="utf-8")
ROWS = list(csv.DictReader(TABLE.splitlines()))
ALKANES = {int(row["carbon_number"]): float(row["value"]) for row in ROWS if row["carbon_number"]}
OTHERS = {row["compound"]: float(row["value"]) for row in ROWS if not row["carbon_number"]}
PUBLISHED = {
    "Toluene": 765.3, "Ethylbenzene": 861.0, "o-Xylene": 893.2, "m-Xylene": 870.7, "p-Xylene": 870.3,
    "2-Chlorophenol": 992.7, "Acetophenone": 1071.1,
}  # fmt: skip
# m- and p-xylene, styrene and o-xylene elute together: one of each pair in either sample
SECOND = ("m-Xylene", "Styrene")


def write(path, times):
    t = np.arange(0, 26, 1 / 600)
    sigma = np.full(len(times), 0.016)
    signal = render(t, Compounds(np.array(times), np.full(len(times), 2.0), sigma, 0.05 * sigma)) + 8
    signal += np.random.default_rng(len(times)).normal(0, 0.05, len(t))
    rows = [f"{a:.5f},{b:.4f}" for a, b in zip(t, signal, strict=True)]
    path.write_text("\n".join(["time (min),FID (pA)", *rows]), encoding="utf-8")


@pytest.fixture(scope="module")
def indices(tmp_path_factory):
    folder = tmp_path_factory.mktemp("run")
    write(folder / "ladder.csv", list(ALKANES.values()))
    write(folder / "first.csv", [time for name, time in OTHERS.items() if name not in SECOND])
    write(folder / "second.csv", [OTHERS[name] for name in SECOND])
    (folder / "run.toml").write_text(
        f"""
[run]
id = "index"
[[feed]]
material = "PS"
mass = "1.0 g"
[[product]]
fraction = "first"
mass = "0.5 g"
[[product]]
fraction = "second"
mass = "0.5 g"
[[trace]]
file = "first.csv"
role = "sample"
of = "first"
ladder = "ladder.csv"
[[trace]]
file = "second.csv"
role = "sample"
of = "second"
ladder = "ladder.csv"
[[trace]]
file = "ladder.csv"
role = "ladder"
ladder_carbons = {sorted(ALKANES)}
""",
        encoding="utf-8",
    )
    findings = work_up(read_run(folder))
    return [(peak.apex_min, peak.retention_index) for sample in findings.samples for peak in sample.peaks]


@pytest.mark.parametrize("name", sorted(OTHERS))
def test_the_index_from_the_file_is_that_of_the_published_times(indices, name):
    time, index = min(indices, key=lambda one: abs(one[0] - OTHERS[name]))
    expected = programmed_index(OTHERS[name], tuple(ALKANES), np.array(list(ALKANES.values())))
    assert index == pytest.approx(expected, abs=1.0)
    if name in PUBLISHED:
        assert index == pytest.approx(PUBLISHED[name], abs=1.0)
