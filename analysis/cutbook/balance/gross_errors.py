"""Name the measurements that are wrong, from the imbalances that they leave."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.model.trace import Floats

_DRAWS = 20_000
"""Simulated sets of imbalances: a chance of 5 % is known to 0.15 %."""
_ONE_DIRECTION = 1.0 - 1e-9
"""Cosine of the angle between two errors from which no balance can tell them apart."""
POWER = 1.6449
"""Standard normal quantile of 95 %: what is to be named nineteen times out of twenty (one-sided)."""


@dataclass(frozen=True)
class NamedError:
    """One measurement that the balances do not believe.

    place : its position among the candidates. test : significance, standard normal without an error. chance : of a
    largest test of this size among all candidates when nothing is wrong. error, u_error : measured less true, in the
    unit of the measurement. alike : positions of other candidates that explain the imbalances nearly as well.
    along : direction of its error among the standardised imbalances, of length 1, at right angles to those before.
    """

    place: int
    test: float
    chance: float
    error: float
    u_error: float
    alike: tuple[int, ...]
    along: Floats


def gross_errors(
    directions: Floats, imbalances: Floats, own_u: Floats, significance: float, alike_within: float, most: int
) -> tuple[NamedError, ...]:
    """The measurements that are wrong beyond what their uncertainties allow, the worst first.

    Parameters
    ----------
    directions : change of the standardised imbalances by one unit of each candidate, shape (f, n).
    imbalances : standardised, shape (f,). own_u : standard uncertainty of each candidate, shape (n,), > 0.
    significance : chance to name anything when nothing is wrong. alike_within : how much less of chi-square another
        candidate may explain than the one that is named, and still be told as one that cannot be ruled out.
    most : names at most.

    Notes
    -----
    Serial elimination: the candidate whose removal lowers chi-square most is named and treated as not measured, and
    the rest is tested again. The chance is that of the largest of all tests, with their correlations (simulated with
    a fixed seed), so that many candidates do not raise the rate of false alarms. Candidates that no balance can tell
    apart go by the size of the error in their own standard uncertainties.

    References
    ----------
    Narasimhan and Mah, AIChE J. 33 (1987) 1514; Tamhane and Mah, Technometrics 27 (1985) 409; Rosenberg, Mah and
    Iordache, Ind. Eng. Chem. Res. 26 (1987) 555 (serial elimination).
    """
    found: list[NamedError] = []
    d, e = np.array(directions, dtype=np.float64), np.array(imbalances, dtype=np.float64)
    first = np.linalg.norm(d, axis=0)
    open_to = first > 0
    while len(found) < min(most, len(e)):
        size = np.linalg.norm(d, axis=0)
        # what the named ones left nothing of cannot be tested any more
        open_to &= size > 1e-6 * first
        if not open_to.any():
            break
        unit = np.where(open_to, d / np.where(open_to, size, 1.0), 0.0)
        tests = np.abs(e @ unit)
        order = _order(tests, unit, tests / np.where(open_to, size, np.inf) / own_u)
        best = order[0]
        chance = chance_of_largest(unit[:, open_to], float(tests[best]))
        if chance >= significance:
            break
        alike = [i for i in order[1:] if open_to[i] and tests[best] ** 2 - tests[i] ** 2 <= alike_within]
        error = float(e @ unit[:, best] / size[best])
        along = unit[:, best].copy()
        found.append(
            NamedError(best, float(tests[best]), chance, error, float(1.0 / size[best]), tuple(alike), along)
        )  # fmt: skip
        d = d - np.outer(along, along @ d)
        open_to = open_to.copy()
        open_to[best] = False
    return tuple(found)


def _order(tests: Floats, unit: Floats, in_own_u: Floats) -> list[int]:
    """Candidates by their tests; those of one direction by the size of the error that they would need."""
    order = sorted(range(len(tests)), key=lambda i: -tests[i])
    best = order[0]
    same = [i for i in order if abs(float(unit[:, i] @ unit[:, best])) >= _ONE_DIRECTION]
    same.sort(key=lambda i: in_own_u[i])
    return [*same, *(i for i in order if i not in same)]


def chance_of_largest(unit: Floats, test: float) -> float:
    """Chance that the largest of several tests is at least so large when nothing is wrong.

    unit : directions of the tests, shape (f, n), each of length 1.
    """
    from scipy.special import erfc

    single = float(erfc(test / 2**0.5))
    if unit.shape[1] == 1 or unit.shape[0] == 1 or single == 0.0:
        return single
    bound = min(1.0, single * unit.shape[1])
    # where simulation has too few cases, the bound of Bonferroni is close
    return bound if bound < 1e-3 else float(np.mean(_largest(unit) >= test))


def critical_test(unit: Floats, significance: float) -> float:
    """Size of the largest test that is exceeded with the given chance when nothing is wrong."""
    from scipy.special import ndtri

    if unit.shape[1] == 1 or unit.shape[0] == 1:
        return float(-ndtri(significance / 2))
    return float(np.quantile(_largest(unit), 1.0 - significance))


def detectable(directions: Floats, significance: float) -> Floats:
    """Size of an error of each candidate that is named 95 times of 100, NaN where none is; shape (n,).

    Narasimhan and Jordache (2000), chapter 7: the test of an error is normal about the error over its standard
    deviation.
    """
    size = np.linalg.norm(directions, axis=0)
    known = size > 0
    if not known.any():
        return np.full(len(size), np.nan)
    critical = critical_test(directions[:, known] / size[known], significance)
    return np.where(known, (critical + POWER) / np.where(known, size, 1.0), np.nan)


def _largest(unit: Floats) -> Floats:
    drawn = np.random.default_rng(1987).standard_normal((_DRAWS, unit.shape[0]))
    return np.asarray(np.abs(drawn @ unit).max(axis=1))
