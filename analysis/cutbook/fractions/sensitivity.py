"""How much a cut changes when its limits are drawn where others draw them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cutbook.fractions.cut_schemes import cut_scheme, scheme_names
from cutbook.model.cuts import Cut, CutLimits, CutScheme, Sensitivity


@dataclass(frozen=True)
class SensitivitySettings:
    """Which other limits are tried: those of the published schemes this near to one's own (°C, carbon numbers)."""

    within_c: float = 35.0
    within_carbons: float = 3.0


def customary_limits(
    scheme: CutScheme, settings: SensitivitySettings = SensitivitySettings()
) -> dict[float, tuple[float, ...]]:
    """Other people's places for each inner limit of a scheme.

    Parameters
    ----------
    scheme : one's own. settings : see `SensitivitySettings`.

    Returns
    -------
    dict
        Upper limit of a cut -> the upper limits of cuts in the reference schemes of the same kind that lie near
        it, its own included, rising.
    """
    within = settings.within_carbons if scheme.kind == "carbon number" else settings.within_c
    others = {
        cut.upper
        for other in map(cut_scheme, scheme_names())
        if other.kind == scheme.kind
        for cut in other.cuts
        if math.isfinite(cut.upper)
    }
    inner = [cut.upper for cut in scheme.cuts if math.isfinite(cut.upper)]
    found = {}
    for limit in inner:
        # a limit of another scheme stands in for the nearest of one's own only
        near = {other for other in others if abs(other - limit) <= within
                and min(inner, key=lambda own: abs(own - other)) == limit}  # fmt: skip
        found[limit] = tuple(sorted(near | {limit}))
    return found


def cut_sensitivity(
    scheme: CutScheme,
    cuts: Sequence[Cut],
    share: Callable[[float, float], float | None],
    settings: SensitivitySettings = SensitivitySettings(),
) -> tuple[Sensitivity, ...]:
    """The sensitivity line beside each headline cut.

    Parameters
    ----------
    scheme : the headline scheme. cuts : its cuts of one sample.
    share : % of the sample between two limits of the scheme's kind (lower, upper), None outside the ladder.
    settings : see `SensitivitySettings`.

    Returns
    -------
    tuple of Sensitivity
        For every cut that has a value: each limit moved to every customary place, and both moved as far in and out.
    """
    limits = customary_limits(scheme, settings)
    step = 1.0 if scheme.kind == "carbon number" else 0.0
    found = []
    for own in scheme.cuts:
        cut = next(cut for cut in cuts if cut.cut == own.cut)
        if cut.mass.value is None:
            continue
        lowers = [edge + step for edge in limits[own.lower - step]] if own.lower - step in limits else [own.lower]
        uppers = list(limits.get(own.upper, (own.upper,)))
        # one limit moved at a time, then both at once, as far in and as far out as anybody draws them
        pairs = [(lower, own.upper) for lower in lowers] + [(own.lower, upper) for upper in uppers]
        pairs += [(lowers[-1], uppers[0]), (lowers[0], uppers[-1])]
        variants = []
        for lower, upper in dict.fromkeys(pairs):
            value = share(lower, upper) if lower < upper else None
            if value is not None:
                variants.append((CutLimits(own.cut, lower, upper).text(scheme.kind), value))
        if len(variants) > 1:
            values = [value for _, value in variants]
            found.append(Sensitivity(cut.scheme, cut.cut, cut.mass.value, min(values), max(values), tuple(variants)))
    return tuple(found)
