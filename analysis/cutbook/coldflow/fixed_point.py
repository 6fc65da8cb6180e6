"""Find what reproduces itself, many rows at a time, in fewer rounds than by repetition alone."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from cutbook.model.trace import Floats

Rows = NDArray[np.intp]
Answer = Callable[[Floats, Rows], tuple[Floats, Floats]]
_MEMORY = 5  # rounds that are looked back on
_MOST_ROUNDS = 500
_STEP = 0.8  # of the way to the answer; all of it swings to and fro in some mixtures
_LEAST_STEP = 0.1
_PLAIN_ROUNDS, _PLAIN_STEP = 500, 0.5  # without looking back, for the rare row that extrapolation leads in circles
_MOST_NEWTON_ROUNDS, _DIFFERENCE = 100, 1e-5  # for what repetition does not bring home at all
_ROUNDING = 1e3  # times as far off is let pass where rounding allows no better
_REGULAR = 1e-12  # of the mean square of the remembered changes, so that two equal rounds do no harm


def fixed_point(answer: Answer, start: Floats, close: float) -> Floats:
    """Rows y with ``answer(y) = y``.

    Parameters
    ----------
    answer : takes rows and their numbers, gives what they ask for and the weight of each entry, both of their shape.
    start : shape (m, n).
    close : a row is done when no weighted entry asks for a change above this.

    Returns
    -------
    array
        Shape (m, n).

    Raises
    ------
    ArithmeticError
        When a row is not done in the end.

    Notes
    -----
    The next row is that mean of the last ones, extrapolation included, at which the change asked for would be smallest
    if it were linear, and part of that change on top. Where this has made the change larger the memory is dropped and
    a shorter plain step is taken. A row that is not done after 500 rounds begins anew with short plain steps: where an
    entry asks for the same change whatever it is, until it is next to nothing, there is nothing to extrapolate. What
    these do not bring home is finished by Newton's method.

    References
    ----------
    Anderson, J. ACM 12 (1965) 547; Walker and Ni, SIAM J. Numer. Anal. 49 (2011) 1715.
    """
    found = start.copy()
    rows = np.arange(len(start))
    y = start.copy()
    past_y = np.zeros((0, *y.shape))
    past_f = np.zeros((0, *y.shape))
    last = np.full(len(rows), np.inf)
    fresh = np.zeros(len(rows), dtype=np.int64)  # how many remembered rounds of each row may be used
    step = np.full(len(rows), _STEP)
    for _ in range(_MOST_ROUNDS):
        wanted, weight = answer(y, rows)
        f = wanted - y
        size = np.max(np.abs(f) * weight, axis=1)
        going = size >= close
        found[rows[~going]] = y[~going]
        if not going.any():
            return found
        worse = size > 2.0 * last
        fresh = np.where(worse, 0, fresh)
        step = np.where(worse, np.maximum(0.5 * step, _LEAST_STEP), np.minimum(1.05 * step, _STEP))
        past_y = np.concatenate([past_y, y[None]])[-_MEMORY - 1 :]
        past_f = np.concatenate([past_f, f[None]])[-_MEMORY - 1 :]
        fresh = np.minimum(fresh + 1, len(past_y))
        rows, last, fresh, step = rows[going], size[going], fresh[going], step[going]
        past_y, past_f = past_y[:, going], past_f[:, going]
        y = _mixed(past_y, past_f, np.sqrt(np.maximum(weight[going], 1e-8)), fresh, step)
    near = dict(zip(rows.tolist(), y, strict=True))
    found[rows], going = _plainly(answer, start[rows], rows, close)
    for row in rows[going]:
        found[row] = _by_newton(answer, near[int(row)], start[row], row, close)
    return found


def _plainly(answer: Answer, start: Floats, rows: Rows, close: float) -> tuple[Floats, NDArray[np.bool_]]:
    """Rows by short plain steps, and which of them are not done."""
    y, going = start.copy(), np.ones(len(rows), dtype=bool)
    for _ in range(_PLAIN_ROUNDS):
        with np.errstate(over="ignore", invalid="ignore"):  # a row that runs away is not done
            wanted, weight = answer(y[going], rows[going])
            change = wanted - y[going]
        done = np.max(np.abs(change) * weight, axis=1) < close
        y[going] += np.where(done[:, None], 0.0, _PLAIN_STEP) * change
        going[np.flatnonzero(going)[done]] = False
        if not going.any():
            break
    return y, going


def _by_newton(answer: Answer, near: Floats, start: Floats, row: np.intp, close: float) -> Floats:
    """One row by Newton's steps, each shortened until the change asked for falls; slopes by central differences."""

    def asked(points: Floats) -> tuple[Floats, Floats]:
        wanted, weight = answer(points, np.full(len(points), row, dtype=np.intp))
        return wanted - points, weight

    for begin in (near, start):
        y = begin
        f, weight = (part[0] for part in asked(y[None]))
        for _ in range(_MOST_NEWTON_ROUNDS):
            if np.max(np.abs(f) * weight) < close:
                return y
            shifts = _DIFFERENCE * np.eye(len(y))
            slopes = (asked(y + shifts)[0] - asked(y - shifts)[0]).T / (2.0 * _DIFFERENCE)
            move = np.linalg.lstsq(slopes, -f, rcond=1e-13)[0]
            trials = y + 0.5 ** np.arange(24.0)[:, None] * move
            found, weights = asked(trials)
            sizes = np.max(np.abs(found) * np.maximum(weights, weight), axis=1)
            best = int(np.argmin(np.where(np.isfinite(sizes), sizes, np.inf)))
            y, f, weight = trials[best], found[best], weights[best]
        if np.max(np.abs(f) * weight) < _ROUNDING * close:
            return y
    raise ArithmeticError("an equilibrium was not found")


def _mixed(past_y: Floats, past_f: Floats, weight: Floats, fresh: NDArray[np.int64], step: Floats) -> Floats:
    y, f = past_y[-1], past_f[-1]
    depth, part = len(past_y) - 1, step[:, None]
    if depth == 0:
        return np.asarray(y + part * f)
    change_f, change_y = np.diff(past_f, axis=0), np.diff(past_y, axis=0)
    usable = np.arange(depth)[:, None] >= depth + 1 - fresh[None, :]  # newest last; a dropped round counts for nothing
    change_f = np.where(usable[:, :, None], change_f, 0.0)
    change_y = np.where(usable[:, :, None], change_y, 0.0)
    weighted = change_f * weight
    gram = np.einsum("aij,bij->iab", weighted, weighted)
    scale = np.maximum(np.trace(gram, axis1=1, axis2=2) / depth, 1e-300)
    gram = gram + (_REGULAR * scale)[:, None, None] * np.eye(depth) + np.einsum("ai,ab->iab", ~usable, np.eye(depth))
    along = np.einsum("aij,ij->ia", weighted, f * weight)
    share = np.linalg.solve(gram, along[:, :, None])[:, :, 0]
    shift = np.einsum("ia,aij->ij", share, change_y + part * change_f)
    return np.asarray(y + part * f - shift)
