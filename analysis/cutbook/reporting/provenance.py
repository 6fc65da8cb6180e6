"""List every step behind the reported numbers: what was done, from what, with which settings."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from cutbook.model.lineage import Step
from cutbook.workup.findings import Findings


@dataclass(frozen=True)
class StepLine:
    """One step as printed: id, operation, ids of its inputs, file with entry and sha256, settings as JSON text."""

    id: str
    operation: str
    inputs: tuple[str, ...]
    file: str
    place: str
    sha256: str
    settings: str
    cautions: tuple[str, ...]


def steps_of(findings: Findings) -> tuple[StepLine, ...]:
    """Every step behind any reported number or record, each once, inputs before what they feed."""
    return step_lines(_roots(findings))


def step_lines(roots: Iterable[Step]) -> tuple[StepLine, ...]:
    """Every step of some trees of steps, each once, inputs before what they feed."""
    seen: dict[str, StepLine] = {}
    for root in roots:
        for step in root.walk():
            if step.id not in seen:
                seen[step.id] = _line(step)
    return tuple(seen.values())


def _roots(findings: Findings) -> Iterator[Step]:
    yield findings.run.step
    done: set[int] = set()
    for result in findings.named().values():
        if id(result.step) not in done:
            done.add(id(result.step))
            yield result.step
    for sample in findings.samples:
        for one in sample.curves or ():
            yield one.step
        yield sample.peaks.step
        if sample.ladder is not None:
            yield sample.ladder.step
    if findings.balance.reconciled is not None:
        yield findings.balance.reconciled.step


def _line(step: Step) -> StepLine:
    source = step.source
    return StepLine(
        step.id,
        step.operation,
        tuple(before.id for before in step.inputs),
        source.path if source else "",
        source.place if source else "",
        source.sha256 if source else "",
        settings_text(step.settings),
        tuple(dict.fromkeys(one.code for one in step.cautions)),
    )


def settings_text(settings: Any) -> str:
    """Settings on one line as JSON, "" for none."""
    return "" if settings is None else json.dumps(settings, ensure_ascii=False, sort_keys=True)


def settings_lines(settings: Any, at: str = "") -> Iterator[tuple[str, str]]:
    """(dotted name, value as text) of every setting, nested ones opened."""
    if isinstance(settings, dict):
        for name, value in settings.items():
            yield from settings_lines(value, f"{at}.{name}" if at else str(name))
    elif isinstance(settings, list) and any(isinstance(one, (dict, list)) for one in settings):
        for number, value in enumerate(settings, 1):
            yield from settings_lines(value, f"{at}[{number}]")
    elif isinstance(settings, list):
        yield at, ", ".join(_word(one) for one in settings)
    else:
        yield at, _word(settings)


def _word(value: Any) -> str:
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
