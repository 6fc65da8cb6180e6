"""A GC-MS run (electron ionisation, unit mass) whose truth is known: peaks, bleed, ions that are counted one by one.

Nothing here was measured. Peak shapes, counting statistics and isotopes are arithmetic; spectra, indices and amounts
are chemistry from memory (`simulated_spectra`, `simulated_named`, `simulated_compounds`). Such runs try a screen; they
never prove one.

The amounts mean something: the ions of a whole oil (`GcMs.oil_ions`, within the masses recorded) stand for 1,000,000
mg/kg, so that 1 mg/kg is `oil_ions / 1e6` ions, times a response of the compound that is known within ± 30 %.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.sparse import csr_matrix
from scipy.special import erfcx
from simulated_compounds import Species, oil, siloxanes
from simulated_named import CHLORINATED, STANDARDS, named
from simulated_spectra import alkane, spectrum_rows
from simulated_trace import alkane_time

PER_SIGMA = 2.354820045  # full width at half height of a Gauss curve, in sigma
SHAPE = 0.35  # tau over sigma


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

    def times(self) -> np.ndarray:
        """When each scan begins, in min."""
        count = round((self.minutes - self.start_min) * 60 / self.scan_s)
        return self.start_min + np.arange(count) * self.scan_s / 60

    def time_of_index(self, index):
        """Retention time in min at a retention index, linear between n-alkanes."""
        carbons = np.arange(3.0, 61.0)
        return np.interp(np.asarray(index, dtype=float) / 100, carbons, alkane_time(carbons, ramp=self.ramp_k_min))

    def sigma(self, time_min):
        """Standard deviation in min of the Gauss part of a peak."""
        first, last = self.width_s
        return (first + (last - first) * np.asarray(time_min) / self.minutes) / (60 * PER_SIGMA)

    @property
    def ions_per_mg_kg(self) -> float:
        return self.oil_ions / 1e6


@dataclass(frozen=True)
class Spike:
    """A compound put into an oil.

    name : of `CHLORINATED` or `STANDARDS`, or one's own with `index` and `spectrum` ({m/z: share}).
    mg_kg or ions : how much, in the oil or in ions within the masses recorded; mg_kg times a response that is drawn.
    """

    name: str
    mg_kg: float | None = None
    ions: float | None = None
    index: float | None = None
    spectrum: Mapping[int, float] | None = None


@dataclass(frozen=True, eq=False)
class ScanRun:
    """A finished run.

    time_min, shape (n,); mz : unit masses, shape (m,); counts : intensities, shape (n, m), 0 where nothing was written.
    expected : ions without statistics. excess : mean m/z less the unit mass, of each scan and mass, where asked for.
    truth : of each compound name, index, time_min (of the apex), ions, spike, recorded. run : how it was recorded.
    """

    time_min: np.ndarray
    mz: np.ndarray
    counts: np.ndarray
    expected: np.ndarray
    excess: np.ndarray | None
    truth: list[dict]
    run: GcMs = field(repr=False)

    def flat(self, rng=None, offset=0.0, jitter=0.0, step=0.0, whole=False):
        """(time_min, starts, mz, intensity) of all ions written, as a scan series holds them.

        offset : of the calibration, in m/z. jitter : spread of one m/z. step : m/z are rounded to it.
        whole : unit masses in place of all these.
        """
        scans, columns = np.nonzero(self.counts > 0)
        starts = np.concatenate([[0], np.cumsum(np.bincount(scans, minlength=len(self.time_min)))]).astype(np.int64)
        mz = self.mz[columns].astype(float)
        if not whole:
            if self.excess is None:
                raise ValueError("simulate with masses=True to have m/z")
            mz = mz + self.excess[scans, columns] + offset
            if jitter:
                mz = mz + rng.normal(0, jitter, len(mz))
            if step:
                mz = np.round(mz / step) * step
        return self.time_min, starts, mz, self.counts[scans, columns]

    def series(self, rng=None, **masses):
        """The same as a scan series of the program."""
        from cutbook.model.lineage import Step
        from cutbook.model.scans import ScanSeries

        time, starts, mz, intensity = self.flat(rng, **masses)
        total = self.counts.sum(axis=1)
        return ScanSeries("simulated", time, starts, mz, intensity, total, "centroid", Step("simulated scans/1"))

    def scans(self, rng=None, **masses):
        """The same as a list of (m/z, intensity), scan by scan, for the writers of files."""
        time, starts, mz, intensity = self.flat(rng, **masses)
        return [(mz[a:b], intensity[a:b]) for a, b in zip(starts[:-1], starts[1:], strict=True)]


def profiles(run: GcMs, time_min: np.ndarray, apex_min: np.ndarray) -> csr_matrix:
    """Share of each compound (columns) that falls on each scan (rows): exponentially modified Gauss curves."""
    sigma = run.sigma(apex_min)
    tau = SHAPE * sigma
    centre = apex_min - _apex_shift() * sigma
    dt = run.scan_s / 60
    first = np.searchsorted(time_min, centre - 6 * sigma)
    last = np.searchsorted(time_min, centre + 6 * sigma + 14 * tau)
    count = last - first
    column = np.repeat(np.arange(len(apex_min)), count)
    row = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + np.repeat(first, count)
    z = (time_min[row] - centre[column]) / sigma[column]
    x = (1 / SHAPE - z) / np.sqrt(2)
    height = np.exp(-0.5 * z**2) * erfcx(x) / (2 * tau[column])
    return csr_matrix((height * dt, (row, column)), shape=(len(time_min), len(apex_min)))


def _apex_shift() -> float:
    """How far the apex lies behind the centre of the Gauss part, in sigma."""
    z = np.linspace(-1, 2, 3001)
    return float(z[np.argmax(np.exp(-0.5 * z**2) * erfcx((1 / SHAPE - z) / np.sqrt(2)))])


def _eluted(run: GcMs, time_min: np.ndarray, apex_min: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Ions of each scan and mass; with skew, each mass at the time at which it is read."""
    if not run.skew:
        return profiles(run, time_min, apex_min) @ rows
    nodes = np.array([0.0, 1 / 3, 2 / 3, 1.0])
    at = np.linspace(0, 1, rows.shape[1], endpoint=False)
    found = 0.0
    for k, node in enumerate(nodes):
        others = np.delete(nodes, k)
        weight = np.prod([(at - other) / (node - other) for other in others], axis=0)
        found = found + profiles(run, time_min + node * run.scan_s / 60, apex_min) @ (rows * weight)
    return found


def simulate(
    seed: int,
    kind: str | dict[str, float] = "polyolefin",
    run: GcMs = GcMs(),
    spikes: Sequence[Spike] = (),
    *,
    minor: int = 500,
    twins: bool = True,
    plasticiser: bool | None = None,
    masses: bool = False,
    extra: Sequence[Species] = (),
    injection: int = 0,
) -> ScanRun:
    """One run of an invented oil.

    kind : of `simulated_compounds.KINDS`, or shares of PE, PP, PS, PVC. minor : how many small compounds.
    plasticiser : None draws it in one run of three. masses : whether m/z below one unit are computed (`ScanRun.flat`).
    extra : compounds of one's own, amounts in mass % of the oil. injection : another number counts the ions anew.
    The same seed gives the same oil with and without spikes, and the same numbers throughout the same run.
    """
    rng = np.random.default_rng([seed, 1])
    species = oil(rng, kind, minor, twins, rng.random() < 1 / 3 if plasticiser is None else plasticiser)
    return record(seed, species + list(extra), run, spikes, masses, injection=injection)


def ladder(seed: int, carbons: Sequence[int] = range(6, 31), run: GcMs = GcMs(), masses: bool = False) -> ScanRun:
    """A run of n-alkanes in equal masses, C10, C20 and C30 doubled; each gives a three-thousandth of an oil's ions."""
    species = [Species(f"n-alkane C{n}", 100.0 * n, alkane(n), 2.0 if n in (10, 20, 30) else 1.0) for n in carbons]
    return record(seed, species, run, (), masses, whole=len(species) / 3000.0)


def blank(seed: int, run: GcMs = GcMs(), spikes: Sequence[Spike] = (), masses: bool = False) -> ScanRun:
    """A run without oil: bleed, siloxanes, background."""
    return record(seed, [], run, spikes, masses, whole=0.0)


def standard(
    seed: int, amounts: Mapping[str, float], run: GcMs = GcMs(), spikes: Sequence[Spike] = (), masses: bool = False
) -> ScanRun:
    """A calibration standard: compounds of `CHLORINATED` in mg/kg; the solvent left before the filament went on."""
    known = [Spike(name, mg_kg) for name, mg_kg in amounts.items()]
    return record(seed, [], run, known + list(spikes), masses, whole=0.0)


def response(name: str) -> float:
    """Ions per mass of a compound against the oil's own: ± 30 %, the same in every run (drawn from its name)."""
    return float(np.random.default_rng([11, *name.encode()]).uniform(0.7, 1.3))


def record(
    seed: int,
    species: Sequence[Species],
    run: GcMs,
    spikes: Sequence[Spike] = (),
    masses: bool = False,
    whole: float = 1.0,
    injection: int = 0,
) -> ScanRun:
    """Count the ions of compounds that elute one after another.

    whole : ions of the species together, in `oil_ions`. The rest as in `simulate`.
    """
    rng = np.random.default_rng([seed, 2])
    of_oil = _oil_ions(list(species), run, whole, rng)
    of_spikes = _spike_ions(spikes, run, rng)
    names, index, ions, rows, moments = (
        [*of_oil[0], *of_spikes[0]],
        *(np.concatenate([first, second]) for first, second in zip(of_oil[1:], of_spikes[1:], strict=True)),
    )
    time_min = run.times()
    apex = run.time_of_index(index)
    background, its_moment = _background(run, time_min, rng)
    expected = np.maximum(_eluted(run, time_min, apex, rows * ions[:, None]) + background, 0.0)
    excess = None
    if masses:
        moment = _eluted(run, time_min, apex, moments * ions[:, None]) + its_moment
        excess = moment / np.maximum(expected, 1e-12)
    seen = (apex > time_min[0]) & (apex < time_min[-1])
    truth = [
        {"name": name, "index": float(index[i]), "time_min": float(apex[i]), "ions": float(ions[i]),
         "spike": i >= len(of_oil[0]), "recorded": bool(seen[i])}
        for i, name in enumerate(names)
    ]  # fmt: skip
    counts = _counted(run, expected, np.random.default_rng([seed, 3, injection]))
    return ScanRun(time_min, np.arange(run.low, run.high + 1), counts, expected, excess, truth, run)


def _oil_ions(
    species: list[Species], run: GcMs, whole: float, rng: np.random.Generator
) -> tuple[list[str], np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Names, indices, ions, spectra and mass excess of what is in the oil, and of the rings of the column."""
    amount = np.array([one.amount for one in species])
    ions = amount * rng.uniform(0.7, 1.3, len(species)) if whole == 1.0 else amount
    if len(ions):
        ions = ions * whole * run.oil_ions / ions.sum()
    rings = siloxanes(rng)
    listed = species + rings
    ions = np.concatenate([ions, [1e-4 * run.oil_ions * one.amount for one in rings]])
    scatter = np.array([one.scatter for one in listed])
    rows, moments = spectrum_rows([one.spectrum for one in listed], run.low, run.high, scatter, rng)
    return [one.name for one in listed], np.array([one.index for one in listed]), ions, rows, moments


def _spike_ions(
    spikes: Sequence[Spike], run: GcMs, rng: np.random.Generator
) -> tuple[list[str], np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """The same of the spikes, whose spectra have no scatter."""
    known = CHLORINATED | STANDARDS
    index, ions = np.zeros(len(spikes)), np.zeros(len(spikes))
    rows, moments = np.zeros((2, len(spikes), run.high - run.low + 1))
    for number, spike in enumerate(spikes):
        index[number] = known[spike.name][0] if spike.index is None else spike.index
        if spike.ions is not None:
            ions[number] = spike.ions
        else:
            ions[number] = (spike.mg_kg or 0.0) * run.ions_per_mg_kg * response(spike.name)
        if spike.spectrum is None:
            one = spectrum_rows([named(spike.name)], run.low, run.high, np.zeros(1), rng)
            rows[number], moments[number] = one[0][0], one[1][0]
        else:
            inside = {mass: share for mass, share in spike.spectrum.items() if run.low <= mass <= run.high}
            for mass, share in inside.items():
                rows[number, mass - run.low] = share / sum(inside.values())
    return [spike.name for spike in spikes], index, ions, rows, moments


def _background(run: GcMs, time_min: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Ions of bleed, air and everything that is always there, by scan and mass, and the same times the mass excess."""
    mz = np.arange(run.low, run.high + 1)
    always = run.background * np.exp(-(mz - run.low) / 150.0)
    always[[m - run.low for m in (40, 44) if run.low <= m <= run.high]] += 40.0  # argon, carbon dioxide
    rows, moments = spectrum_rows([named("bleed")], run.low, run.high, np.zeros(1), rng)
    oven = 35.0 + run.ramp_k_min * np.maximum(time_min - 1.0, 0.0)
    shape = run.bleed * (0.01 + 0.99 / (1.0 + np.exp(-(oven - 290.0) / 18.0)))[:, None]
    return shape * rows[0] + always, shape * moments[0] + always * 0.0005 * mz


def _counted(run: GcMs, expected: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Counts as an instrument writes them: Poisson ions times the gain, electronics, ceiling, threshold."""
    counts = rng.poisson(expected).astype(np.float64)
    if run.non_linearity:
        counts *= 1.0 - run.non_linearity * np.minimum(counts / 1e6, 1.0)
    counts *= run.gain
    if run.noise:
        counts += rng.normal(0.0, run.noise, counts.shape)
    if run.ceiling is not None:
        np.minimum(counts, run.ceiling, out=counts)
    counts[counts < max(run.threshold, 1e-9)] = 0.0
    return counts
