"""How an invented GC-MS run is recorded: program, peak widths, counting, electronics; fixed or drawn at random."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from simulated_trace import alkane_time

PER_SIGMA = 2.354820045  # full width at half height of a Gauss curve, in sigma


@dataclass(frozen=True)
class GcMs:
    """How a run is recorded.

    minutes, scan_s : length of the run and time a scan takes. start_min : when the filament goes on.
    ramp_k_min : of the oven, from 35 °C after 1 min; at 12 K/min n-C30 elutes at 24 min.
    low, high : masses recorded. width_s : full width at half height of a peak at the start and at the end of the run.
    oil_ions : ions of a whole oil. gain : counts per ion. noise : of the electronics, counts.
    threshold : counts below which nothing is written. ceiling : counts at which the detector ends.
    skew : whether the masses of a scan are read one after another, low to high, each at its own time.
    bleed : ions a scan at the end of the program. background : ions a scan and mass that are always there.
    non_linearity : share of the counts lost at a million ions a scan and mass.
    capacity : ions of a compound above which its peak leans forward, as the column is overloaded.
    """

    minutes: float = 25.0
    scan_s: float = 0.5
    start_min: float = 2.0
    ramp_k_min: float = 12.0
    low: int = 35
    high: int = 350
    width_s: tuple[float, float] = (2.2, 3.8)
    oil_ions: float = 5e8
    gain: float = 20.0
    noise: float = 6.0
    threshold: float = 0.0
    ceiling: float | None = None
    skew: bool = False
    bleed: float = 3000.0
    background: float = 0.3
    non_linearity: float = 0.0
    capacity: float | None = None

    def times(self) -> np.ndarray:
        """When each scan begins, in min."""
        count = round((self.minutes - self.start_min) * 60 / self.scan_s)
        return self.start_min + np.arange(count) * self.scan_s / 60

    def time_of_index(self, index):
        """Retention time in min at a retention index, linear between n-alkanes."""
        carbons = np.arange(3.0, 61.0)
        return np.interp(np.asarray(index, dtype=float) / 100, carbons, alkane_time(carbons, ramp=self.ramp_k_min))

    def index_at(self, time_min):
        """The retention index that elutes at a time."""
        carbons = np.arange(3.0, 61.0)
        return 100 * np.interp(np.asarray(time_min), alkane_time(carbons, ramp=self.ramp_k_min), carbons)

    def index_after(self, index, seconds):
        """The retention index that elutes so many seconds after another (before it, if negative)."""
        return float(self.index_at(float(self.time_of_index(index)) + seconds / 60))

    def sigma(self, time_min):
        """Standard deviation in min of the Gauss part of a peak."""
        first, last = self.width_s
        return (first + (last - first) * np.asarray(time_min) / self.minutes) / (60 * PER_SIGMA)

    @property
    def ions_per_mg_kg(self) -> float:
        return self.oil_ions / 1e6


USUAL = GcMs()


def varied(seed: int, **fixed) -> GcMs:
    """An instrument drawn at random: speed, widths, gain, noise, threshold, ceiling, skew; `fixed` ones are kept.

    One in three has a ceiling that its tallest peaks reach, every other reads its masses one after another.
    """
    rng = np.random.default_rng([seed, 4])
    narrow, gain = rng.uniform(1.8, 3.2), float(np.exp(rng.uniform(np.log(2), np.log(200))))
    drawn = {
        "scan_s": rng.uniform(0.3, 0.75),
        "ramp_k_min": rng.uniform(9.0, 15.0),
        "width_s": (narrow, narrow * rng.uniform(1.2, 1.8)),
        "oil_ions": float(np.exp(rng.uniform(np.log(1e8), np.log(1.5e9)))),
        "gain": gain,
        "noise": gain * rng.uniform(0.05, 0.8),
        "threshold": gain * rng.choice([0.0, 0.0, 1.5, 3.0]),
        "skew": bool(rng.random() < 0.5),
        "bleed": float(np.exp(rng.uniform(np.log(500), np.log(2e4)))),
        "background": float(np.exp(rng.uniform(np.log(0.05), np.log(1.0)))),
        "non_linearity": rng.choice([0.0, 0.0, 0.03]),
    }
    drawn["capacity"] = drawn["oil_ions"] * rng.choice([0.01, 0.03]) if rng.random() < 0.5 else None
    share = rng.uniform(0.02, 0.2)
    if rng.random() < 1 / 3:
        # the tallest line of an oil gets about 0.2 % of its ions in one scan
        drawn["ceiling"] = gain * drawn["oil_ions"] * 0.002 * share
    return GcMs(**{**drawn, **fixed})
