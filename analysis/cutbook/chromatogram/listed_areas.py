"""Areas that somebody else integrated, as a peak table and in slices; what lies between the peaks is not known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.chromatogram.signal_area import SliceAreas
from cutbook.model.cautions import caution
from cutbook.model.lineage import Step
from cutbook.model.peaks import Peak, PeakTable
from cutbook.model.result import Result
from cutbook.model.trace import Floats, ListedPeaks


@dataclass(frozen=True)
class ListedAreaSettings:
    """How far a listed area is trusted.

    u_area : standard uncertainty of one listed area, as a share, independently of the others; two integrations of
        one crowded trace differ by a few per cent (common practice, no source).
    """

    u_area: float = 0.03


def listed_table(
    listed: ListedPeaks,
    windows_min: tuple[tuple[float, float], ...],
    settings: ListedAreaSettings = ListedAreaSettings(),
) -> PeakTable:
    """The peaks of a list as a peak table.

    Parameters
    ----------
    listed : the list. windows_min : (start, end) of the solvent. settings : see `ListedAreaSettings`.

    Returns
    -------
    PeakTable
        With the caution `peaks.as_listed`, which says what a list cannot tell.
    """
    peaks = tuple(
        Peak(
            start_min=one.start_min,
            apex_min=one.apex_min,
            end_min=one.end_min,
            area=one.area,
            u_area=settings.u_area * abs(one.area),
            height=None,
            half_width_min=None,
            tailing=None,
            resolution=None,
            signal_to_noise=None,
            area_rule="as listed",
            flags=("solvent",) if any(low <= one.apex_min <= high for low, high in windows_min) else (),
            name=one.name,
        )
        for one in listed.peaks
        if one.apex_min is not None and one.area is not None
    )
    step = Step(
        "take listed peaks/1",
        inputs=(listed.step,),
        settings={"settings": settings, "solvent windows": windows_min},
        cautions=(caution("peaks.as_listed", listed.file, count=len(peaks)),),
    )
    return PeakTable(peaks, listed.area_unit, step)


def listed_slices(peaks: PeakTable, edges_min: Floats, u_time_min: float) -> SliceAreas:
    """The areas of listed peaks between edges; a peak counts whole where its apex lies.

    Parameters
    ----------
    peaks : of `listed_table`; those flagged "solvent" count in no slice.
    edges_min : rising, shape (m + 1,). u_time_min : by how much an edge may lie off.

    Notes
    -----
    What moving an edge would carry across is taken from the peaks near it: their area over the width of the
    neighbourhood, three u_time to either side.
    """
    edges = np.asarray(edges_min, dtype=np.float64)
    kept = [peak for peak in peaks if "solvent" not in peak.flags]
    apexes = np.array([peak.apex_min for peak in kept])
    areas = np.array([peak.area for peak in kept])
    variances = np.array([peak.u_area for peak in kept]) ** 2
    half = 3.0 * u_time_min
    near = np.array([areas[np.abs(apexes - edge) < half].sum() for edge in edges]) / max(2.0 * half, 1e-9)
    return SliceAreas(
        edges_min=edges,
        areas=np.histogram(apexes, edges, weights=areas)[0],
        u_noise=np.sqrt(np.histogram(apexes, edges, weights=variances)[0]),
        by_doubt=(),
        edge_signal=near,
    )


def not_in_a_list(peaks: PeakTable, of: str) -> tuple[Result, Result]:
    """Hump and share of the baseline, neither of which a list of peaks can tell."""
    step = Step("hump and bleed/1", inputs=(peaks.step,))
    return (
        Result.missing(f"hump of {of}", "%", "signal", step, "peaks.list_has_no_baseline"),
        Result.missing(f"bleed of {of}", "%", "raw signal", step, "peaks.list_has_no_baseline"),
    )
