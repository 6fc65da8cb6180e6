"""Cautions in words: complete, honest, never lost."""

import ast
import re
from pathlib import Path

import pytest

import cutbook
from cutbook.model.cautions import Caution, caution
from cutbook.reporting.cautions import WordingError, in_order, put_into_words, reason_text, shown, wordings

PACKAGE = Path(cutbook.__file__).parent


def raised_in_the_code():
    """(code, facts given, whether facts are spelled out, file, line) of every caution(...) call with a literal code."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "caution" and node.args:
                code = node.args[0]
                if isinstance(code, ast.Constant) and isinstance(code.value, str):
                    given = {keyword.arg for keyword in node.keywords}
                    yield code.value, given - {None}, None not in given, path.relative_to(PACKAGE), node.lineno


def test_every_code_that_is_raised_has_words_and_gets_their_facts():
    faults = []
    for code, given, spelled_out, path, line in raised_in_the_code():
        wording = wordings().get(code)
        if wording is None:
            faults.append(f"{path}:{line} {code} has no words")
        elif spelled_out and wording.facts() - given:
            faults.append(f"{path}:{line} {code} lacks {sorted(wording.facts() - given)}")
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize(
    "code",
    [
        "safety.light_ends",  # oil with components boiling below 60 °C
        "safety.benzene",
        "safety.chlorine_fed",  # PVC or PVDC declared
        "safety.road_fuel",
        "balance.by_difference",
        "balance.one_run",
        "sample.no_blank",
        "sample.beyond_ladder",
        "sample.residue_unknown",
        "sample.solvent_hides",
        "sample.response_basis",
        "cuts.not_analysed",
    ],
)
def test_each_caution_that_this_work_can_meet_says_why_and_what_to_do(code):
    wording = wordings()[code]
    facts = dict.fromkeys(wording.facts(), 12.3)
    told = put_into_words(Caution(code, "oil", facts))
    assert len(told.means) > 40
    assert len(told.do) > 20
    assert not re.search(r"[{}]", told.text + told.means + told.do)


def test_dangers_defer_to_people_who_may_judge_them():
    for wording in wordings().values():
        if wording.level == "danger" and wording.code.startswith("safety."):
            assert re.search(r"laborator|local|licensed|permit", wording.do), wording.code


def test_a_negative_number_has_the_minus_of_print():
    told = put_into_words(caution("safety.flash_estimate", "oil", flash=-15)).text
    assert "about −15 °C" in told
    assert "-15" not in told


def test_nothing_is_ever_called_safe_or_free_of_dioxins():
    for wording in wordings().values():
        words = " ".join((wording.text, wording.means, wording.do)).lower()
        assert not re.search(r"\bsafe\b|dioxin-free|free of dioxin|harmless", words), wording.code


def test_words_that_lack_a_fact_are_a_fault_of_the_program():
    with pytest.raises(WordingError, match="safety.light_ends.*share"):
        put_into_words(caution("safety.light_ends", "oil", last=7))


def test_a_caution_without_words_still_reaches_the_reader():
    told = shown(caution("nowhere.to_be_found", "oil", count=3))
    assert told.level == "warning"
    assert "count 3" in told.text


def test_a_caution_that_lacks_a_fact_keeps_its_level_for_the_reader():
    told = shown(caution("safety.light_ends", "oil", last=7))
    assert told.level == "danger"
    assert "last 7" in told.text


def test_dangers_come_first_and_the_order_within_a_level_is_kept():
    listed = in_order(
        [
            caution("balance.one_run"),
            caution("sample.no_blank", "oil"),
            caution("safety.benzene", "oil"),
            caution("sample.no_blank", "wax"),
        ]
    )
    assert [(one.level, one.about) for one in listed] == [
        ("danger", "oil"),
        ("warning", "oil"),
        ("warning", "wax"),
        ("note", ""),
    ]


def test_facts_are_printed_to_four_digits():
    assert "0.1235 %" in shown(caution("sample.beyond_ladder", "oil", share=0.123456789, last=40)).text


def test_the_reason_of_a_missing_number_is_the_caution_in_words():
    listed = in_order([caution("balance.by_difference", "gas")])
    assert reason_text("balance.by_difference", listed).startswith("gas was not measured")
    assert reason_text("", listed) == ""
