"""Turn the traces of a gas and the responses of its detectors into mole fractions; join detectors by what both see."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from cutbook.gas.composition import WATER, CompositionSettings, dry_gas
from cutbook.gas.gas_response import (
    CONDUCTIVITY,
    FLAME,
    UNIDENTIFIED,
    DetectorResponses,
    GasResponseSettings,
    response_of,
)
from cutbook.gas.peak_times import PeakTimeSettings, tell_peaks
from cutbook.model.amount import Amount, doubt, flat, nominal, standard_uncertainty, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import InputError
from cutbook.model.gas import DetectorReading, GasPeak, GasPeaks, GasResponse, GasSignal, TracedGas
from cutbook.model.lineage import Step
from cutbook.model.result import Result

DETECTION = 3.29 * 2**0.5
"""Area that is detected, in standard deviations of the area that noise makes: Currie's detection limit for a paired
blank, the baseline beside the peak (Currie 1968; 5 % chance of either error)."""
ABOUT_AS_CERTAIN = 1.25
"""Ratio of two relative uncertainties within which neither is preferred to the other."""
_BASE_WIDTHS = 4.2  # half-height widths from limit to limit of a lone peak, as of cutbook.chromatogram.peak_limits
HYDROGEN = "hydrogen"
_NEVER_SEEN = ("hydrogen chloride", WATER)
_GIVEN_BY_NO_FLAME = (HYDROGEN, "nitrogen", "oxygen", "carbon monoxide", "carbon dioxide")


@dataclass(frozen=True)
class TracedGasSettings:
    """How a gas is read from its traces.

    response : of the standard. times : how peaks are told. bent_u : relative standard uncertainty, beyond repeat, of
        hydrogen in helium and of whatever has a peak that points down: their response is no straight line (10 %,
        judged).
    bridge : departure of the joining component between two detectors from which it is told, where it is beyond twice
        its uncertainty (3 %, common practice, no source).
    """

    response: GasResponseSettings = GasResponseSettings()
    times: PeakTimeSettings = PeakTimeSettings()
    bent_u: float = 0.10
    bridge: float = 0.03


@dataclass(frozen=True, eq=False)
class SampleRun:
    """A trace of the gas. own_times_min : where the entry itself says that components elute in this trace."""

    peaks: GasPeaks
    own_times_min: Mapping[str, float]


def read_detector(
    runs: Sequence[SampleRun], found: DetectorResponses, standards: Sequence[Step], files: Sequence[str], about: str,
    settings: TracedGasSettings = TracedGasSettings(),
) -> DetectorReading:  # fmt: skip
    """Raw mole fractions of a gas from the traces of one detector.

    Parameters
    ----------
    runs : traces of one gas; several are repeats. found : responses. standards, files : where those come from.
    about : the product.

    Returns
    -------
    DetectorReading
        x = A/R, mean of the traces. A component whose peak is missing from every trace has a limit from the noise,
        where there is a trace. Peaks that nobody names are "unidentified", with a response between those that such
        compounds may have.
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
            area = area * (1 + settings.bent_u * doubt(f"bent response of {name}"))
        return response, flat(area / response.amount)

    for run in runs:
        told = tell_peaks(found.times_min, run.peaks.peaks, settings.times)
        raised += _shifted(told.shift_min, run.peaks, about)
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
    limits = _limits(runs, found, responses, shares, unknown, settings)
    if in_helium and HYDROGEN in shares:
        raised.append(caution("gas.hydrogen_in_helium", about, percent=round(100 * nominal(shares[HYDROGEN]), 2)))
    raised += _told(found, responses, shares, limits, tuple(unknown), about)
    missing = tuple(
        one
        for one in responses
        if one not in shares and one not in limits and one not in unknown and one != UNIDENTIFIED
    )
    share_nameless = area_nameless / area_all if area_all else 0.0
    lost: Any = total(nameless) / len(runs) if any(nominal(one) > 0 for one in nameless) else None
    return DetectorReading(
        found.detector, tuple(run.peaks.file for run in runs), tuple(files), MappingProxyType(responses),
        MappingProxyType(shares), MappingProxyType(limits), tuple(signals), lost, share_nameless, tuple(unknown),
        missing, found.repeat_u, replace(step, cautions=tuple(dict.fromkeys(raised))),
    )  # fmt: skip


def traced_gas(
    readings: Sequence[DetectorReading],
    about: str,
    judged: CompositionSettings,
    settings: TracedGasSettings = TracedGasSettings(),
) -> TracedGas:
    """The dry gas that one or two detectors tell.

    Parameters
    ----------
    readings : one a detector, the thermal-conductivity detector first. about : the product. judged : how the raw sum
        is judged.

    Returns
    -------
    TracedGas
        The shares of the second detector are scaled so that the component which both see best is the same in both.
        What both see is taken from the first unless the other tells it clearly more certainly; peaks without a name
        from the flame.

    Raises
    ------
    InputError
        When nothing was seen.
    """
    raised: list[Caution] = []
    shares: dict[str, Any] = {}
    limits: dict[str, float] = {}
    origin: dict[str, str] = {}
    bridge, ratio = _bridge(readings)
    lost: Any = None
    for place, reading in enumerate(readings):
        scale: Any = ratio if place and ratio is not None else 1.0
        for name, share in reading.shares.items():
            scaled = flat(share * scale)
            if name in shares and name != bridge and not _surer(scaled, shares[name]):
                continue
            if name == bridge and place:
                continue
            shares[name], origin[name] = scaled, reading.detector
        for name, limit in reading.limits.items():
            limits[name] = min(limits.get(name, math.inf), limit * nominal(scale))
        if reading.unidentified is not None and (reading.detector == FLAME or len(readings) == 1):
            lost = reading.unidentified * scale
            origin[UNIDENTIFIED] = reading.detector
            raised.append(
                caution(
                    "gas.unidentified", about, detector=reading.detector,
                    area=round(100 * reading.area_unidentified, 1), count=_nameless(reading),
                )
            )  # fmt: skip
        elif reading.unidentified is not None:
            raised.append(
                caution("gas.unidentified_left_out", about, detector=reading.detector,
                        area=round(100 * reading.area_unidentified, 1))
            )  # fmt: skip
    if lost is not None:
        shares[UNIDENTIFIED] = lost
    raised += _joined(readings, bridge, ratio, shares, about, settings)
    raw: Any = total(shares.values())
    if nominal(raw) <= 0:
        raise InputError.single(readings[0].samples[0], "", "no peak of a known component", "a trace of the gas")
    limits = {name: limit for name, limit in limits.items() if name not in shares}
    raw_sum = nominal(raw)
    percent = round(100 * raw_sum, 2)
    if not judged.low <= raw_sum <= judged.high:
        low, high = round(100 * judged.low, 2), round(100 * judged.high, 2)
        raised.append(caution("gas.traced_sum_off", about, sum=percent, low=low, high=high))
    elif abs(raw_sum - 1) > judged.rounding:
        raised.append(caution("gas.traced_normalised", about, sum=percent))
    if limits:
        raised.append(caution("gas.below_noise", about, names=", ".join(limits)))
    raised += _blind(readings, shares, limits, about)
    if WATER in shares:
        raised.append(caution("gas.traced_water", about))
    values = dict(shares)
    for name, limit in limits.items():
        values[name] = doubt(f"{name} below its limit") * (limit / 3**0.5)
    step = Step(
        "gas from traces/1",
        inputs=tuple(reading.step for reading in readings),
        settings={"settings": settings, "bridge": bridge},
        cautions=tuple(dict.fromkeys(raised)),
    )
    not_given = tuple(
        dict.fromkeys(
            n for one in readings for n in (*one.unknown, *one.not_seen) if n not in shares and n not in limits
        )
    )
    composition = dry_gas(
        readings[0].samples[0], values, {n: limit / raw_sum for n, limit in limits.items()}, not_given, raw_sum, step
    )
    signals = tuple(
        replace(one, taken=origin.get(one.component) == one.detector) for reading in readings for one in reading.signals
    )
    return TracedGas(tuple(readings), bridge, ratio, signals, composition)


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


def _shifted(shift_min: float, peaks: GasPeaks, about: str) -> list[Caution]:
    if abs(shift_min) <= 0.5 * peaks.half_width_min:
        return []
    return [caution("gas.times_shifted", about, file=peaks.file, minutes=round(shift_min, 3))]


def _limits(
    runs: Sequence[SampleRun], found: DetectorResponses, responses: dict[str, GasResponse], shares: Mapping[str, Any],
    unknown: Mapping[str, None], settings: TracedGasSettings,
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


def _bridge(readings: Sequence[DetectorReading]) -> tuple[str, Amount | None]:
    """The component that joins two detectors, and the ratio of what they found of it: the most certain ratio of those
    that both have from a standard."""
    if len(readings) < 2:
        return "", None
    first, second = readings[0], readings[1]
    ratios: dict[str, Any] = {
        name: first.shares[name] / second.shares[name]
        for name in first.shares
        if name in second.shares and first.responses[name].how == second.responses[name].how == "standard"
    }
    if not ratios:
        return "", None
    spread = {name: standard_uncertainty(ratio) / nominal(ratio) for name, ratio in ratios.items()}
    # of those that are about as certain as the best the first that elutes, so that a trifle does not decide
    best = next(name for name in ratios if spread[name] <= ABOUT_AS_CERTAIN * min(spread.values()))
    return best, ratios[best]


def _surer(one: Any, other: Any) -> bool:
    return ABOUT_AS_CERTAIN * standard_uncertainty(one) / nominal(one) < standard_uncertainty(other) / nominal(other)


def _joined(
    readings: Sequence[DetectorReading], bridge: str, ratio: Any, shares: Mapping[str, Any], about: str,
    settings: TracedGasSettings,
) -> list[Caution]:  # fmt: skip
    if len(readings) < 2:
        return []
    first, second = readings[0], readings[1]
    if ratio is None:
        return [caution("gas.no_bridge", about, first=first.detector, second=second.detector)]
    off = nominal(ratio) - 1
    percent = round(100 * off, 1)
    raised = [
        caution("gas.bridged", about, component=bridge, first=first.detector, second=second.detector, percent=percent)
    ]
    if abs(off) > max(settings.bridge, 2 * standard_uncertainty(ratio)):
        raised.append(caution("gas.bridge_off", about, component=bridge, percent=percent))
    for name in first.shares:
        if name in second.shares and name != bridge:
            apart = first.shares[name] - second.shares[name] * ratio
            if abs(nominal(apart)) > 2 * standard_uncertainty(apart):
                raised.append(
                    caution("gas.detectors_disagree", about, component=name,
                            first=round(100 * nominal(first.shares[name]), 2),
                            second=round(100 * nominal(second.shares[name] * ratio), 2))
                )  # fmt: skip
    return raised


def _blind(
    readings: Sequence[DetectorReading], shares: Mapping[str, Any], limits: Mapping[str, float], about: str
) -> list[Caution]:
    """What the detectors at hand do not see, or were not taught to."""
    detectors = " and ".join(reading.detector for reading in readings)
    names = [name for name in _NEVER_SEEN if name not in shares]
    only_flame = all(reading.detector == FLAME for reading in readings)
    names += [name for name in _GIVEN_BY_NO_FLAME if only_flame and name not in shares]
    raised = [caution("gas.not_seen", about, detectors=detectors, names=", ".join(names))]
    if not only_flame and HYDROGEN not in shares and HYDROGEN not in limits:
        raised.append(caution("gas.hydrogen_not_calibrated", about))
    return raised


def _nameless(reading: DetectorReading) -> int:
    return sum(one.component == UNIDENTIFIED for one in reading.signals)
