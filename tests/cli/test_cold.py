"""`cutbook cold` on the example runs."""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from cutbook.cli.main import main

EXAMPLES = Path(__file__).parents[2] / "examples"
CRATES = str(EXAMPLES / "crate-oil")


def called(*arguments, code=0):
    result = CliRunner().invoke(main, ["cold", *arguments])
    assert result.exit_code == code, result.output
    return result.output


def appearances(text):
    return [int(found.replace("−", "-")) for found in re.findall(r"wax appears at about (−?\d+) °C", text)]


def test_taking_the_wax_cut_out_is_shown_beside_the_oil_as_it_is():
    text = called(CRATES, "--remove", "wax")
    before, after = appearances(text)
    assert after < before - 10
    assert "without C21 and above" in text
    assert "measure the cloud and pour point" in text


def test_what_passes_a_wanted_limit_is_found():
    text = called(CRATES, "--below", "0 °C")
    assert appearances(text)[-1] <= 0
    # one carbon number more would not do
    last = int(re.search(r"without C(\d+) and above", text)[1])
    assert appearances(called(CRATES, "--above", str(last + 1)))[-1] >= 0


def test_blending_with_the_lighter_liquid_lowers_step_by_step():
    found = json.loads(called(CRATES, "--of", "wax", "--blend", "oil", "--json"))
    first = [one["appearance_c"] for one in found["mixtures"]]
    assert len(first) == 10
    assert first == sorted(first, reverse=True)
    assert found["mixtures"][5]["mass"] == pytest.approx(200.0)


def test_a_limit_that_nothing_reaches_is_said():
    assert "No such change" in called(CRATES, "--of", "wax", "--blend", "oil", "--below", "-30 °C")


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (("--of", "oill"), "liquid: found 'oill'; expected one of oil, wax. Did you mean 'oil'?"),
        (("--remove", "tar"), "--remove: found 'tar'; expected one of gas, gasoline, diesel, wax."),
        (("--blend", "wax", "--share", "100 %"), "--share: found 100 %; expected more than 0 and less than 100 %"),
        (("--below", "5"), "--below"),
    ],
)
def test_what_cannot_be_is_one_line(arguments, line):
    text = called(CRATES, *arguments, code=1)
    assert line in text
    assert len(text.strip().splitlines()) == 1


def test_two_changes_at_once_are_a_wrong_command():
    assert "one at a time" in called(CRATES, "--remove", "wax", "--blend", "wax", code=2)
