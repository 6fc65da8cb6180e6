"""Cautions of chlorinated compounds, and the table that they take their words from."""

import re

import pytest

from cutbook.chlorine.hazards import chlorine_cautions, hazard_statements
from cutbook.identification.target_table import target_named, targets
from cutbook.model.tables import reference
from cutbook.reporting.cautions import put_into_words, wordings

# words of the statements: UN GHS, annex 3 (from memory); a code must never stand with two texts
FIRST_WORDS = {
    "H225": "Highly flammable",
    "H315": "Causes skin irritation",
    "H331": "Toxic if inhaled",
    "H350": "May cause cancer",
}


def codes(raised):
    return [one.code for one in raised]


def found(*names):
    return [target_named(name) for name in names]


def test_that_dioxins_cannot_be_seen_comes_with_every_oil():
    for names in ((), ("chlorobenzene",), ("dichloromethane",)):
        raised = chlorine_cautions(found(*names), "oil")
        assert raised[0].code == "chlorine.dioxins_unseen"
    told = put_into_words(chlorine_cautions([], "oil")[0])
    assert told.level == "danger"
    assert "accredited laboratory" in told.do
    assert "high-resolution" in told.do


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("chlorobenzene", "chlorine.aromatics_found"),
        ("4-chlorostyrene", "chlorine.aromatics_found"),
        ("benzyl chloride", "chlorine.benzyl_found"),
        ("(1-chloroethyl)benzene", "chlorine.benzyl_found"),
        ("2,4-dichlorophenol", "chlorine.phenols_found"),
        ("2,4,6-trichlorophenol", "chlorine.phenols_found"),
        ("2,4,4'-trichlorobiphenyl", "chlorine.persistent_found"),
        ("2-chlorobiphenyl", "chlorine.persistent_found"),
        ("1,4-dichloronaphthalene", "chlorine.persistent_found"),
        ("hexachlorobenzene", "chlorine.persistent_found"),
        ("pentachlorobenzene", "chlorine.persistent_found"),
        ("2-chloro-2-methylpropane", "chlorine.acid_on_heating"),
        ("1,2-dichloroethane", "chlorine.volatile_found"),
    ],
)
def test_what_was_found_brings_its_caution_with_its_name(name, code):
    raised = {one.code: one for one in chlorine_cautions(found(name), "oil")}
    assert code in raised
    told = put_into_words(raised[code])
    assert name in told.text
    assert re.search(r"laborator|local|licensed", told.do) or told.level != "danger"


def test_solvents_and_standards_are_no_findings():
    raised = chlorine_cautions(found("dichloromethane", "chloroform", "chlorobenzene-d5", "3-chlorothiophene"), "oil")
    assert codes(raised) == ["chlorine.dioxins_unseen"]


def test_every_product_brings_a_caution_unless_it_is_an_ester():
    for target in targets():
        raised = chlorine_cautions([target], "oil")
        assert (len(raised) > 1) == (target.kind == "product" and target.hazards != ("chloroesters",)), target.name


def test_chlorine_with_air_is_a_danger_and_with_nitrogen_none():
    assert "chlorine.fed_with_air" in codes(chlorine_cautions([], "oil", chlorine_fed=True, purged=False))
    assert "chlorine.fed_perhaps_with_air" in codes(chlorine_cautions([], "oil", chlorine_fed=True))
    assert codes(chlorine_cautions([], "oil", chlorine_fed=True, purged=True)) == ["chlorine.dioxins_unseen"]
    assert codes(chlorine_cautions([], "oil", purged=False)) == ["chlorine.dioxins_unseen"]
    assert wordings()["chlorine.fed_with_air"].level == "danger"


def test_a_caution_names_several_compounds_once_and_their_statements_once():
    one = next(
        one
        for one in chlorine_cautions(found("chlorobenzene", "chlorobenzene", "4-chlorotoluene"), "oil")
        if one.code == "chlorine.aromatics_found"
    )
    told = put_into_words(one).text
    assert told.count("chlorobenzene") == 1
    assert "4-chlorotoluene" in told
    assert told.count("harmful if inhaled") == 1


def test_one_code_has_one_class_category_and_text():
    by_code = {}
    for row in reference("hazard_statements").rows:
        assert re.fullmatch(r"H[2-4]\d\d", row["code"])
        said = by_code.setdefault(row["code"], (row["hazard_class"], row["category"], row["statement"]))
        assert said == (row["hazard_class"], row["category"], row["statement"])
        kind = {"2": "flammable", "4": "aquatic"}.get(row["code"][1], "")
        assert kind in row["hazard_class"]
    for code, words in FIRST_WORDS.items():
        assert by_code[code][2].startswith(words)


def test_chlorobenzene_carries_what_a_data_sheet_quotes():
    # safety data sheet of chlorobenzene (alphachemika.co, AL1268), section 2: H226, H332, H411
    assert {"H226", "H332", "H411"} <= {one.code for one in hazard_statements("chlorobenzenes")}
    assert {"H314", "H331"} <= {one.code for one in hazard_statements("hydrogen chloride")}
    assert hazard_statements("water") == ()
