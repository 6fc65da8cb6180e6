"""Tell how much of a sample elutes where benzene does."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cutbook.fractions.method_ranges import ranges_of
from cutbook.identification.numbering import find_by_name
from cutbook.model.amount import nominal
from cutbook.model.cautions import Caution, caution
from cutbook.model.cuts import Cut, CutScheme
from cutbook.model.ladder import Ladder
from cutbook.model.peaks import PeakTable
from cutbook.quantitation.internal_standard import FoundStandard
from cutbook.quantitation.mass_slices import MassSlices
from cutbook.quantitation.response import alkane_response

BENZENE = "benzene"


def benzene_window(
    of: str,
    peaks: PeakTable,
    slices: MassSlices,
    ladder: Ladder,
    standard: FoundStandard | None,
    scheme: CutScheme,
    cuts: Sequence[Cut],
) -> tuple[Caution, ...]:
    """Peaks at the retention index of benzene, as % of the sample and of the cut that they fall into.

    Parameters
    ----------
    of : name of the sample. peaks : with retention indices. slices : for the scale from area to %.
    ladder : its boiling points place the window in a cut. standard : left out where it elutes there.
    scheme, cuts : the boiling-range scheme and its cuts of this sample.

    Returns
    -------
    tuple of Caution
        "safety.benzene_window" where the peaks hold more than the share of benzene from which a product counts as
        carcinogenic; nothing otherwise, which does not mean that there is no benzene. Where the solvent or the ladder
        leaves the window out there is nothing to see.

    Notes
    -----
    All is counted with the response of an alkane; a gram of benzene gives about a tenth more signal.
    """
    row = find_by_name("compounds", BENZENE)
    if row is None:
        return ()
    centre, half = float(row["retention_index"]), float(row["retention_index_u"])
    inside = [
        peak
        for peak in peaks
        if peak.retention_index is not None
        and abs(peak.retention_index - centre) <= half
        and (standard is None or peak.apex_min != standard.peak.apex_min)
    ]
    percent = nominal(slices.scale) / alkane_response(12)
    share = percent * sum(peak.area for peak in inside)
    limit = ranges_of("carcinogen_label")[BENZENE][1]
    if share <= limit:
        return ()
    largest = max(inside, key=lambda peak: peak.area)
    boils_c = float(np.interp(largest.apex_min, ladder.times_min, np.asarray(ladder.boiling_c)))
    cut, of_cut = _cut_of(boils_c, share, scheme, cuts)
    return (
        caution(
            "safety.benzene_window", of, share=f"{share:.2g}", of_cut=of_cut, cut=cut, first=round(centre - half),
            last=round(centre + half), limit=limit,
        ),
    )  # fmt: skip


def _cut_of(boils_c: float, share: float, scheme: CutScheme, cuts: Sequence[Cut]) -> tuple[str, str]:
    """The cut that holds a boiling point, and the share of it that the peaks are."""
    name = next(limits.cut for limits in scheme.cuts if boils_c < limits.upper)
    whole = next((cut.mass.value for cut in cuts if cut.cut == name), None)
    return name, f"{100.0 * share / whole:.2g}" if whole else "an unknown"
