"""Sum slices of mass into carbon numbers."""

from __future__ import annotations

from cutbook.fractions.carbon_bins import CarbonBins, CarbonBinSettings
from cutbook.model.amount import nominal
from cutbook.model.carbon import CarbonDistribution, CarbonShare
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.trace import frozen_array
from cutbook.quantitation.mass_slices import MassSlices


def distribute_carbons(
    of: str,
    slices: MassSlices,
    bins: CarbonBins,
    settings: CarbonBinSettings,
    solvent: str,
    solvent_windows_min: tuple[tuple[float, float], ...],
    hump: Result,
    baseline_share: Result,
) -> CarbonDistribution:
    """The carbon-number distribution of a sample.

    Parameters
    ----------
    of : name of the sample. slices : its slices, whose edges hold every bin end.
    bins : from the ladder. settings : as used for them.
    solvent, solvent_windows_min : what was left out; bins that a window covers by a tenth or more are marked.
    hump, baseline_share : of the trace.

    Returns
    -------
    CarbonDistribution
        The first bin also holds what eluted before the first rung. What came after the last bin is a share of its
        own, "beyond the ladder", when it is more than nothing.
    """
    first, last = slices.edges_min[0], slices.edges_min[-1]
    edges = [first, *(min(max(float(end), first), last) for end in bins.ends_min)]
    basis = of if slices.residue is not None else f"eluted part of {of}"
    raised: list[Caution] = []
    hidden = tuple(n for n, a, b in zip(bins.carbons, edges[:-1], edges[1:], strict=True)
                   if _covered(a, b, solvent_windows_min) >= 0.1)  # fmt: skip
    before_ladder = bool(solvent_windows_min) and not hidden
    if solvent_windows_min:
        names = ", ".join(f"C{n}" for n in hidden) or f"what elutes before n-C{bins.carbons[0]}"
        raised.append(caution("sample.solvent_hides", of, solvent=solvent or "window given", bins=names))
    if slices.residue is None:
        raised.append(caution("sample.residue_unknown", of))
    raised.append(caution("sample.response_basis", of, response=slices.response))
    beyond_min = (edges[-1], last)
    beyond = slices.between(*beyond_min)
    share_of_eluted = nominal(beyond)
    if share_of_eluted > 0.05:
        raised.append(caution("sample.beyond_ladder", of, share=round(share_of_eluted, 1), last=bins.carbons[-1]))
    step = Step(
        "sum slices by carbon number/1",
        inputs=(slices.step, bins.step),
        settings={"bins": settings, "hidden": hidden},
        cautions=tuple(raised),
    )
    shares = [
        CarbonShare(
            n,
            "carbon number",
            Result(f"share of C{n}", slices.between(a, b), "%", basis, step),
            slices.other_between(a, b),
            lighter_too=place == 0,
            hidden=n in hidden or (place == 0 and before_ladder),
        )
        for place, (n, a, b) in enumerate(zip(bins.carbons, edges[:-1], edges[1:], strict=True))
    ]
    if slices.residue is None:
        lost = Result.missing("did not elute", "%", basis, step, "sample.residue_unknown")
    else:
        lost = Result("did not elute", slices.residue, "%", basis, step)
    shares.append(CarbonShare(None, "did not elute", lost))
    shares.append(
        CarbonShare(
            None,
            "beyond the ladder",
            Result("beyond the ladder", beyond, "%", basis, step),
            slices.other_between(*beyond_min),
        )
    )
    return CarbonDistribution(
        of=of,
        convention=settings.convention,
        response=slices.response,
        shares=tuple(shares),
        edges_min=frozen_array(edges),
        residue_known=slices.residue is not None,
        hump=hump,
        baseline_share=baseline_share,
        step=step,
    )


def _covered(start: float, end: float, windows: tuple[tuple[float, float], ...]) -> float:
    """The share of a bin that windows cover."""
    covered = sum(max(0.0, min(end, b) - max(start, a)) for a, b in windows)
    return covered / (end - start) if end > start else 0.0
