"""Simulated oils, screened: with compounds put into them, without any, with what imitates them."""

import dataclasses

import numpy as np
from simulated_instrument import GcMs, varied
from simulated_scans import Spike, simulate

from cutbook.chlorine.places import Place
from cutbook.chlorine.run_view import RunView, ViewSettings
from cutbook.chlorine.screen import screen
from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import estimate_ion_noise
from cutbook.chromatogram.ion_peak_form import learn_peak_form
from cutbook.chromatogram.saturation import find_saturation
from cutbook.identification.target_table import target_named, targets
from cutbook.model.lineage import Step

OILS = ("PE", "PP", "PS", "polyolefin", "mixed", "PVC")
FOUND = ("confirmed", "indicated")
TOLERANCE_MIN = 0.06  # between where a compound was put and where it was found


def view_of(run):
    """A simulated run made ready; its masses are whole already."""
    matrix = IonMatrix("oil.cdf", run.time_min, int(run.mz[0]), run.counts.astype(np.float32), Step("lay ions/1"))
    noise = estimate_ion_noise(matrix)
    cut_off = find_saturation(matrix.counts, np.arange(matrix.first_mz, matrix.last_mz + 1), "oil.cdf").mask
    form = learn_peak_form(matrix, noise, ViewSettings().form)
    return RunView(matrix, noise, form, noise.threshold, cut_off if cut_off.any() else None)


def place_of(target, recorded: GcMs, u_index=None):
    """The window of a target by the simulator's own scale; `u_index` of a standard run under the same method."""
    u = target.u_index if u_index is None else u_index
    first, centre, last = (float(recorded.time_of_index(target.index + away * u)) for away in (-2.0, 0.0, 2.0))
    source = "table" if u_index is None else "standard"
    return Place(target, centre, (last - first) / 4, first, last, source, target.index, u)


def places_of(recorded: GcMs, asked=None, u_index=None):
    """Windows of the targets that elute while the run is recorded."""
    times = recorded.times()
    found = [place_of(target, recorded, u_index) for target in asked or targets()]
    return [one for one in found if times[0] < one.centre_min < times[-1]]


def apart(places):
    """Some of the windows, no two of which meet."""
    kept = []
    for place in places:
        if all(place.last_min + 0.3 < one.first_min or place.first_min - 0.3 > one.last_min for one in kept):
            kept.append(place)
    return kept


def screened(run, asked=None, u_index=None, limits=True):
    """The screen of a simulated run by the name of the target."""
    view = view_of(run)
    found = screen(view, places_of(run.run, asked, u_index), run.run.index_at, limits=limits)
    return {one.target.name: one for one in found}


def chlorine_free(seed):
    """An oil without chlorine on an instrument drawn at random."""
    return simulate(seed, OILS[seed % len(OILS)], varied(seed))


def spectrum_of(target, rng):
    """The ions of a target as another instrument might give them: fragments scattered, isotopes not."""
    found = {}
    for ion in target.ions:
        scatter = np.exp(rng.normal() * np.log1p(ion.u_share)) if ion.role == "qualifier" else 1.0
        found[ion.mz] = ion.share * scatter
    for mz, share in list(found.items()):
        if mz + 1 not in found:
            found[mz + 1] = 0.0108 * 7 * share
    for mz in target.other_ions:
        found.setdefault(mz, 0.03 * rng.random())
    return found


def spike_of(one, times_limit, recorded: GcMs, rng):
    """A screened target put into the oil at a multiple of its limit, at an index drawn as its own is uncertain; and the
    area of its quantifier."""
    target = one.target
    spectrum = {mz: share for mz, share in spectrum_of(target, rng).items() if recorded.low <= mz <= recorded.high}
    area = times_limit * one.limit_area
    share = spectrum[target.quantifier.mz] / sum(spectrum.values())
    ions = area / (recorded.gain * recorded.scan_s / 60) / share
    u = target.u_index if one.index_from == "table" else 1.5
    index = target.index + float(np.clip(rng.normal(), -1.95, 1.95)) * u
    return Spike(target.name, ions=ions, index=index, spectrum=spectrum), area


@dataclasses.dataclass(frozen=True)
class Trial:
    """What became of one compound that was put into an oil."""

    name: str
    before: str
    times_limit: float
    found: bool
    verdict: str
    area_ratio: float
    u_ratio: float


def spiked(seed, levels, kinds=OILS, u_index=None):
    """Screen an oil, put compounds into it at multiples of their limits, screen it again; one spiked oil a level."""
    rng = np.random.default_rng([seed, 77])
    kind, recorded = kinds[seed % len(kinds)], varied(seed)
    clean = simulate(seed, kind, recorded)
    asked = [target for target in targets() if target.kind == "product"]
    asked = [asked[at] for at in rng.permutation(len(asked))]
    places = apart(places_of(recorded, asked, u_index))
    first = screen(view_of(clean), places, recorded.index_at)
    used = [one for one in first if one.limit_area is not None and one.verdict not in FOUND]
    trials = []
    for level in levels:
        made = [spike_of(one, level, recorded, rng) for one in used]
        run = simulate(seed, kind, recorded, [spike for spike, _ in made], injection=1)
        own = [place_of(one.target, recorded, u_index) for one in used]
        again = screen(view_of(run), own, recorded.index_at, limits=False)
        for before, after, (spike, area) in zip(used, again, made, strict=True):
            time = float(recorded.time_of_index(spike.index))
            hit = after.verdict in FOUND and abs(after.time_min - time) < TOLERANCE_MIN
            ratio = after.area / area if hit else np.nan
            u = after.u_area / area if hit else np.nan
            trials.append(Trial(before.target.name, before.verdict, level, hit, after.verdict, ratio, u))
    return trials


def named(*names):
    return [target_named(name) for name in names]
