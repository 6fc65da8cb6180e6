"""Weigh the independent signs that speak for one numbering of a ladder or another.

A ladder that is off by one carbon shifts every carbon number, every cut and every boiling point, and
nothing later in the work-up would notice. So no numbering is taken on one sign alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.identification.spacing import SpacingSettings, spacing_trend
from cutbook.model.errors import LadderError
from cutbook.model.ladder import Sign
from cutbook.model.tables import reference
from cutbook.model.trace import Floats

AGREES_WITHIN = 0.75
"""Carbons: a spacing shift up to this agrees with a numbering (1.5 of its standard uncertainty)."""
CONTRADICTS_BEYOND = 1.75
"""Carbons: a spacing shift beyond this contradicts it (3.5 of its standard uncertainty)."""
DOUBLED = (1.5, 2.7)
"""Area of a doubled rung against its neighbours: twice, with room for discrimination."""
SOLVENT_WITHIN = 0.5
"""Carbons: agreement of a solvent's place with its retention index."""


@dataclass(frozen=True, eq=False)
class Evidence:
    """What was seen of a ladder.

    times_min, areas : of the rungs, ascending in time. steps : carbons between neighbours by spacing,
    None where that could not be told. declared : carbon numbers from the run sheet; overlooked_min :
    times of further peaks of the size of rungs. solvent,
    solvent_time_min : name and apex. known_carbon, known_time_min : a peak known from elsewhere.
    """

    file: str
    times_min: Floats
    areas: Floats
    steps: tuple[int, ...] | None
    declared: tuple[int, ...]
    overlooked_min: tuple[float, ...]
    solvent: str
    solvent_time_min: float | None
    known_carbon: int
    known_time_min: float


def numberings(evidence: Evidence, spacing: SpacingSettings) -> tuple[tuple[int, ...], ...]:
    """The numberings worth weighing.

    With declared carbons only those are weighed. Otherwise the steps counted from the spacing are
    anchored by the known peak, the doubled rungs or the spacing trend, in this order.
    """
    if evidence.declared:
        return (evidence.declared,)
    if evidence.steps is None:
        return ()
    relative = np.concatenate([[0], np.cumsum(evidence.steps)])
    starts: list[int] = []
    if evidence.known_carbon:
        nearest = int(np.argmin(np.abs(evidence.times_min - evidence.known_time_min)))
        starts.append(evidence.known_carbon - int(relative[nearest]))
    doubled = doubled_rungs(evidence.areas)
    if doubled:
        starts += [10 * k - int(relative[doubled[0]]) for k in range(1, 7)]
    for start in range(1, 41):
        trend = spacing_trend(tuple(int(n) for n in relative + start), evidence.times_min, spacing)
        if trend is not None and abs(trend.shift) <= AGREES_WITHIN:
            starts.append(start)
    return tuple(tuple(int(n) for n in relative + start) for start in dict.fromkeys(starts) if start >= 1)


def weigh(
    evidence: Evidence, candidates: tuple[tuple[int, ...], ...], spacing: SpacingSettings
) -> tuple[tuple[int, ...], tuple[Sign, ...]]:
    """The one numbering that two independent signs support, with all signs.

    Raises
    ------
    LadderError
        When none or more than one has that support. What each sign said is in the message.
    """
    judged = [(carbons, signs_for(carbons, evidence, spacing)) for carbons in candidates]
    accepted = [(carbons, signs) for carbons, signs in judged if _supported(signs)]
    if len(accepted) == 1:
        return accepted[0]
    if not judged:
        seen = f"{len(evidence.times_min)} rungs with a spacing too irregular to count missing carbons"
    elif len(accepted) > 1:
        seen = (
            "numberings from " + " and from ".join(f"C{carbons[0]}" for carbons, _ in accepted) + " equally supported"
        )
    else:
        carbons, signs = max(judged, key=lambda item: _score(item[1]))
        seen = f"numbering C{carbons[0]}–C{carbons[-1]} with " + "; ".join(
            f"{sign.name}: {sign.verdict} ({sign.seen})" for sign in signs
        )
    raise LadderError.single(
        evidence.file,
        "ladder numbering",
        seen,
        "two independent signs that agree (declared carbons, gap pattern, doubled C10/C20/C30, spacing trend, "
        "solvent, known peak)",
        "Check ladder_carbons in the run sheet; if it is right, name one peak you are sure of in method.toml: "
        "[ladder.known_peak] carbon = 16, time_min = 18.19",
    )


def _supported(signs: tuple[Sign, ...]) -> bool:
    agree = [sign for sign in signs if sign.verdict == "agrees"]
    against = [sign for sign in signs if sign.verdict == "contradicts"]
    firm_against = [sign for sign in against if sign.name != "spacing trend"]
    confirmed = any(sign.name == "known peak" for sign in agree)
    if firm_against and not confirmed:
        return False
    # the spacing trend is the least certain sign: two others outvote it
    return len(agree) >= 2


def _score(signs: tuple[Sign, ...]) -> int:
    return sum({"agrees": 1, "contradicts": -1, "cannot tell": 0}[sign.verdict] for sign in signs)


def signs_for(carbons: tuple[int, ...], evidence: Evidence, spacing: SpacingSettings) -> tuple[Sign, ...]:
    """What each independent sign says about a numbering."""
    signs = []
    if evidence.declared:
        signs.append(_declared(carbons, evidence))
        signs.append(_gap_pattern(carbons, evidence))
    signs.append(_doubled(carbons, evidence))
    signs.append(_spacing(carbons, evidence, spacing))
    if evidence.solvent:
        signs.append(_solvent(carbons, evidence))
    if evidence.known_carbon:
        signs.append(_known(carbons, evidence))
    return tuple(signs)


def _declared(carbons: tuple[int, ...], evidence: Evidence) -> Sign:
    if evidence.overlooked_min:
        more = ", ".join(f"{t:.2f} min" for t in evidence.overlooked_min)
        return Sign(
            "declared carbons", "contradicts", f"{len(carbons)} declared, but more peaks of that size at {more}"
        )
    return Sign("declared carbons", "agrees", f"{len(carbons)} declared, {len(evidence.times_min)} rungs found")


def doubled_rungs(areas: Floats) -> tuple[int, ...]:
    """Positions of rungs about twice as large as their neighbours (areas in order of elution)."""
    found = []
    for index in range(len(areas)):
        near = [areas[j] for j in (index - 2, index - 1, index + 1, index + 2) if 0 <= j < len(areas)]
        if len(near) >= 2 and DOUBLED[0] <= areas[index] / float(np.median(near)) <= DOUBLED[1]:
            found.append(index)
    return tuple(found)


def _doubled(carbons: tuple[int, ...], evidence: Evidence) -> Sign:
    found = [carbons[index] for index in doubled_rungs(evidence.areas)]
    if not found:
        return Sign("doubled peaks", "cannot tell", "no rung stands out as doubled")
    seen = "doubled: " + ", ".join(f"C{n}" for n in found)
    if all(n % 10 == 0 for n in found):
        return Sign("doubled peaks", "agrees", seen)
    # a pattern with the period of ten is the maker's mark; anything else may be chance
    if len({n % 10 for n in found}) == 1:
        return Sign("doubled peaks", "contradicts", seen + "; ladder mixtures double C10, C20, C30")
    return Sign("doubled peaks", "cannot tell", seen)


def _gap_pattern(carbons: tuple[int, ...], evidence: Evidence) -> Sign:
    declared = tuple(int(step) for step in np.diff(carbons))
    if evidence.steps is None:
        per_carbon = np.diff(evidence.times_min) / np.array(declared)
        ratio = per_carbon[1:] / per_carbon[:-1]
        worst = int(np.argmax(np.abs(np.log(ratio))))
        if not 0.6 <= ratio[worst] <= 1.6:
            where = f"C{carbons[worst]}–C{carbons[worst + 2]}"
            return Sign("gap pattern", "contradicts", f"spacing per carbon jumps by {ratio[worst]:.2f} at {where}")
        return Sign("gap pattern", "cannot tell", "spacing too irregular to count missing carbons")
    multiples = {a / b for a, b in zip(declared, evidence.steps, strict=True)}
    if len(multiples) > 1 or multiples.pop() % 1:  # every second carbon throughout looks like every carbon
        at = next(i for i, (a, b) in enumerate(zip(declared, evidence.steps, strict=True)) if a != b)
        return Sign(
            "gap pattern",
            "contradicts",
            f"after C{carbons[at]} the spacing shows {evidence.steps[at]} carbons, declared are {declared[at]}",
        )
    if max(declared) == min(declared):
        return Sign("gap pattern", "cannot tell", "no carbon is missing, so a shift would look the same")
    return Sign("gap pattern", "agrees", f"missing carbons where declared, {sum(s > 1 for s in declared)} gaps")


def _spacing(carbons: tuple[int, ...], evidence: Evidence, settings: SpacingSettings) -> Sign:
    trend = spacing_trend(carbons, evidence.times_min, settings)
    if trend is None:
        return Sign("spacing trend", "cannot tell", "too few rungs inside one ramp, or no single ramp")
    seen = f"fits best when shifted by {trend.shift:+.1f} ± {trend.u:.1f} carbons"
    if abs(trend.shift) <= AGREES_WITHIN:
        return Sign("spacing trend", "agrees", seen)
    if abs(trend.shift) > CONTRADICTS_BEYOND:
        return Sign("spacing trend", "contradicts", seen)
    return Sign("spacing trend", "cannot tell", seen)


def _solvent(carbons: tuple[int, ...], evidence: Evidence) -> Sign:
    row = find_by_name("solvents", evidence.solvent)
    if row is None or evidence.solvent_time_min is None:
        return Sign("solvent", "cannot tell", f"no place known or seen for {evidence.solvent}")
    due = float(row["retention_index"]) / 100
    if due < carbons[0] - 2.5:
        return Sign("solvent", "cannot tell", f"{row['name']} elutes too far before the first rung")
    t, n = evidence.times_min, np.array(carbons, dtype=float)
    time = evidence.solvent_time_min
    if time >= t[0]:
        place = float(np.interp(time, t, n))
    else:  # up to 2.5 carbons before the first rung, with the change of the first two spacings
        first, second = (t[1] - t[0]) / (n[1] - n[0]), (t[2] - t[1]) / (n[2] - n[1])
        before = first * float(np.clip(first / second, 0.6, 1.2))
        place = float(n[0] - (t[0] - time) / before)
    seen = f"{row['name']} elutes at {place:.1f} carbons, due at {due:.1f}"
    if abs(place - due) <= SOLVENT_WITHIN and due >= carbons[0] - 1.5:
        return Sign("solvent", "agrees", seen)
    return Sign("solvent", "contradicts" if SOLVENT_WITHIN < abs(place - due) < 3 else "cannot tell", seen)


def _known(carbons: tuple[int, ...], evidence: Evidence) -> Sign:
    nearest = int(np.argmin(np.abs(evidence.times_min - evidence.known_time_min)))
    off = abs(float(evidence.times_min[nearest]) - evidence.known_time_min)
    seen = f"C{evidence.known_carbon} stated at {evidence.known_time_min:g} min, rung there is C{carbons[nearest]}"
    if off > 0.15 * float(np.median(np.diff(evidence.times_min))):
        return Sign("known peak", "cannot tell", f"no rung at {evidence.known_time_min:g} min")
    return Sign("known peak", "agrees" if carbons[nearest] == evidence.known_carbon else "contradicts", seen)


def find_by_name(table: str, name: str) -> dict[str, str] | None:
    """A row of a reference table by its name or one of its aliases, case ignored."""
    wanted = name.strip().casefold()
    for row in reference(table).rows:
        names = [row["name"], *row["aliases"].split("|")]
        if wanted in (n.strip().casefold() for n in names if n):
            return dict(row)
    return None
