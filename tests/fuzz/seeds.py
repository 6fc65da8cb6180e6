"""Small good files to begin from, in every form that the importers know."""

import json
import sys
import zipfile
from io import BytesIO
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent / "importers"), str(HERE.parents[1] / "examples" / "generator")]

import jcamp_files as jcamp  # noqa: E402
from scan_files import andi_ms, mzml, mzxml, some_scans, zipped  # noqa: E402
from targets import WORKBOOK_PARTS  # noqa: E402
from test_andi import andi  # noqa: E402
from test_peak_list import text as peak_list  # noqa: E402
from test_plan_file import a_record  # noqa: E402
from test_workbook_columns import book  # noqa: E402

ROOT = HERE.parents[1]
POINTS = np.arange(110)
SIGNAL = np.round(10 + 50 * np.exp(-0.5 * ((POINTS - 50) / 4.0) ** 2) + 0.01 * np.sin(POINTS * 1.7), 3)
TIMES, SCANS = some_scans(9)
FEW = [(mz[:3], intensity[:3]) for mz, intensity in SCANS]

LONE = (
    "##TITLE= one\n##JCAMP-DX= 5.00\n##DATA TYPE= MASS SPECTRUM\n##XUNITS= M/Z\n##MOLFORM= C6 H5 Cl\n##XFACTOR= 1\n"
    "##YFACTOR= 1\n##NPOINTS= 5\n##PEAK TABLE= (XY..XY)\n77 50\n112 100\n113 6.6\n114 32.5\n115 2.1\n##END=\n"
)
SEVERAL = jcamp.chromatogram(signal=(SIGNAL * 100).astype(int)) * 2
"""Two signals of which none is named: good to begin from, and refused."""


def columns(head="time (min)\tsignal (pA)", mark="\t", comma=False, end="\n", factor=0.01):
    rows = [f"{n * factor:.3f}{mark}{y:.3f}" for n, y in zip(POINTS, SIGNAL, strict=True)]
    if comma:
        rows = [row.replace(".", ",") for row in rows]
    return end.join([head.replace("\t", mark), *rows, ""])


def workbook_part_seed():
    content = book([[float(n) / 100, float(y)] for n, y in zip(POINTS, SIGNAL, strict=True)])
    with zipfile.ZipFile(BytesIO(content)) as archive:
        names = archive.namelist()
        return b"\0\0PART\0\0".join(archive.read(name) if name in names else b"" for name in WORKBOOK_PARTS)


def seeds():
    """Name of a target to its good inputs."""
    netcdf = [
        andi(SIGNAL), andi(SIGNAL, "i2", version=2), andi_ms(TIMES, FEW), andi_ms(TIMES, FEW, "i2", "i4", scale=(0.1, 2.0)),
        andi_ms(TIMES, FEW, reverse=True, total=False, gap=1),
    ]  # fmt: skip
    of_mzml = [
        mzml(TIMES, FEW), mzml(TIMES, FEW, 32, False, group=True, seconds=True),
        mzml(POINTS / 60, [([100.0], [y]) for y in SIGNAL], spectra=False), mzml(TIMES, FEW, "i32", index=True),
    ]  # fmt: skip
    of_mzxml = [mzxml(TIMES, FEW), mzxml(TIMES, FEW, 64, False, minutes=True), mzxml(TIMES, FEW, nested=True)]
    of_jcamp = [
        one.encode()
        for one in (
            jcamp.chromatogram(signal=(SIGNAL * 100).astype(int)), jcamp.scans(6), jcamp.pages(6),
            jcamp.chromatogram(signal=(SIGNAL * 100).astype(int), falling=True), SEVERAL,
        )
    ]  # fmt: skip
    of_text = [
        one if isinstance(one, bytes) else one.encode()
        for one in (
            columns(), columns("Zeit [s];Signal [mV]", ";", comma=True, factor=0.6), columns(mark=",", end="\r\n"),
            columns("", "  "), "# remark\n" + columns() + "# end\n", columns().encode("utf-16"), peak_list(), peak_list(";"),
        )
    ]  # fmt: skip
    of_book = [book([[float(n) / 100, float(y)] for n, y in zip(POINTS, SIGNAL, strict=True)])]
    sheets = [path.read_bytes() for path in sorted((ROOT / "examples").glob("*/run.toml"))]
    sheets.append((ROOT / "reports" / "run_sheet_template.toml").read_bytes())
    methods = [path.read_bytes() for path in sorted((ROOT / "examples").glob("*/method.toml"))]
    methods.append(b'[integration.noise]\n[cuts]\nheadline_boiling = "x"\n[ladder.known_peak]\ncarbon = 3\n')
    of_stills = [path.read_bytes() for path in sorted((ROOT / "examples").glob("*/still.csv"))]
    of_stills.append("Uhrzeit;Kopf °F;Sumpf K;V (mL);p (mmHg);Vorlage;Notiz\n23:50;180;400;0;760;1;\n0:05;~250;420,5;"
                     "12,5;〃;〃;Nebel\n;;;;;;\n0:20;300 °F;440;3;-;2;Vorlagenwechsel\nSumme;;;16;;;\n".encode())  # fmt: skip
    of_stills.append(b"recovered (%)\ttemperature (C)\nIBP\t40\n5\t60\n50\t120\n94.2\t190\nFBP\t200\n")
    of_meters = [path.read_bytes() for path in sorted((ROOT / "examples").glob("*/meter.csv"))]
    of_meters.append(
        'Uhrzeit;Zählerstand (m³);T (°C);Bemerkung\n23:50;9,998;19,0;\n0:20;0,004;";zurück\n0:50;;20;\n'.encode()
    )
    of_meters.append(b"time (h),counter / L\n0,241\n0.5,211\n1,181\n1.5,1800\n2,151\n")
    of_gases = [path.read_bytes() for path in sorted((ROOT / "examples").glob("*/gas.csv"))]
    of_gases.append("Komponente;mol %;Bemerkung\nMethan;48,5;\nEthen;22,1 ± 0,4;\nC4 sum;12;\nH2S;<0,1;\nCO;n.n.;\n"
                    "Stickstoff;13,8;\nSauerstoff;3,7;Luft\nSumme;100,1;\n".encode())  # fmt: skip
    of_gases.append(b"component,area,response factor\nCH4,300,1.5\nC2H6,300,3\nN2,0,1\nO2,0,1\n")
    every = [*netcdf, *of_mzml, *of_mzxml, *of_jcamp, *of_text, *of_book]
    return {
        "by-content": [*every, zipped(of_mzml[0]), zipped(of_text[0])],
        "andi": netcdf,
        "mzml": of_mzml,
        "mzxml": of_mzxml,
        "jcamp-dx": of_jcamp,
        "lone-spectrum": [
            LONE.encode(),
            LONE.replace("32.5", "9").replace("C6 H5 Cl", "C6H4Cl2").encode(),
            b"m/z;intensity\n77,0;50\n112,0;100\n114,0;32,5\n",
            b"mass,abundance\n112.1,100\n114,32\n",
        ],
        "text": of_text,
        "workbook": of_book,
        "workbook-parts": [workbook_part_seed()],
        "still-log": of_stills,
        "gas-table": of_gases,
        "gas-meter": of_meters,
        "plan": [json.dumps(a_record()).encode()],
        "run-sheet": sheets,
        "settings": methods,
        "quantities": ["812.4 ± 0.5 g".encode(), b"25,00 mL", b"0.12 +/- 0.01 kPa", "455 °C".encode(), b"1e3 m3"],
    }


WORDS = {
    "gas-meter": ["reading (L)", "time (min)", "T (°C)", "p (mbar)", "23:59", "0", "999.9", "-5", "1e400", "m3", '"'],
    "gas-table": [
        "mole %",
        "component",
        "ppm",
        "< 0.1",
        "Summe",
        "C5+",
        "n.d.",
        "\\xc2\\xb1",
        "response",
        "area",
        "1e400",
    ],
    "still-log": ["head (°C)", "volume (mL)", "pressure (mbar)", "receiver", "23:59", "ca. 5", "-0.9", "1e400", "%"],
    "andi": ["ordinate_values", "actual_sampling_interval", "scan_index", "point_count", "mass_values", "scale_factor"],
    "mzml": [
        "MS:1000514",
        "MS:1000574",
        "MS:1002312",
        "UO:0000010",
        "<!DOCTYPE",
        "<!ENTITY",
        "defaultArrayLength",
        "nan",
    ],
    "mzxml": ["peaksCount", "retentionTime", "PT1S", "zlib", "<!DOCTYPE", "compressionType"],
    "jcamp-dx": [
        "##XYDATA=",
        "(X++(Y..Y))",
        "##NTUPLES=",
        "##PAGE=",
        "##END=",
        "##NPOINTS=",
        "@",
        "J",
        "S",
        "%",
        "##BLOCKS=",
    ],
    "lone-spectrum": ["##MOLFORM=", "C6H4Cl2", "Br9", "##PEAK TABLE=", "(XY..XY)", "1e400", "1e9", "##END=", "112 100"],
    "text": ["time (s)", "Area", "RT (min)", "\\x09", ";", ",", "1e400", "nan", "'", "\\xff\\xfe"],
    "workbook-parts": ["<row r=", "<c r=", "<f>", 't=\\"s\\"', 't=\\"d\\"', "<!DOCTYPE", "XFD1048576"],
    "run-sheet": ["[[trace]]", "[[feed]]", "file =", '\\"../\\"', "/etc/passwd", "\\\\u0000", "inf", "nan", "1e999"],
    "settings": ["[integration", "[cuts]", "[response]", "known =", "inf", "nan"],
    "quantities": ["±", "+/-", "g", "°C", "%", "e99999", "nan"],
}
