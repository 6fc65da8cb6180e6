"""Join what one or two detectors read of a gas by the component that both see, and make it a dry gas."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from cutbook.gas.composition import WATER, CompositionSettings, dry_gas
from cutbook.gas.detector_reading import HYDROGEN, DetectorReadingSettings
from cutbook.gas.gas_response import FLAME, UNIDENTIFIED, relative_response
from cutbook.model.amount import Amount, doubt, flat, nominal, standard_uncertainty, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import InputError
from cutbook.model.gas import DetectorReading, TracedGas
from cutbook.model.lineage import Step

ABOUT_AS_CERTAIN = 1.25
"""Ratio of two relative uncertainties within which neither is preferred to the other."""
_NEVER_SEEN = ("hydrogen chloride", WATER)
_GIVEN_BY_NO_FLAME = (HYDROGEN, "nitrogen", "oxygen", "carbon monoxide", "carbon dioxide")


@dataclass(frozen=True)
class TracedGasSettings(DetectorReadingSettings):
    """How a gas is read from its traces; see `DetectorReadingSettings` too.

    bridge : departure of the joining component between two detectors from which it is told, where it is beyond twice
        its uncertainty (3 %, common practice, no source).
    """

    bridge: float = 0.03


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
        raised += _twice(readings, about)
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


def _twice(readings: Sequence[DetectorReading], about: str) -> list[Caution]:
    """Hydrocarbons of the first detector that may be among the peaks of the flame without a name."""
    if len(readings) < 2:
        return []
    first, flame = readings
    names = [
        name
        for name in first.shares
        if relative_response(name, FLAME) and name not in flame.shares and name not in flame.limits
    ]
    told = caution("gas.unidentified_twice", about, first=first.detector, second=flame.detector, names=", ".join(names))
    return [told] if names else []


def _nameless(reading: DetectorReading) -> int:
    return sum(one.component == UNIDENTIFIED for one in reading.signals)
