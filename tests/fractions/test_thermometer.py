"""Corrections for the stem and for the lag of a thermometer."""

import numpy as np
import pytest

from cutbook.fractions.thermometer import lag_corrections_c, stem_correction_c
from cutbook.model.tables import reference


def test_stem_correction_is_expansion_times_degrees_times_difference():
    assert stem_correction_c(200.0, 100.0, 30.0) == pytest.approx(1.6e-4 * 100 * 170)
    assert stem_correction_c(200.0, 0.0, 30.0) == 0.0
    assert stem_correction_c(100.0, 50.0, 30.0, "organic liquid") == pytest.approx(1.03e-3 * 50 * 70)


def test_mercury_in_glass_follows_from_the_expansion_of_both():
    """Mercury expands by 1.82e-4, glass by three times 9e-6 to 1e-5 (handbook values, from memory)."""
    table = float(reference("thermometers").by("liquid")["mercury"]["expansion"])
    assert 1.82e-4 - 3e-5 <= table <= 1.82e-4 - 2.2e-5 + 1e-9 or table == pytest.approx(1.55e-4, rel=0.05)


def test_a_lagging_thermometer_is_led_back_to_the_vapour():
    """A first-order lag behind a steady rise settles at rise times lag below the truth."""
    times = np.linspace(0.0, 60.0, 61)
    vapour = 80.0 + 3.0 * times
    lag, reading, dt = 0.4, [vapour[0]], 0.01
    at = vapour[0]
    for start in times[:-1]:
        for step in np.arange(0.0, 1.0, dt):
            at += dt / lag * (80.0 + 3.0 * (start + step + dt) - at)
        reading.append(at)
    corrected = np.array(reading) + lag_corrections_c(times, reading, lag)
    assert corrected[5:] == pytest.approx(vapour[5:], abs=0.05)


def test_one_reading_has_no_slope():
    assert lag_corrections_c([0.0], [100.0], 1.0).tolist() == [0.0]
