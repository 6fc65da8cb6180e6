"""Run sheets, long and short, and the folders they stand in."""

import pytest

from cutbook.importers.run_sheet import read_run
from cutbook.model.errors import RunSheetError

# every key that the contract names
FULL = """
[run]
id = "QY-07"
date = 2026-03-12
operator = "somebody"
title = "a title"
notes = "notes"

[conditions]
peak_temperature = "455 °C"
hold_time = "45 min"
purge = "nitrogen"
batch = 3

[[feed]]
material = "HDPE"
mass = "812.4 ± 0.5 g"
moisture = "1.2 %"

[[product]]
fraction = "oil"
mass = "402.1 ± 0.5 g"
density = "0.792 g/mL"
carbon = "86.1 %"
hydrogen = "13.2 %"
oxygen = "0.2 %"
nitrogen = "0.1 %"
chlorine = "42 mg/kg"
ash = "0.01 %"
moisture = "0.1 %"
gross_calorific_value = "45.2 MJ/kg"
cloud_point = "5 °C"
pour_point = "-3 °C"
flash_point = "31 °C"

[[product]]
fraction = "gas"
volume = "212 L"
temperature = "19 °C"
pressure = "100.9 kPa"
wet = true

[[product]]
fraction = "char"
by_difference = true

[[scrubber]]
solution_volume = "1.000 L"
aliquot = "25.00 mL"
titrant = "0.1000 mol/L"
titre = ["18.32 mL", "18.28 mL", "18.35 mL"]
blank = "0.05 mL"
method = "argentometric"

[[trace]]
file = "traces/oil-fid.cdf"
detector = "FID"
role = "sample"
of = "oil"
ladder = "traces/ladder-fid.cdf"
blank = "traces/blank-fid.cdf"
columns = { time = "t/min", signal = "FID A" }
solvent = "carbon disulfide"
solvent_window = ["1.9 min", "2.4 min"]
sample_mass = "52.1 mg"
solvent_mass = "1.204 g"
internal_standard = { name = "chlorobenzene-d5", concentration = "20 mg/kg" }

[[trace]]
file = "traces/ladder-fid.cdf"
role = "ladder"
ladder_carbons = [5, 6, 7]

[[trace]]
file = "traces/standard.cdf"
role = "standard"
amounts = [{ name = "chlorobenzene", concentration = "5.0 mg/kg" }, { name = "toluene", concentration = "3 mg/L" }]

[reactor]
free_volume = "2.1 L"
purge_gas = "nitrogen"
swept_before_heating = true

[[gas_analysis]]
file = "gas.csv"
of = "gas"
basis = "dry"

[[distillation]]
file = "still.csv"
of = "oil"
charge_mass = "250.0 g"
pressure = "100.2 kPa"
kind = "simple"

[storage]
minimum_temperature = "-5 °C"
"""
FILES = ("oil-fid.cdf", "ladder-fid.cdf", "blank-fid.cdf", "standard.cdf")
SHORT = """
[run]
id = "A"

[[feed]]
material = "PE"
mass = "100 g"

[[product]]
fraction = "oil"
mass = "50 g"
"""
TRACE = (
    SHORT
    + """
[[trace]]
file = "traces/oil-fid.cdf"
role = "sample"
of = "oil"
"""
)


def a_folder(tmp_path, text):
    folder = tmp_path / "run"
    (folder / "traces").mkdir(parents=True)
    for name in FILES:
        (folder / "traces" / name).write_bytes(b"x")
    for name in ("gas.csv", "still.csv"):
        (folder / name).write_bytes(b"x")
    if isinstance(text, str):
        text = text.encode("utf-8")
    (folder / "run.toml").write_bytes(text)
    return folder


def lines(tmp_path, text):
    with pytest.raises(RunSheetError) as refused:
        read_run(a_folder(tmp_path, text))
    return str(refused.value).split("\n")
