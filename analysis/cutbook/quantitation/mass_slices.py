"""Turn slices of signal into slices of mass, with the doubts that they share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from cutbook.chromatogram.signal_area import SliceAreas
from cutbook.identification.numbering import find_by_name
from cutbook.model.amount import Amount, doubt, measured, nominal, standard_uncertainty, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import InputError
from cutbook.model.ladder import Ladder
from cutbook.model.lineage import Step
from cutbook.model.peaks import Peak, PeakTable
from cutbook.model.trace import Floats
from cutbook.quantitation.internal_standard import FoundStandard
from cutbook.quantitation.response import alkane_response, relative_response


@dataclass(frozen=True)
class KnownCompound:
    """A compound that the user knows to be in the sample, by its name in the compounds table.

    index_window : index units on either side of its index within which its peak is taken to be the largest one.
    """

    name: str = ""
    index_window: float = 10.0


@dataclass(frozen=True)
class ResponseSettings:
    """How signal becomes mass.

    basis : "equal mass response" counts a gram of anything alike, because the classes of a cracked polymer differ
        by less than the doubt about them; "effective carbon number" counts n-alkanes and the known compounds by
        their structure.
    known : compounds whose own response is used with "effective carbon number".
    u_class : standard uncertainty of the response of an unknown mixture of classes, as a share, for every block of
        block_carbons carbon numbers independently; alkanes, olefins and aromatics spread over 0.97 to 1.09.
    u_common : the same for all blocks together; it matters only against an internal standard.
    """

    basis: Literal["equal mass response", "effective carbon number"] = "equal mass response"
    known: tuple[KnownCompound, ...] = ()
    u_class: float = 0.03
    u_common: float = 0.02
    block_carbons: int = 5


@dataclass(frozen=True, eq=False)
class MassSlices:
    """Consecutive slices of a sample on the time axis, in relative mass.

    edges_min : shape (m + 1,). masses : of each slice (the standard taken out), correlated, in area units.
    scale : turns them into % of the sample (or of its eluted part). other : % of each slice on the other response
        basis. residue : % of the sample that did not elute, None when no internal standard tells.
    """

    edges_min: tuple[float, ...]
    masses: tuple[Amount, ...]
    scale: Amount
    other: tuple[float, ...]
    residue: Amount | None
    response: str
    step: Step
    _place: dict[float, int] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_place", {edge: i for i, edge in enumerate(self.edges_min)})

    def between(self, start_min: float, end_min: float) -> Amount:
        """% of the sample between two of the edges."""
        return total(self.masses[self._place[start_min] : self._place[end_min]]) * self.scale + measured(0.0, 0.0, "")

    def other_between(self, start_min: float, end_min: float) -> float:
        """The same on the other response basis, value only."""
        return float(sum(self.other[self._place[start_min] : self._place[end_min]]))

    def value_between(self, start_min: float, end_min: float) -> float:
        """% of the sample between two of the edges, value only."""
        first, last = self._place[start_min], self._place[end_min]
        return float(sum(nominal(mass) for mass in self.masses[first:last])) * nominal(self.scale)


def weigh_slices(
    of: str,
    slices: SliceAreas,
    ladder: Ladder,
    peaks: PeakTable,
    standard: FoundStandard | None,
    before: Sequence[Step],
    settings: ResponseSettings = ResponseSettings(),
) -> MassSlices:
    """Masses from areas.

    Parameters
    ----------
    of : name of the sample.
    slices : areas between edges; the first and last edge are the ends of the trace.
    ladder : places each slice on the carbon scale.
    peaks : of the trace, with retention indices.
    standard : the internal standard; its peak is taken out of its slice. None when there is none.
    before : steps that the slices come from.
    settings : see `ResponseSettings`.

    Returns
    -------
    MassSlices

    Notes
    -----
    With an internal standard, share of slice i = 100 (A_i/R_i) / (A_s/R_s) w_s, w_s in g of standard a g of sample;
    what is missing to 100 % did not elute. Without one, share = 100 (A_i/R_i) / Σ (A_j/R_j).
    """
    edges = slices.edges_min
    carbons = _carbons(ladder, edges)
    areas = _areas(slices, ladder)
    raised: list[Caution] = []
    if standard is not None:
        at = _slice_of(edges, standard.peak)
        of_standard = measured(standard.peak.area, standard.peak.u_area, f"area of {standard.name}")
        areas[at] = areas[at] - of_standard
    equal = alkane_response(12)
    by_number = [alkane_response(round(float(n))) for n in carbons]
    known, not_found = _known(peaks, standard, settings)
    raised += [caution("response.known_not_found", of, name=name) for name in not_found]
    doubts: dict[int, Amount] = {}
    common = doubt("detector response, all classes")
    masses: list[Amount] = []
    for i, area in enumerate(areas):
        block = int(round(float(carbons[i])) - 1) // settings.block_carbons
        first = block * settings.block_carbons + 1
        unsure = doubts.setdefault(block, doubt(f"detector response C{first}–C{first + settings.block_carbons - 1}"))
        response = equal if settings.basis == "equal mass response" else by_number[i]
        masses.append(area / response * (1 + settings.u_class * unsure + settings.u_common * common))
    other = [nominal(area) / (by_number[i] if settings.basis == "equal mass response" else equal)
             for i, area in enumerate(areas)]  # fmt: skip
    for peak, response, own_u, name in known:
        at = _slice_of(edges, peak)
        change = peak.area / measured(response, own_u, f"response of {name}") - peak.area / by_number[at]
        if settings.basis == "equal mass response":
            other[at] += nominal(change)
        else:
            masses[at] = masses[at] + change
    eluted = total(masses)
    if nominal(eluted) <= 2.0 * standard_uncertainty(eluted):
        raise InputError.single(
            of, "signal", "no area above the baseline beyond its uncertainty", "a sample that was injected",
            "Were sample and blank swapped?",
        )  # fmt: skip
    residue: Amount | None = None
    if standard is None:
        scale = 100 / eluted
        other_scale = 100 / sum(other)
    else:
        per_area = of_standard / standard.response
        scale = 100 * standard.per_gram_of_sample / per_area
        other_scale = nominal(scale)
        residue = 100 - eluted * scale
        if nominal(residue) < 0:
            raised.append(
                caution(
                    "sample.residue_negative" if nominal(residue) >= -2 * standard_uncertainty(residue)
                    else "sample.more_than_injected",
                    of,
                    eluted=round(nominal(eluted * scale), 1),
                    u=round(standard_uncertainty(residue), 1),
                )
            )  # fmt: skip
    inputs = (*before, ladder.step, *((standard.step,) if standard else ()))
    return MassSlices(
        edges_min=tuple(float(edge) for edge in edges),
        masses=tuple(masses),
        scale=scale,
        other=tuple(value * other_scale for value in other),
        residue=residue,
        response=settings.basis,
        step=Step("weigh slices/1", inputs=inputs, settings={"response": settings}, cautions=tuple(raised)),
    )


def _areas(slices: SliceAreas, ladder: Ladder) -> list[Amount]:
    """Areas with noise of their own, and shared doubts of baseline and of the transfer of ladder times."""
    shared = [(doubt(tag), change) for tag, change in slices.by_doubt]
    moved = np.diff(slices.edge_signal) * ladder.u_time_min
    # the outer edges are the ends of the trace and do not move with the ladder
    moved[0], moved[-1] = slices.edge_signal[1] * ladder.u_time_min, -slices.edge_signal[-2] * ladder.u_time_min
    transfer = doubt("retention times of the ladder")
    found = []
    for i, area in enumerate(slices.areas):
        amount = measured(float(area), float(slices.u_noise[i]), "detector noise") + float(moved[i]) * transfer
        for variable, change in shared:
            amount = amount + float(change[i]) * variable
        found.append(amount)
    return found


def _carbons(ladder: Ladder, edges: Floats) -> Floats:
    """Carbon number at the middle of each slice, that of the nearest rung outside the ladder."""
    middle = 0.5 * (np.asarray(edges)[1:] + np.asarray(edges)[:-1])
    return np.interp(middle, ladder.times_min, np.array(ladder.carbons, dtype=np.float64))


def _slice_of(edges: Floats, peak: Peak) -> int:
    return int(np.clip(np.searchsorted(edges, peak.apex_min, side="right") - 1, 0, len(edges) - 2))


def _known(
    peaks: PeakTable, standard: FoundStandard | None, settings: ResponseSettings
) -> tuple[list[tuple[Peak, float, float, str]], list[str]]:
    """Peaks of the known compounds with their response and its uncertainty; names of those without a peak."""
    found, missing = [], []
    for known in settings.known:
        row = find_by_name("compounds", known.name)
        if row is None or not row["retention_index"]:
            raise InputError.single(
                "method.toml",
                "[response] known",
                f"'{known.name}'",
                "a compound of the reference table with an index",
                "`cutbook reference compounds` prints them.",
            )
        index = float(row["retention_index"])
        near = [
            peak
            for peak in peaks
            if peak.retention_index is not None
            and abs(peak.retention_index - index) <= known.index_window
            and (standard is None or peak is not standard.peak)
        ]
        if near:
            model = relative_response(row["smiles"])
            found.append((max(near, key=lambda peak: peak.area), model.value, model.u, known.name))
        else:
            missing.append(known.name)
    return found, missing
