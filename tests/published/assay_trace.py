"""A trace of an oil whose boiling curve a catalogue tabulates: its n-alkanes as peaks, the rest as a hump between them."""

from dataclasses import dataclass

import numpy as np
from crowds import trace_of
from scipy.interpolate import PchipInterpolator
from simulated_oil import Instrument, ladder_signal
from simulated_trace import alkane_time, render

from cutbook.chromatogram.integration import integrate
from cutbook.chromatogram.noise import estimate_noise
from cutbook.chromatogram.signal_area import slice_areas
from cutbook.fractions.boiling_curve import boiling_curve
from cutbook.fractions.boiling_cuts import boiling_cuts, scheme_times_min
from cutbook.fractions.cut_schemes import define_scheme
from cutbook.identification.ladder import LadderSettings, number_ladder
from cutbook.identification.retention_index import index_peaks
from cutbook.model.cuts import CutLimits
from cutbook.model.lineage import Step
from cutbook.model.tables import reference
from cutbook.model.trace import Baseline
from cutbook.quantitation.mass_slices import ResponseSettings, weigh_slices

INSTRUMENT = Instrument(minutes=float(alkane_time(58)) + 1.0)
CARBONS = tuple(range(5, 45))
BOILING = reference("n_alkanes").numbers("carbon_number", "boiling_c")
WHOLE = 6000.0
LEVEL = 10.0
BEYOND_C, LAST_C = BOILING[46], BOILING[56]
"""What boils above the first is drawn as eluting evenly up to the second, all of it after the ladder."""


def a_ladder():
    t = INSTRUMENT.times()
    noise = np.random.default_rng(0).normal(0, INSTRUMENT.noise, len(t))
    signal = ladder_signal(t, INSTRUMENT, list(CARBONS), 9.0) + LEVEL + noise
    return number_ladder(integrate(trace_of(t, signal, "ladder")).peaks, "ladder", CARBONS, "", (), LadderSettings())


def time_of_c(temperature_c):
    """When a compound of that boiling point elutes: linear in boiling point between neighbouring n-alkanes."""
    carbons = np.array(sorted(n for n in BOILING if 3 <= n <= 60))
    return np.interp(temperature_c, [BOILING[n] for n in carbons], alkane_time(carbons))


@dataclass
class Assay:
    """A tabulated curve as mass against boiling point, % up to °C, rising in both, from 0 to 100 %."""

    celsius: np.ndarray
    percent: np.ndarray

    @classmethod
    def of_points(cls, off):
        """From temperatures at recovered %. What lies before the first and after the last point is drawn evenly."""
        percent = [at for at in sorted(off) if at < 100.0]
        celsius = [off[at] for at in percent]
        slope = (celsius[1] - celsius[0]) / (percent[1] - percent[0])
        celsius, percent = [celsius[0] - slope * percent[0], *celsius], [0.0, *percent]
        return cls(*_closed(celsius, percent))

    @classmethod
    def of_fractions(cls, cumulative):
        """From % at temperatures; what boils below the first of them is drawn over 40 °C before it."""
        celsius = sorted(cumulative)
        percent = [cumulative[at] for at in celsius]
        keep = [i for i in range(len(celsius)) if i == len(celsius) - 1 or percent[i + 1] > 0.0]
        celsius, percent = [celsius[i] for i in keep], [percent[i] for i in keep]
        if percent[0] > 0.0:
            celsius, percent = [celsius[0] - 40.0, *celsius], [0.0, *percent]
        return cls(*_closed(celsius, percent))

    def signal(self, t, alkanes):
        """FID signal: a gram is a gram. alkanes : carbon number -> % of the oil, taken out of the hump around each."""
        hump = np.diff(self.percent).astype(float)
        area, index = [], []
        for n, share in alkanes.items():
            at = int(np.searchsorted(self.celsius, BOILING[n], side="left")) - 1
            if 0 <= at < len(hump) and n in CARBONS and share < hump[at]:
                hump[at] -= share
                area.append(WHOLE * share / 100.0)
                index.append(100.0 * n)
        step = t[1] - t[0]
        edges = np.concatenate([t - step / 2, [t[-1] + step / 2]])
        at = time_of_c(self.celsius)
        eluted = PchipInterpolator(at, np.concatenate([[0.0], np.cumsum(hump)]))(np.clip(edges, at[0], at[-1]))
        signal = WHOLE / 100.0 * np.diff(eluted) / step
        return signal + (render(t, INSTRUMENT.compounds(np.array(index), np.array(area))) if area else 0.0)


def _closed(celsius, percent):
    """Up to 100 %: what is left elutes at once where nearly nothing is left, else evenly up to the end."""
    inside = [i for i in range(len(celsius)) if celsius[i] <= BEYOND_C]
    celsius, percent = [celsius[i] for i in inside], [percent[i] for i in inside]
    if percent[-1] < 99.0:
        celsius, percent = [*celsius, LAST_C], [*percent, 100.0]
    elif percent[-1] < 100.0:
        slope = (celsius[-1] - celsius[-2]) / (percent[-1] - percent[-2])
        celsius, percent = [*celsius, celsius[-1] + slope * (100.0 - percent[-1])], [*percent, 100.0]
    return np.array(celsius), np.array(percent)


def worked_up(assay, alkanes, ladder, limits=()):
    """The product's curve of such a trace, and its cuts between limits in °C."""
    t, response = INSTRUMENT.times(), ResponseSettings()
    noise = np.random.default_rng(7).normal(0, 0.01, len(t))
    trace = trace_of(t, assay.signal(t, alkanes) + LEVEL + noise)
    level = Baseline("straight", np.full(len(t), LEVEL), Step("level/1"))
    of_noise, span = estimate_noise(trace.signal), (float(t[0]), float(t[-1]))

    def sliced(edges):
        return slice_areas(trace, level, edges, (), of_noise)

    edges = [-np.inf, *limits, np.inf]
    scheme = define_scheme(
        "tabulated", "boiling range",
        [CutLimits(f"to {high:g}", low, high) for low, high in zip(edges[:-1], edges[1:], strict=True)],
    )  # fmt: skip
    peaks = index_peaks(integrate(trace).peaks, ladder)
    cut_at = np.unique([*span, *scheme_times_min(ladder, scheme)])
    slices = weigh_slices("oil", sliced(cut_at), ladder, peaks, None, (trace.step,), response)
    curve = boiling_curve("oil", sliced, span, ladder, peaks, slices, None, response)
    return curve, boiling_cuts("oil", slices, ladder, scheme, "tabulated")
