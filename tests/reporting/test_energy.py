"""The energy of a run in workbook, figure and page."""

import io
import xml.etree.ElementTree as ElementTree

import openpyxl
import pytest
from test_gas import a_run

from cutbook.reporting.energy_figure import energy_caption, energy_figure
from cutbook.reporting.figures import figures
from cutbook.reporting.numbers import OutputSettings
from cutbook.reporting.page import page
from cutbook.reporting.style import lightness, style
from cutbook.reporting.workbook import workbook
from cutbook.workup.work_up import work_up

FUEL = '[reactor]\npurge_gas = "none"\nburner_fuel = "propane"\nburner_fuel_used = "0.42 ± 0.01 kg"'


@pytest.fixture(scope="module")
def findings(tmp_path_factory):
    char = '\n[[product]]\nfraction = "char"\nmass = "20.0 ± 0.1 g"\n'
    return work_up(a_run(tmp_path_factory.mktemp("energy") / "run", reactor=FUEL, more=char))


def sheet_of(findings, values):
    return openpyxl.load_workbook(io.BytesIO(workbook(findings)), data_only=values)["Energy"]


def rows_by_name(sheet):
    return {row[0].value: row for row in sheet.iter_rows() if row[0].value}


def test_energy_and_share_of_the_sheet_are_formulas_that_hold_what_was_found(findings):
    formulas, values = (rows_by_name(sheet_of(findings, as_values)) for as_values in (False, True))
    for found in findings.energy.rows:
        if found.energy.value is None:
            assert formulas[found.name][6].value is None
            assert values[found.name][12].value
            continue
        energy, share = formulas[found.name][6].value, formulas[found.name][8].value
        assert energy.startswith("=") and energy.endswith("/1000")
        assert share.startswith("=100*")
        assert values[found.name][6].value == pytest.approx(found.energy.value)
        assert values[found.name][8].value == pytest.approx(found.share.value)


def test_the_sheet_says_what_is_known_by_what_and_the_sentences(findings):
    values = rows_by_name(sheet_of(findings, True))
    assert values["PE"][10].value == "published"
    assert values["gas"][10].value == "composition of the gas"
    assert any(str(name).startswith("The reactor was heated with 0.42 ± 0.01 kg propane") for name in values)
    formulas = rows_by_name(sheet_of(findings, False))
    for name, result in (("gross energy of the feed", findings.energy.feed),
                         ("unaccounted for, feed less products", findings.energy.unaccounted)):  # fmt: skip
        assert formulas[name][2].value.startswith("=SUM(")
        assert values[name][2].value == pytest.approx(result.value)
    ratio = next(row for name, row in values.items() if name == "gas, net, on what heated the reactor")
    assert ratio[2].value == pytest.approx(findings.energy.ratio.value)


def test_the_figure_draws_what_has_an_energy_and_names_what_has_not(findings):
    svg = energy_figure(findings.energy)
    ElementTree.fromstring(svg)
    assert energy_caption(findings.energy).endswith("Not drawn, for want of a value: char.")
    assert {one.file for one in figures(findings)} >= {"energy.svg", "gas.svg"}
    assert energy_figure(None) == ""


def test_feed_and_products_differ_in_grey():
    cuts = style()["cuts"]
    assert abs(lightness(cuts["wax"]["colour"]) - lightness(cuts["gasoline"]["colour"])) > 25


def test_the_page_has_the_section_with_its_table_and_words(findings):
    text = page(findings)
    start = text.index('<section id="energy">')
    section = text[start : text.index("</section>", start)]
    assert '<a href="#energy">Energy</a>' in text
    for word in (
        "PE, feed",
        "published",
        "composition of the gas",
        "does not show that the run would do without its fuel",
    ):
        assert word in section, word
    assert section.count("<table>") == 1
    assert section.count("<img ") == 1


def test_a_decimal_comma_reaches_figure_and_sentences(findings):
    text = page(findings, OutputSettings(decimal="comma"))
    start = text.index('<section id="energy">')
    assert "46,4" in text[start : text.index("</section>", start)]
