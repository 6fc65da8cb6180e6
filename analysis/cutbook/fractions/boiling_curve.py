"""Read the boiling curve of a sample off its trace and the boiling points of the ladder."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.chromatogram.signal_area import SliceAreas
from cutbook.fractions.method_ranges import ranges_of
from cutbook.model.amount import Amount, doubt, measured, nominal, standard_uncertainty
from cutbook.model.boiling import FINAL, INITIAL, BoilingCurve, CurvePoint
from cutbook.model.cautions import Caution, caution
from cutbook.model.ladder import Ladder
from cutbook.model.lineage import Step
from cutbook.model.peaks import PeakTable
from cutbook.model.result import Result
from cutbook.model.tables import reference
from cutbook.model.trace import Floats
from cutbook.quantitation.internal_standard import FoundStandard
from cutbook.quantitation.mass_slices import MassSlices, ResponseSettings
from cutbook.quantitation.response import alkane_response

RECOVERED = (INITIAL, *(float(percent) for percent in range(1, 100)), FINAL)
"""The points of the report: initial boiling point, every 1 %, final boiling point (ASTM D2887, section 13)."""
_WIDEST = 8.0
"""Half widths between the limits of a peak, at most, for all of it to be taken as one compound."""


@dataclass(frozen=True)
class BoilingCurveSettings:
    """How the curve is read.

    slices : equal slices of time; about 0.7 s in an hour, a fraction of any peak.
    u_within_peak : standard uncertainty of where in a peak its compounds boil, as a share of the peak's own standard
        deviation; a peak may hide two compounds that the column does not part, alkene and alkane of one carbon number
        at the light end above all.
    widest_peak : half widths of the peaks of the ladder thereabouts up to which a peak is taken for one compound;
        overload and pairs that the column does not part widen a peak to about twice, a rise of the hump is wider.
    table_matters_c : °C by which the other table of boiling points may move a point before it is told.
    """

    slices: int = 4000
    u_within_peak: float = 0.5
    widest_peak: float = 3.0
    table_matters_c: float = 1.0


@dataclass(frozen=True, eq=False)
class _Cumulative:
    """What has eluted up to each edge, and how far that may be off; all in area units of equal response.

    edges_min : shape (m + 1,). eluted : shape (m + 1,), from 0. variance : of noise, the same.
    doubts : (tag, change of `eluted` for one standard uncertainty), fully correlated along the curve.
    """

    edges_min: Floats
    eluted: Floats
    variance: Floats
    doubts: tuple[tuple[str, Floats], ...]


def boiling_curve(
    of: str,
    sliced: Callable[[Floats], SliceAreas],
    span_min: tuple[float, float],
    ladder: Ladder,
    peaks: PeakTable,
    slices: MassSlices,
    standard: FoundStandard | None,
    response: ResponseSettings,
    settings: BoilingCurveSettings = BoilingCurveSettings(),
) -> BoilingCurve:
    """The boiling curve of a sample.

    Parameters
    ----------
    of : name of the sample.
    sliced : the corrected areas between edges. span_min : first and last time of the signal.
    ladder : run under the same method. peaks : of the sample; all of a peak boils where its apex says.
    slices : the weighed slices of the sample, for scale and residue.
    standard : the internal standard, taken out of the curve; None when there is none.
    response, settings : see there.

    Returns
    -------
    BoilingCurve
        Temperature of each point with its uncertainty; a point is missing, never extrapolated, when it did not elute
        ("boiling.did_not_elute"), or boils before the first or after the last alkane of the ladder.

    Notes
    -----
    With F(t) the % of the sample eluted up to t and T(t) the boiling point on the scale of the ladder, linear between
    neighbouring n-alkanes, the point at p % is T(F⁻¹(p)). Within the limits of a peak T is that of its apex: the width
    of a peak is the column's, not the compound's. A doubt that changes F by δF moves the point by ``-δF dT/dF``; one of
    the retention times moves it by ``T' · δt``.

    References
    ----------
    ASTM D2887, Standard Test Method for Boiling Range Distribution of Petroleum Fractions by Gas Chromatography.
    """
    edges = np.unique(np.concatenate([np.linspace(*span_min, settings.slices + 1), np.asarray(slices.edges_min)]))
    eluted = _cumulative(sliced(edges), ladder, standard, response)
    percent, doubts = _in_percent(eluted, slices, standard, response)
    raised: list[Caution] = []
    basis = of if slices.residue is not None else f"eluted part of {of}"
    inputs = (slices.step, ladder.step, peaks.step)
    read_by = {"settings": settings, "response": response}
    points = []
    for recovered, (temperature, reason) in zip(
        RECOVERED, _temperatures(eluted, percent, doubts, ladder, peaks, slices, settings), strict=True
    ):
        measurand = f"boiling point at {recovered:g} %"
        step = Step("read boiling point/2", inputs=inputs, settings={"recovered": recovered, **read_by})
        if temperature is None:
            points.append(CurvePoint(recovered, Result.missing(measurand, "°C", basis, step, reason)))
        else:
            points.append(CurvePoint(recovered, Result(measurand, temperature, "°C", basis, step)))
    raised += _missing(of, points, ladder)
    raised += _scope(of, points)
    raised += _other_table(of, points, ladder, settings)
    step = Step("read boiling curve/2", inputs=inputs, settings=read_by, cautions=tuple(raised))
    return BoilingCurve(of, tuple(points), ladder.boiling_table, slices.residue is not None, step)


def _cumulative(
    areas: SliceAreas, ladder: Ladder, standard: FoundStandard | None, response: ResponseSettings
) -> _Cumulative:
    edges = areas.edges_min
    middle = 0.5 * (edges[1:] + edges[:-1])
    carbons = np.interp(middle, ladder.times_min, np.array(ladder.carbons, dtype=np.float64))
    numbers = range(ladder.carbons[0], ladder.carbons[-1] + 1)
    equal = response.basis == "equal mass response"
    by_number = {n: alkane_response(12 if equal else n) for n in numbers}
    each = np.array([by_number[n] for n in np.rint(carbons).astype(int).tolist()])
    masses = areas.areas / each
    if standard is not None:
        at = int(np.clip(np.searchsorted(edges, standard.peak.apex_min, side="right") - 1, 0, len(masses) - 1))
        masses = _without_peak(edges, masses, standard, at, each)
    doubts = [(tag, _running(change / each)) for tag, change in areas.by_doubt]
    blocks = ((np.rint(carbons).astype(int) - 1) // response.block_carbons).astype(int)
    for block in np.unique(blocks):
        first = block * response.block_carbons + 1
        tag = f"detector response C{first}–C{first + response.block_carbons - 1}"
        doubts.append((tag, response.u_class * _running(np.where(blocks == block, masses, 0.0))))
    return _Cumulative(edges, _running(masses), _running((areas.u_noise / each) ** 2), tuple(doubts))


def _without_peak(edges: Floats, masses: Floats, standard: FoundStandard, at: int, each: Floats) -> Floats:
    """The slices without the peak of the internal standard, taken out of those that it covers by their share."""
    peak = standard.peak
    covered = (edges[1:] > peak.front_min) & (edges[:-1] < peak.back_min)
    whole = float(masses[covered].sum())
    kept = masses.copy()
    if whole <= 0:
        kept[at] -= peak.area / each[at]
        return kept
    kept[covered] *= 1.0 - peak.area / float(each[at]) / whole
    return kept


def _running(values: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(values)])


def _in_percent(
    eluted: _Cumulative, slices: MassSlices, standard: FoundStandard | None, response: ResponseSettings
) -> tuple[Floats, list[tuple[Amount, Floats]]]:
    """F at every edge in % of the sample, and its doubts, each as a variable with its change of F."""
    whole = float(eluted.eluted[-1])
    scale = nominal(slices.scale) if standard is not None else 100.0 / whole
    percent = scale * eluted.eluted
    doubts = []
    for tag, change in eluted.doubts:
        of_whole = 0.0 if standard is not None else float(change[-1])
        doubts.append((doubt(tag), scale * (change - eluted.eluted / whole * of_whole)))
    if standard is not None:
        doubts.append((slices.scale / scale - 1.0, percent))
        doubts.append((doubt("detector response, all classes"), response.u_common * percent))
    return percent, doubts


def _temperatures(
    eluted: _Cumulative,
    percent: Floats,
    doubts: Sequence[tuple[Amount, Floats]],
    ladder: Ladder,
    peaks: PeakTable,
    slices: MassSlices,
    settings: BoilingCurveSettings,
) -> list[tuple[Amount | None, str]]:
    """Temperature of every point, or the reason why it has none."""
    edges, times, boiling = eluted.edges_min, ladder.times_min, np.asarray(ladder.boiling_c)
    peaks = _of_one_compound(peaks, ladder, settings)
    rising = np.maximum.accumulate(percent)  # noise about a quiet baseline may fall back a little
    at_min = _times(rising, edges)
    moved = np.array([np.interp(at_min, edges, change) for _, change in doubts])
    scale = float(percent[-1] / eluted.eluted[-1])
    noise = scale * _noise(eluted, np.searchsorted(edges, at_min), slices.residue is not None)
    sizes = np.array([standard_uncertainty(variable) for variable, _ in doubts])
    spread = np.sqrt(np.sum((moved * sizes[:, None]) ** 2, axis=0) + noise**2)
    # how a doubt of F turns into one of T: not by the tangent, since a little more or less of F may be a whole peak
    # earlier or later, but so that the interval of 95 % includes what the curve itself reaches over that of F
    boiling_at = np.interp(_at_apex(edges, peaks), times, boiling)
    boiling_here = np.interp(_at_apex(at_min, peaks), times, boiling)
    low, high = (np.interp(np.array(RECOVERED) + sign * spread, rising, boiling_at) for sign in (-2.0, 2.0))
    per_percent = np.maximum(high - boiling_here, boiling_here - low) / np.maximum(1.9 * spread, 1e-12)
    step = np.clip(np.searchsorted(times, at_min, side="right") - 1, 0, len(times) - 2)
    per_minute = np.diff(boiling)[step] / np.diff(times)[step]
    transfer = doubt("retention times of the ladder")
    within = settings.u_within_peak * _sigma(at_min, peaks)
    first, last = ladder.rungs[0].peak.front_min, ladder.rungs[-1].peak.back_min
    found: list[tuple[Amount | None, str]] = []
    for at, recovered in enumerate(RECOVERED):
        if recovered > rising[-1]:
            found.append((None, "boiling.did_not_elute"))
        elif not first <= at_min[at] <= last:
            found.append((None, "boiling.before_ladder" if at_min[at] < first else "boiling.beyond_ladder"))
        else:
            amount = measured(float(boiling_here[at]), float(per_percent[at] * noise[at]), "detector noise")
            amount = amount + float(per_minute[at]) * ladder.u_time_min * transfer
            amount = amount + measured(0.0, float(per_minute[at] * within[at]), "compounds within a peak")
            for (variable, _), change in zip(doubts, moved[:, at], strict=True):
                if change:
                    amount = amount - float(per_percent[at] * change) * variable
            found.append((amount, ""))
    return found


def _of_one_compound(peaks: PeakTable, ladder: Ladder, settings: BoilingCurveSettings) -> PeakTable:
    """The peaks without those that are much wider than the ladder's, which are rises of the hump."""
    known = [(rung.peak.apex_min, rung.peak.half_width_min) for rung in ladder.rungs if rung.peak.half_width_min]
    if not known:
        return peaks
    at, widths = (np.array(column) for column in zip(*known, strict=True))
    kept = [
        peak
        for peak in peaks
        if peak.half_width_min is None
        or peak.half_width_min <= settings.widest_peak * float(np.interp(peak.apex_min, at, widths))
    ]
    return PeakTable(tuple(kept), peaks.signal_unit, peaks.step)


def _at_apex(time_min: Floats, peaks: PeakTable) -> Floats:
    """Rising times with those inside a peak moved to its apex; what is too wide to be one compound stays as it is.

    The limits of a listed peak may reach over a neighbour; times never fall for that.
    """
    narrow = sorted(
        (
            peak
            for peak in peaks
            if peak.half_width_min is None or peak.back_min - peak.front_min <= _WIDEST * peak.half_width_min
        ),
        key=lambda peak: peak.front_min,
    )
    if not narrow:
        return time_min
    starts = np.array([peak.front_min for peak in narrow])
    ends = np.array([peak.back_min for peak in narrow])
    apexes = np.array([peak.apex_min for peak in narrow])
    of = np.clip(np.searchsorted(starts, time_min, side="right") - 1, 0, len(narrow) - 1)
    moved = np.where((time_min >= starts[of]) & (time_min <= ends[of]), apexes[of], time_min)
    return np.asarray(np.maximum.accumulate(moved))


def _sigma(time_min: Floats, peaks: PeakTable) -> Floats:
    """Standard deviation in min of the peak nearest to each time whose width is known, 0 where there is none."""
    known = [(peak.apex_min, peak.half_width_min / 2.3548) for peak in peaks if peak.half_width_min is not None]
    if not known:
        return np.zeros_like(time_min)
    apexes, sigmas = (np.array(column) for column in zip(*known, strict=True))
    return np.asarray(sigmas[np.argmin(np.abs(time_min[:, None] - apexes[None, :]), axis=1)])


def _times(rising: Floats, edges: Floats) -> Floats:
    """When F reaches each point, in min; the end of the signal where it does not."""
    wanted = np.array(RECOVERED)
    left = np.clip(np.searchsorted(rising, wanted, side="left") - 1, 0, len(rising) - 2)
    share = (wanted - rising[left]) / np.maximum(rising[left + 1] - rising[left], 1e-300)
    return np.asarray(edges[left] + np.clip(share, 0.0, 1.0) * (edges[left + 1] - edges[left]))


def _noise(eluted: _Cumulative, at: NDArray[np.int64], open_ended: bool) -> Floats:
    """Standard uncertainty of F from noise, in area units: what has eluted against what is still to come."""
    at = np.clip(at, 0, len(eluted.variance) - 1)
    here, whole = eluted.variance[at], eluted.variance[-1]
    if open_ended:
        return np.sqrt(here)
    share = eluted.eluted[at] / eluted.eluted[-1]
    return np.asarray(np.sqrt((1 - share) ** 2 * here + share**2 * (whole - here)))


def _missing(of: str, points: Sequence[CurvePoint], ladder: Ladder) -> list[Caution]:
    by_reason: dict[str, list[float]] = {}
    for point in points:
        by_reason.setdefault(point.temperature.reason, []).append(point.recovered)
    found = []
    if early := by_reason.get("boiling.before_ladder"):
        found.append(caution("boiling.before_ladder", of, last=f"{max(early):g}", alkane=ladder.carbons[0]))
    if late := by_reason.get("boiling.beyond_ladder"):
        found.append(caution("boiling.beyond_ladder", of, first=f"{min(late):g}", alkane=ladder.carbons[-1]))
    if never := by_reason.get("boiling.did_not_elute"):
        found.append(caution("boiling.did_not_elute", of, first=f"{min(never):g}"))
    return found


def _scope(of: str, points: Sequence[CurvePoint]) -> list[Caution]:
    """Where the sample lies outside what the standard was made for."""
    initial, final = points[0].temperature.value, points[-1].temperature.value
    scope = ranges_of("boiling_curve")
    lightest, heaviest, narrowest = scope["initial"][0], scope["final"][1], scope["width"][0]
    found = []
    if final is None or final > heaviest:
        found.append(caution("boiling.scope_heavy", of, limit=heaviest))
    if initial is None or initial < lightest:
        found.append(caution("boiling.scope_light", of, limit=lightest))
    if initial is not None and final is not None and final - initial <= narrowest:
        found.append(caution("boiling.scope_narrow", of, width=round(final - initial, 1), limit=narrowest))
    return found


def _other_table(
    of: str, points: Sequence[CurvePoint], ladder: Ladder, settings: BoilingCurveSettings
) -> list[Caution]:
    """How far the other table of n-alkane boiling points would move the curve."""
    other = "convention_c" if "handbook" in ladder.boiling_table else "boiling_c"
    known = reference("n_alkanes").numbers("carbon_number", other)
    if any(n not in known for n in ladder.carbons):
        return []
    there: NDArray[np.float64] = np.array([known[n] for n in ladder.carbons])
    here = np.asarray(ladder.boiling_c)
    moved = [
        (float(np.interp(value, here, there)) - value, point.recovered)
        for point in points
        if (value := point.temperature.value) is not None
    ]
    if not moved:
        return []
    most, at = max(moved, key=lambda pair: abs(pair[0]))
    if abs(most) <= settings.table_matters_c:
        return []
    names = {"convention_c": "the values customary in simulated distillation", "boiling_c": "handbook values"}
    return [caution("boiling.table_matters", of, table=ladder.boiling_table, other=names[other], most=round(most, 1),
                    at=f"{at:g}")]  # fmt: skip
