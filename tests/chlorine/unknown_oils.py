"""Runs that are searched for unknown chlorinated compounds, and what the search says of them."""

import numpy as np
from simulated_scans import GcMs, blank

from cutbook.chlorine.unknown_clusters import search_unknown_clusters
from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import estimate_ion_noise
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.model.lineage import Step

SHORT = GcMs(minutes=8.0)
OILS = ("PE", "PP", "PS", "polyolefin", "mixed", "PVC")


def matrix_of(run):
    step = Step("lay ions by nominal mass/1")
    return IonMatrix("oil.cdf", run.time_min, int(run.mz[0]), run.counts.astype(np.float32), step)


def widths_of(recorded: GcMs) -> WidthLaw:
    """The width law of the simulator; the tail of its peaks makes them a twentieth wider than their Gaussian part."""
    first, last = recorded.width_s
    return WidthLaw(1.05 * first / 60, 1.05 * (last - first) / 60 / recorded.minutes, first / 60)


def searched(run, known=()):
    """Chlorinated and brominated compounds of a simulated run."""
    matrix = matrix_of(run)
    chlorinated, brominated, _ = search_unknown_clusters(
        matrix, widths_of(run.run), estimate_ion_noise(matrix), lambda time: 100.0 * time, known
    )
    return chlorinated, brominated


def at(clusters, time_min, within=0.017):
    """Those that elute within a second of a time."""
    return [one for one in clusters if abs(one.time_min - time_min) <= within]


def spiked_times(run):
    return {one["name"]: one["time_min"] for one in run.truth if one["spike"] and one["recorded"]}


def alone(spikes, recorded=SHORT, seed=3):
    """A run of nothing but the spikes, bleed and background."""
    return blank(seed, recorded, spikes)
