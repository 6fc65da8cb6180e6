"""Search a whole run for compounds that show chlorine or bromine, whatever they are."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from cutbook.chlorine.cluster_character import character_of
from cutbook.chlorine.cluster_spectrum import ClusterSpectrum, cluster_spectrum
from cutbook.chlorine.halogen_loss import Loss, losses_of
from cutbook.chlorine.pattern_fit import HYDROGEN_COST, Halogens, PatternFit, fit_pattern, halogens
from cutbook.chlorine.pattern_leads import BELOW, Leads, LeadSettings, pattern_leads
from cutbook.chlorine.pattern_lookalikes import lookalike_of
from cutbook.chromatogram.ion_matrix import IonMatrix
from cutbook.chromatogram.ion_noise import IonNoise
from cutbook.chromatogram.peak_width import WidthLaw
from cutbook.model.chlorine import Evidence, UnknownCluster
from cutbook.model.lineage import Step
from cutbook.model.trace import Floats

Known: TypeAlias = tuple[float, float, tuple[int, ...]]
"""Time in min, half-width in min and masses of a compound that is reported elsewhere."""


SUPPORT = 4.0
"""Score from which a second cluster of the same compound counts."""


@dataclass(frozen=True)
class UnknownSettings:
    """What is believed.

    chlorine, bromine : most atoms. atoms : most of both together.
    look : score from which a lead is looked at with all masses.
    least_score : of a compound, its best cluster and what supports it together; 5.7, which one in a hundred simulated
        oils without chlorine reaches (`tests/chlorine/test_unknown_clusters.py`).
    same : clusters whose apexes stand apart by less than this share of a peak width are of one compound.
    shadow, shadow_reach : a lead lower than this share of the trace of its mass within so many widths is left out; the
        foot of a tall peak, on which the filter rings, is not a peak.
    foot : a lead lower than this share is left out unless the trace itself has a maximum there.
    leads : see `LeadSettings`.
    """

    chlorine: int = 6
    bromine: int = 4
    atoms: int = 6
    look: float = 1.0
    least_score: float = 5.7
    same: float = 0.2
    shadow: float = 0.04
    foot: float = 0.15
    shadow_reach: float = 4.0
    leads: LeadSettings = LeadSettings()


@dataclass(frozen=True, eq=False)
class _Found:
    """A cluster with what speaks for it."""

    halogens: Halogens
    base: int
    scan: int
    score: float
    height: float
    sd: float
    misfit: float
    masses: int
    carbon: float
    thin: float
    apart: float
    losses: tuple[Loss, ...]
    lookalike: str
    spectrum: ClusterSpectrum
    supports: list[_Found] = field(default_factory=list)

    @property
    def lead(self) -> int:
        return self.base + self.halogens.tallest

    @property
    def apex(self) -> float:
        """In scans, between which it may lie."""
        place = self.lead - self.spectrum.first_mz
        if self.spectrum.capped[place]:
            return float(self.scan)
        return self.scan + float(np.clip(self.spectrum.slope[place] / max(self.height, 1e-30), -1.0, 1.0))

    @property
    def u_apex(self) -> float:
        """Its standard uncertainty, no more than a scan."""
        place = self.lead - self.spectrum.first_mz
        return min(float(self.spectrum.slope_sd[place]) / max(self.height, 1e-30), 1.0)

    @property
    def mz(self) -> tuple[int, ...]:
        """Masses of the isotopes of the halogens that stand above a hundredth of the tallest."""
        return tuple(self.base + int(offset) for offset in np.flatnonzero(self.halogens.pattern > 0.01))


def search_unknown_clusters(
    matrix: IonMatrix,
    widths: WidthLaw,
    noise: IonNoise,
    index: Callable[[float], float | None],
    known: Sequence[Known] = (),
    settings: UnknownSettings = UnknownSettings(),
) -> tuple[tuple[UnknownCluster, ...], tuple[UnknownCluster, ...], Step]:
    """Compounds with chlorine and compounds with bromine, each once.

    Parameters
    ----------
    matrix : heights by scan and nominal mass.
    widths : full width at half height of a peak in min against time.
    noise : of the run.
    index : retention index at a time in min, None outside the ladder.
    known : what is reported elsewhere and must not be reported twice.
    settings : see `UnknownSettings`.

    Returns
    -------
    tuple of (chlorinated, brominated, step)
        In order of time. A compound with both elements stands among the brominated. `mz` is its heaviest cluster that
        is believed.

    Notes
    -----
    The score of a cluster is in natural logarithms of odds: the isotopes of the halogens found where they are foreseen
    against any height of a hydrocarbon's neighbouring ions (`pattern_fit`), less half the squared deviations of the
    whole cluster and of its apexes, with M+1 below what a hydrocarbon of that mass must have counted up to 8 in favour,
    and ions that have lost a halogen and rise and fall with it (`halogen_loss`).
    """
    leads = pattern_leads(matrix, widths, noise, settings.leads)
    found = _believable(matrix, noise, leads, settings)
    found = _without_known(found, matrix, known)
    compounds = _compounds(found, settings)
    reported = [one for one in compounds if _total(one) >= settings.least_score]
    step = Step(
        "search unknown clusters/1",
        inputs=(matrix.step, noise.step),
        settings={"search": settings, "leads": len(leads), "known": len(known), "reported": len(reported)},
    )
    clusters = [(one, _cluster(one, matrix, index, step)) for one in sorted(reported, key=lambda one: one.scan)]
    chlorinated = tuple(cluster for one, cluster in clusters if not one.halogens.bromine)
    brominated = tuple(cluster for one, cluster in clusters if one.halogens.bromine)
    return chlorinated, brominated, step


def _patterns(settings: UnknownSettings) -> list[Halogens]:
    return [
        halogens(chlorine, bromine)
        for bromine in range(settings.bromine + 1)
        for chlorine in range(settings.chlorine + 1)
        if 1 <= chlorine + bromine <= settings.atoms
    ]


def first_scores(fit: PatternFit) -> Floats:
    """Scores of leads before shifts and losses are looked at; -inf where no ion can have that mass."""
    hydrogen = HYDROGEN_COST * fit.hydrogen
    thin = np.minimum(np.maximum(fit.thin, 0.0) ** 2 / 2.0, 8.0)
    return np.where(fit.possible, fit.sharpness - 0.5 * fit.misfit - hydrogen + thin, -np.inf)


def _believable(matrix: IonMatrix, noise: IonNoise, leads: Leads, settings: UnknownSettings) -> list[_Found]:
    """Leads with their best pattern, when that is worth a look, scored in full."""
    if not len(leads):
        return []
    fits = [fit_pattern(leads, pattern) for pattern in _patterns(settings)]
    scores = np.stack([first_scores(fit) for fit in fits])
    best = scores.argmax(axis=0)
    score = scores[best, np.arange(len(leads))]
    found = []
    for row in np.flatnonzero(score > settings.look).tolist():
        if _in_shadow(matrix, leads, row, settings):
            continue
        fit = fits[int(best[row])]
        pattern = fit.halogens
        spectrum = cluster_spectrum(matrix, noise, int(leads.scan[row]), float(leads.width[row]), leads.level)
        lead = int(leads.mz[row])
        base = lead - pattern.tallest
        aparts = [
            spectrum.apart(base + int(offset), lead)
            for offset in np.flatnonzero(pattern.pattern > 0.05)
            if offset != pattern.tallest
        ]
        losses = losses_of(spectrum, leads.crowd, base, pattern)
        lookalike = lookalike_of(spectrum, base, lead)
        total = float(score[row]) - 0.5 * sum(apart**2 for apart in aparts) + sum(loss.worth for loss in losses)
        found.append(
            _Found(
                pattern, base, int(leads.scan[row]), -np.inf if lookalike else total,
                float(leads.height[row, BELOW]), float(np.sqrt(leads.variance[row, BELOW])), float(fit.misfit[row]),
                2 * pattern.atoms + 5, float(fit.carbon[row]), float(fit.thin[row]),
                max((abs(apart) for apart in aparts), default=0.0), losses, lookalike, spectrum,
            )
        )  # fmt: skip
    return found


def _in_shadow(matrix: IonMatrix, leads: Leads, row: int, settings: UnknownSettings) -> bool:
    """Whether a lead is no more than what the filter makes of the foot of a far taller peak of the same mass."""
    reach = int(np.ceil(settings.shadow_reach * leads.width[row]))
    scan, height = int(leads.scan[row]), float(leads.height[row, BELOW])
    trace = matrix.trace(int(leads.mz[row]))
    tallest = float(trace[max(scan - reach, 0) : scan + reach + 1].max())
    if height > settings.foot * tallest:
        return False
    if height < settings.shadow * tallest:
        return True
    near = int(np.ceil(1.2 * leads.width[row]))
    piece = trace[np.clip(np.arange(scan - near - 1, scan + near + 2), 0, len(trace) - 1)].astype(float)
    smooth = np.convolve(piece, np.ones(3) / 3.0, "valid")
    top = float(smooth[near])
    return top - max(float(smooth[:near].min()), float(smooth[near + 1 :].min())) < 0.3 * height


def _without_known(found: list[_Found], matrix: IonMatrix, known: Sequence[Known]) -> list[_Found]:
    """Clusters that are not of a compound reported elsewhere."""
    kept = []
    for one in found:
        time = float(matrix.time_min[one.scan])
        taken = any(
            abs(time - at) <= half and set(one.mz[:2] + (one.lead,)) & set(masses) for at, half, masses in known
        )
        if not taken:
            kept.append(one)
    return kept


def _compounds(found: list[_Found], settings: UnknownSettings) -> list[_Found]:
    """One a compound, the best cluster with the others of the same apex as its support."""
    kept: list[_Found] = []
    for one in sorted(found, key=lambda one: -one.score):
        if not np.isfinite(one.score):
            continue
        home: _Found | None = None
        for other in kept:
            if abs(other.apex - one.apex) <= _same_apex(one, other, settings):
                home = other
                break
        if home is None:
            kept.append(one)
        elif not any(_overlap(one, cluster) for cluster in (home, *home.supports)):
            home.supports.append(one)
    return kept


def _same_apex(one: _Found, other: _Found, settings: UnknownSettings) -> float:
    """Scans by which the apexes of two clusters of one compound may stand apart."""
    skew = abs(one.lead - other.lead) / len(one.spectrum.height)
    return max(settings.same * one.spectrum.width, 3.0 * float(np.hypot(one.u_apex, other.u_apex))) + skew


def _overlap(one: _Found, other: _Found) -> bool:
    """Whether two clusters share masses."""
    return one.base - 2 <= other.mz[-1] + 1 and other.base - 2 <= one.mz[-1] + 1


def _total(one: _Found) -> float:
    """Score of a compound: chance puts a second cluster where it has put one more readily than elsewhere."""
    return one.score + 0.5 * sum(other.score for other in one.supports if other.score > SUPPORT)


def _cluster(one: _Found, matrix: IonMatrix, index: Callable[[float], float | None], step: Step) -> UnknownCluster:
    """What is reported of a compound."""
    clusters = [one, *(other for other in one.supports if other.score > SUPPORT)]
    heaviest = max(clusters, key=lambda cluster: cluster.base if cluster.score > SUPPORT else -1)
    spectrum = heaviest.spectrum
    interval = float(np.median(np.diff(matrix.time_min)))
    time = float(matrix.time_min[heaviest.scan]) + (heaviest.apex - heaviest.scan) * interval
    area = float(np.sqrt(np.pi / (4.0 * np.log(2.0)))) * spectrum.width * interval
    together = spectrum.together(heaviest.lead)
    current = float(spectrum.height[together - spectrum.first_mz].sum()) * area
    lost = tuple(sorted({loss.mass for cluster in clusters for loss in cluster.losses}))
    return UnknownCluster(
        time, index(time), heaviest.halogens.chlorine, heaviest.halogens.bromine, heaviest.mz, lost,
        character_of(spectrum, heaviest.base, heaviest.halogens, lost, together), heaviest.height * area,
        float(np.hypot(heaviest.sd, 0.05 * heaviest.height)) * area, max(current, heaviest.height * area),
        _evidence(heaviest, clusters, _total(one)), step,
    )  # fmt: skip


def _evidence(one: _Found, clusters: list[_Found], score: float) -> tuple[Evidence, ...]:
    """Tests in words of the table of evidence."""
    freedom = float(one.masses - 2)
    spread = float(np.sqrt(2.0 * freedom))
    found = [
        Evidence(
            "cluster pattern", "for" if one.misfit < freedom + 3 * spread else "open", one.misfit, freedom, spread
        ),
        Evidence("cluster apexes", "for" if one.apart < 3 else "open", one.apart, 0.0, 1.0, "sd"),
        Evidence("cluster carbons", "for" if one.thin > 2 else "open", one.carbon, None, None, "C"),
    ]
    if one.losses:
        best = max(one.losses, key=lambda loss: loss.worth)
        found.append(Evidence("halogen lost", "for", best.share, None, best.u_share, "of the cluster"))
    else:
        found.append(Evidence("halogen lost", "open"))
    if len(clusters) > 1:
        found.append(Evidence("further clusters", "for", float(len(clusters) - 1)))
    found.append(Evidence("cluster score", "for", score, None, None, "ln odds"))
    return tuple(found)
