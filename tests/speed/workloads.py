"""What the speed of the program is measured on: files and traces of a stated size, and the floor beside each."""

import io
import sys
import zlib
from base64 import b64encode
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path[:0] = [str(ROOT / "examples" / "generator"), str(HERE.parent / "chromatogram"), str(HERE.parent / "importers")]

from scan_files import andi_ms  # noqa: E402
from simulated_oil import Instrument, Oil, bell, ladder_signal  # noqa: E402

from cutbook.importers.run_sheet import read_run  # noqa: E402
from cutbook.importers.trace_file import TraceFile  # noqa: E402
from cutbook.workup.method import Method  # noqa: E402
from cutbook.workup.samples import Traces, work_up_sample  # noqa: E402

CARBONS = list(range(5, 45))
SHEET = """[run]
id = "speed"
[[feed]]
material = "PE-HD"
mass = "100 g"
[[product]]
fraction = "oil"
mass = "80 g"
[[trace]]
file = "oil.txt"
detector = "FID"
role = "sample"
of = "oil"
ladder = "ladder.txt"
blank = "blank.txt"
[[trace]]
file = "ladder.txt"
role = "ladder"
ladder_carbons = {carbons}
"""


def text_run(folder, points=120_000):
    """A run folder with an oil, its ladder and its blank as text of so many points over fifty minutes."""
    instrument = Instrument(minutes=50.0, rate=points / 3000.0)
    t = instrument.times()
    rng = np.random.default_rng(1)
    oil = Oil(bell(range(5, 41), 13, 6.5, 450.0), hump=(150.0, 19.0, 5.5))
    signals = {"oil": oil.signal(t, instrument), "ladder": ladder_signal(t, instrument, CARBONS, 9.0), "blank": 0.0 * t}
    for name, signal in signals.items():
        signal = signal + instrument.baseline(t) + rng.normal(0, instrument.noise, len(t))
        rows = [f"{a:.5f}\t{b:.4f}" for a, b in zip(t, signal, strict=True)]
        (folder / f"{name}.txt").write_text("\n".join(["time (min)\tFID (pA)", *rows]), encoding="utf-8")
    (folder / "run.toml").write_text(SHEET.format(carbons=CARBONS), encoding="utf-8")


class OilFromText:
    """From the file of an oil to its carbon numbers, the ladder numbered and the blank read beforehand."""

    def __init__(self, folder):
        self.traces = Traces(read_run(folder), Method())
        (self.entry,) = self.traces.run.samples()
        self.traces.ladder(self.entry)
        self.traces.signal(self.traces.entry("blank.txt", "blank", self.entry))

    def __call__(self):
        self.traces._signals.pop("oil.txt", None)
        found, _ = work_up_sample("oil", self.entry, self.traces)
        assert found.carbons is not None
        return found


def curve_of_oil(folder):
    """The reading of a boiling curve off a trace that was integrated already, as a function without arguments."""
    from cutbook.workup import samples

    given = []
    kept = samples.boiling_curve

    def noted(*arguments):
        given.append(arguments)
        return kept(*arguments)

    samples.boiling_curve = noted
    try:
        OilFromText(folder)()
    finally:
        samples.boiling_curve = kept
    return lambda: kept(*given[0])


def gcms(count=6000, ions=316, seed=1):
    """Times in min and (m/z, intensity) of scans as of a whole run."""
    rng = np.random.default_rng(seed)
    times = np.arange(count) / 120.0
    return times, [(np.sort(rng.uniform(35, 550, ions)), rng.exponential(100, ions).round()) for _ in range(count)]


def andi_file(times, scans):
    return TraceFile("run.cdf", andi_ms(times, scans, "f4", "f4"), "0" * 64)


def mzml_file(times, scans):
    """As converters write it: the terms that a spectrum usually carries, indented, 64 bits, zlib."""
    out = io.StringIO()
    out.write('<?xml version="1.0" encoding="utf-8"?>\n<mzML xmlns="http://psi.hupo.org/ms/mzml" version="1.1.0">\n')
    out.write(f'  <run id="run">\n    <spectrumList count="{len(times)}">\n')
    for number, (time, (mz, intensity)) in enumerate(zip(times, scans, strict=True)):
        out.write(_SPECTRUM.format(
            number=number, scan=number + 1, count=len(mz), time=float(time), low=mz[0], high=mz[-1],
            total=intensity.sum(), base_mz=mz[intensity.argmax()], base=intensity.max(),
            mz=b64encode(zlib.compress(mz.astype("<f8").tobytes())).decode(),
            intensity=b64encode(zlib.compress(intensity.astype("<f8").tobytes())).decode(),
        ))  # fmt: skip
    out.write("    </spectrumList>\n  </run>\n</mzML>\n")
    return TraceFile("run.mzML", out.getvalue().encode(), "0" * 64)


def _term(accession, name, value="", unit=""):
    of = f' unitCvRef="{unit[:2]}" unitAccession="{unit}" unitName="unit"' if unit else ""
    return f'<cvParam cvRef="MS" accession="MS:{accession}" name="{name}" value="{value}"{of}/>\n'


def _array(term, name, key, unit):
    return (
        '          <binaryDataArray encodedLength="0">\n            '
        + _term(1000523, "64-bit float") + "            " + _term(1000574, "zlib compression") + "            "
        + _term(term, name, unit=unit) + f"            <binary>{{{key}}}</binary>\n          </binaryDataArray>\n"
    )  # fmt: skip


_SPECTRUM = (
    '      <spectrum index="{number}" id="controllerType=0 controllerNumber=1 scan={scan}" defaultArrayLength="{count}">\n'
    + "".join("        " + one for one in (
        _term(1000579, "MS1 spectrum"), _term(1000511, "ms level", 1), _term(1000127, "centroid spectrum"),
        _term(1000130, "positive scan"), _term(1000528, "lowest observed m/z", "{low:.4f}", "MS:1000040"),
        _term(1000527, "highest observed m/z", "{high:.4f}", "MS:1000040"),
        _term(1000504, "base peak m/z", "{base_mz:.4f}", "MS:1000040"),
        _term(1000505, "base peak intensity", "{base:.1f}", "MS:1000131"),
        _term(1000285, "total ion current", "{total:.1f}"), _term(1000796, "spectrum title", "run.{scan}.{scan}."),
    ))
    + '        <scanList count="1">\n          ' + _term(1000795, "no combination") + "          <scan>\n"
    + "".join("            " + one for one in (
        _term(1000016, "scan start time", "{time!r}", "UO:0000031"),
        _term(1000512, "filter string", "EI + full ms [35.00-550.00]"),
        _term(1000616, "preset scan configuration", 1),
    ))
    + '            <scanWindowList count="1">\n              <scanWindow>\n                '
    + _term(1000501, "scan window lower limit", 35, "MS:1000040") + "                "
    + _term(1000500, "scan window upper limit", 550, "MS:1000040")
    + "              </scanWindow>\n            </scanWindowList>\n          </scan>\n        </scanList>\n"
    + '        <binaryDataArrayList count="2">\n'
    + _array(1000514, "m/z array", "mz", "MS:1000040") + _array(1000515, "intensity array", "intensity", "MS:1000131")
    + "        </binaryDataArrayList>\n      </spectrum>\n"
)  # fmt: skip


def clusters(count=33, seed=5):
    """Stretches of three overlapping peaks each at 10 Hz: times, signal, apexes, heights."""
    from cutbook.chromatogram.peak_shape import tailed_gaussian

    rng = np.random.default_rng(seed)
    found = []
    for _ in range(count):
        sigma = 0.03
        centre = 10.0 + np.cumsum(rng.uniform(1.6, 2.6, 3)) * sigma
        t = np.arange(10.0 - 8 * sigma, centre[-1] + 14 * sigma, 1 / 600)
        area = rng.uniform(1, 10, 3)
        signal = rng.normal(0, 0.02, len(t))
        for mu, a in zip(centre, area, strict=True):
            signal = signal + a * tailed_gaussian(t, mu, sigma * np.exp(rng.normal(0, 0.02)), 0.3 * sigma)
        apex = centre + 0.25 * sigma * rng.uniform(0.85, 1.15, 3)
        found.append((t, signal, apex, np.interp(apex, t, signal)))
    return found
