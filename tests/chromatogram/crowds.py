"""Crowded traces of known content, and traces from arrays."""

import numpy as np
from simulated_trace import Compounds, bleed, render, width

from cutbook.model.lineage import Source, Step
from cutbook.model.trace import Trace


def trace_of(time, signal, file="sample", unit="pA"):
    return Trace(file, time, signal, unit, "FID", Step("read trace/1", source=Source(file, "ab" * 32)))


def crowd(seed, peaks=400, noise=0.1, rate=40, minutes=50.0, bleed_height=20.0, hump=20.0, tail=0.4):
    """Time, signal, true baseline and compounds of many peaks at random."""
    rng = np.random.default_rng(seed)
    time = np.arange(int(minutes * 60 * rate)) / (rate * 60)
    centre = np.sort(rng.uniform(3, minutes - 4, peaks))
    sigma = width(centre) * np.exp(rng.normal(0, 0.02, peaks))
    height = np.exp(rng.normal(np.log(20), 1.5, peaks))
    compounds = Compounds(centre, height * sigma * np.sqrt(2 * np.pi), sigma, tail * sigma)
    base = bleed(time, 10, bleed_height, 0.75 * minutes, 4) + hump * np.exp(-0.5 * ((time - 0.55 * minutes) / 9) ** 2)
    return time, render(time, compounds) + base + rng.normal(0, noise, len(time)), base, compounds
