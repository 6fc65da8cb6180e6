"""`cutbook check FILE`: what a lone file is and what it can be used for."""

import json

import pytest
from click.testing import CliRunner
from scan_files import andi_ms, mzml, mzxml, some_scans

from cutbook.cli.main import main

SOME = some_scans()
TRACE = "\n".join(["time (min)\tFID (pA)", *(f"{n / 100:.2f}\t{10 + n % 7}" for n in range(300))])


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def told(tmp_path, content, name="file", *words):
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    before = path.read_bytes()
    done = call("check", path, *words)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]
    return done


def test_a_text_trace_is_described(tmp_path):
    done = told(tmp_path, TRACE, "oil.txt")
    assert done.exit_code == 0
    assert done.output == (
        "oil.txt: text columns\n"
        "  a trace: 300 points, 0.0 to 2.99 min, 1.667 a second; signal 10.0 to 16.0 (pA); detector FID\n"
        "  usable as sample, ladder, blank or gas standard in a [[trace]] entry of run.toml\n"
    )


@pytest.mark.parametrize(
    ("content", "head"),
    [(mzml(*SOME), "run: mzML"), (mzxml(*SOME), "run: mzXML"), (andi_ms(*SOME), "run: ANDI")],
)
def test_mass_spectra_are_described_with_scans_and_mass_range(tmp_path, content, head):
    done = told(tmp_path, content, "run")
    assert done.exit_code == 0
    lines = done.output.splitlines()
    assert lines[0] == head
    low = min(mz.min() for mz, _ in SOME[1] if len(mz))
    high = max(mz.max() for mz, _ in SOME[1] if len(mz))
    assert f"  mass spectra: 150 scans, 2.0 to 3.2417 min, 2980 ions, m/z {low:.1f} to {high:.1f} (centroid)" in lines
    assert "detector MS" in lines[1]


def test_spectra_without_a_usable_trace_are_still_described(tmp_path):
    times, scans = SOME
    done = told(tmp_path, mzml(times[:20], scans[:20]), "short")
    assert done.exit_code == 0
    assert "  not to be had from it: short: found 20 points; expected at least 100. Is this the whole trace?" in (
        done.output.splitlines()
    )


def test_a_list_of_peaks_is_described(tmp_path):
    done = told(tmp_path, "RT (min)\tArea\tName\n1.5\t10\ttoluene\n2.5\t20\t\n", "list.txt")
    assert done.exit_code == 0
    assert "  a list of 2 peaks, 1.5 to 2.5 min, area 30.0 in all (no unit stated); 1 with a name" in done.output
    assert "not as blank" in done.output


def test_json_has_the_same(tmp_path):
    done = told(tmp_path, mzml(*SOME), "run", "--json")
    (record,) = json.loads(done.output)
    assert record["format"] == "mzML"
    assert record["scans"]["scans"] == 150
    assert record["trace"]["points"] == 150
    assert record["peak_list"] is None


@pytest.mark.parametrize(
    "content", [b"%PDF-1.7\n%\xe2\xe3", b"\x89PNG\r\n\x1a\n\x00", b"<html>", b"words\nand words\n"]
)
def test_what_cannot_be_read_is_one_line_and_exit_1(tmp_path, content):
    done = told(tmp_path, content)
    assert done.exit_code == 1
    assert done.stderr.count("\n") == 1
    assert done.stderr.startswith("file: found ")


def test_folders_and_files_may_stand_side_by_side(tmp_path):
    (tmp_path / "oil.txt").write_text(TRACE, encoding="utf-8")
    done = call("check", tmp_path / "oil.txt", tmp_path / "nothing")
    assert done.exit_code == 1
    assert "oil.txt: text columns" in done.stdout
    assert "nothing: found no such file or folder; expected a run folder or a file from an instrument" in done.stderr


def test_pipes_devices_and_run_sheets_are_told_apart(tmp_path):
    import os

    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "run.toml").write_text("[run]\n", encoding="utf-8")
    done = call("check", tmp_path / "pipe", "/dev/zero", tmp_path / "run.toml")
    assert done.exit_code == 1
    assert done.stderr.count("found neither a file nor a folder") == 2
    assert (
        f"found a run sheet; expected a run folder or a file from an instrument. Check its folder: cutbook check {tmp_path}"
        in (done.stderr)
    )


def test_a_still_log_is_described_with_its_repairs(tmp_path):
    log = tmp_path / "log.csv"
    log.write_text('time,head °C,volume mL\n13:00,80,0\n13:10,120,25\n13:20,130,"\n', encoding="utf-8")
    said = call("check", log)
    assert said.exit_code == 0
    assert "a still log: 3 readings, head 80.0 to 130.0 °C" in said.output
    assert "line 4, volume mL: '\"', ditto mark, read as the cell above" in said.output
    assert "[[distillation]]" in said.output


def test_a_still_log_with_a_bad_cell_is_told_by_its_line(tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("time,head °C,volume mL\n13:00,80,0\n13:10,hot,25\n13:20,130,50\n", encoding="utf-8")
    said = call("check", log)
    assert said.exit_code == 1
    assert "line 3" in said.output + said.stderr
    assert "'hot'" in said.output + said.stderr


def test_the_composition_of_a_gas_is_described(tmp_path):
    table = "component,mole %\nmethane,50.0\nethene,49.0\noxygen,< 0.1\nhydrogen,\ntotal,99.0\n"
    done = told(tmp_path, table, "gas.csv")
    assert done.exit_code == 0
    assert done.output == (
        "gas.csv: gas composition table\n"
        "  the composition of a gas: 4 components, 2 with a figure, 99.0 mole % in all; 1 below a limit, "
        "1 without a figure\n"
        "  usable as file of a [[gas_analysis]] entry of run.toml\n"
    )
    done = told(tmp_path, table, "gas.csv", "--json")
    assert json.loads(done.output)[0]["gas_table"]["sum"] == 99.0


def test_a_composition_that_cannot_be_read_says_where(tmp_path):
    done = told(tmp_path, "component,mole %\nmethan,50.0\nmethanoxyl,49.0\n", "gas.csv")
    assert done.exit_code == 1
    assert "line 3" in done.output
    assert "'methanoxyl'" in done.output


def test_areas_over_response_are_no_percent(tmp_path):
    done = told(tmp_path, "component,area,response\nmethane,200,2\nethene,300,3\n", "gas.csv")
    assert "2 with a figure, 200.0 area over response in all" in done.output


def lone(formula, peaks, name="chlorobenzene"):
    table = "\n".join(f"{mz} {height}" for mz, height in peaks)
    return (
        f"##TITLE= {name}\n##JCAMP-DX= 5.00\n##DATA TYPE= MASS SPECTRUM\n##XUNITS= M/Z\n"
        f"##YUNITS= RELATIVE ABUNDANCE\n##MOLFORM= {formula}\n##XFACTOR= 1\n##YFACTOR= 1\n"
        f"##NPOINTS= {len(peaks)}\n##PEAK TABLE= (XY..XY)\n{table}\n##END=\n"
    )


# heights by the abundances of the isotopes of chlorine and carbon (IUPAC), fragments as of a good public record
CHLOROBENZENE = [(50, 12), (51, 14), (77, 50), (112, 100), (113, 6.6), (114, 32.5), (115, 2.1)]


def test_a_lone_spectrum_is_told_by_its_isotopes_and_its_formula_is_held_against_them(tmp_path):
    done = told(tmp_path, lone("C6 H5 Cl", CHLOROBENZENE), "one.jdx")
    assert done.exit_code == 0
    assert done.output == (
        "one.jdx: JCAMP-DX\n"
        "  a lone mass spectrum: 7 ions, m/z 50.0 to 115.0\n"
        "  by its isotopes: 1 Cl in the ion of m/z 112\n"
        "  its formula, C6H5Cl, is borne out by the isotopes as far as they show halogens\n"
        "  usable in no [[trace]] entry of run.toml, which needs scans with their times\n"
    )
    wrong = [(mz, 9.0 if mz == 114 else height) for mz, height in CHLOROBENZENE]
    done = told(tmp_path, lone("C6H5Cl", wrong), "one.jdx")
    assert "its formula, C6H5Cl, is contradicted by the isotopes: M+2 0.09 of the tallest, 0.32 demanded" in done.output
    (record,) = json.loads(told(tmp_path, lone("C6H5Cl", wrong), "one.jdx", "--json").output)
    assert record["spectrum"]["against_formula"][0]["ion"] == "M+2"
    assert record["spectrum"]["halogens"]["finding"] != "halogen"
    assert record["trace"] is None


def test_a_lone_spectrum_without_a_formula_or_with_one_that_is_none_is_told_all_the_same(tmp_path):
    benzene = [(50, 15), (51, 18), (52, 20), (77, 14), (78, 100), (79, 6.6)]
    for formula in ("", "unknown"):
        done = told(tmp_path, lone(formula, benzene), "one.jdx")
        assert done.exit_code == 0
        assert "  by its isotopes: no chlorine or bromine in the highest cluster, m/z 78" in done.output
        assert "formula" not in done.output


def test_a_lone_spectrum_with_a_hole_is_one_line(tmp_path):
    done = told(tmp_path, lone("C6H5Cl", [(112, 100), (114, -32)]), "one.jdx")
    assert done.exit_code == 1
    assert "found a value missing or below 0 among m/z and intensity" in done.stderr


def test_halogens_of_the_tallest_peaks_of_a_run_are_told(tmp_path):
    import numpy as np

    times = np.linspace(2.0, 4.0, 120)
    masses = np.array([77.0, 112.0, 113.0, 114.0, 115.0, 207.0])
    shares = np.array([50.0, 100.0, 6.6, 32.5, 2.1, 0.0])
    scans = [(masses, 50.0 * shares * np.exp(-0.5 * ((t - 3.0) / 0.05) ** 2) + 5.0) for t in times]
    done = told(tmp_path, mzml(times, scans), "run")
    line = "by the isotopes of the spectra of its tallest peaks (1): 1 Cl in the ion of m/z 112 at "
    assert line in done.output
    assert "no halogen in 0, open in 0" in done.output
    assert "screen a run with a ladder" in done.output
    (record,) = json.loads(told(tmp_path, mzml(times, scans), "run", "--json").output)
    (peak,) = record["scans"]["halogens"]
    assert (peak["finding"], peak["chlorine"], peak["mz"]) == ("halogen", 1, 112)
    assert {one["test"] for one in peak["evidence"]} >= {"pattern", "isotope ratio"}


@pytest.mark.parametrize(
    "text",
    [
        "m/z,intensity\n77,50\n112,100\n113,6.6\n114,32.5\n115,2.1\n",
        "m/z;relative Intensität (%)\n77,0;50\n112,0;100\n113,0;6,6\n114,0;32,5\n115,0;2,1\n",
        "a spectrum\n\nmass\tabundance\n112.01\t1000\n114.00\t325\n113.02\t66\n77.04\t500\n115.0\t21\n",
    ],
)
def test_a_lone_spectrum_as_two_columns_is_told_by_its_isotopes(tmp_path, text):
    done = told(tmp_path, text, "one.csv")
    assert done.exit_code == 0
    lines = done.output.splitlines()
    assert lines[0] == "one.csv: table of one spectrum"
    assert lines[1].startswith("  a lone mass spectrum: 5 ions, m/z 77.0")
    assert lines[2] == "  by its isotopes: 1 Cl in the ion of m/z 112"


def test_a_spectrum_as_columns_that_cannot_be_read_says_where(tmp_path):
    done = told(tmp_path, "m/z,intensity\n77,50\n112,much\n", "one.csv")
    assert done.exit_code == 1
    assert "line 3: found 'much' in column 'intensity'; expected a number" in done.stderr
    done = told(tmp_path, "m/z,intensity\n77,50\n112,-3\n", "one.csv")
    assert "line 3: found -3 in column 'intensity'; expected a number of 0 or more" in done.stderr


def test_masses_beside_times_are_no_lone_spectrum(tmp_path):
    done = told(tmp_path, "time (min),m/z,intensity\n1.0,77,50\n1.0,112,100\n", "ions.csv")
    assert done.exit_code == 1
    assert "a lone mass spectrum" not in done.output
