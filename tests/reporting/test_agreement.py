"""What is said and drawn of a distillation held against a trace."""

import ast
import re
import string
import tomllib
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest
import still_pairs as pairs

import cutbook
from cutbook.fractions.agreement import compare_still_with_trace
from cutbook.fractions.method_ranges import ranges_of
from cutbook.model.agreement import Evidence, Suspect
from cutbook.reporting.agreement_figure import agreement_figure
from cutbook.reporting.agreement_words import (
    agreement_sentence,
    conversion_label,
    evidence_lines,
    reason_name,
    what_settles_it,
)
from cutbook.reporting.cautions import put_into_words
from cutbook.reporting.numbers import OutputSettings

PACKAGE = Path(cutbook.__file__).parent
WORDS = tomllib.loads((Path(__file__).parents[2] / "reports" / "agreement.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def agreed():
    pair = pairs.consistent(203)
    return compare_still_with_trace(pair.still, pair.curve, pair.pressure_given)


@pytest.fixture(scope="module")
def misnumbered():
    pair = pairs.ladder(200)
    return compare_still_with_trace(pair.still, pair.curve, pair.pressure_given)


def plain(text):
    return text.replace("\N{NO-BREAK SPACE}", " ")


def test_a_pair_that_agrees_is_said_to_with_both_differences_and_their_uncertainty(agreed):
    said = plain(agreement_sentence(agreed))
    assert re.fullmatch(
        r"The still and the trace agree: between 20 and 80 % they differ by −?[\d.]+ ± \d+ °C in the median and by "
        r"−?[\d.]+ ± \d+ °C at worst\.",
        said,
    ), said
    assert what_settles_it(agreed) == ()


def test_a_reason_is_named_with_what_speaks_for_it_and_what_settles_it(misnumbered):
    off = "low" if pairs.ladder(200).facts["size"] < 0 else "high"
    assert f"The likely reason is that the ladder is numbered one carbon too {off}." in agreement_sentence(misnumbered)
    assert agreement_sentence(misnumbered).endswith("The trace is the odd one out.")
    assert "styrene" in what_settles_it(misnumbered)[0]


def test_two_reasons_are_told_as_not_to_be_told_apart(misnumbered):
    rival = Suspect("barometer", 66.2, "kPa", 10.0, "still", (Evidence("no_pressure"),))
    both = replace(misnumbered, culprit="", suspects=(*misnumbered.suspects, rival))
    said = agreement_sentence(both)
    assert "It cannot be told whether the ladder is numbered" in said
    assert "or whether the barometer was forgotten; readings taken at about 66 kPa would look so." in said
    assert "odd one out" not in said
    assert len(what_settles_it(both)) == 2


def test_what_is_missing_from_a_closure_and_what_is_too_much_are_worded_apart():
    missing = Suspect("losses", 8.0, "%", 9.0, "still", (Evidence("gap", {"gap": 9.1}),))
    over = Suspect("mass_or_volume", 1.25, "1", 9.0, "still", (Evidence("gap", {"gap": -14.4}),))
    assert evidence_lines(missing) == ("9.1 % of the charge is missing from recovered and residue",)
    assert evidence_lines(over) == ("recovered and residue come to 14.4 % more than the charge",)
    assert "too large by a factor of 1.25" in reason_name(over)
    assert "too small by a factor of 1.25" in reason_name(replace(over, size=0.8))
    assert "9,1 %" in evidence_lines(missing, OutputSettings(decimal="comma"))[0]


def test_what_to_do_about_cracking_names_the_temperature_of_the_table(misnumbered):
    hot = Suspect("cracking", 80.0, "%", 9.0, "still", ())
    (do,) = what_settles_it(replace(misnumbered, suspects=(hot,)))
    assert "keep the pot below 350 °C" in do
    assert ranges_of("still_pot")["cracking"][1] == 350.0


def test_a_pair_that_cannot_be_compared_says_so(agreed):
    assert "cannot be compared" in agreement_sentence(replace(agreed, verdict="not comparable"))
    assert "None of the usual reasons" in agreement_sentence(replace(agreed, verdict="differ"))


def literal_codes(call):
    """Every literal first argument of a call in the code of the comparison."""
    for path in sorted((PACKAGE / "fractions").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == call and node.args:
                if isinstance(node.args[0], ast.Constant):
                    facts = node.args[1] if len(node.args) > 1 else None
                    keys = {key.value for key in facts.keys} if isinstance(facts, ast.Dict) else set()
                    yield node.args[0].value, keys


def test_every_reason_and_every_evidence_has_words_and_no_word_is_left_over():
    assert {code for code, _ in literal_codes("Trial")} == set(WORDS["reason"])
    evidence = dict(literal_codes("Evidence"))
    assert set(evidence) | {"gap_over"} == set(WORDS["evidence"])
    for code, keys in evidence.items():
        wanted = {name for _, name, _, _ in string.Formatter().parse(WORDS["evidence"][code]) if name}
        assert wanted <= keys, code
    for entry in WORDS["reason"].values():
        for one in [entry] if "is" in entry else entry.values():
            assert set(one) == {"is", "do"}


def test_conversions_carry_their_label_and_validity(agreed):
    for conversion in WORDS["conversion"]:
        label, validity = conversion_label(replace(agreed, conversion=conversion))
        assert "simulated curve" in label
        assert len(validity) > 40


def test_the_cautions_of_a_comparison_have_words():
    pair = pairs.cracking(200)
    found = compare_still_with_trace(pair.still, pair.curve, pair.pressure_given)
    assert found.culprit == "cracking"
    worded = [put_into_words(one) for one in found.step.cautions]
    assert any(one.level == "danger" and "outlet open" in one.do for one in worded)


def test_the_figure_shows_both_curves_and_their_difference_and_is_absent_without_points(agreed):
    svg = agreement_figure(agreed)
    ET.fromstring(svg)
    assert svg == agreement_figure(agreed)
    assert agreement_figure(replace(agreed, points=())) == ""
    ET.fromstring(agreement_figure(agreed, OutputSettings(decimal="comma")))
