"""Synthetic gas chromatograms of known truth: peaks with tails, noise, drift of baseline and times."""

import numpy as np
from scipy.stats import exponnorm

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
