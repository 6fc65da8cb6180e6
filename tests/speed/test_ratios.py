"""The hot paths stay near their floors. Ratios of work done in turn, least of several: a busy machine slows both.

The bars here lie well above what is measured (see the table in README), so that only a change of kind fails.
"""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path[:0] = [str(Path(__file__).resolve().parent)]

import bench  # noqa: E402
from workloads import OilFromText, text_run  # noqa: E402

BARS = {
    "text of 120,000 points, read": 4.0,
    "the same, to carbon numbers": 20.0,
    "ANDI, 6,000 scans": 4.0,
    "mzML, 1,500 scans": 0.4,
    "mzML of 6,000 scans": 0.8,
    "baseline of 120,000 points": 0.15,
    "detection of 400 peaks": 4.0,
    "fit of 33 clusters": 0.2,
    "boiling curve of a loaded trace": 2.0,
    "60 components over 10 plates": 1.0,
    "balances of mass and elements": 2.0,
    "10,000 random draws": 1.0,
    "`cutbook --help`": 4.5,
}


def assert_held(figure):
    bar = next(bar for what, bar in BARS.items() if figure.what.startswith(what))
    assert figure.ratio <= bar, figure.row()


@pytest.fixture(autouse=True)
def plain_warnings():
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the general library overflows on its way
        yield


def test_reading_files_stays_near_its_floor(tmp_path):
    figures = list(bench.reading(3, tmp_path))
    assert len(figures) == 4
    for figure in figures:
        assert_held(figure)


def test_screening_a_run_stays_below_a_bare_look_at_its_scans():
    for figure in bench.screening(4):
        assert_held(figure)


def test_reading_chromatograms_stays_near_its_floor():
    for figure in bench.reading_chromatograms(3):
        assert_held(figure)


def test_balances_and_draws_stay_within_their_time():
    for figure in bench.balancing(3):
        assert_held(figure)


def test_curve_and_still_stay_within_their_time(tmp_path):
    for figure in bench.distilling(3, tmp_path):
        assert_held(figure)


def test_help_stays_near_a_bare_interpreter(tmp_path):
    assert_held(next(bench.commands(3, tmp_path, False)))


def test_time_grows_with_the_points(tmp_path):
    spent = []
    sizes = [30_000, 240_000]
    for size in sizes:
        (tmp_path / str(size)).mkdir()
        text_run(tmp_path / str(size), size)
        spent.append(bench.in_turn(OilFromText(tmp_path / str(size)), lambda: None, 3)[0])
    assert np.log(spent[1] / spent[0]) / np.log(sizes[1] / sizes[0]) <= 1.25


def test_a_figure_that_misses_its_bar_says_so():
    assert bench.Figure("x", "2 s", "1 s", 2.0, 1.5).row().endswith("| **no** |")
    assert bench.Figure("x", "2 s", "1 s", 2.0, 1.5, rising=True).kept()
