"""Composition tables as laboratories write them, and as they go wrong."""

import io

import pytest

from cutbook.gas.composition import gas_composition
from cutbook.gas.substances import component_named, substances
from cutbook.importers.gas_table import read_gas_heading, read_gas_table
from cutbook.importers.trace_file import TraceFile
from cutbook.model.amount import nominal
from cutbook.model.errors import InputError


def read(text, name="gas.csv", columns=None):
    content = text if isinstance(text, bytes) else text.encode()
    file = TraceFile(name, content, "0" * 64)
    return read_gas_table(file, "[[gas_analysis]] 1", component_named, tuple(substances()), columns or {})


def values(table):
    return {row.component: row.value for row in table.rows}


def codes(table):
    return [one.code for one in table.step.cautions]


PLAIN = {"methane": 0.605, "ethane": 0.395}


@pytest.mark.parametrize(
    "text",
    [
        "component,mole_percent\nCH4,60.5\nC2H6,39.5\n",
        "Component;mole %\nmethane;60,5\nethane;39,5\n",
        "Komponente;Vol.-%\nMethan;60,5\nEthan;39,5\nSumme;100,0\n",
        "Name\tmol fraction\nCH4\t0.605\nC2H6\t0.395\n",
        "Stoff;Stoffmengenanteil\nMethan;0,605\nEthan;0,395\n",
        "Compound,Concentration (ppmv)\nCH4,605000\nC2H6,395000\n",
        "GC report 17\nsample: bag 3\n\nName,RT,mol%\nCH4,1.2,60.5\nC2H6,2.3,39.5\nTotal,,100.0\n",
        "component,mole_percent\r\nCH4,60.5 %\r\nC2H6,39.5 %\r\n",
        "component,amount\nCH4,60.5\nC2H6,39.5\n",
        "component,amount\nCH4,0.605\nC2H6,0.395\n",
        'component,mole %,remark\nCH4,60.5,"fine, I think"\nC2H6,39.5,\n',
        "component,mole %\nCH4,60.5\nC2H6,395000 ppm\n",
    ],
)
def test_one_composition_in_many_hands(text):
    table = read(text)
    assert values(table) == pytest.approx(PLAIN)
    assert table.unit == "fraction"


def test_the_same_in_a_workbook():
    import openpyxl

    book = openpyxl.Workbook()
    for row in (("Gas of run 7",), (), ("Komponente", "mol %"), ("Methan", 60.5), ("Ethan", 39.5), ("Summe", 100)):
        book.active.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    assert values(read(buffer.getvalue(), "gas.xlsx")) == pytest.approx(PLAIN)


def test_a_total_is_kept_apart_and_a_limit_is_no_figure():
    table = read("component,mole %\nCH4,60.5\nC2H6,39.5\nH2S,< 0.1\nCO,n.d.\nTotal,100\n")
    assert table.total == pytest.approx(1.0)
    rows = {row.component: row for row in table.rows}
    assert (rows["hydrogen sulfide"].value, rows["hydrogen sulfide"].limit) == (None, pytest.approx(0.001))
    assert (rows["carbon monoxide"].value, rows["carbon monoxide"].limit) == (None, None)


def test_a_total_has_its_own_unit_and_one_of_areas_is_none_of_areas_over_response():
    table = read("component,ppm\nCH4,605000\nC2H6,395000\nTotal,100 %\n")
    assert table.total == pytest.approx(1.0)
    assert gas_composition(table, "dry", "gas").step.cautions == ()
    table = read("component,area,response\nCH4,300,1.5\nC2H6,300,3\nTotal,600,\n")
    assert table.total is None
    assert [one.code for one in gas_composition(table, "dry", "gas").step.cautions] == ["gas.areas"]


def test_a_rough_figure_is_told():
    table = read("component,mole %\nCH4,ca. 60.5\nC2H6,≈39.5\n")
    assert values(table) == pytest.approx(PLAIN)
    assert [(one.code, one.facts["places"]) for one in table.step.cautions] == [("gas.rough_figures", "line 2, line 3")]


def test_uncertainties_are_read_standard_and_expanded():
    assert read("component,mole %,u\nCH4,60.5,0.4\nC2H6,39.5,0.3\n").rows[0].u == pytest.approx(0.004)
    assert read("component,mole %,U (k=2)\nCH4,60.5,0.8\nC2H6,39.5,0.6\n").rows[0].u == pytest.approx(0.004)
    assert read("component,mole %\nCH4,60.5 ± 0.4\nC2H6,39.5 +/- 0.3\n").rows[1].u == pytest.approx(0.003)


def test_a_response_divides_and_a_correction_multiplies():
    by_response = read("component,area,response factor\nCH4,300,1.5\nC2H6,300,3\n")
    assert by_response.unit == "area"
    assert values(by_response) == pytest.approx({"methane": 200, "ethane": 100})
    by_factor = read("Komponente;Fläche;Korrekturfaktor\nMethan;300;1,5\nEthan;300;3\n")
    assert values(by_factor) == pytest.approx({"methane": 450, "ethane": 900})


def test_sums_of_components_stay_sums():
    table = read("component,mole %\nCH4,60\nC4 sum,30\nC5+,10\n")
    assert [row.component for row in table.rows] == ["methane", "C4 sum", "C5+"]


def test_a_column_without_a_unit_is_told_from_its_sum_with_a_word():
    assert codes(read("component,amount\nCH4,60.5\nC2H6,39.5\n")) == ["gas.unit_told"]


def test_remarks_below_the_table_are_told():
    table = read("component,mole %\nCH4,60.5\nC2H6,39.5\nmeasured on Tuesday,\n")
    assert codes(table) == ["gas.rows_not_read"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("component,mole %\nCH4,60.5\nC2H7,39.5\n", "line 3.*'C2H7'"),
        ("component,mole %\nMethanee,60.5\nC2H6,39.5\n", "Was 'methane' meant"),
        ("component,mole %\n,60.5\nC2H6,39.5\n", "a figure without a component"),
        ("component,mole %\nCH4,lots\nC2H6,39.5\n", "'lots' in column 'mole %'"),
        ("component,mole %\nCH4,-60.5\nC2H6,39.5\n", "0 or more"),
        ("component,mole %\nCH4,\"1,234\"\nC2H6,3\n", "may part thousands or decimals"),
        ("component,amount\nCH4,7\nC2H6,3\n", "without a unit"),
        ("component,area\nCH4,700\nC2H6,300\n", "areas without response"),
        ("component,area,response\nCH4,700,1\nC2H6,300,\n", "response factor above 0"),
        ("component,weight %\nCH4,60\nC2H6,40\n", "shares by mass"),
        ("component,mole %,vol %\nCH4,60,60\nC2H6,40,40\n", "2 columns that may be the share"),
        ("component,mole %\nCH4,\nC2H6,\n", "no component with a figure"),
        ("component,mole %\n", "headings without a reading"),
        ("these are,only words\nand,more\n", "no line of headings"),
        ("component,mole %\nCH4,1e99\nC2H6,1\n", "CH4|1e99"),
        ("component,mole %\nCH4,99999999999999999\nC2H6,1\n", "a share or an area"),
        (b"\x89PNG\r\n\x1a\n\0\0", "no text and no workbook"),
        ("component,mole %\nCH4,60,5\nC2H6,39,5\n", "3 cells"),
    ],
)  # fmt: skip
def test_a_bad_table_gives_one_clear_line(text, told):
    with pytest.raises(InputError, match=told) as refused:
        read(text)
    assert len(refused.value.faults) == 1
    assert refused.value.faults[0].line().isprintable()
    assert "gas.csv" in str(refused.value)


def test_a_column_can_be_chosen_by_its_heading():
    text = "component,mole %,vol %\nCH4,60,61\nC2H6,40,39\n"
    assert values(read(text, columns={"share": "vol %"}))["methane"] == pytest.approx(0.61)


@pytest.mark.parametrize(
    "text", ["component,mole %\nCH4,0.605\nC2H6,0.395\n", "component,fraction\nCH4,60.5\nC2H6,39.5\n"]
)
def test_percent_taken_for_fractions_is_refused_by_its_sum(text):
    with pytest.raises(InputError, match="about 100 %"):
        gas_composition(read(text), "dry", "gas")


def test_the_bytes_of_the_file_and_its_hash_are_the_source():
    table = read("component,mole %\nCH4,60.5\nC2H6,39.5\n")
    assert table.step.source.path == "gas.csv"


@pytest.mark.parametrize(
    ("heading", "field"),
    [
        ("Component", "component"), ("Component name", "component"), ("Gaskomponente", "component"),
        ("response_factor", "response"), ("mole_fraction", "share"), ("u_mole_percent", "u"), ("Komponente", "component"), ("mole_percent", "share"), ("mol-%", "share"),
        ("Conc. [vol %]", "share"), ("Gehalt", "share"), ("Peak area", "area"), ("Fläche", "area"),
        ("response factor", "response"), ("Korrekturfaktor", "correction"), ("wt %", "mass"), ("Massenanteil", "mass"),
        ("Unsicherheit", "u"), ("U (k=2)", "expanded"), ("Bemerkung", "note"), ("RT (min)", ""), ("", ""),
        ("x" * 300, ""),
    ],
)  # fmt: skip
def test_headings_are_told(heading, field):
    assert read_gas_heading(heading) == field


def test_a_table_read_and_composed_is_the_gas():
    found = gas_composition(read("Komponente;mol %\nMethan;60,5\nEthan;39,5\nH2S;<0,1\nSumme;100\n"), "dry", "gas")
    assert {name: nominal(share) for name, share in found.shares.items()} == pytest.approx(
        {**PLAIN, "hydrogen sulfide": 0.0}
    )
