"""Spectra of the tallest peaks: what stands beneath a peak is taken away, and isotopes come through."""

import numpy as np
import pytest

from cutbook.identification.chlorine_count import count_halogens
from cutbook.identification.peak_spectra import PeakSpectraSettings, peak_spectra
from cutbook.model.lineage import Step
from cutbook.model.scans import ScanSeries

TIME = np.linspace(2.0, 6.0, 400)
CHLOROBENZENE = {112.1: 100.0, 114.1: 32.0, 77.0: 50.0, 113.1: 6.6, 115.1: 2.1}
DICHLOROBENZENE = {146.0: 100.0, 148.0: 64.0, 150.0: 10.3, 111.0: 40.0, 147.0: 6.6, 149.0: 4.2, 151.0: 0.7}


def a_series(*peaks, background=(), width=0.02):
    """Scans with peaks (time, spectrum, height) over ions that are there throughout (m/z, height)."""
    series = []
    for time in TIME:
        heights = dict(background)
        for at, spectrum, height in peaks:
            shape = height * np.exp(-0.5 * ((time - at) / width) ** 2)
            for mz, share in spectrum.items():
                heights[mz] = heights.get(mz, 0.0) + shape * share
        mz = sorted(heights)
        series.append((np.array(mz), np.array([heights[one] for one in mz])))
    starts = np.concatenate(([0], np.cumsum([len(mz) for mz, _ in series])))
    mz, intensity = (np.concatenate(column) for column in zip(*series, strict=True))
    total = np.array([height.sum() for _, height in series])
    return ScanSeries("run", TIME, starts, mz, intensity, total, "centroid", Step("by hand/1"))


def test_tallest_peak_comes_first_and_at_its_time():
    found = peak_spectra(a_series((3.0, CHLOROBENZENE, 10.0), (5.0, DICHLOROBENZENE, 40.0)))
    assert [one.time_min for one in found] == pytest.approx([5.0, 3.0], abs=0.01)
    assert [len(one.mz) for one in found] == [len(DICHLOROBENZENE), len(CHLOROBENZENE)]
    assert len(peak_spectra(a_series((3.0, CHLOROBENZENE, 1.0), (5.0, DICHLOROBENZENE, 4.0)),
                            PeakSpectraSettings(most=1))) == 1  # fmt: skip


def test_even_background_is_taken_away_and_ratios_stay():
    series = a_series((4.0, CHLOROBENZENE, 5.0), background={112.1: 900.0, 114.0: 20.0, 207.0: 3000.0}.items())
    (found,) = peak_spectra(series)
    heights = dict(zip(found.mz, found.intensity, strict=True))
    assert heights[114.0] / heights[112.0] == pytest.approx(0.32, rel=1e-9)
    assert 207.0 not in heights
    assert all(mz == round(mz) for mz in heights)


def test_counts_come_through_from_the_scans():
    series = a_series((3.0, CHLOROBENZENE, 10.0), (5.0, DICHLOROBENZENE, 40.0), background={207.0: 50.0}.items())
    told = [count_halogens(one.mz, one.intensity) for one in peak_spectra(series)]
    assert [(one.finding, one.chlorine, one.mz) for one in told] == [("halogen", 2, 146), ("halogen", 1, 112)]


def test_few_scans_are_given_as_they_are_and_a_flat_run_has_none():
    series = a_series((3.0, CHLOROBENZENE, 10.0))
    first, end = series.starts[100], series.starts[102]
    two = ScanSeries("run", TIME[100:102], series.starts[100:103] - first, series.mz[first:end],
                     series.intensity[first:end], series.total[100:102], "centroid", series.step)  # fmt: skip
    assert [one.time_min for one in peak_spectra(two)] == pytest.approx([TIME[100], TIME[101]], abs=1e-9)
    assert peak_spectra(a_series(background={100.0: 5.0}.items())) == ()


def test_noise_at_every_mass_and_masses_beyond_reason_are_no_cluster():
    noise = np.random.default_rng(1).uniform(50, 100, 1400)
    told = count_halogens(np.arange(50, 1450), noise)
    assert (told.finding, told.mz) == ("open", 0)
    heights = {112: 100.0, 113: 6.7, 114: 32.0, 115: 2.1, 77: 50.0, 2_000_000_000: 80.0}
    assert count_halogens(list(heights), list(heights.values())).chlorine == 1


def test_totals_without_ions_and_without_sense_give_no_spectra():
    step = Step("by hand/1")
    empty = np.zeros(0)
    total = np.exp(-0.5 * ((TIME - 4.0) / 0.05) ** 2)
    nothing = ScanSeries("run", TIME, np.zeros(401, int), empty, empty, total, "centroid", step)
    assert peak_spectra(nothing) == ()
    series = a_series((4.0, CHLOROBENZENE, 5.0))
    wrong = ScanSeries("run", TIME, series.starts, series.mz, series.intensity, np.full(400, np.inf), "", step)
    assert peak_spectra(wrong) == ()
    # the tallest peak by the totals stated lies where the scans are empty
    starts = np.minimum(np.arange(401), 150)
    told = ScanSeries("run", TIME, starts, np.full(150, 112.0), np.ones(150), total, "", step)
    assert peak_spectra(told) == ()
