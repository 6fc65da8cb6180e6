"""Correct a thermometer for the part of it outside the vapour and for the time by which it follows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cutbook.model.tables import reference
from cutbook.model.trace import Floats


def stem_correction_c(reading_c: float, emergent_c: float, stem_c: float, liquid: str = "mercury") -> float:
    """°C to add to the reading of a liquid-in-glass thermometer whose stem is not all in the vapour.

    Parameters
    ----------
    reading_c : as read. emergent_c : degrees of its scale outside the vapour, 0 or more.
    stem_c : mean temperature of that part. liquid : "mercury" or "organic liquid".

    Returns
    -------
    float
        ``k n (t - s)``; a stem of 100 degrees at 30 °C makes a mercury thermometer read 200 °C 2.7 °C too low.

    References
    ----------
    ASTM E77; k in ``reference/thermometers.csv``.
    """
    expansion = float(reference("thermometers").by("liquid")[liquid]["expansion"])
    return expansion * emergent_c * (reading_c - stem_c)


def lag_corrections_c(time_min: Sequence[float], reading_c: Sequence[float], lag_min: float) -> Floats:
    """°C to add to readings of a thermometer that follows the vapour with a lag.

    Parameters
    ----------
    time_min, reading_c : shape (n,), times rising. lag_min : its time constant, 0 or more.

    Returns
    -------
    array of shape (n,)
        ``τ dT/dt``, the slope taken over the neighbours; 0 with fewer than two readings.
    """
    times, readings = np.asarray(time_min, dtype=np.float64), np.asarray(reading_c, dtype=np.float64)
    if len(times) < 2:
        return np.zeros_like(readings)
    return np.asarray(lag_min * np.gradient(readings, times))
