"""plan.json read back: every number checked, every damage one line."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutbook.importers.plan_file import read_plan
from cutbook.model.errors import InputError


def a_record():
    point = {"percent": 0.0, "head_c": 60.0, "equivalent_c": 60.0, "pot_c": 110.0, "pressure_kpa": 101.325,
             "receiver": "gasoline", "stage": 1}  # fmt: skip
    return {
        "schema": 1,
        "cutbook": "0.1.0",
        "plan": {"of": "oil", "scheme": "boiling-36-200-350"},
        "course": [point, point | {"percent": 40.0, "head_c": 200.0, "equivalent_c": 200.0}],
        "cuts": [
            {"cut": "gas", "share": None},
            {"cut": "gasoline", "share": {"value": 40.0, "u": 1.2, "unit": "%"}},
        ],
    }


def written(tmp_path, record):
    path = tmp_path / "plan.json"
    path.write_text(record if isinstance(record, str) else json.dumps(record), encoding="utf-8")
    return path


def test_a_plan_is_read_back(tmp_path):
    plan = read_plan(written(tmp_path, a_record()).parent, "plan.json")
    assert (plan.source.path, plan.of, plan.scheme) == ("plan.json", "oil", "boiling-36-200-350")
    assert [point.distillate for point in plan.points] == [0.0, 40.0]
    assert [(one.cut, one.share, one.u) for one in plan.shares] == [("gasoline", 40.0, 1.2)]


def changed(**changes):
    record = a_record()
    for key, value in changes.items():
        at, _, field = key.partition("__")
        if field:
            place = record[at] if isinstance(record[at], dict) else record[at][1]
            place[field] = value
        else:
            record[at] = value
    return record


@pytest.mark.parametrize(
    ("record", "message"),
    [
        ("", "no JSON text"),
        ("[" * 100_000, "no JSON text"),
        ("[1]", "JSON of something else"),
        ('{"cutbook": 1, "plan": NaN}', "no JSON text"),
        (changed(schema=2), "schema: found 2; expected 1"),
        (changed(schema=None), "schema: found nothing"),
        (changed(plan=[]), "plan: found []; expected a table"),
        (changed(plan__of=""), "plan, of: found ''; expected a text"),
        (changed(plan__scheme=3), "plan, scheme: found 3"),
        (changed(course={}), "course: found {}; expected a list"),
        (changed(course=[]), "course: found 0 points; expected two at least"),
        (changed(course=[1, 2]), "course 1: found 1; expected a table"),
        (changed(course__percent=-5.0), "course 2, percent: found -5.0; expected -0.01 to 100.01"),
        (changed(course__percent="40"), "course 2, percent: found '40'; expected a number"),
        (changed(course__percent=True), "course 2, percent: found True"),
        (changed(course__head_c=1e9), "course 2, head_c"),
        (changed(course__pressure_kpa=0), "course 2, pressure_kpa"),
        (changed(course__pot_c=10**400), "course 2, pot_c"),
        (changed(course=[a_record()["course"][1], a_record()["course"][0]]), "found 0 % after 40 %"),
        (changed(cuts="x"), "cuts: found 'x'"),
        (changed(cuts=[1]), "cuts 1: found 1; expected a table"),
        (changed(cuts__share={"value": 140.0, "u": 0.1}), "cuts 2, share, value: found 140.0"),
        (changed(cuts__share={"value": 40.0, "u": None}), "cuts 2, share, u: found nothing"),
        (changed(cuts__share=4), "cuts 2, share: found 4; expected a table"),
        (changed(cuts__cut=None), "cuts 2, cut: found nothing"),
    ],
)
def test_what_is_no_plan_is_refused_in_one_line(tmp_path, record, message):
    with pytest.raises(InputError) as refused:
        read_plan(written(tmp_path, record).parent, "plan.json")
    line = str(refused.value)
    assert message in line
    assert line.startswith("plan.json")
    assert "\n" not in line
    assert line.endswith("Make the plan again with `cutbook plan`.")


def test_missing_files_folders_and_giants_are_refused(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_plan(tmp_path, "plan.json")
    with pytest.raises(InputError, match="no ordinary file"):
        read_plan(tmp_path, ".")
    (tmp_path / "plan.json").write_bytes(b" " * 4_000_001)
    with pytest.raises(InputError, match="more than 4000000 bytes"):
        read_plan(tmp_path, "plan.json")
    (tmp_path / "plan.json").write_bytes(b"\xff\xfe{}")
    with pytest.raises(InputError, match="no JSON text"):
        read_plan(tmp_path, "plan.json")


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@given(st.sampled_from(["schema", "cutbook", "plan", "course", "cuts", "plan__of", "course__percent", "course__stage",
                        "course__receiver", "cuts__share", "cuts__cut"]), VALUES)  # fmt: skip
@settings(max_examples=200, deadline=None)
def test_no_value_of_any_key_does_worse_than_be_refused(tmp_path_factory, key, value):
    path = written(tmp_path_factory.getbasetemp(), changed(**{key: value}))
    try:
        read_plan(path.parent, path.name)
    except InputError as refused:
        assert "\n" not in str(refused)
