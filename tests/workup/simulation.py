"""Oils of known content under nuisances drawn from the uncertainties that the program declares."""

import numpy as np
from crowds import trace_of
from simulated_oil import Instrument, Oil, bell, ladder_signal, time_of_index
from simulated_trace import render

from cutbook.chromatogram.blank_baseline import BlankBaselineSettings, blank_baseline
from cutbook.chromatogram.integration import integrate
from cutbook.chromatogram.noise import estimate_noise
from cutbook.chromatogram.signal_area import slice_areas
from cutbook.fractions.boiling_curve import boiling_curve
from cutbook.fractions.carbon_bins import CarbonBinSettings, carbon_bins
from cutbook.fractions.carbon_cuts import carbon_cuts
from cutbook.fractions.carbon_distribution import distribute_carbons
from cutbook.fractions.cut_schemes import HEADLINE_CARBON, cut_scheme
from cutbook.identification.ladder import LadderSettings, number_ladder
from cutbook.identification.retention_index import index_peaks
from cutbook.model.peaks import PeakTable
from cutbook.model.result import Result
from cutbook.model.tables import reference
from cutbook.quantitation.mass_slices import ResponseSettings, weigh_slices

CARBONS = list(range(5, 45))
CUTS = {"gasoline": (5, 12), "diesel": (13, 20), "wax": (21, 99)}
INSTRUMENT = Instrument()
AREA = 600.0
"""pA min of sample; the bleed of these traces holds about 150."""


def an_oil(hump=0.25):
    return Oil(bell(range(5, 41), 13, 6.5, AREA * (1 - hump)), hump=(AREA * hump, 19.0, 5.5))


class Bench:
    """The ladder and the rendered oil, once for all seeds."""

    def __init__(self, oil, convention="after"):
        self.oil = oil
        self.time = INSTRUMENT.times()
        rng = np.random.default_rng(0)
        signal = ladder_signal(self.time, INSTRUMENT, CARBONS, 9.0) + INSTRUMENT.baseline(self.time)
        ladder = trace_of(self.time, signal + rng.normal(0, INSTRUMENT.noise, len(self.time)), "ladder")
        peaks = integrate(ladder).peaks
        self.ladder = number_ladder(peaks, "ladder", tuple(CARBONS), "", (), LadderSettings())
        self.settings = CarbonBinSettings(convention)
        self.bins = carbon_bins(self.ladder, self.settings)
        # the part of every block of five carbons, by area, so that each can have a response of its own
        self.parts = {}
        edges = [0.0, *(float(end) for end in self.bins.ends_min), float(self.time[-1]) + 1]
        pure = oil.signal(self.time, INSTRUMENT)
        for block in range(0, 9):
            inside = [n for n in CARBONS if (n - 1) // 5 == block]
            if inside:
                low, high = edges[CARBONS.index(inside[0])], edges[CARBONS.index(inside[-1]) + 1]
                self.parts[block] = np.where((self.time >= low) & (self.time < high), pure, 0.0)
        self.pure = pure
        self.truth = oil.truth(INSTRUMENT, CARBONS)

    def shares(self):
        """True % by carbon number."""
        whole = sum(self.truth.values())
        return {n: 100 * area / whole for n, area in self.truth.items()}

    def worked_up(self, seed, nuisances=True):
        """A distribution from traces with drawn blank scale, offset, drift, retention shift, response and noise."""
        return self.distribute(*self.traces(seed, nuisances))

    def curve(self, seed, nuisances=True):
        """A boiling curve from the same traces."""
        sample, blank = self.traces(seed, nuisances)
        noise = estimate_noise(sample.signal)
        whole = blank_baseline(sample, blank, (), noise)
        span = (float(self.time[0]), float(self.time[-1]))

        def sliced(edges):
            return slice_areas(sample, whole, edges, (), noise)

        edges = np.array([self.time[0], *self.bins.ends_min, self.time[-1]])
        peaks, response = index_peaks(integrate(sample).peaks, self.ladder), ResponseSettings()
        slices = weigh_slices("oil", sliced(edges), self.ladder, peaks, None, (whole.step,), response)
        return boiling_curve("oil", sliced, span, self.ladder, peaks, slices, None, response)

    def true_curve(self):
        """Recovered % to boiling point of the oil, peaks and hump, each compound at the boiling point of its index."""
        known = reference("n_alkanes").numbers("carbon_number", "boiling_c")
        carbons = np.array(sorted(known))
        boiling = np.array([known[n] for n in carbons])
        at = np.interp(self.time, time_of_index(100.0 * np.arange(3, 61)), np.arange(3, 61))
        weights = [(np.interp(at, carbons, boiling), self.oil.hump_signal(self.time) * np.median(np.diff(self.time)))]
        peaks = self.oil.peaks(INSTRUMENT)
        index = np.interp(peaks.time, time_of_index(100.0 * np.arange(3, 61)), np.arange(3, 61))
        weights.append((np.interp(index, carbons, boiling), peaks.area))
        temperature, mass = (np.concatenate(column) for column in zip(*weights, strict=True))
        order = np.argsort(temperature, kind="stable")
        share = 100 * np.cumsum(mass[order]) / mass.sum()
        return lambda recovered: float(temperature[order][np.searchsorted(share, recovered)])

    def traces(self, seed, nuisances=True):
        """Sample and blank with drawn blank scale, offset, drift, retention shift, response and noise."""
        rng = np.random.default_rng(seed)
        settings, response = BlankBaselineSettings(), ResponseSettings()
        signal = self.pure
        scale, offset, drift = 1.0, 0.0, 0.0
        if nuisances:
            factors = {block: 1 + rng.normal(0, response.u_class) for block in self.parts}
            signal = sum(self.parts[block] * factors[block] for block in self.parts)
            shift = rng.normal(0, self.ladder.u_time_min)
            signal = np.interp(self.time - shift, self.time, signal)
            scale, offset = rng.normal(1, settings.u_scale), rng.normal()
            u_drift = settings.u_drift_share * INSTRUMENT.bleed_height + settings.u_drift_noise * INSTRUMENT.noise
            drift = rng.normal(0, u_drift)
        noise = rng.normal(0, INSTRUMENT.noise, (2, len(self.time)))
        sample = trace_of(self.time, signal + INSTRUMENT.baseline(self.time) + noise[0])
        blank = trace_of(self.time, INSTRUMENT.baseline(self.time, scale, offset, drift) + noise[1], "blank")
        return sample, blank

    def distribute(self, sample, blank, response=ResponseSettings()):  # noqa: B008
        noise = estimate_noise(sample.signal)
        whole = blank_baseline(sample, blank, (), noise)
        edges = np.array([self.time[0], *self.bins.ends_min, self.time[-1]])
        areas = slice_areas(sample, whole, edges, (), noise)
        none = PeakTable((), "pA", sample.step)
        slices = weigh_slices("oil", areas, self.ladder, index_peaks(none, self.ladder), None, (whole.step,), response)
        hump = Result("hump", 0.0, "%", "", whole.step)
        return distribute_carbons("oil", slices, self.bins, self.settings, "", (), hump, hump)


def cuts_of(carbons):
    return {cut.cut: cut.mass for cut in carbon_cuts(carbons, cut_scheme(HEADLINE_CARBON), "carbon-number")}


def true_cut(shares, cut):
    low, high = CUTS[cut]
    return sum(share for n, share in shares.items() if low <= n <= high or (n < 0 and high > 50))


__all__ = ["AREA", "CARBONS", "CUTS", "INSTRUMENT", "Bench", "an_oil", "bell", "cuts_of", "render", "true_cut"]
