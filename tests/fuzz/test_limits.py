"""The largest files that are still taken apart, and bombs beyond: neither memory nor patience runs out.

The bars are 1 GiB and ten seconds on an idle machine. A test that fails for being slow on a busy one helps nobody, so
it is the memory that is held to its bar here, and the time to a multiple. CUTBOOK_LONG=1 tries every case.
"""

import gzip
import io
import os
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

LONG = os.environ.get("CUTBOOK_LONG") == "1"
MEBIBYTES, SECONDS = 1024, 60
CHECK = (
    "import sys\n"
    "from cutbook.cli.main import main\n"
    "try: main(['check', sys.argv[1]])\n"
    "except SystemExit as left: print('exit', left.code)\n"
    "print(open('/proc/self/status').read())\n"
)
MIB = 2**20


def workbook(rows):
    import openpyxl

    small = io.BytesIO()
    book = openpyxl.Workbook()
    book.active.append(["a"])
    book.save(small)
    space = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    sheet = b"<worksheet " + space + b"><sheetData>" + rows + b"</sheetData></worksheet>"
    large = io.BytesIO()
    with zipfile.ZipFile(small) as source, zipfile.ZipFile(large, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            target.writestr(name, sheet if name == "xl/worksheets/sheet1.xml" else source.read(name))
    return large.getvalue()


def spectra(count, inside=b""):
    return b'<mzML xmlns="x"><run>' + (b"<spectrum>" + inside + b"</spectrum>") * count + b"</run></mzML>"


def jcamp(table):
    return b"##TITLE= x\n##JCAMP-DX= 5\n##DATA TYPE= CHROMATOGRAM\n##XUNITS= MIN\n" + table


CASES = {
    "rows line by line": lambda: b"time (min);signal\n" + b"0,5;1.5;x\n" * (16 * MIB // 10 - 10),
    "one line": lambda: b"1 " * (8 * MIB),
    "compressed nothing": lambda: gzip.compress(b"0" * (300 * MIB)),
    "wide row": lambda: workbook(b'<row r="1">' + b'<c r="XFD1"><v>1</v></c>' * 2_000_000 + b"</row>"),
    "a tag without end": lambda: b"<mzML " + b" ".join(b'a%d="1"' % n for n in range(1_000_000)) + b">",
    "elements without end": lambda: b"<mzML><run><spectrum>" + b"<a/>" * 3_000_000,
    "repeated ordinates": lambda: jcamp(b"##XYDATA= (X++(Y..Y))\n" + b"0A99999\n" * 200_000),
}
LONG_CASES = {
    "clean rows": lambda: (
        b"time (min)\tsignal\n" + b"".join(b"%.4f\t%.2f\n" % (n / 9e4, n % 97) for n in range(4_900_000))
    ),
    "short rows": lambda: b"1\n" * (31 * MIB),
    "empty spectra": lambda: spectra(99_000),
    "spectra of many terms": lambda: spectra(600, b'<cvParam accession="x"/>' * 4_900),
    "uncles": lambda: b"<mzML><run>" + (b"<l><spectrum/></l>" + b"<a/>" * 4_900) * 600 + b"</run></mzML>",
    "long text": lambda: b"<mzML><run><spectrum>" + b"A" * (200 * MIB) + b"</spectrum></run></mzML>",
    "scans": lambda: b"<mzXML><msRun>" + b'<scan num="1"/>' * 99_000 + b"</msRun></mzXML>",
    "pairs": lambda: jcamp(b"##XYPOINTS= (XY..XY)\n" + b"1,2;3,4;5,6\n" * (60 * MIB // 12)),
    "ordinates": lambda: jcamp(b"##XYDATA= (X++(Y..Y))\n" + b"0 1 2 3 4 5 6 7 8 9\n" * 1_900_000),
    "tables": lambda: jcamp(b"##PEAK TABLE= (XY..XY)\n1,2\n" * 19_900),
    "labels": lambda: jcamp(b"##A= x\n" * 1_900_000),
    "cells": lambda: workbook(
        b"".join(b'<row r="%d"><c r="A%d"><v>1.5</v></c></row>' % (n, n) for n in range(1, 390_000))
    ),
    "zeros": lambda: b"CDF\x01" + b"\0" * (400 * MIB),
}


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="reads the memory of a process where Linux tells it")
@pytest.mark.parametrize("name", [*CASES, *LONG_CASES] if LONG else list(CASES))
def test_the_largest_files_and_bombs_are_borne(tmp_path, name):
    path = tmp_path / "input"
    path.write_bytes({**CASES, **LONG_CASES}[name]())
    done = subprocess.run(
        [sys.executable, "-c", CHECK, str(path)], capture_output=True, text=True, timeout=SECONDS, encoding="utf-8"
    )
    assert "exit 1" in done.stdout
    assert done.stderr.count("\n") == 1, done.stderr
    peak = int(re.search(r"VmHWM:\s*(\d+) kB", done.stdout).group(1)) / 1024
    assert peak <= MEBIBYTES, f"{peak:.0f} MiB"
