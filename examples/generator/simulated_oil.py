"""An invented oil with everything about it known: what is in it by carbon number, and the traces that it gives."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from simulated_trace import Compounds, alkane_time, bleed, render, width

DOUBLED = (10, 20, 30)
INDICES = {"diene": -18.0, "alkene": -9.0, "alkane": 0.0}


def time_of_index(index):
    """Retention time in min at a retention index, alkanes at 100 n."""
    carbons = np.arange(3, 61)
    return np.interp(np.asarray(index, dtype=float) / 100, carbons, alkane_time(carbons))


@dataclass
class Instrument:
    """How the traces are recorded: minutes and points a second, noise and bleed in pA, tail and speed of the column."""

    minutes: float = 46.0
    rate: float = 10.0
    noise: float = 0.05
    level: float = 12.0
    bleed_height: float = 15.0
    bleed_middle: float = 36.0
    bleed_spread: float = 2.2
    tail: float = 0.3

    def times(self):
        return np.arange(int(self.minutes * 60 * self.rate)) / (60 * self.rate)

    def baseline(self, t, scale=1.0, offset=0.0, drift=0.0):
        shape = bleed(t, 0.0, self.bleed_height, self.bleed_middle, self.bleed_spread)
        return self.level + offset + scale * shape + drift * t / t[-1]

    def compounds(self, index, area, name=()):
        at = time_of_index(index)
        sigma = width(at)
        return Compounds(at, np.asarray(area, dtype=float), sigma, self.tail * sigma, list(name))

    def edge(self, carbon):
        """Where "up to and including n-C" ends: five standard deviations after the alkane."""
        at = time_of_index(100 * carbon)
        return at + 5 * width(at)


@dataclass
class Oil:
    """What is in an oil, in area: peaks by carbon number and kind, a smooth hump, and named compounds.

    by_carbon : carbon -> area of its triplet. kinds : share of each kind of the triplet.
    hump : area, middle and spread in carbon numbers. named : (name, index, area).
    """

    by_carbon: dict[int, float]
    kinds: dict[str, float] = field(default_factory=lambda: {"diene": 0.14, "alkene": 0.44, "alkane": 0.42})
    hump: tuple[float, float, float] = (0.0, 18.0, 5.0)
    named: tuple[tuple[str, float, float], ...] = ()

    def peaks(self, instrument):
        index, area, name = [], [], []
        for carbon, whole in self.by_carbon.items():
            for kind, share in self.kinds.items():
                index.append(100 * carbon + INDICES[kind])
                area.append(whole * share)
                name.append(f"{kind} C{carbon}")
        for label, at, amount in self.named:
            index.append(at)
            area.append(amount)
            name.append(label)
        return instrument.compounds(np.array(index), area, name)

    def hump_signal(self, t):
        """The hump in area a min: a bell in carbon numbers, carried over to the time axis."""
        whole, middle, spread = self.hump
        if not whole:
            return np.zeros_like(t)
        carbons = np.arange(3, 61)
        carbon = np.interp(t, alkane_time(carbons), carbons)
        density = np.exp(-0.5 * ((carbon - middle) / spread) ** 2) / (spread * np.sqrt(2 * np.pi))
        inside = (t > alkane_time(5)) & (t < alkane_time(50))
        return whole * density * np.gradient(carbon, t) * inside

    def signal(self, t, instrument):
        return render(t, self.peaks(instrument)) + self.hump_signal(t)

    def truth(self, instrument, carbons, standard=()):
        """Area by carbon number: peaks by their identity, the hump by where it elutes; beyond the last as -1."""
        peaks = self.peaks(instrument)
        edges = np.array([instrument.edge(carbon) for carbon in carbons])
        found = dict.fromkeys([*carbons, -1], 0.0)
        for at, area, name in zip(peaks.time, peaks.area, peaks.name, strict=True):
            if name in standard:
                continue
            place = int(np.searchsorted(edges, at))
            found[carbons[place] if place < len(carbons) else -1] += area
        t = np.linspace(0, instrument.minutes, 200_001)
        hump = self.hump_signal(t)
        running = np.concatenate([[0.0], np.cumsum(0.5 * (hump[1:] + hump[:-1]) * np.diff(t))])
        at_edges = np.interp(np.concatenate([[0.0], edges, [t[-1]]]), t, running)
        for carbon, share in zip([*carbons, -1], np.diff(at_edges), strict=True):
            found[carbon] += share
        return found


def ladder_signal(t, instrument, carbons, amount=6.0, doubled=DOUBLED):
    """An n-alkane mixture of equal masses, some doubled."""
    area = [amount * (2.0 if carbon in doubled else 1.0) for carbon in carbons]
    return render(t, instrument.compounds(100.0 * np.array(carbons), area))


def bell(carbons, middle, spread, whole=100.0, skew=0.0):
    """Areas by carbon number along a bell."""
    weights = {c: np.exp(-0.5 * ((c - middle) / spread) ** 2 + skew * (c - middle)) for c in carbons}
    total = sum(weights.values())
    return {c: whole * w / total for c, w in weights.items()}
