"""Name why a still and a trace part: each reason foretells its own pattern of differences."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from cutbook.fractions import culprit_patterns as patterns
from cutbook.fractions import solvent_patterns as solvents
from cutbook.fractions.compared_pair import Pair
from cutbook.fractions.culprit_patterns import CulpritSettings, Trial
from cutbook.fractions.still_circumstances import Circumstances
from cutbook.model.agreement import Suspect

REASONS: tuple[Callable[[Pair, Circumstances, CulpritSettings], Iterator[Trial]], ...] = (
    patterns.ladder,
    patterns.barometer,
    patterns.losses,
    patterns.mass_or_volume,
    patterns.cracking,
    patterns.not_eluted,
    solvents.solvent_in_still,
    solvents.hidden_by_solvent,
    solvents.solvent_in_trace,
)
"""Every reason that is tried; a trial of its own for each size."""


def suspects(pair: Pair, around: Circumstances, settings: CulpritSettings) -> tuple[Suspect, ...]:
    """Every reason that explains the differences better than none, best first.

    Parameters
    ----------
    pair : both curves. around : what else is known. settings : see there.

    Returns
    -------
    tuple of Suspect
        Each reason once, at its best size; `named` tells which of them may be named.

    Notes
    -----
    A reason with one parameter θ foretells the still's curve f(θ); its gain is ``χ²(d) − min_θ [χ²(d − f(θ)) +
    cost(θ)]`` with the covariance of still, trace and conversion in χ², so that what the conversion may itself be off
    by, level, tilt and bend, is no evidence for anything.
    """
    nothing = pair.weighed_squares(pair.still_c - pair.trace_c) + _closing(around, None, settings)
    found: dict[str, Suspect] = {}
    for reason in REASONS:
        for trial in reason(pair, around, settings):
            foretold = np.where(np.isfinite(trial.foretold_c), trial.foretold_c, pair.trace_c)
            left = pair.weighed_squares(pair.still_c - foretold) + _closing(around, trial.gap, settings)
            gain = nothing - left - trial.cost
            if gain > 0 and (trial.code not in found or gain > found[trial.code].gain):
                found[trial.code] = Suspect(trial.code, trial.size, trial.unit, gain, trial.odd_one, trial.evidence)
    return tuple(sorted(found.values(), key=lambda one: -one.gain))


def named(found: Sequence[Suspect], settings: CulpritSettings) -> tuple[Suspect, ...]:
    """The reasons that explain enough, and about equally well: one is named, several cannot be told apart."""
    if not found or found[0].gain < settings.least_gain:
        return ()
    return tuple(one for one in found if found[0].gain - one.gain < settings.least_lead)


def _closing(around: Circumstances, expected: float | None, settings: CulpritSettings) -> float:
    """How much the closure of the distillation speaks against what is expected to be missing from it."""
    if around.gap is None:
        return 0.0
    apart = around.gap - (around.usual_gap if expected is None else expected)
    return float(min((apart / np.hypot(settings.u_closing, around.u_gap)) ** 2, settings.most_closing))
