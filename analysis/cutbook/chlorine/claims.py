"""Give each signal to one compound: isomers have the same ions and are told apart by their place alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutbook.chlorine.run_view import RunView
from cutbook.model.chlorine import Target

_LEVEL_WORTH = 4.0  # a confirmed signal outweighs an indicated one that is two standard uncertainties nearer
# Of what is indicated in simulated oils without chlorine the share above z falls about as z^-1.4; what is there may be
# as large as it likes: the logarithm of the ratio of their chances speaks for the larger signal.
_SIZE_WORTH = 1.4


@dataclass(frozen=True)
class Claim:
    """A target's claim to a signal.

    target : its number. at : position in its window. scan : of the apex. level, z : see `verdict`.
    distance : from where it is expected, in standard uncertainties. unlike : chi-square of its further ions.
    """

    target: int
    at: tuple[int, int]
    scan: int
    level: int
    z: float
    distance: float
    unlike: float = 0.0


def settle_claims(
    claims: Sequence[Claim], targets: Sequence[Target], view: RunView
) -> dict[int, tuple[tuple[int, int] | None, tuple[str, ...]]]:
    """Which signal belongs to which target.

    Parameters
    ----------
    claims : every signal that passed the rules in some target's window. targets : all of them. view : the run.

    Returns
    -------
    dict
        For each target that claims anything: the position it is given, None when others have better claims to all of
        its signals; and the names of the targets that claim one of them too.

    Notes
    -----
    Signals nearer than half a width at half height are one, when the targets share ions of their clusters. The
    assignment makes the sum of the squared distances and of the misfits of further ions least, less what the size of a
    signal and a verdict are worth; the more signals have an owner the better. Compounds of one spectrum see one signal
    alike, so that the surest of their readings counts for all.
    """
    from scipy.optimize import linear_sum_assignment

    if not claims:
        return {}
    signals = _signals(claims, targets, view)
    numbers = sorted({claim.target for claim in claims})
    row = {number: place for place, number in enumerate(numbers)}
    cost = np.full((len(numbers), len(signals) + len(numbers)), 60.0)
    best: dict[tuple[int, int], Claim] = {}
    for column, signal in enumerate(signals):
        for claim in signal:
            group = targets[claim.target].group
            level = max(other.level for other in signal if targets[other.target].group == group)
            size = float(np.log(max(1.0, *(other.z for other in signal))))
            price = 0.5 * (claim.distance**2 + claim.unlike) - _LEVEL_WORTH * (level - 1) - _SIZE_WORTH * size
            if price < cost[row[claim.target], column]:
                cost[row[claim.target], column] = price
                best[claim.target, column] = claim
    rows, columns = linear_sum_assignment(cost)
    given = {numbers[r]: int(c) for r, c in zip(rows, columns, strict=True) if c < len(signals)}
    settled: dict[int, tuple[tuple[int, int] | None, tuple[str, ...]]] = {}
    for number in numbers:
        own_column = given.get(number)
        own = best.get((number, own_column)) if own_column is not None else None
        wanted = [c for c, signal in enumerate(signals) if any(claim.target == number for claim in signal)]
        asked = [own_column] if own is not None and own_column is not None else wanted
        rivals = {claim.target for c in asked for claim in signals[c] if claim.target != number}
        settled[number] = (own.at if own is not None else None, tuple(sorted(targets[one].name for one in rivals)))
    return settled


def _signals(claims: Sequence[Claim], targets: Sequence[Target], view: RunView) -> list[list[Claim]]:
    """Claims that are to one signal."""
    clusters = [{ion.mz for ion in target.ions if ion.role != "qualifier"} for target in targets]
    signals: list[list[Claim]] = []
    for claim in sorted(claims, key=lambda one: -one.z):
        time = float(view.matrix.time_min[claim.scan])
        near = max(0.5 * view.width_scans(time), 1.0)
        for signal in signals:
            first = signal[0]
            if abs(first.scan - claim.scan) <= near and clusters[first.target] & clusters[claim.target]:
                signal.append(claim)
                break
        else:
            signals.append([claim])
    return signals
