"""Tests of a signal that has been found: ratio along the peak, shape, apex of each ion, blank; and its picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chlorine.along_peak import AlongPeakSettings, along_peak
from cutbook.chlorine.look import Look
from cutbook.chlorine.verdict import isotope_chance, third_ion
from cutbook.model.chlorine import Evidence, Outcome, ScreenedTarget, TargetSignal
from cutbook.model.trace import Floats


@dataclass(frozen=True)
class SignalTestSettings:
    """How the tests that may hold back "confirmed" are read.

    least_shape : correlation of the quantifier, neighbours taken away, with the shape of the run's peaks; asked of
        signals above `shape_from` uncertainties.
    summed_reach : to each side of the apex, in full widths, over which an area is summed scan by scan; 1.3 holds all of
        a peak. summed_excess : by which it may then miss that of the fitted shape, relative, before the peak is taken
        for one of another form; 0.05. An overloaded column makes such peaks.
    apex_scans : by which the apex of a partner or third ion may miss that of the tallest, beyond three uncertainties.
    blank_share : of the sample's area that the blank may show at the same time.
    index_spread : standard uncertainties of the index beyond which the distance speaks against it.
    """

    least_shape: float = 0.85
    shape_from: float = 12.0
    summed_reach: float = 1.3
    summed_excess: float = 0.05
    apex_scans: float = 1.0
    blank_share: float = 0.3
    index_spread: float = 2.5


@dataclass(frozen=True, eq=False)
class TestedSignal:
    """A signal with its tests and its picture; `excess` by which its area surely misses that of the
    fitted shape, relative, 0 for most."""

    evidence: tuple[Evidence, ...]
    signal: TargetSignal
    excess: float

    @property
    def held_back(self) -> bool:
        """Whether any of the tests speaks against it."""
        return any(one.outcome == "against" for one in self.evidence)


def test_signal(
    seen: Look,
    at: tuple[int, int],
    limit_area: float | None,
    along: AlongPeakSettings,
    settings: SignalTestSettings = SignalTestSettings(),
) -> TestedSignal:
    """Look at a signal scan by scan.

    Parameters
    ----------
    seen : the window. at : the position. limit_area : of the tallest cluster ion, for the picture.
    along : how ratios scan by scan are read.
    """
    piece = at[0]
    ions, view = seen.ions, seen.view
    rows = seen.pieces.rows()[piece]
    time = view.matrix.time_min[rows]
    shape = seen.design.shapes[piece, :, at[1]]
    areas, _ = seen.reading(at)
    heights, variance = seen.heights[piece], areas.variance[piece]
    own_area = np.where(seen.ions.share > 0, areas.area[at], 0.0)
    scans = along_peak(seen.heights, areas, seen.design, (np.array([at[0]]), np.array([at[1]])), ions, along)
    matrix = scans.matrix[0]
    rest = heights - matrix
    evidence = _of_areas(seen, at)
    ratio_told: Outcome = (
        "against" if scans.chance[0] < along.least_chance else "for" if scans.scans[0] >= 4 else "open"
    )
    evidence.append(
        Evidence("ratio along the peak", ratio_told, float(scans.misfit[0]), 1.0, None, f"{int(scans.scans[0])} scans")
    )
    evidence += _shape(rest, variance, shape, seen, at, settings)
    summed, excess = _summed(rest, variance, shape, time, seen, at, settings)
    evidence.append(summed)
    evidence += _apex(rest, variance, shape, time, seen, at, settings)
    base, partner = ions.cluster[0], ions.cluster[1]
    enough = rest[:, base] > 3.0 * np.sqrt(variance[:, base])
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(enough, rest[:, partner] / rest[:, base], np.nan)
        u_ratio = np.sqrt(variance[:, partner] + ratio**2 * variance[:, base]) / np.abs(rest[:, base])
    shown = np.concatenate([ions.cluster, ions.third])
    signal = TargetSignal(
        time, tuple(int(mz) for mz in ions.mz[shown]), heights[:, shown], matrix[:, shown],
        (shape[:, None] * own_area)[:, shown], ratio, np.where(enough, u_ratio, np.nan),
        float(ions.share[partner]), shape * (limit_area or 0.0) * float(ions.share[ions.quantifier]),
    )  # fmt: skip
    return TestedSignal(tuple(evidence), signal, excess)


def _of_areas(seen: Look, at: tuple[int, int]) -> list[Evidence]:
    """The rules on areas, as evidence."""
    (areas, judged), ions, rules = seen.reading(at), seen.ions, seen.rules
    z, z_partner = float(judged.z[at]), float(judged.z_partner[at])
    chance = isotope_chance(float(judged.misfit[at]), ions)
    there = z_partner >= rules.least_partner
    ratio: Outcome = (
        "for" if chance >= rules.isotope_chance and there else "against" if chance < rules.isotope_chance else "open"
    )
    found = [
        Evidence("signal", "for" if z >= rules.least_signal else "open", z, rules.least_signal, None, "u"),
        Evidence(
            "isotope ratio", ratio, _number(judged.ratio[at]), float(ions.share[ions.cluster[1]]),
            _number(judged.u_ratio[at]),
        ),
        Evidence("isotope pattern", ratio, chance, rules.isotope_chance),
        Evidence("partner ions", "for" if there else "open", z_partner, rules.least_partner, None, "u"),
    ]  # fmt: skip
    if len(ions.third):
        share, z_third = third_ion(areas.area[at], areas.u_area[at], ions, float(judged.cluster[at]), rules)
        missing = bool(judged.missing_third[at])
        outcome: Outcome = "against" if missing else "for" if z_third >= rules.least_third else "open"
        found.append(
            Evidence(
                "third ion",
                outcome,
                _number(share),
                1.0,
                _number(share / z_third) if z_third else None,
            )
        )
    if len(ions.beside):
        beside = float(judged.beside[at])
        outcome = "against" if beside >= rules.beside_spread else "for" if judged.beside_told[at] else "open"
        found.append(Evidence("neighbour ions", outcome, beside, rules.beside_spread, None, "u"))
    free = float(seen.strict_areas.free[at][ions.cluster[0]])
    found.append(Evidence("own shape", "for" if free >= rules.own_shape else "open", free, rules.own_shape))
    return found


def _shape(
    rest: Floats, variance: Floats, shape: Floats, seen: Look, at: tuple[int, int], settings: SignalTestSettings
) -> list[Evidence]:
    """Correlation of the tallest cluster ion with the shape of the run's peaks over the peak and its feet."""
    on = shape > 0.01 * shape.max()
    base = seen.ions.cluster[0]
    if on.sum() < 4:
        return [Evidence("peak shape", "open")]
    found, expected = (one[on] - one[on].mean() for one in (rest[:, base], shape))
    spread = float(np.sqrt((found @ found) * (expected @ expected)))
    if spread <= 0:
        return [Evidence("peak shape", "open")]
    likeness = float(found @ expected) / spread
    strong = float(seen.reading(at)[1].z[at]) >= settings.shape_from
    outcome: Outcome = "for" if likeness >= settings.least_shape else "against" if strong else "open"
    return [Evidence("peak shape", outcome, likeness, settings.least_shape)]


def leans(screened: ScreenedTarget) -> bool:
    """Whether a signal surely holds more or less than its fitted shape, as a peak of an overloaded column does."""
    return any(one.test == "summed area" and one.outcome == "open" and one.found for one in screened.evidence)


def _summed(
    rest: Floats, variance: Floats, shape: Floats, time: Floats, seen: Look, at: tuple[int, int],
    settings: SignalTestSettings,
) -> tuple[Evidence, float]:  # fmt: skip
    """The tallest cluster ion summed over the peak against its fitted shape, and by how much it surely misses it."""
    base, interval = seen.ions.cluster[0], seen.view.interval_min
    apex = float(seen.view.matrix.time_min[seen.scan(at)])
    near = np.abs(time - apex) <= settings.summed_reach * seen.view.width_scans(apex) * interval
    fitted = float(seen.reading(at)[0].area[at][base] * shape[near].sum() * interval)
    if fitted <= 0:
        return Evidence("summed area", "open"), 0.0
    ratio = float(rest[near, base].sum()) * interval / fitted
    u = float(np.sqrt(variance[near, base].sum())) * interval / fitted
    off = abs(ratio - 1.0)
    sure = off > max(settings.summed_excess, 3.0 * u)
    return Evidence("summed area", "open" if sure else "for", ratio, 1.0, u), off if sure else 0.0


def _apex(
    rest: Floats, variance: Floats, shape: Floats, time: Floats, seen: Look, at: tuple[int, int],
    settings: SignalTestSettings,
) -> list[Evidence]:  # fmt: skip
    """By how many scans the apexes of partner and third ions miss that of the tallest cluster ion, at worst."""
    ions = seen.ions
    area, u_area = (one[at] for one in (seen.reading(at)[0].area, seen.reading(at)[0].u_area))
    slope = np.gradient(shape, time)
    interval = seen.view.interval_min

    def lag(column: int) -> tuple[float, float]:
        weight = 1.0 / variance[:, column]
        own = float(area[column])
        bent = float((weight * slope**2).sum())
        later = -float((weight * (rest[:, column] - own * shape) * slope).sum()) / (bent * own)
        return later / interval, 1.0 / (np.sqrt(bent) * own) / interval

    if float(area[ions.cluster[0]]) < 5.0 * float(u_area[ions.cluster[0]]):
        return [Evidence("apex", "open")]
    base, u_base = lag(int(ions.cluster[0]))
    worst, outcome, u_worst = 0.0, "open", None
    for column in (*ions.cluster[1:], *ions.third):
        if area[column] < 5.0 * u_area[column]:
            continue
        late, u_late = lag(int(column))
        u = float(np.hypot(u_base, u_late))
        if outcome == "open":
            outcome = "for"
        if abs(late - base) > abs(worst):
            worst, u_worst = late - base, u
        if abs(late - base) > settings.apex_scans + 3.0 * u and column in ions.cluster:
            outcome = "against"
    return [Evidence("apex", outcome, worst, 0.0, u_worst, "scans")]  # type: ignore[arg-type]


def _number(value: object) -> float | None:
    number = float(value)  # type: ignore[arg-type]
    return number if np.isfinite(number) else None
