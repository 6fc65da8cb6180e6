"""Entries of traces and distillations in run sheets."""

import pytest
from run_sheets import SHORT, TRACE, lines

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
    ('of = "oil"', 'of = "oil"\ncolumns = "t/min"',
     "found 't/min'; expected names of columns, such as { time = \"t/min\", signal = \"FID A\" }", "columns"),
    ('of = "oil"', 'of = "oil"\ncolumns = { tim = "t/min" }',
     "found unknown key 'tim'; expected one of time, signal, sheet. Did you mean 'time'?", "columns"),
    ('role = "sample"\nof = "oil"', 'role = "standard"\namounts = ["toluene"]',
     "found ['toluene']; expected a list such as [{ name = \"…\", concentration = \"5.0 mg/kg\" }]", "amounts"),
    ('role = "sample"\nof = "oil"', 'role = "standard"\namounts = [{ name = "toluene" }]',
     "found nothing; expected a fraction", "amounts 1, concentration"),
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


@pytest.mark.parametrize(
    ("key", "value", "line"),
    [
        ("columns", '["T2"]', """: found ['T2']; expected headings, such as { head_temperature = "T2", volume = "V" }"""),
        ("receivers", '{ name = "1" }',
         """: found {'name': '1'}; expected a list such as [{ name = "1", mass = "41.2 g", density = "0.742 g/mL" }]"""),
        ("receivers", '[{ name = "1" }, { name = "2", mass = "2 mL" }]',
         ' 2, mass: found "2 mL", a volume; expected a mass with its unit, such as "812.4 g". Give the volume as volume, '
         "with a density (or, for a gas, temperature and pressure)."),
        ("receivers", '[{ name = "1" }, { name = "1" }]',
         ": found '1' 2 times; expected a name of its own for each receiver"),
    ],
)  # fmt: skip
def test_a_fault_of_a_distillation_is_one_line(tmp_path, key, value, line):
    still = f'[[distillation]]\nfile = "still.csv"\nof = "oil"\n{key} = {value}\n'
    assert lines(tmp_path, SHORT + still) == [f"run.toml, [[distillation]] 1, {key}{line}"]
