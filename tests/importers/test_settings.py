"""Settings files."""

from dataclasses import dataclass
from typing import Literal

import pytest

from cutbook.importers.settings import fill_settings
from cutbook.model.errors import RunSheetError
from cutbook.workup.method import Method
from cutbook.workup.read_method import read_method


@dataclass(frozen=True)
class Inner:
    share: float = 0.5
    count: int = 3
    on: bool = False


@dataclass(frozen=True)
class Outer:
    word: Literal["one", "two"] = "one"
    name: str = ""
    limit: float | None = None
    pair: tuple[float, float] = (1.0, 2.0)
    many: tuple[Inner, ...] = ()
    inner: Inner = Inner()

    def __post_init__(self):
        if self.name == "bad":
            raise ValueError("a bad name")


def test_what_is_not_named_keeps_its_default():
    assert fill_settings(Outer, {}, "method.toml") == Outer()
    assert fill_settings(Outer, {"inner": {"count": 4}}, "method.toml") == Outer(inner=Inner(count=4))


def test_nested_records_tuples_and_optional_values_are_filled():
    filled = fill_settings(
        Outer, {"word": "two", "limit": 3, "pair": [3, 4.5], "many": [{"on": True}, {"share": 1}]}, "method.toml"
    )
    assert filled == Outer("two", "", 3.0, (3.0, 4.5), (Inner(on=True), Inner(share=1.0)))


@pytest.mark.parametrize(
    ("table", "line"),
    [
        (
            {"inner": {"shere": 1}},
            "method.toml, [inner]: found unknown key 'shere'; expected one of share, count, on. Did you mean 'share'?",
        ),
        (
            {"iner": {}},
            "method.toml, top level: found unknown section 'iner'; expected one of word, name, limit, pair, many, inner. Did you mean 'inner'?",
        ),
        ({"word": "three"}, "method.toml, word: found 'three'; expected one of one, two"),
        ({"word": []}, "method.toml, word: found []; expected one of one, two"),
        ({"inner": {"count": 1.5}}, "method.toml, inner.count: found 1.5; expected a whole number"),
        ({"inner": {"count": True}}, "method.toml, inner.count: found True; expected a whole number"),
        ({"inner": {"share": "1"}}, "method.toml, inner.share: found '1'; expected a number"),
        ({"inner": {"share": float("nan")}}, "method.toml, inner.share: found nan; expected a number"),
        ({"inner": {"on": 1}}, "method.toml, inner.on: found 1; expected true or false"),
        ({"inner": 5}, "method.toml, inner: found 5; expected a table of settings"),
        ({"pair": [1]}, "method.toml, pair: found [1]; expected a list of 2"),
        ({"many": {}}, "method.toml, many: found {}; expected a list"),
        ({"many": [{}, {"on": "x"}]}, "method.toml, many 2.on: found 'x'; expected true or false"),
        ({"name": "bad"}, "method.toml: found a bad name; expected settings that belong together"),
    ],
)
def test_a_wrong_setting_is_one_line(table, line):
    with pytest.raises(RunSheetError) as refused:
        fill_settings(Outer, table, "method.toml")
    assert str(refused.value) == line


def test_every_wrong_setting_is_reported_at_once():
    with pytest.raises(RunSheetError) as refused:
        fill_settings(Outer, {"word": "x", "inner": {"count": "y", "on": 3}}, "method.toml")
    assert len(refused.value.faults) == 3


def test_every_default_of_a_method_can_be_written_and_read_back(tmp_path):
    from cutbook.model.lineage import canonical

    defaults = canonical(Method())

    def toml(table, at=""):
        plain, nested = [], []
        for key, value in table.items():
            if isinstance(value, dict):
                nested.append(toml(value, f"{at}.{key}" if at else key))
            elif value is not None:
                plain.append(
                    f"{key} = {str(value).lower() if isinstance(value, bool) else repr(value).replace(chr(39), chr(34))}"
                )
        return "\n".join([*([f"[{at}]"] if at else []), *plain, *nested])

    (tmp_path / "method.toml").write_text(toml(defaults), encoding="utf-8")
    read = read_method(tmp_path)
    assert read.method == Method()
    assert read.source.path == "method.toml"


def test_without_a_file_the_defaults_hold(tmp_path):
    assert read_method(tmp_path).method == Method()
    assert read_method(tmp_path).source is None


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('[cuts]\ncarbon = "carbon-4-11-21"', "method.toml, cut scheme: found 'carbon-4-11-21'"),
        ('[cuts]\ncarbon = "boiling-36-200-350"', "method.toml, [cuts] carbon: found 'boiling-36-200-350', a scheme by boiling range; expected one by carbon number"),
        ('[[cuts.own]]\nname = "x"\nkind = "boiling range"\ncuts = [{ cut = "a", upper = 100 }, { cut = "b", lower = 110 }]',
         "method.toml, cut scheme 'x', cut 'b': found lower limit 110 after an upper limit of 100; expected 100, so that nothing is counted twice or left out"),
        ('[[cuts.own]]\nname = "x"\nkind = "boiling range"\ncuts = [{ cut = "residue" }]',
         "method.toml, cut scheme 'x': found cut 'residue'; expected another name; 'residue' is what did not elute. Try 'bottoms'."),
    ],
)  # fmt: skip
def test_a_wrong_cut_scheme_is_refused_when_the_settings_are_read(tmp_path, text, line):
    (tmp_path / "method.toml").write_text(text, encoding="utf-8")
    with pytest.raises(RunSheetError) as refused:
        read_method(tmp_path)
    assert str(refused.value).startswith(line)


def test_a_named_settings_file_must_exist(tmp_path):
    with pytest.raises(RunSheetError) as refused:
        read_method(tmp_path, tmp_path / "other.toml")
    assert str(refused.value) == (
        f"other.toml: found no such file in {tmp_path}; expected a text file in TOML. "
        "Settings are optional; leave the file out for the defaults."
    )
