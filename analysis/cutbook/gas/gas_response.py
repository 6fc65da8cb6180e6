"""Find from the trace of a certified gas how strongly a detector answers to a mole of each component."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from cutbook.gas.peak_times import PeakTimeSettings, tell_peaks
from cutbook.gas.substances import substances
from cutbook.model.amount import Amount, doubt, flat, nominal, tabulated, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.entered import Entered
from cutbook.model.errors import InputError
from cutbook.model.gas import GasPeak, GasPeaks, GasResponse
from cutbook.model.tables import reference

UNIDENTIFIED = "unidentified"
FLAME, CONDUCTIVITY = "FID", "TCD"


@dataclass(frozen=True)
class GasResponseSettings:
    """What is taken of a gas standard.

    repeat_u : relative standard uncertainty of one area by repeated injection, where fewer than two injections of one
        gas tell it (1 %, common practice for a sample loop, no source).
    relative_u : relative standard uncertainty of a response taken from the table of relative ones (10 %: the table is
        stated to 3 %, is from memory here, and your detector is another; judged).
    scatter : repeats that scatter by more than this are told (3 %).
    """

    repeat_u: float = 0.01
    relative_u: float = 0.10
    scatter: float = 0.03


@dataclass(frozen=True, eq=False)
class Certified:
    """A component of the standard. share : mole fraction of the certificate, None for one whose time alone is known.
    time_min : where it elutes, None where nobody says."""

    component: str
    share: Entered | None
    time_min: float | None


@dataclass(frozen=True, eq=False)
class StandardRun:
    """A trace of the gas standard with what its certificate says. place : entry of the run sheet."""

    peaks: GasPeaks
    amounts: tuple[Certified, ...]
    place: str


@dataclass(frozen=True, eq=False)
class DetectorResponses:
    """What the standards of one detector tell.

    by_component : those it holds. times_min : where each elutes, those known by time alone included. repeat_u :
    relative, of one area. repeats : degrees of freedom behind it, 0 for a judged one. not_seen : in the certificate
    and not seen by the detector. units : of the signals. relative, bent : responses of the table and doubts of bent
    ones, each made once for all gases that are read with these responses, so that they are one error of all.
    """

    detector: str
    carrier: str
    by_component: Mapping[str, GasResponse]
    times_min: Mapping[str, float]
    repeat_u: float
    repeats: int
    not_seen: tuple[str, ...]
    cautions: tuple[Caution, ...] = field(default=())
    units: tuple[str, ...] = ()
    relative: dict[str, GasResponse | None] = field(default_factory=dict)
    bent: dict[str, Amount] = field(default_factory=dict)


@cache
def relative_response(component: str, detector: str) -> float | None:
    """Molar response of the table: to benzene = 100 in helium, or in aliphatic carbons; None where it has none, 0 where
    a detector does not see the component."""
    row = reference("gas_responses").by("name").get(component)
    text = "" if row is None else row["effective_carbons" if detector == FLAME else "tcd_helium"]
    return float(text) if text else None


def detector_responses(
    detector: str,
    carrier: str,
    runs: Sequence[StandardRun],
    about: str,
    times: PeakTimeSettings,
    settings: GasResponseSettings = GasResponseSettings(),
) -> DetectorResponses:
    """Response of a detector to each component of the gas standard.

    Parameters
    ----------
    detector : "TCD" or "FID". carrier : gas, "" where nobody says. runs : at least one. about : the product.
    times : how peaks are told.

    Returns
    -------
    DetectorResponses
        Area over mole fraction, mean of the injections, with the uncertainty of the certificate and of the repeat. One
        certificate figure is one variable in every trace and detector that names it.

    Raises
    ------
    InputError
        When a peak that the entry times is not there, or peaks without times can't be told by their order.

    Notes
    -----
    R = A/x at one point, taken as a line through the origin.
    """
    raised: list[Caution] = []
    told = [_told(run, detector, carrier, about, raised, times) for run in runs]
    of_component: dict[str, list[tuple[GasPeak, Entered]]] = {}
    at_min: dict[str, list[float]] = {}
    for run, peaks in zip(runs, told, strict=True):
        for one in run.amounts:
            peak = peaks.get(one.component)
            if one.share is None and one.time_min is not None:
                # what the standard lacks has no peak in it, and its time on the same clock
                at_min.setdefault(one.component, []).append(one.time_min if peak is None else peak.apex_min)
            elif peak is not None and one.share is not None:
                at_min.setdefault(one.component, []).append(peak.apex_min)
                of_component.setdefault(one.component, []).append((peak, one.share))
    if not of_component:
        raise InputError.single(
            runs[0].peaks.file, runs[0].place, f"a gas standard with nothing that a {detector} sees",
            "a component with its concentration",
        )  # fmt: skip
    repeat_u, repeats = _repeat(list(of_component.values()), settings)
    if repeats and repeat_u > settings.scatter:
        raised.append(caution("gas.repeats_scatter", about, detector=detector, percent=round(100 * repeat_u, 1)))
    found = {}
    for name, pairs in of_component.items():
        areas = [
            peak.area * (1 + repeat_u * doubt(f"repeat of areas of the standard, {detector}"))
            + peak.u_area * doubt(f"noise of the standard, {detector}")
            for peak, _ in pairs
        ]
        each = [area / certificate(name, share) for area, (_, share) in zip(areas, pairs, strict=True)]
        mean: Any = flat(total(each) / len(each))
        found[name] = GasResponse(name, mean, "standard", name, sum(at_min[name]) / len(at_min[name]))
    seen = {name for run in told for name in run}
    held = dict.fromkeys(one.component for run in runs for one in run.amounts if one.share is not None)
    not_seen = tuple(name for name in held if name not in seen)
    if not_seen:
        raised.append(caution("gas.standard_not_seen", about, detector=detector, names=", ".join(not_seen)))
    return DetectorResponses(
        detector, carrier, found, {name: sum(all_at) / len(all_at) for name, all_at in at_min.items()},
        repeat_u, repeats, not_seen, tuple(raised), tuple(dict.fromkeys(run.peaks.unit for run in runs)),
    )  # fmt: skip


@cache
def _certified(component: str, value: float, u: float, text: str) -> Amount:
    return tabulated(value, u, f"certificate of {component}")


def certificate(component: str, share: Entered) -> Amount:
    """The mole fraction of a certificate as one variable wherever the same figure of the same component stands."""
    return _certified(component, share.value, share.u, share.text)


def response_of(
    component: str, found: DetectorResponses, settings: GasResponseSettings = GasResponseSettings()
) -> GasResponse | None:
    """The response to a component: of the standard where it holds it, else from the table relative to the one in the
    standard that answers most nearly alike; None where neither tells it.

    Hydrogen is never taken from a table, and nothing is where the carrier is neither helium nor unknown: the figures
    hold for helium. A sum of components, and what is not identified, has the mean of its representatives, with a
    rectangle from its light to its heavy end.
    """
    if component in found.by_component:
        return found.by_component[component]
    if component not in found.relative:
        found.relative[component] = _relative(component, found, settings)
    return found.relative[component]


def _relative(component: str, found: DetectorResponses, settings: GasResponseSettings) -> GasResponse | None:
    told = _in_table(component, found.detector)
    if told is None or (found.detector == CONDUCTIVITY and found.carrier not in ("helium", "")):
        return None
    of_table, spread = told
    anchors = {
        name: known
        for name, one in found.by_component.items()
        if (known := relative_response(name, found.detector)) and nominal(one.amount) > 0
    }
    if not anchors:
        return None
    nearest = min(anchors, key=lambda name: abs(math.log(of_table / anchors[name])))
    # the doubts divide, so that the share, an area over this response, is a straight line in them
    off: Any = 1 + settings.relative_u * doubt(f"relative response of {component}, {found.detector}")
    if spread:
        off = off * (1 + spread * doubt(f"what {component} consists of, {found.detector}"))
    amount = found.by_component[nearest].amount * (of_table / anchors[nearest]) / off
    return GasResponse(component, amount, "relative", nearest, found.times_min.get(component))


def _in_table(component: str, detector: str) -> tuple[float, float] | None:
    """Relative response of the table and, of a sum of components, its relative spread; None for unknown and unseen."""
    if not substances()[component].is_lump:
        known = relative_response(component, detector)
        return (known, 0.0) if known else None
    row = reference("gas_lumps").by("name")[component]
    parts = [one for name in row["representative"].split("|") if (one := relative_response(name, detector))]
    ends = [one for key in ("light", "heavy") if (one := relative_response(row[key], detector))]
    if not parts:
        return None
    mean = sum(parts) / len(parts)
    # rectangular from the light to the heavy end, as of the substance itself
    return mean, (max(*parts, *ends) - min(*parts, *ends)) / 12**0.5 / mean


def _told(
    run: StandardRun, detector: str, carrier: str, about: str, raised: list[Caution], times: PeakTimeSettings
) -> dict[str, GasPeak]:
    """The peaks of a standard by component, by their stated times, the rest in order of elution."""
    stated = {one.component: one.time_min for one in run.amounts if one.time_min is not None}
    told = dict(tell_peaks(stated, run.peaks.peaks, times).peaks)
    shown = ", ".join(f"{peak.apex_min:.2f}" for peak in run.peaks.peaks) or "none"
    held = {one.component for one in run.amounts if one.share is not None}
    for name, time in stated.items():
        if name in held and name not in told and not _unseen(name, detector, carrier):
            raise InputError.single(
                run.peaks.file, f"{run.place}, {name}", f"no peak at {time:.2f} min; peaks at {shown} min",
                "the retention time of a peak of the gas standard",
            )  # fmt: skip
    rest = [
        one.component for one in run.amounts if one.time_min is None and not _unseen(one.component, detector, carrier)
    ]
    if not rest:
        return told
    taken = {peak.apex_min for peak in told.values()}
    left = [peak for peak in run.peaks.peaks if peak.apex_min not in taken]
    if len(left) != len(rest):
        raise InputError.single(
            run.peaks.file, run.place,
            f"{len(left)} peaks (at {shown} min) for {len(rest)} components without a retention time",
            "as many peaks as components, or retention times",
            'Tell each peak: amounts = [{ name = "methane", concentration = "25.0 %", retention_time = "1.83 min" }]',
        )  # fmt: skip
    told |= dict(zip(rest, left, strict=True))
    order = ", ".join(f"{name} {peak.apex_min:.2f} min" for name, peak in zip(rest, left, strict=True))
    raised.append(caution("gas.told_by_order", about, detector=detector, order=order))
    return told


def _unseen(name: str, detector: str, carrier: str) -> bool:
    """Whether a detector does not see a component: no carbon to burn, or the carrier gas itself."""
    return name == carrier or (detector == FLAME and relative_response(name, detector) == 0)


def _repeat(groups: Sequence[Sequence[tuple[GasPeak, Entered]]], settings: GasResponseSettings) -> tuple[float, int]:
    """Relative standard deviation of one area, pooled over the components that were injected twice at least, and its
    degrees of freedom; the judged one without any."""
    squares, degrees = 0.0, 0
    for group in groups:
        each = [peak.area / share.value for peak, share in group]
        mean = sum(each) / len(each)
        squares += sum((one / mean - 1) ** 2 for one in each)
        degrees += len(each) - 1
    return (math.sqrt(squares / degrees), degrees) if degrees else (settings.repeat_u, 0)
