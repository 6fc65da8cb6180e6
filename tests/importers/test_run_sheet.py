"""Run sheets, good and bad."""

import datetime
import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cutbook.importers.new_run import new_run
from cutbook.importers.run_sheet import read_run
from cutbook.model.errors import InputError, RunSheetError

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


def test_every_key_of_the_contract_is_read_in_bench_units(tmp_path):
    run = read_run(a_folder(tmp_path, FULL))
    assert (run.id, run.date, run.operator) == ("QY-07", datetime.date(2026, 3, 12), "somebody")
    assert run.conditions["peak_temperature"].value == 455
    assert (run.conditions["purge"], run.conditions["batch"]) == ("nitrogen", 3)
    (feed,) = run.feeds
    assert (feed.mass.value, feed.mass.u, feed.moisture.value) == (812.4, 0.5, pytest.approx(0.012))
    oil, gas, char = run.products
    assert oil.measured["chlorine"].value == pytest.approx(42e-6)
    assert oil.measured["pour_point"].value == -3
    assert (gas.volume.value, gas.pressure.value, gas.wet) == (212_000, 100.9, True)
    assert char.by_difference
    sample, ladder, standard = run.traces
    assert sample.solvent_window_min == (1.9, 2.4)
    assert sample.sample_mass.value == pytest.approx(0.0521)
    assert sample.internal_standard.concentration.value == pytest.approx(20e-6)
    assert sample.columns == {"time": "t/min", "signal": "FID A"}
    assert ladder.ladder_carbons == (5, 6, 7)
    assert [one["concentration"].unit for one in standard.amounts] == ["1", "mg/L"]
    assert set(run.further) == {"scrubber", "reactor", "gas_analysis", "storage"}
    assert [one.value for one in run.further["scrubber"][0]["titre"]] == [18.32, 18.28, 18.35]
    assert run.further["storage"][0]["minimum_temperature"].value == -5


FAULTS = [
    ('id = "A"', 'id = ""', "run.toml, [run], id: found ''; expected a text in quotes"),
    ('[run]\nid = "A"', "", "run.toml, [run]: found nothing; expected a section [run]"),
    ('id = "A"', 'id = "A"\noperater = "x"',
     "run.toml, [run]: found unknown key 'operater'; expected one of id, date, operator, title, notes. Did you mean "
     "'operator'?"),
    ("[[product]]", "[[produkt]]",
     "run.toml, top level: found unknown section 'produkt'; expected one of run, conditions, feed, product, trace, "
     "scrubber, reactor, gas_analysis, distillation, storage. Did you mean 'product'?"),
    ("[[feed]]", "[feed]",
     "run.toml, [feed]: found [feed]; expected [[feed]]. There may be several; write double brackets."),
    ('mass = "50 g"', 'mass = "50 mL"',
     'run.toml, [[product]] 1, mass: found "50 mL", a volume; expected a mass with its unit, such as "812.4 g". Give the '
     "volume as volume, with a density (or, for a gas, temperature and pressure)."),
    ('mass = "50 g"', "mass = 50",
     'run.toml, [[product]] 1, mass: found 50, a number without a unit; expected a mass with its unit, such as '
     '"812.4 g". Write "50 g" if that is the unit.'),
    ('mass = "50 g"', "",
     "run.toml, [[product]] 1: found no amount of oil; expected mass, or volume with density, or by_difference = true. "
     "A gas needs volume with temperature and pressure."),
    ('mass = "50 g"', 'mass = "50 g"\nby_difference = true',
     "run.toml, [[product]] 1: found by_difference together with mass; expected either a measurement or the difference"),
    ('mass = "50 g"', 'volume = "60 mL"',
     "run.toml, [[product]] 1, volume: found a volume without density; expected a density too; for a gas temperature and "
     "pressure. A mass cannot be had from a volume alone, and 1 g/mL is not assumed."),
    ('mass = "50 g"', 'mass = "50 g"\n[[product]]\nfraction = "oil"\nmass = "1 g"',
     "run.toml, [[product]] 2, fraction: found 'oil' again, after [[product]] 1; expected a name of its own for each "
     "product. Add up what belongs together, or name them oil-1 and oil-2."),
    ('mass = "50 g"', 'by_difference = true\n[[product]]\nfraction = "gas"\nby_difference = true',
     "run.toml, [[product]] 2, by_difference: found a second product by difference, after [[product]] 1; expected one at "
     "most. Two unknowns cannot be told apart by one balance; weigh one of them."),
    ('mass = "100 g"', 'mass = "100 g"\nmoisture = "60 %"\nash = "50 %"',
     "run.toml, [[feed]] 1: found moisture and ash of 110 % together; expected less than 100 %"),
    ('mass = "100 g"', 'mass = "0 g"', 'run.toml, [[feed]] 1, mass: found "0 g"; expected a mass above 0'),
    ('id = "A"', 'id = "A"\ndate = "12 March"',
     "run.toml, [run], date: found '12 March'; expected a date without quotes, such as 2026-03-12"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line"), FAULTS)
def test_a_fault_of_the_sheet_is_one_line_that_says_what_to_do(tmp_path, old, new, line):
    assert old in SHORT
    assert lines(tmp_path, SHORT.replace(old, new, 1)) == [line]


FILE_WORDS = "expected the name of a file in the run folder, such as traces/oil.cdf."
TRACE_FAULTS = [
    ("traces/oil-fid.cdf", "/etc/passwd",
     f"found '/etc/passwd', outside the run folder; {FILE_WORDS} Copy the file into the run folder.", "file"),
    ("traces/oil-fid.cdf", "../other/x.cdf",
     f"found '../other/x.cdf', outside the run folder; {FILE_WORDS} Copy the file into the run folder.", "file"),
    ("traces/oil-fid.cdf", "C:/x.cdf",
     f"found 'C:/x.cdf', outside the run folder; {FILE_WORDS} Copy the file into the run folder.", "file"),
    ("traces/oil-fid.cdf", r"traces\\oil-fid.cdf",
     rf"found 'traces\oil-fid.cdf'; {FILE_WORDS} Write folders with a forward slash: traces/oil.cdf.", "file"),
    ("traces/oil-fid.cdf", "traces",
     "found 'traces', not a regular file; expected the name of a file in the run folder, such as traces/oil.cdf", "file"),
    ("traces/oil-fid.cdf", "traces/oil-fed.cdf",
     "found 'traces/oil-fed.cdf', no such file; expected a file in the run folder. Did you mean 'traces/oil-fid.cdf'?",
     "file"),
    ('role = "sample"', 'role = "probe"',
     "found 'probe'; expected one of sample, ladder, blank, standard", "role"),
    ('role = "sample"', 'role = "Sample"',
     "found 'Sample'; expected one of sample, ladder, blank, standard. Did you mean 'sample'?", "role"),
    ('role = "sample"', 'role = "sample"\ndetector = "FDI"',
     "found 'FDI'; expected one of FID, TCD, MS. Did you mean 'FID'?", "detector"),
    ('of = "oil"', 'of = "oils"',
     "found 'oils'; expected a fraction of this sheet: oil. Did you mean 'oil'?", "of"),
    ('of = "oil"', "", "found nothing; expected a text", "of"),
    ('of = "oil"', 'of = "oil"\nladder_carbons = [8, 10, 9]',
     "found [8, 10, 9]; expected rising carbon numbers from 1 to 120, such as [8, 9, 10]", "ladder_carbons"),
    ('of = "oil"', 'of = "oil"\nsolvent_window = ["2.4 min", "1.9 min"]',
     'found "2.4 min" to "1.9 min"; expected a start before its end', "solvent_window"),
    ('of = "oil"', 'of = "oil"\nsolvent_window = "1.9 min"',
     "found '1.9 min'; expected two times, such as [\"1.9 min\", \"2.4 min\"]", "solvent_window"),
    ('of = "oil"', 'of = "oil"\ninternal_standard = { name = "x", mass = "1 mg" }',
     "found nothing; expected the mass of sample that the standard was added to", "sample_mass"),
    ('of = "oil"', 'of = "oil"\nsample_mass = "1 g"\ninternal_standard = { name = "x" }',
     "found neither concentration nor mass; expected one of the two", "internal_standard"),
    ('of = "oil"', 'of = "oil"\nsample_mass = "1 g"\n'
     'internal_standard = { name = "x", mass = "1 mg", concentration = "1 %" }',
     "found both concentration and mass; expected one of the two", "internal_standard"),
    ('of = "oil"', 'of = "oil"\namounts = [{ name = "x", concentration = "1 %" }]',
     "found amounts with role 'sample'; expected role = \"standard\"", "amounts"),
    ('of = "oil"', 'of = "oil"\nblank = "traces/oil-fid.cdf"',
     "found 'traces/oil-fid.cdf', the trace itself; expected another file", "blank"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "key"), TRACE_FAULTS)
def test_a_fault_of_a_trace_entry_is_one_line(tmp_path, old, new, line, key):
    assert old in TRACE
    assert lines(tmp_path, TRACE.replace(old, new, 1)) == [f"run.toml, [[trace]] 1, {key}: {line}"]


def test_a_file_listed_twice_is_refused(tmp_path):
    again = TRACE + TRACE[TRACE.index("[[trace]]") :]
    assert lines(tmp_path, again) == [
        "run.toml, [[trace]] 2, file: found 'traces/oil-fid.cdf' again, after [[trace]] 1; expected each file once"
    ]


def test_a_link_out_of_the_folder_is_refused(tmp_path):
    (tmp_path / "secret").write_text("x", encoding="utf-8")
    folder = a_folder(tmp_path, TRACE.replace("oil-fid", "link"))
    (folder / "traces" / "link.cdf").symlink_to(tmp_path / "secret")
    with pytest.raises(RunSheetError, match="'traces/link.cdf', a link that leads outside the run folder"):
        read_run(folder)


def test_a_link_inside_the_folder_is_fine(tmp_path):
    folder = a_folder(tmp_path, TRACE.replace("oil-fid", "link"))
    (folder / "traces" / "link.cdf").symlink_to(folder / "traces" / "oil-fid.cdf")
    assert read_run(folder).traces[0].file == "traces/link.cdf"


@pytest.mark.skipif(sys.platform == "win32", reason="no fifos on Windows")
def test_a_pipe_is_refused(tmp_path):
    folder = a_folder(tmp_path, TRACE.replace("oil-fid", "pipe"))
    os.mkfifo(folder / "traces" / "pipe.cdf")
    with pytest.raises(RunSheetError, match="'traces/pipe.cdf', not a regular file"):
        read_run(folder)


def test_every_fault_is_reported_at_once(tmp_path):
    bad = SHORT.replace('id = "A"', 'id = "A"\ntitel = "x"').replace('"50 g"', '"50 mL"').replace('"100 g"', "100")
    found = lines(tmp_path, bad)
    assert len(found) == 3
    assert [line.split(":")[0] for line in found] == [
        "run.toml, [run]", "run.toml, [[feed]] 1, mass", "run.toml, [[product]] 1, mass",
    ]  # fmt: skip


def test_toml_that_is_none_is_refused_with_its_place(tmp_path):
    (line,) = lines(tmp_path, SHORT.replace('"100 g"', "100 g"))
    assert line.startswith(
        "run.toml: found Expected newline or end of document after a statement (at line 7, column 12)"
    )
    assert line.endswith("expected TOML. See the line named; texts stand in quotes.")


def test_a_sheet_that_is_not_utf8_is_refused_with_its_line(tmp_path):
    (line,) = lines(tmp_path, SHORT.replace("PE", "Öl").encode("latin-1"))
    assert line == "run.toml, line 6: found byte 0xd6, not UTF-8; expected text in UTF-8. Save it as UTF-8."


def test_a_byte_order_mark_and_windows_line_ends_are_fine(tmp_path):
    text = b"\xef\xbb\xbf" + SHORT.replace("\n", "\r\n").encode()
    assert read_run(a_folder(tmp_path, text)).id == "A"


def test_a_sheet_of_a_megabyte_is_refused(tmp_path):
    (line,) = lines(tmp_path, SHORT + "#" * 1_000_001)
    assert line == "run.toml: found more than 1000000 bytes; expected a sheet of a few pages at most"


def test_a_missing_sheet_or_folder_says_how_to_make_one(tmp_path):
    (tmp_path / "empty").mkdir()
    with pytest.raises(RunSheetError) as refused:
        read_run(tmp_path / "empty")
    assert str(refused.value).startswith("run.toml: found no such file in ")
    assert str(refused.value).endswith("expected a text file in TOML. `cutbook new empty` writes one.")
    with pytest.raises(RunSheetError, match="found no such folder; expected a run folder with a run.toml in it"):
        read_run(tmp_path / "nowhere")


@pytest.mark.parametrize("text", ["x = " + "[" * 5000, "x = " + "{a=" * 5000, "x = " + "9" * 5000])
def test_sheets_that_are_nested_or_long_without_end_are_refused(tmp_path, text):
    assert len(lines(tmp_path, text)) == 1


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_no_mutation_of_a_sheet_does_worse_than_be_refused(tmp_path_factory, data):
    text = data.draw(st.sampled_from([FULL, TRACE]))
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text) - 1))
        piece = data.draw(
            st.sampled_from(["", '"', "[", "]", "=", "\n", "0", "-", "\u0000", "é", "x = {a = 1}\n", "true", "[1]"])
        )
        text = text[:start] + piece + text[start + data.draw(st.integers(0, 12)) :]
    folder = a_folder(tmp_path_factory.mktemp("fuzz"), text.encode("utf-8"))
    try:
        read_run(folder)
    except InputError as refused:
        assert all("\n" not in fault.line() for fault in refused.faults)
        assert refused.faults


VALUES = st.recursive(
    st.one_of(st.integers(), st.booleans(), st.floats(allow_nan=False, allow_infinity=False), st.text(max_size=8)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(["a", "mass", "name"]), inner, max_size=2)
    ),
    max_leaves=6,
)


def as_toml(value):
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {as_toml(one)}" for key, one in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(as_toml(one) for one in value) + "]"
    if isinstance(value, str):
        import json

        return json.dumps(value).replace("\\/", "/") if all(ord(c) < 0xD800 for c in value) else '"?"'
    return repr(value)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from([line.split(" = ")[0] for line in FULL.splitlines() if " = " in line]), VALUES)
def test_any_value_of_any_key_is_read_or_refused(tmp_path_factory, key, value):
    text = "\n".join(
        f"{key} = {as_toml(value)}" if line.startswith(f"{key} = ") else line for line in FULL.splitlines()
    )
    try:
        read_run(a_folder(tmp_path_factory.mktemp("fuzz"), text))
    except InputError as refused:
        assert all("\n" not in fault.line() for fault in refused.faults)


def test_a_new_run_is_a_sheet_that_is_accepted_and_never_overwritten(tmp_path):
    sheet = new_run(tmp_path / "first")
    assert read_run(tmp_path / "first").id == "RUN-01"
    before = sheet.read_bytes()
    with pytest.raises(RunSheetError, match="It is not overwritten; choose another folder."):
        new_run(tmp_path / "first")
    assert sheet.read_bytes() == before
    assert sorted(p.name for p in (tmp_path / "first").iterdir()) == ["run.toml", "traces"]


def test_every_commented_line_of_the_template_is_accepted_when_uncommented(tmp_path):
    folder = tmp_path / "whole"
    text = new_run(folder).read_text(encoding="utf-8")
    begun = text.index("[run]")
    kept = [line[2:] if line.startswith("# ") else line for line in text[begun:].splitlines()]
    body = "\n".join(line for line in kept if not line.startswith("#"))
    body = body.replace("by_difference = true", "")
    (folder / "run.toml").write_text(body, encoding="utf-8")
    for name in ("traces/oil.cdf", "traces/ladder.cdf", "traces/blank.cdf", "gas.csv", "still.csv"):
        (folder / name).write_bytes(b"x")
    run = read_run(folder)
    assert len(run.traces) == 2
    assert set(run.further) == {"scrubber", "reactor", "gas_analysis", "storage"}


def test_a_folder_that_cannot_be_made_is_one_line(tmp_path):
    Path(tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(RunSheetError, match="expected a folder that can be written"):
        new_run(tmp_path / "file" / "run")
