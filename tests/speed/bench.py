"""Print each figure of speed beside its floor, measured in the same run: python3 tasks.py bench [--short].

Ratios compare two pieces of work done in turn by the same processor; seconds do not compare between machines. The
table goes into README.md between its two marks, unless --short is given.
"""

import os
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parent)]
os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np  # noqa: E402
from workloads import ROOT, OilFromText, andi_file, clusters, curve_of_oil, gcms, mzml_file, text_run  # noqa: E402

CUTBOOK = [sys.executable, "-m", "cutbook.cli"]
MARKS = ("<!-- speed -->", "<!-- /speed -->")


@dataclass(frozen=True)
class Figure:
    """What was measured: a text such as "0.31 s", beside what, the ratio to that or None, the bar."""

    what: str
    measured: str
    beside: str
    ratio: float | None
    bar: float | None
    rising: bool = False  # whether the ratio must reach the bar rather than stay below it

    def kept(self):
        if self.ratio is None or self.bar is None:
            return None
        return self.ratio >= self.bar if self.rising else self.ratio <= self.bar

    def row(self):
        verdict = {None: "", True: "yes", False: "**no**"}[self.kept()]
        sign = "≥" if self.rising else "≤"
        bar = "" if self.bar is None else f"{sign} {self.bar:g}"
        ratio = "" if self.ratio is None else f"{self.ratio:.2f}"
        return f"| {self.what} | {self.measured} | {self.beside} | {ratio} | {bar} | {verdict} |"


def in_turn(one, other, rounds):
    """Least time of each of two functions, called in turn."""
    best = [float("inf"), float("inf")]
    for _ in range(rounds):
        for at, function in enumerate((one, other)):
            begun = time.perf_counter()
            function()
            best[at] = min(best[at], time.perf_counter() - begun)
    return best


def seconds(value):
    return f"{value * 1000:.0f} ms" if value < 1 else f"{value:.2f} s"


def beside(what, one, name, other, bar, rounds):
    measured, floor = in_turn(one, other, rounds)
    return Figure(what, seconds(measured), f"{name}: {seconds(floor)}", measured / floor, bar)


def reading(rounds, folder):
    from cutbook.importers import andi, mzml
    from cutbook.importers.mzml_reader import Vocabulary
    from cutbook.importers.recognise import read_signal

    text_run(folder)
    oil = OilFromText(folder)

    def parse():
        np.loadtxt(folder / "oil.txt", delimiter="\t", skiprows=1)

    yield beside(
        "text of 120,000 points, read", lambda: read_signal(folder, oil.entry), "numpy.loadtxt", parse, 3, rounds
    )
    figure = beside("the same, to carbon numbers", oil, "numpy.loadtxt", parse, 3, rounds)
    yield figure
    times, scans = gcms()
    netcdf = andi_file(times, scans)
    (folder / "run.cdf").write_bytes(netcdf.content)
    from scipy.io import netcdf_file

    with netcdf_file(str(folder / "run.cdf"), mmap=False) as stored:
        counts = [(one.data.dtype, one.data.size) for one in stored.variables.values() if one.shape]

    def swap():
        content = (folder / "run.cdf").read_bytes()
        at = len(content) - sum(dtype.itemsize * size for dtype, size in counts)
        for dtype, size in counts:
            np.frombuffer(content, dtype, size, at).astype(dtype.newbyteorder("="))
            at += dtype.itemsize * size

    def scans_of_andi():
        content = (folder / "run.cdf").read_bytes()
        andi.read_scans(type(netcdf)(netcdf.name, content, netcdf.sha256))

    yield beside("ANDI, 6,000 scans, 1.9 million ions", scans_of_andi, "one read and byte swap", swap, 1.5, rounds)
    from io import BytesIO

    from pyteomics import mzml as pyteomics_mzml

    converted = mzml_file(times[:1500], scans[:1500])
    vocabulary = Vocabulary()
    vocabulary["MS:1000514"]

    def bare():
        with pyteomics_mzml.MzML(BytesIO(converted.content), use_index=False, cv=vocabulary) as reader:
            assert sum(1 for _ in reader) == 1500

    yield beside(
        "mzML, 1,500 scans of 316 ions",
        lambda: mzml.read_scans(converted),
        "pyteomics as it is",
        bare,
        0.3,
        max(2, rounds // 2),
    )


def screening(rounds):
    """From a file of mass spectra to the screen with every limit, beside a bare look at its scans."""
    from io import BytesIO

    from pyteomics import mzml as pyteomics_mzml
    from simulated_instrument import GcMs
    from simulated_scans import simulate

    from cutbook.chlorine.places import Place
    from cutbook.chlorine.run_view import view_scans
    from cutbook.chlorine.screen import screen
    from cutbook.identification.target_table import targets
    from cutbook.importers import mzml
    from cutbook.importers.mzml_reader import Vocabulary

    recorded = GcMs(minutes=52.0, ramp_k_min=6.0, threshold=20.0)
    run = simulate(3, "mixed", recorded, masses=True)
    file = mzml_file(run.time_min, run.scans(np.random.default_rng(1), jitter=0.02))
    places = []
    for target in targets():
        times = [float(recorded.time_of_index(target.index + away * target.u_index)) for away in (-2, 0, 2)]
        if run.time_min[0] < times[1] < run.time_min[-1]:
            places.append(Place(target, times[1], (times[2] - times[0]) / 4, times[0], times[2], "table"))
    vocabulary = Vocabulary()
    vocabulary["MS:1000514"]

    def bare():
        with pyteomics_mzml.MzML(BytesIO(file.content), use_index=False, cv=vocabulary) as reader:
            assert sum(1 for _ in reader) == len(run.time_min)

    def whole():
        found = screen(view_scans(mzml.read_scans(file)), places, recorded.index_at)
        assert len(found) == len(places)

    what = f"mzML of {len(run.time_min):,} scans, screened for {len(places)} compounds with limits"
    yield beside(what, whole, "pyteomics as it is", bare, 0.5, max(1, rounds // 2))


def reading_chromatograms(rounds):
    import pybaselines
    from crowds import crowd, trace_of
    from scipy.optimize import curve_fit

    from cutbook.chromatogram.following_baseline import FollowingBaselineSettings, follow_baseline
    from cutbook.chromatogram.noise import estimate_noise
    from cutbook.chromatogram.overlap import fit_cluster
    from cutbook.chromatogram.peak_detection import find_candidates
    from cutbook.chromatogram.peak_shape import tailed_gaussian
    from cutbook.chromatogram.peak_width import WidthLaw, learn_widths

    t, signal, _, _ = crowd(61)
    trace = trace_of(t, signal)
    yield beside(
        "baseline of 120,000 points", lambda: follow_baseline(trace, (), 0.0, FollowingBaselineSettings()),
        "arPLS of a general library, all points", lambda: pybaselines.Baseline().arpls(signal, lam=6e6), 0.1,
        max(1, rounds // 3),
    )  # fmt: skip
    noise = estimate_noise(signal)
    corrected = signal - follow_baseline(trace, (), 0.0, FollowingBaselineSettings()).values
    widths = learn_widths(t, corrected, noise)
    measured, _ = in_turn(lambda: find_candidates(t, corrected, noise, widths), lambda: None, 2 * rounds)
    yield Figure("detection of 400 peaks in them", seconds(measured), "30 ms", measured / 0.03, 1.0)
    stretches = clusters()
    law = WidthLaw(0.03 * 2.3548, 0.0, 0.01)

    def fits():
        for at, height, apex, tall in stretches:
            assert fit_cluster(at, height, apex, tall, 0.02, law) is not None

    def free(at, *p):
        return sum(p[i] * tailed_gaussian(at, p[i + 1], abs(p[i + 2]), abs(p[i + 3])) for i in range(0, len(p), 4))

    def by_library():
        for at, height, apex, tall in stretches:
            start = np.column_stack([tall * 0.075, apex - 0.008, np.full(3, 0.03), np.full(3, 0.01)]).ravel()
            try:
                curve_fit(free, at, height, p0=start, maxfev=2000)
            except RuntimeError:
                pass  # it gives up; the time counts

    yield beside(
        "fit of 33 clusters of 3 peaks", fits, "scipy's curve_fit, free shapes", by_library, 0.1, max(1, rounds // 3)
    )


def distilling(rounds, folder):
    from cutbook.fractions.batch_still import distil
    from cutbook.fractions.column_stages import Column, tabled
    from cutbook.fractions.vapour_pressure import vapour_pressure_kpa

    here = folder / "curve"
    here.mkdir()
    text_run(here)
    measured, _ = in_turn(curve_of_oil(here), lambda: None, rounds)
    yield Figure("boiling curve of a loaded trace of 120,000 points", seconds(measured), "50 ms", measured / 0.05, 1.0)
    boiling = np.linspace(30.0, 500.0, 60)

    def still():
        law = tabled(lambda at: vapour_pressure_kpa(at, boiling, 11.8), -60.0, 650.0)
        distil(np.log(np.ones(60)), Column(10, 3.0, 101.325), law)

    measured, _ = in_turn(still, lambda: None, max(1, rounds // 3))
    yield Figure("60 components over 10 plates, distilled", seconds(measured), "2 s", measured / 2.0, 1.0)


def balancing(rounds):
    from dataclasses import replace

    from cutbook.balance.mass_balance import mass_balance
    from cutbook.balance.propagation_check import MonteCarloSettings
    from cutbook.balance.run_reconciliation import reconcile_run
    from cutbook.importers.run_sheet import read_run
    from cutbook.workup.elements import work_up_elements, work_up_scrubber
    from cutbook.workup.monte_carlo import monte_carlo
    from cutbook.workup.work_up import work_up

    findings = work_up(read_run(ROOT / "examples" / "crate-oil"))
    run, method, gas = findings.run, findings.method, findings.gas

    def balances():
        scrubber, caught, _ = work_up_scrubber(run, method)
        balance = mass_balance(run.feeds, run.products, run.sheet, method.balance, {gas.of: gas.mass}, caught)
        elements, _ = work_up_elements(run, balance, findings.samples, gas, scrubber, method)
        reconcile_run(elements.balance.streams, method.reconciliation)

    measured, _ = in_turn(balances, lambda: None, rounds)
    yield Figure("balances of mass and elements, reconciled", seconds(measured), "50 ms", measured / 0.05, 1.0)
    drawing = replace(findings, method=replace(method, monte_carlo=MonteCarloSettings(10_000)))
    measured, _ = in_turn(lambda: monte_carlo(drawing), lambda: None, max(1, rounds // 3))
    yield Figure("10,000 random draws of a run", seconds(measured), "5 s", measured / 5.0, 1.0)


def growth(rounds, folder):
    from crowds import crowd, trace_of

    from cutbook.chromatogram.integration import integrate

    def slope(sizes, work):
        spent = []
        for size in sizes:
            job = work(size)
            spent.append(in_turn(job, lambda: None, rounds)[0])
        return float(np.polyfit(np.log(sizes), np.log(spent), 1)[0]), spent

    def of_points(points):
        here = folder / str(points)
        here.mkdir()
        text_run(here, points)
        return OilFromText(here)

    def of_peaks(peaks):
        # at eight a minute throughout, beside seven empty minutes: how crowded they are is another matter than how many
        t, signal, _, _ = crowd(61, peaks=peaks, rate=10, minutes=7.0 + peaks / 8.0)
        trace = trace_of(t, signal)
        return lambda: integrate(trace)

    for what, sizes, work in (
        ("points, file to carbon numbers", [60_000, 120_000, 240_000], of_points),
        ("peaks at eight a minute, trace to peak table", [100, 200, 400, 800], of_peaks),
    ):
        exponent, spent = slope(sizes, work)
        told = " ".join(map(seconds, spent))
        yield Figure(f"growth with {what}", told, " ".join(f"{size:,}" for size in sizes), exponent, 1.1)


def commands(rounds, folder, whole):
    def run(*words):
        subprocess.run([*CUTBOOK, *map(str, words)], check=True, stdout=subprocess.DEVNULL)

    def bare():
        subprocess.run([sys.executable, "-c", "pass"], check=True)

    yield beside("`cutbook --help`", lambda: run("--help"), "python -c pass", bare, 3, 3 * rounds)
    begun = time.perf_counter()
    run("demo", folder / "demo")
    spent = time.perf_counter() - begun
    yield Figure("`cutbook demo`: six runs with workbook and page", seconds(spent), "10 s", spent / 10, 1.0)
    crate = folder / "demo" / "crate-oil"
    yield beside(
        "an unchanged run again", lambda: run("workup", crate), "worked up anew",
        lambda: run("workup", "--fresh", crate), 0.2, max(1, rounds // 3),
    )  # fmt: skip
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    yield Figure("largest memory of a work-up", f"{peak:.0f} MiB", "", None, None)
    if not whole:
        return
    runs = []
    for number in range(20):
        runs.append(folder / "many" / f"run-{number:02d}")
        shutil.copytree(crate, runs[-1], ignore=shutil.ignore_patterns("results"))
    spent = {}
    for count, jobs in ((5, 1), (10, 1), (20, 1), (20, 2)):
        begun = time.perf_counter()
        run("workup", "--fresh", "--jobs", jobs, *runs[:count])
        spent[count, jobs] = time.perf_counter() - begun
    one, two = spent[20, 1], spent[20, 2]
    yield Figure(
        "twenty runs, `--jobs 2`", seconds(two), f"one after another: {seconds(one)}", one / two, 1.6, rising=True
    )
    sizes = [5, 10, 20]
    exponent = float(np.polyfit(np.log(sizes), np.log([spent[size, 1] for size in sizes]), 1)[0])
    told = " ".join(seconds(spent[size, 1]) for size in sizes)
    yield Figure("growth with runs", told, "5 10 20", exponent, 1.1)


def main(short):
    rounds = 3 if short else 9
    head = "| what | measured | beside | ratio | bar | kept |\n| --- | --- | --- | --- | --- | --- |"
    print(head, flush=True)
    rows = [head]
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for part in (
            reading(rounds, folder), screening(rounds), reading_chromatograms(rounds), distilling(rounds, folder), balancing(rounds), growth(max(2, rounds // 3), folder),
            commands(rounds, folder, not short),
        ):  # fmt: skip
            for figure in part:
                rows.append(figure.row())
                print(rows[-1], flush=True)
    if not short:
        readme = ROOT / "README.md"
        text = readme.read_text(encoding="utf-8")
        start, end = map(re.escape, MARKS)
        table = "\n".join([MARKS[0], *rows, MARKS[1]])
        readme.write_text(re.sub(f"{start}.*?{end}", lambda _: table, text, flags=re.DOTALL), encoding="utf-8")


if __name__ == "__main__":
    main("--short" in sys.argv[1:])
