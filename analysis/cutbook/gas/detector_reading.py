"""Turn the traces of a gas by one detector and its responses into raw mole fractions and limits of the rest."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from cutbook.gas.gas_response import (
    CONDUCTIVITY,
    UNIDENTIFIED,
    DetectorResponses,
    GasResponseSettings,
    response_of,
)
from cutbook.gas.peak_times import PeakTimeSettings, ToldPeaks, tell_peaks
from cutbook.model.amount import doubt, flat, nominal, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.gas import DetectorReading, GasPeak, GasPeaks, GasResponse, GasSignal
from cutbook.model.lineage import Step
from cutbook.model.result import Result

DETECTION = 3.29 * 2**0.5
"""Area that is detected, in standard deviations of the area that noise makes: Currie's detection limit for a paired
blank, the baseline beside the peak (Currie 1968; 5 % chance of either error)."""
_BASE_WIDTHS = 4.2  # half-height widths from limit to limit of a lone peak, as of cutbook.chromatogram.peak_limits
HYDROGEN = "hydrogen"


@dataclass(frozen=True)
class DetectorReadingSettings:
    """How a gas is read from the traces of one detector.

    response : of the standard. times : how peaks are told. bent_u : relative standard uncertainty, beyond repeat, of
        hydrogen in helium and of whatever has a peak that points down: their response is no straight line (10 %,
        judged).
    unnamed : share of the area in peaks that nobody names from which the times are not trusted, and what was not found
        is not given instead of below a limit (0.5, judged).
    """

    response: GasResponseSettings = GasResponseSettings()
    times: PeakTimeSettings = PeakTimeSettings()
    bent_u: float = 0.10
    unnamed: float = 0.5


@dataclass(frozen=True, eq=False)
class SampleRun:
    """A trace of the gas. own_times_min : where the entry itself says that components elute in this trace."""

    peaks: GasPeaks
    own_times_min: Mapping[str, float]


def read_detector(
    runs: Sequence[SampleRun], found: DetectorResponses, standards: Sequence[Step], files: Sequence[str], about: str,
    settings: DetectorReadingSettings = DetectorReadingSettings(),
) -> DetectorReading:  # fmt: skip
    """Raw mole fractions of a gas from the traces of one detector.

    Parameters
    ----------
    runs : traces of one gas; several are repeats. found : responses. standards, files : where those come from.
    about : the product.

    Returns
    -------
    DetectorReading
        x = A/R, mean of the traces, nothing where one lacks it ("gas.repeat_lacks"). A component whose peak is missing
        from every trace has a limit from the noise, where there is a trace and most of its area is named. Peaks that
        nobody names are "unidentified", with a response between those that such compounds may have.
    """
    raised = list(found.cautions)
    signals: list[GasSignal] = []
    values: dict[str, list[Any]] = {}
    unknown: dict[str, None] = {}
    nameless: list[Any] = []
    area_all = area_nameless = 0.0
    responses: dict[str, GasResponse] = dict(found.by_component)
    step = Step(
        "mole fractions from traces/1",
        inputs=tuple(dict.fromkeys((*standards, *(run.peaks.step for run in runs)))),
        settings={"settings": settings, "detector": found.detector, "carrier": found.carrier},
    )

    in_helium = found.detector == CONDUCTIVITY and found.carrier in ("helium", "")

    def share_of(name: str, peak: GasPeak) -> tuple[GasResponse | None, Any]:
        response = responses.get(name) or response_of(name, found, settings.response)
        if response is None or peak.area * nominal(response.amount) <= 0:
            return None, None
        responses[name] = response
        area = peak.area * (1 + found.repeat_u * doubt(f"repeat of areas of {about}, {found.detector}"))
        area = area + peak.u_area * doubt(f"noise of {about}, {found.detector}")
        if peak.area < 0 or (name == HYDROGEN and in_helium):
            off = found.bent.setdefault(name, doubt(f"bent response of {name}"))
            area = area * (1 + settings.bent_u * off)
        return response, flat(area / response.amount)

    for run in runs:
        told = tell_peaks(found.times_min, run.peaks.peaks, settings.times)
        raised += _shifted(told, run.peaks, about, settings.times)
        named = dict(told.peaks)
        named |= tell_peaks(run.own_times_min, run.peaks.peaks, replace(settings.times, drift=0.0)).peaks
        by_peak = {peak: name for name, peak in named.items()}
        here: list[Any] = []
        for peak in run.peaks.peaks:
            name = by_peak.get(peak, UNIDENTIFIED)
            area_all += abs(peak.area)
            area_nameless += abs(peak.area) if name == UNIDENTIFIED else 0.0
            if peak.area < 0:
                code = "gas.peak_down_unknown" if name == UNIDENTIFIED else "gas.peak_down"
                raised.append(Caution(code, about, {"time": round(peak.apex_min, 2), "component": name}))
            response, share = share_of(name, peak)
            if share is None and name != UNIDENTIFIED:
                unknown[name] = None
            elif share is not None and name == UNIDENTIFIED:
                here.append(share)
            elif share is not None:
                values.setdefault(name, []).append(share)
            signals.append(_signal(found.detector, run.peaks.file, name, peak, response, share, step))
        nameless.append(total(here))
    shares = {name: flat(total(each) / len(runs)) for name, each in values.items()}
    share_nameless = area_nameless / area_all if area_all else 0.0
    limits = _limits(runs, found, responses, shares, unknown, settings)
    if share_nameless > settings.unnamed:
        limits = {}
        raised.append(
            caution("gas.mostly_unnamed", about, detector=found.detector, area=round(100 * share_nameless, 1))
        )
    if lacking := [name for name, each in values.items() if len(each) < len(runs)]:
        raised.append(
            caution("gas.repeat_lacks", about, detector=found.detector, names=", ".join(lacking), count=len(runs))
        )
    raised += _units(runs, found, about)
    if in_helium and HYDROGEN in shares:
        raised.append(caution("gas.hydrogen_in_helium", about, percent=round(100 * nominal(shares[HYDROGEN]), 2)))
    raised += _told(found, responses, shares, limits, tuple(unknown), about)
    missing = tuple(
        one
        for one in responses
        if one not in shares and one not in limits and one not in unknown and one != UNIDENTIFIED
    )
    lost: Any = total(nameless) / len(runs) if any(nominal(one) > 0 for one in nameless) else None
    return DetectorReading(
        found.detector, tuple(run.peaks.file for run in runs), tuple(files), MappingProxyType(responses),
        MappingProxyType(shares), MappingProxyType(limits), tuple(signals), lost, share_nameless, tuple(unknown),
        missing, found.repeat_u, replace(step, cautions=tuple(dict.fromkeys(raised))),
    )  # fmt: skip


def _signal(
    detector: str, file: str, name: str, peak: GasPeak, response: GasResponse | None, share: Any, step: Step
) -> GasSignal:
    measurand, basis = f"{name} at {peak.apex_min:.2f} min", "gas as injected, raw"
    told = (
        Result.missing(measurand, "%", basis, step, "gas.no_response")
        if share is None
        else Result(measurand, 100 * share, "%", basis, step)
    )
    how = "none" if response is None else response.how
    return GasSignal(detector, file, name, peak.apex_min, peak.area, peak.u_area, how, told, False)


def _shifted(told: ToldPeaks, peaks: GasPeaks, about: str, times: PeakTimeSettings) -> list[Caution]:
    if abs(told.shift_min) <= 0.5 * peaks.half_width_min:
        return []
    facts: dict[str, str | float | int] = {"file": peaks.file, "minutes": round(told.shift_min, 3)}
    if abs(told.drift - 1) <= times.earned:
        return [Caution("gas.times_shifted", about, facts)]
    return [Caution("gas.times_far_off", about, {**facts, "percent": round(100 * (told.drift - 1), 1)})]


def _units(runs: Sequence[SampleRun], found: DetectorResponses, about: str) -> list[Caution]:
    """Areas of gas and standard are compared as they stand."""
    units = [
        tuple(dict.fromkeys(unit for unit in of if unit)) for of in ((one.peaks.unit for one in runs), found.units)
    ]
    if len({*units[0], *units[1]}) < 2:
        return []
    sample, standard = (", ".join(of) or "no stated unit" for of in units)
    return [caution("gas.units_differ", about, detector=found.detector, sample=sample, standard=standard)]


def _limits(
    runs: Sequence[SampleRun], found: DetectorResponses, responses: dict[str, GasResponse], shares: Mapping[str, Any],
    unknown: Mapping[str, None], settings: DetectorReadingSettings,
) -> dict[str, float]:  # fmt: skip
    """The mole fraction that noise would hide, of every component that is looked for and was not found."""
    limits: dict[str, float] = {}
    times = dict(found.times_min)
    for run in runs:
        times |= run.own_times_min
    noises = [run.peaks.noise_area for run in runs]
    for name, time in times.items():
        response = responses.get(name) or response_of(name, found, settings.response)
        if name in shares or name in unknown or response is None:
            continue
        responses[name] = response
        reached = [
            DETECTION * noise * math.sqrt(_BASE_WIDTHS * run.peaks.half_width_min)
            for run, noise in zip(runs, noises, strict=True)
            if noise is not None and run.peaks.start_min < time < run.peaks.end_min
        ]
        if reached:
            limits[name] = max(reached) / abs(nominal(response.amount))
    return limits


def _told(
    found: DetectorResponses, responses: Mapping[str, GasResponse], shares: Mapping[str, Any],
    limits: Mapping[str, float], unknown: tuple[str, ...], about: str,
) -> list[Caution]:  # fmt: skip
    """What to say of responses that no standard gave."""
    relative = [name for name, one in responses.items() if one.how == "relative" and (name in shares or name in limits)]
    raised = []
    if relative:
        anchors = dict.fromkeys(responses[name].reference for name in relative)
        raised.append(
            caution("gas.relative_response", about, detector=found.detector, names=", ".join(relative),
                    anchors=", ".join(anchors))
        )  # fmt: skip
        if found.detector == CONDUCTIVITY and not found.carrier:
            raised.append(caution("gas.carrier_not_stated", about))
    if unknown:
        raised.append(caution("gas.no_response", about, detector=found.detector, names=", ".join(unknown)))
    return raised
