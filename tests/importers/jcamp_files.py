"""JCAMP-DX files written plainly, and how tests read them."""

import numpy as np
import pytest
from importer_contract import entry

from cutbook.importers import jcamp_dx
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import InputError

SIGNAL = np.round(1000 + 500 * np.exp(-0.5 * ((np.arange(600) - 300) / 8.0) ** 2)).astype(int)


def chromatogram(title="oil", signal=SIGNAL, first=0.0, step=0.5, falling=False, **labels):
    """A chromatogram over seconds; a label of None is left out."""
    times = first + step * np.arange(len(signal))
    if falling:
        times, signal = times[::-1], signal[::-1]
    labels = {
        "DATA TYPE": "GAS CHROMATOGRAM",
        "XUNITS": "SECONDS",
        "YUNITS": "pA",
        "DETECTOR": "FID",
        "FIRSTX": times[0],
        "LASTX": times[-1],
        "NPOINTS": len(signal),
    } | labels
    lines = [
        f"{times[at]:.6g} " + " ".join(map(str, signal[at : at + 10].tolist())) + "\n"
        for at in range(0, len(signal), 10)
    ]
    head = "".join(f"##{name}= {value}\n" for name, value in labels.items() if value is not None)
    return f"##TITLE= {title}\n##JCAMP-DX= 4.24\n{head}##XYDATA= (X++(Y..Y))\n{''.join(lines)}##END=\n"


def scans(count=200, unit=" s", step=1.0, total=True):
    """One table a scan, m/z falling."""
    text = "##TITLE= run\n##JCAMP-DX= 5.00\n##DATA TYPE= MASS SPECTRUM\n##XUNITS= m/z\n"
    for at in range(count):
        ions = [(91.1, 40 + at % 7), (57.0, 100), (43.1, 10)]
        text += f"##SCAN NUMBER= {at + 1}\n##.RETENTION TIME= {60 + step * at:.6g}{unit}\n"
        text += f"##TIC= {sum(i for _, i in ions)}\n" if total else ""
        text += "##NPOINTS= 3\n##PEAK TABLE= (XY..XY)\n" + "".join(f"{m}, {i}\n" for m, i in ions)
    return text + "##END=\n"


def pages(count=200, units="M/Z, COUNTS, SECONDS", page="##PAGE= T={time}\n", name="RETENTION TIME"):
    """A series with one page a scan."""
    text = "##TITLE= run\n##JCAMP-DX= 5.00\n##DATA TYPE= MASS SPECTRUM\n##DATA CLASS= NTUPLES\n"
    text += f"##NTUPLES= MASS SPECTRUM\n##VAR_NAME= MASS, INTENSITY, {name}\n##SYMBOL= X, Y, T\n##UNITS= {units}\n"
    for at in range(count):
        text += page.format(time=60 + at)
        text += f"##NPOINTS= 2\n##DATA TABLE= (XY..XY), PEAKS\n57,{100 + at % 5}; 43,50\n"
    return text + "##END NTUPLES= MASS SPECTRUM\n##END=\n"


def file_of(text):
    return TraceFile("trace", text if isinstance(text, bytes) else text.encode(), "0" * 64)


def read(text, **more):
    return jcamp_dx.read(file_of(text), entry("trace", **more))


def series(text):
    return jcamp_dx.read_scans(file_of(text))


def line_of(text, reader=read, **more):
    with pytest.raises(InputError) as refused:
        reader(text, **more)
    assert "\n" not in str(refused.value)
    return str(refused.value)


def codes(result):
    return [one.code for one in result.step.cautions]
