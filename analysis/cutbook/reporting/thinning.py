"""Thin a trace for drawing so that no peak and no dip is lost."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cutbook.model.trace import Floats


def thinned(signal: Floats, columns: int) -> NDArray[np.intp]:
    """Places of the least and the greatest value in each of so many equal stretches, ascending.

    Parameters
    ----------
    signal : shape (n,).
    columns : number of stretches, at least 1; at most 2 * columns + 2 places come back.

    Returns
    -------
    numpy.ndarray
        Indices into `signal`, strictly rising, first and last point always among them.
    """
    n = len(signal)
    if n <= 2 * columns + 2:
        return np.arange(n)
    edges = np.linspace(0, n, columns + 1).astype(np.intp)
    wide = np.diff(edges).max()
    places = edges[:-1, None] + np.arange(wide)[None, :]
    outside = places >= edges[1:, None]
    values = signal[np.minimum(places, n - 1)]
    rows = np.arange(columns)
    least = places[rows, np.where(outside, np.inf, values).argmin(axis=1)]
    most = places[rows, np.where(outside, -np.inf, values).argmax(axis=1)]
    return np.unique(np.concatenate([[0, n - 1], least, most]))
