"""Synthetic gas chromatograms of known truth: peaks with tails, noise, drift of baseline and times."""

import numpy as np
from scipy.stats import exponnorm

from cutbook.chromatogram.integration import IntegrationSettings
from cutbook.chromatogram.listed_areas import ListedAreaSettings
from cutbook.gas.composition import CompositionSettings
from cutbook.gas.detector_reading import SampleRun, read_detector
from cutbook.gas.gas_peaks import gas_peaks
from cutbook.gas.gas_response import Certified, StandardRun, detector_responses
from cutbook.gas.peak_times import PeakTimeSettings
from cutbook.gas.traced_gas import traced_gas
from cutbook.model.entered import Entered
from cutbook.model.lineage import Step
from cutbook.model.trace import Trace

# min; a packed column of a thermal-conductivity detector, a capillary of a flame
TIMES = {
    "TCD": {"hydrogen": 0.9, "oxygen": 1.6, "nitrogen": 2.1, "methane": 2.9, "carbon monoxide": 3.8,
            "carbon dioxide": 5.2, "ethene": 6.6, "ethane": 7.7},
    "FID": {"methane": 1.5, "ethane": 1.72, "ethene": 1.85, "propane": 2.6, "propene": 3.1, "isobutane": 3.9,
            "n-butane": 4.15, "1-butene": 4.7, "isobutene": 4.95, "n-pentane": 6.6},
}  # fmt: skip
# area a mole fraction of 1; invented, no detector follows the table to the last digit
ANSWERS = {
    "TCD": {"oxygen": 41.0, "nitrogen": 42.5, "methane": 35.0, "carbon monoxide": 42.0, "carbon dioxide": 48.5,
            "ethene": 48.0, "ethane": 51.5, "hydrogen": -4.0},
    "FID": {"methane": 100.0, "ethane": 199.0, "ethene": 191.0, "propane": 300.0, "propene": 288.0, "isobutane": 401.0,
            "n-butane": 398.0, "1-butene": 389.0, "isobutene": 391.0, "n-pentane": 502.0},
}  # fmt: skip


def a_trace(detector, shares, seed=1, scale=1.0, stretch=1.0, shift=0.0, drift=0.3, noise=0.02, extra=(), minutes=9.0):
    """A trace of a gas of these mole fractions.

    scale : of the amount injected. stretch, shift : of all times. drift : of the baseline over the run. extra :
    (time, area) of peaks that no name belongs to.
    """
    rng = np.random.default_rng(seed)
    t = np.arange(0, minutes, 1 / 300)
    signal = 5 + drift * t / minutes + 0.3 * drift * np.sin(2 * np.pi * t / minutes) + rng.normal(0, noise, len(t))
    width = 0.035 if detector == "TCD" else 0.018
    peaks = [
        (TIMES[detector][n], scale * x * ANSWERS[detector][n]) for n, x in shares.items() if n in ANSWERS[detector]
    ]
    for time, area in [*peaks, *extra]:
        at = stretch * time + shift
        sigma = width * (0.6 + 0.12 * time)
        signal = signal + area * exponnorm.pdf(t, 0.25, loc=at, scale=sigma)
    return Trace(f"{detector}-{seed}.csv", t, signal, "mV", detector, Step("given/1", settings={"seed": seed}))


def certified(value, u=0.0):
    return Entered(value, u, "1", f"{100 * value:g} %", True)


STANDARD = {
    "TCD": {"oxygen": 0.02, "nitrogen": 0.35, "methane": 0.30, "carbon monoxide": 0.08, "carbon dioxide": 0.10,
            "ethene": 0.07, "ethane": 0.08},
    "FID": {"methane": 0.30, "ethane": 0.08, "ethene": 0.07, "propane": 0.04, "propene": 0.05, "isobutane": 0.02,
            "n-butane": 0.02, "1-butene": 0.01, "isobutene": 0.01, "n-pentane": 0.01},
}  # fmt: skip


SAMPLE = {
    "nitrogen": 0.28,
    "methane": 0.34,
    "carbon monoxide": 0.03,
    "carbon dioxide": 0.06,
    "ethene": 0.15,
    "ethane": 0.14,
}


WHOLE = {  # what both detectors see together
    "nitrogen": 0.10, "methane": 0.22, "carbon monoxide": 0.02, "carbon dioxide": 0.03, "ethene": 0.12, "ethane": 0.13,
    "propane": 0.08, "propene": 0.17, "isobutane": 0.01, "n-butane": 0.05, "1-butene": 0.03, "isobutene": 0.03,
    "n-pentane": 0.01,
}  # fmt: skip


def peaks_of(trace):
    return gas_peaks(trace, IntegrationSettings(), ListedAreaSettings())


def responses(detector, shares=None, carrier="helium", seeds=(1, 2), timed=True, times=None, **trace):
    shares = shares or STANDARD[detector]
    runs = [
        StandardRun(
            peaks_of(a_trace(detector, shares, seed=seed, **trace)),
            tuple(
                Certified(name, certified(x, 0.005 * x), round(TIMES[detector][name], 2) if timed else None)
                for name, x in shares.items()
                if name in TIMES[detector]
            ) + tuple(Certified(name, None, time) for name, time in (times or {}).items()),
            "[[trace]] 2",
        )
        for seed in seeds
    ]  # fmt: skip
    return detector_responses(detector, carrier, runs, "gas", PeakTimeSettings())


def reading(detector, shares, found=None, own=None, seeds=(11,), **trace):
    found = found or responses(detector)
    runs = [SampleRun(peaks_of(a_trace(detector, shares, seed=seed, **trace)), own or {}) for seed in seeds]
    return read_detector(runs, found, [], ["standard.csv"], "gas")


def gas_of(*readings):
    return traced_gas(readings, "gas", CompositionSettings())


def codes(found):
    return [one.code for one in found.composition.step.all_cautions()]


def bar(share):
    return max(0.01 * share, 0.0005)
