"""Read the n-alkanes and 1-alkenes of a sample off their peaks, and bound what the trace leaves open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutbook.coldflow.solid_properties import HEAVIEST, LIGHTEST
from cutbook.model.amount import Amount, doubt, measured, nominal, total
from cutbook.model.carbon import CarbonDistribution, CarbonShare
from cutbook.model.cautions import Caution, caution
from cutbook.model.cold import ChainShare, ChainSource, Family, WaxFormers
from cutbook.model.ladder import Ladder
from cutbook.model.lineage import Step
from cutbook.model.peaks import Peak, PeakTable
from cutbook.model.result import Result
from cutbook.quantitation.mass_slices import MassSlices
from cutbook.quantitation.response import alkane_response

_UNRESOLVED = {"shoulder", "unresolved", "saturated", "cut off", "solvent"}


@dataclass(frozen=True)
class WaxFormerSettings:
    """How straight chains are told from the rest.

    index_window : index units about 100 n within which a peak is the n-alkane; the transfer of ladder times is good to
        about one, the 1-alkene is ten away.
    alkene_offset, alkene_window : by how many units the 1-alkene runs ahead on 5 % phenyl silicone (the table compounds
        has 1-hexene to 1-dodecene at 100 n - 10), and the window about that.
    lightest : first carbon number that is read; shorter chains never crystallise in store.
    u_integration : standard uncertainty of how peaks are divided from the hump below them, common to all, as a share.
    u_under_bleed : the same of peaks from C20 on, where the column bleeds and the hump is widest.
    u_response : of the response of chains against that of all else.
    assumed_alkane, assumed_alkene, u_assumed : share of n-alkanes and 1-alkenes in a carbon number whose peaks are not
        resolved, and its standard uncertainty, where no neighbour tells; anything from none to three fifths.
    least_parting : half widths by which the two must lie apart for a peak, or none, at their places to be believed.
    u_pair : standard uncertainty of the n-alkane's part where both stand in one peak.
    """

    index_window: float = 4.0
    alkene_offset: float = 10.0
    alkene_window: float = 4.0
    lightest: int = 8
    u_integration: float = 0.05
    u_under_bleed: float = 0.10
    u_response: float = 0.02
    assumed_alkane: float = 0.3
    assumed_alkene: float = 0.3
    u_assumed: float = 0.17
    least_parting: float = 0.8
    u_pair: float = 0.15


@dataclass(frozen=True, eq=False)
class _Doubts:
    """The doubts that all chains share."""

    integration: Amount
    bleed: Amount
    response: Amount
    alkanes: Amount
    alkenes: Amount
    pair: Amount
    tail: Amount


_FAMILIES: tuple[Family, Family] = ("n-alkane", "1-alkene")
_BLEEDS_FROM = 20
_TAIL = 10
_NEIGHBOURS = 5
_TOLD = 0.05
"""% of the sample from which what is assumed of it is told."""
_LEAST_TAIL = 0.01
"""% of the sample below which what came after the ladder is no sign of long chains."""


def wax_formers(
    of: str,
    carbons: CarbonDistribution,
    slices: MassSlices,
    peaks: PeakTable,
    ladder: Ladder,
    settings: WaxFormerSettings = WaxFormerSettings(),
) -> WaxFormers:
    """The straight chains of a sample as % of its mass.

    Parameters
    ----------
    of : name of the sample. carbons : its distribution. slices : for the scale from area to mass.
    peaks : with retention indices, above the baseline that follows the hump. ladder : of the sample.
    settings : see there.

    Returns
    -------
    WaxFormers
        Where the column parts n-alkane and 1-alkene and no peak stands at its place, there is none. Where both stand in
        one peak, it is divided as the neighbours are ("cold.pairs_merged"). Where nothing can be read, or the solvent
        hides it, the shares of the nearest five resolved carbon numbers are assumed, or those
        of the settings ("cold.class_assumed"). What lies beyond the ladder or did not elute is taken for chains of the
        next ten carbon numbers, as waxy as the last five read, give or take as much ("cold.heavy_tail"). Where it is
        not known how much did not elute, no chain stands for it ("cold.tail_unknown").
    """
    doubts = _Doubts(
        doubt("integration of the wax peaks"), doubt("baseline under the peaks from C20"),
        doubt("detector response of chains"), doubt("share of n-alkanes, assumed"),
        doubt("share of 1-alkenes, assumed"), doubt("n-alkane and 1-alkene in one peak"),
        doubt("chains beyond the ladder, assumed"),
    )  # fmt: skip
    step = Step("read wax formers/1", inputs=(carbons.step, slices.step, peaks.step), settings=settings)
    bins = [share for share in carbons.numbered() if share.n is not None and share.n <= HEAVIEST]
    read: dict[int, dict[Family, Amount]] = {}
    together: dict[int, list[Peak]] = {}
    unread: list[CarbonShare] = []
    for share in bins:
        n = int(share.n or 0)
        if n < max(settings.lightest, LIGHTEST):
            continue
        found = None if share.hidden else _of_peaks(n, peaks, ladder, settings)
        if found is None:
            unread.append(share)
        elif found[1]:
            together[n] = found[1]
        else:
            read[n] = {f: _percent(peak, n, slices, doubts, settings) for f, peak in found[0].items()}
    by_bin = {int(share.n or 0): share.mass for share in bins}
    chains: list[ChainShare] = []
    for n, amounts in read.items():
        chains += [_chain(n, family, amount, "peak", carbons, step) for family, amount in amounts.items()]
    for n, merged in together.items():
        area = total(_percent(peak, n, slices, doubts, settings) for peak in merged)
        alkane = _alkane_of_pair(n, read) + settings.u_pair * doubts.pair
        for family, part in zip(_FAMILIES, (alkane, 1 - alkane), strict=True):
            chains.append(_chain(n, family, area * part, "both in one peak", carbons, step))
    for share in unread:
        n, mass = int(share.n or 0), max(share.mass.value or 0.0, 0.0)
        for family in _FAMILIES:
            part = _assumed(n, family, read, by_bin, doubts, settings) * mass
            chains.append(_chain(n, family, part, "class assumed", carbons, step))
    heavy, tail, rest_tail = _tail(carbons, read, by_bin, doubts, step)
    chains += tail
    chains.sort(key=lambda chain: (chain.n, chain.family != "n-alkane"))
    rest, excess = _rest(bins, chains)
    raised = _cautions(of, unread, together, heavy, excess, ladder)
    step = Step("read wax formers/1", inputs=step.inputs, settings=settings, cautions=tuple(raised))
    return WaxFormers(of, tuple(chains), (*rest, *rest_tail), max((*read, *together), default=0), heavy, step)


def _of_peaks(
    n: int, peaks: PeakTable, ladder: Ladder, settings: WaxFormerSettings
) -> tuple[dict[Family, Peak], list[Peak]] | None:
    """The peaks of the n-alkane and the 1-alkene where they part, else what stands in their place as one; None for
    neither: a column that parts them shows none, one that does not may hide them.
    """
    at = {"n-alkane": 100.0 * n, "1-alkene": 100.0 * n - settings.alkene_offset}
    windows = {"n-alkane": settings.index_window, "1-alkene": settings.alkene_window}
    first, last = at["1-alkene"] - windows["1-alkene"], at["n-alkane"] + windows["n-alkane"]
    both = [peak for peak in peaks if peak.retention_index is not None and first <= peak.retention_index <= last]
    near: dict[Family, list[Peak]] = {
        family: [peak for peak in both if abs((peak.retention_index or 0.0) - at[family]) <= windows[family]]
        for family in _FAMILIES
    }
    parted = settings.alkene_offset >= settings.least_parting * _half_width_units(n, both, ladder)
    shape = any(_UNRESOLVED & set(peak.flags) for peak in both)
    if parted and not shape and not (both and not any(near.values())):
        return {family: max(found, key=lambda peak: peak.area) for family, found in near.items() if found}, []
    return ({}, both) if both else None


def _half_width_units(n: int, both: Sequence[Peak], ladder: Ladder) -> float:
    """Full width at half height about a carbon number in index units: the wider of the ladder's and the sample's."""
    carbons = np.array(ladder.carbons, dtype=np.float64)
    per_unit = float(
        np.interp(n - 0.5, 0.5 * (carbons[1:] + carbons[:-1]), np.diff(ladder.times_min) / np.diff(carbons))
    )
    rung = min(ladder.rungs, key=lambda one: abs(one.carbon - n))
    widths = [peak.half_width_min for peak in (rung.peak, *both) if peak.half_width_min is not None]
    return 100.0 * max(widths, default=0.0) / per_unit


def _percent(peak: Peak, n: int, slices: MassSlices, doubts: _Doubts, settings: WaxFormerSettings) -> Amount:
    response = alkane_response(12 if slices.response == "equal mass response" else n)
    area = measured(peak.area, peak.u_area, "areas of the wax peaks")
    unsure = 1 + settings.u_integration * doubts.integration + settings.u_response * doubts.response
    if n >= _BLEEDS_FROM:
        unsure = unsure + settings.u_under_bleed * doubts.bleed
    return area / response * slices.scale * unsure


def _chain(
    n: int, family: Family, amount: Amount, source: ChainSource, carbons: CarbonDistribution, step: Step
) -> ChainShare:
    basis = carbons.of if carbons.residue_known else f"eluted part of {carbons.of}"
    name = f"n-C{n}" if family == "n-alkane" else f"1-alkene C{n}"
    return ChainShare(n, family, Result(f"share of {name}", amount, "%", basis, step), source)


def _share_of_bins(
    near: Sequence[int], family: Family, read: dict[int, dict[Family, Amount]], by_bin: dict[int, Result]
) -> float | None:
    """The chains' share of some carbon numbers, None where these hold nothing."""
    whole = sum(by_bin[n].value or 0.0 for n in near)
    if whole <= 0:
        return None
    return min(sum(nominal(read[n].get(family, 0.0)) for n in near) / whole, 1.0)


def _alkane_of_pair(n: int, read: dict[int, dict[Family, Amount]]) -> float:
    """The n-alkane's part of the two, from the nearest carbon numbers where they part; half where there are none."""
    near = sorted(read, key=lambda other: abs(other - n))[:_NEIGHBOURS]
    alkanes, alkenes = (sum(nominal(read[other].get(family, 0.0)) for other in near) for family in _FAMILIES)
    return alkanes / (alkanes + alkenes) if alkanes + alkenes > 0 else 0.5


def _assumed(
    n: int, family: Family, read: dict[int, dict[Family, Amount]], by_bin: dict[int, Result],
    doubts: _Doubts, settings: WaxFormerSettings,
) -> Amount:  # fmt: skip
    near = sorted(read, key=lambda other: abs(other - n))[:_NEIGHBOURS]
    known = _share_of_bins(near, family, read, by_bin) if len(near) == _NEIGHBOURS else None
    unsure = doubts.alkanes if family == "n-alkane" else doubts.alkenes
    if known is not None:
        return known * (1 + 0.5 * unsure)
    value = settings.assumed_alkane if family == "n-alkane" else settings.assumed_alkene
    return value + settings.u_assumed * unsure


def _tail(
    carbons: CarbonDistribution, read: dict[int, dict[Family, Amount]], by_bin: dict[int, Result], doubts: _Doubts,
    step: Step,
) -> tuple[float | None, list[ChainShare], list[tuple[float, float]]]:  # fmt: skip
    """What lies beyond the ladder or did not elute, as chains and as rest."""
    parts = {share.part: share.mass for share in carbons.shares if share.n is None}
    beyond, lost = parts.get("beyond the ladder"), parts.get("did not elute")
    heavy = max((beyond.value if beyond else None) or 0.0, 0.0)
    known = lost is not None and lost.value is not None
    if lost is not None and lost.value is not None:
        heavy += max(lost.value, 0.0)
    last = max(by_bin, default=HEAVIEST)
    lengths = [n for n in range(last + 1, last + 1 + _TAIL) if n <= HEAVIEST] or [HEAVIEST]
    near = sorted(read)[-_NEIGHBOURS:]
    chains: list[ChainShare] = []
    waxy = 0.0
    for family in _FAMILIES:
        share = _share_of_bins(near, family, read, by_bin) or 0.0
        waxy += share
        if share > 0 and heavy > _LEAST_TAIL:
            part = share * heavy / len(lengths) * (1 + 0.58 * doubts.tail)  # rectangular from none to twice
            chains += [_chain(n, family, part, "heavy tail assumed", carbons, step) for n in lengths]
    left = heavy * (1.0 - min(waxy, 1.0)) if heavy > _LEAST_TAIL else heavy
    rest = [(float(n), left / len(lengths)) for n in lengths] if heavy > 0 else []
    return heavy if known else None, chains, rest


def _rest(bins: Sequence[CarbonShare], chains: Sequence[ChainShare]) -> tuple[list[tuple[float, float]], float]:
    """What each carbon number holds beside its chains, and by how much chains exceed theirs, in %."""
    rest, excess = [], 0.0
    for share in bins:
        n, mass = int(share.n or 0), max(share.mass.value or 0.0, 0.0)
        own = nominal(total(chain.mass.amount for chain in chains if chain.n == n))
        excess += max(own - mass, 0.0)
        if mass > own:
            rest.append((float(n), mass - own))
    return rest, excess


def _cautions(
    of: str,
    unread: Sequence[CarbonShare],
    together: dict[int, list[Peak]],
    heavy: float | None,
    excess: float,
    ladder: Ladder,
) -> list[Caution]:
    raised = []
    if together:
        raised.append(caution("cold.pairs_merged", of, bins=_ranges(list(together))))
    mass = sum(max(share.mass.value or 0.0, 0.0) for share in unread)
    if mass > _TOLD:
        numbers = [int(share.n or 0) for share in unread]
        raised.append(caution("cold.class_assumed", of, bins=_ranges(numbers), share=f"{mass:.2g}"))
    raised += tail_cautions(of, heavy, ladder.carbons[-1])
    if excess > 1.0:
        raised.append(caution("cold.peaks_exceed", of, excess=f"{excess:.2g}"))
    return raised


def tail_cautions(of: str, heavy: float | None, last: int) -> tuple[Caution, ...]:
    """What is told of the part that came after the ladder or did not elute.

    Parameters
    ----------
    of : name of the sample. heavy : that part in %, None where it is not known how much did not elute.
    last : heaviest carbon number of the ladder.
    """
    if heavy is None:
        return (caution("cold.tail_unknown", of, last=last),)
    return (caution("cold.heavy_tail", of, share=f"{heavy:.2g}", last=last),) if heavy > _TOLD else ()


def _ranges(numbers: Sequence[int]) -> str:
    """ "C8–C10, C14"."""
    runs: list[list[int]] = []
    for n in sorted(numbers):
        if runs and n == runs[-1][1] + 1:
            runs[-1][1] = n
        else:
            runs.append([n, n])
    return ", ".join(f"C{a}" if a == b else f"C{a}–C{b}" for a, b in runs)
