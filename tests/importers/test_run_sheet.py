"""Run sheets, good and bad."""

import datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from run_sheets import FULL, SHORT, TRACE, a_folder, lines

from cutbook.importers.run_sheet import read_run
from cutbook.model.errors import InputError, RunSheetError


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
     "scrubber, chlorine, reactor, gas_analysis, gas_meter, distillation, storage. Did you mean 'product'?"),
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


def test_an_unknown_method_of_a_scrubber_is_told_once(tmp_path):
    (told,) = lines(tmp_path, FULL.replace('method = "argentometric"', 'method = "by eye"'))
    assert "'by eye'" in told and "argentometric, acid-base, ion-chromatography" in told
