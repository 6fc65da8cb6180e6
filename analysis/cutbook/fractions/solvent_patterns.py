"""What a still would read if a solvent were in it, in the trace, or hid light ends of the trace."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from cutbook.fractions.compared_pair import Pair, level_stretch
from cutbook.fractions.culprit_patterns import CulpritSettings, Trial
from cutbook.fractions.curve_in_kind import Simulated
from cutbook.fractions.still_circumstances import Circumstances
from cutbook.model.agreement import Evidence
from cutbook.model.boiling import FINAL, INITIAL
from cutbook.model.tables import reference
from cutbook.model.trace import Floats


def solvent_in_still(pair: Pair, around: Circumstances, settings: CulpritSettings) -> Iterator[Trial]:
    """The oil in the still held a solvent that the trace does not show."""
    if pair.starts_below_c() < settings.least_start_c:
        return
    breaks = pair.breaks_within() <= settings.most_break
    for row in reference("solvents").rows:
        boils = float(row["boiling_c"])
        declared = row["name"] == pair.known_solvent
        if not declared and not breaks and not pair.stands_level(boils):
            continue
        for share in np.arange(settings.least_share, 32.0, 1.5):
            mixed = with_share(pair.simulated, boils, float(share))
            evidence = (
                (Evidence("solvent_declared", {"solvent": row["name"]}),)
                if declared
                else (Evidence("light_start", {"solvent": row["name"], "boils": round(boils)}),)
            )
            cost = settings.cost_supported if declared else settings.cost_solvent
            yield Trial("solvent", float(share), "%", pair.seen(mixed), cost, "still", evidence=evidence)


def hidden_by_solvent(pair: Pair, around: Circumstances, settings: CulpritSettings) -> Iterator[Trial]:
    """The peak of the declared solvent hides light ends of the oil, which the still does find."""
    row = reference("solvents").by("name").get(pair.known_solvent)
    if row is None or not row["hides_carbons"] or pair.starts_below_c() < settings.least_start_c:
        return
    boiling = reference("n_alkanes").numbers("carbon_number", "boiling_c")
    hidden = [int(n) for n in row["hides_carbons"].split()]
    middle = 0.5 * (boiling[min(hidden) - 1] + boiling[max(hidden)])
    if pair.simulated(np.array([2.0]))[0] < boiling[max(hidden)] - 5.0:
        return  # the trace shows what should be hidden
    evidence = (Evidence("solvent_hides", {"solvent": row["name"], "first": min(hidden), "last": max(hidden)}),)
    for share in np.arange(settings.least_share, 25.0, 1.0):
        mixed = with_share(pair.simulated, middle, float(share))
        yield Trial("solvent", float(share), "%", pair.seen(mixed), settings.cost_supported, "trace",
                     evidence=evidence)  # fmt: skip


def solvent_in_trace(pair: Pair, around: Circumstances, settings: CulpritSettings) -> Iterator[Trial]:
    """The peak of a solvent was counted as oil: the trace stands level where the solvent elutes."""
    boiling = reference("n_alkanes").numbers("carbon_number", "boiling_c")
    carbons = sorted(boiling)
    for row in reference("solvents").rows:
        shown = float(np.interp(float(row["retention_index"]) / 100.0, carbons, [boiling[n] for n in carbons]))
        level = level_stretch(pair.simulated, shown)
        if level is None:
            continue
        start, end = level
        after = (pair.recovered > end) & (pair.recovered < end + 20.0)
        if not after.any() or float(np.mean((pair.still_c - pair.trace_c)[after])) < settings.least_after_c:
            continue  # the still would begin later and hotter
        share = end - start

        def without(recovered: Floats, start: float = start, share: float = share) -> Floats:
            of_all = np.maximum(recovered * (100.0 - share) / 100.0, INITIAL)
            return pair.simulated(np.where(of_all < start, of_all, of_all + share))

        # a large n-alkane may be the oil's own
        stands = float(pair.simulated(np.array([0.5 * (start + end)]))[0])
        own = share < settings.most_own and min(abs(stands - value) for value in boiling.values()) < 3.0
        cost = settings.cost_solvent if own else settings.cost_seen
        evidence = (Evidence("trace_level", {"solvent": row["name"], "share": round(share), "at": round(shown)}),)
        yield Trial("solvent", share, "%", pair.seen(without), cost, "trace",
                     evidence=evidence)  # fmt: skip


def with_share(simulated: Simulated, boils_c: float, share: float) -> Simulated:
    """The curve of the oil with a share, in %, of something that boils at one temperature."""
    grid = np.linspace(INITIAL, FINAL, 199)
    values = simulated(grid)
    lighter = float(np.interp(boils_c, values[np.isfinite(values)], grid[np.isfinite(values)], left=0.0))
    kept = (100.0 - share) / 100.0

    def mixed(recovered: Floats) -> Floats:
        before, after = recovered / kept, (recovered - share) / kept
        oil = simulated(np.where(before < lighter, before, np.maximum(after, INITIAL)))
        return np.asarray(np.where((before >= lighter) & (after < lighter), boils_c, oil))

    return mixed
