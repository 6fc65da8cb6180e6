"""What the cold does, on every surface, from one run with a storage temperature."""

import io
import re
import shutil
from pathlib import Path

import openpyxl
import pytest

from cutbook.importers.run_sheet import read_run
from cutbook.reporting.cautions import put_into_words
from cutbook.reporting.cold_figure import cold_caption, cold_figure
from cutbook.reporting.cold_words import cold_sentence
from cutbook.reporting.explanation import explain
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings
from cutbook.reporting.page import page
from cutbook.reporting.results_json import as_text, results
from cutbook.reporting.summary import summary_lines
from cutbook.reporting.workbook import workbook
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def crates():
    return work_up(read_run(EXAMPLES / "crate-oil"))


@pytest.fixture(scope="module")
def found(crates):
    return results(crates)


def test_results_have_the_keys_of_the_contract(found):
    cold = found["cold"]
    assert {"wax_appearance", "solid", "at_storage"} <= set(cold)
    assert set(cold["wax_appearance"]) == {"value", "u", "unit"} and cold["wax_appearance"]["unit"] == "°C"
    temperatures = [row["temperature"] for row in cold["solid"]]
    assert temperatures == sorted(temperatures, reverse=True) and temperatures[-1] == -40
    assert all(row["mass"]["unit"] == "%" for row in cold["solid"])
    assert cold["of"] == "oil" and [one["of"] for one in found["cold_others"]] == ["wax"]
    assert cold["at_storage"]["temperature"] == -5
    assert cold["at_storage"]["state"] == "likely to set"
    assert cold["at_storage"]["warm_to"] > cold["wax_appearance"]["value"]
    as_text(found)


def test_solid_in_store_is_that_of_the_curve_there(found):
    at = next(row for row in found["cold"]["solid"] if row["temperature"] == -5)
    assert found["cold"]["at_storage"]["solid"]["value"] == pytest.approx(at["mass"]["value"])


def test_every_number_explains_itself(crates):
    for name in (
        "cold.wax_appearance",
        "cold.at_storage.solid",
        "cold.solid.-20.mass",
        "cold_others.wax.gel.1.temperature",
    ):
        told = explain(crates, name)
        assert "equilibrium of wax and oil" in told
        assert "traces/" in told


def test_the_summary_has_a_line_for_each_liquid(crates):
    lines = [line.replace("\xa0", " ") for line in summary_lines(crates, AS_WRITTEN) if "in the cold" in line]
    assert len(lines) == 2
    assert re.search(r"oil in the cold: wax appears at 1\d ± \d+ °C; at −5 °C in store it is likely to set; warm it to \d+ °C", lines[0])  # fmt: skip


def test_the_page_has_section_figure_and_way_there(crates):
    text = page(crates)
    assert 'id="cold-1"' in text and 'href="#cold-1"' in text and 'id="cold-2"' in text
    assert "warm it to" in text
    assert cold_caption(crates.cold[0]).split(";")[0] in text


def test_the_sheet_holds_answers_and_curve(crates, found):
    book = openpyxl.load_workbook(io.BytesIO(workbook(crates)))
    rows = list(book["Cold"].iter_rows(values_only=True))
    text = [" ".join(str(cell) for cell in row if cell is not None) for row in rows]
    assert any("warm it to" in line for line in text)
    assert sum(line.startswith("oil solid -") for line in text) >= 40
    assert any(line.startswith("oil 1 % is solid at") for line in text)


def test_the_figure_has_band_storage_line_and_range(crates):
    svg = cold_figure(crates.cold[0])
    assert svg.startswith("<?xml") and "NaN" not in svg
    assert "Upright line" in cold_caption(crates.cold[0])
    assert cold_figure(crates.cold[0], OutputSettings("comma")) is not None


def test_dangers_of_warming_are_told_in_words(crates):
    told = [put_into_words(one) for one in crates.cautions if one.code == "safety.warming"]
    assert told
    for one in told:
        words = f"{one.text} {one.means} {one.do}"
        assert one.level == "danger"
        for must in ("open flame", "vented", "Never heat a closed valve", "local rules"):
            assert must in words


def test_ageing_is_a_note_without_hours(crates):
    told = [put_into_words(one) for one in crates.cautions if one.code.startswith("cold.ageing")]
    assert told
    for one in told:
        assert one.level == "note"
        assert not re.search(r"\d+ (hours|days|weeks|months)", f"{one.text} {one.means} {one.do}")


def test_a_measured_cloud_point_takes_the_place_of_the_estimate(tmp_path):
    folder = tmp_path / "run"
    shutil.copytree(EXAMPLES / "crate-oil", folder)
    sheet = folder / "run.toml"
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text(text.replace('fraction = "oil"\n', 'fraction = "oil"\ncloud_point = "9 °C"\npour_point = "-6 °C"\n', 1), encoding="utf-8")  # fmt: skip
    changed = work_up(read_run(folder))
    cold = results(changed)["cold"]
    assert cold["wax_appearance"]["value"] == 9
    assert cold["wax_appearance_estimated"]["value"] == pytest.approx(11.7, abs=1.0)
    assert cold["difference"]["value"] == pytest.approx(9 - cold["wax_appearance_estimated"]["value"])
    assert cold["at_storage"]["state"] == "likely to block a narrow line"  # it pours down to -6 °C
    assert "the measured cloud point is 9" in cold_sentence(changed.cold[0].answer)
    assert "Diamonds" in cold_caption(changed.cold[0])
    assert cold_figure(changed.cold[0])


def test_styrene_of_polystyrene_is_told():
    foam = work_up(read_run(EXAMPLES / "foam-oil"))
    assert "cold.ageing_styrene" in {one.code for one in foam.cautions}


def test_a_run_without_a_ladder_has_no_cold(findings):
    bare = results(findings)
    assert "cold" in bare
