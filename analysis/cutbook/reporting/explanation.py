"""Tell where one reported number comes from: value, budget, and the tree of steps back to the files."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cutbook.model.errors import InputError, nearest
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, value_text, with_uncertainty
from cutbook.reporting.provenance import settings_lines
from cutbook.workup.findings import Findings


def find_result(findings: Findings, name: str) -> Result:
    """A reported number by its name in results.json.

    Raises
    ------
    InputError
        When there is none of that name; the nearest one is offered.
    """
    named = findings.named()
    if name not in named:
        near = nearest(name, tuple(named))
        raise InputError.single(
            "", "name of a result", f"'{name}'", "a name from the list that `cutbook explain FOLDER` prints",
            f"Did you mean '{near}'?" if near else "",
        )  # fmt: skip
    return named[name]


def explain(findings: Findings, name: str, settings: OutputSettings = AS_WRITTEN) -> str:
    """The explanation of one number as text.

    Parameters
    ----------
    findings : of the run. name : as in results.json, "cuts.carbon-number.gasoline.yield".
    settings : decimal sign.

    Returns
    -------
    str
        Lines: the number, the uncertainty budget in order of size, then the tree of steps, what was done last first;
        a step that was already shown is referred to by its id.
    """
    result = find_result(findings, name)
    basis = f" of {result.basis}" if result.basis else ""
    lines = [name, f"  {result.measurand}{basis}: {with_uncertainty(result, settings)}"]
    if result.amount is None:
        lines.append(f"  {result.status}, because of {result.reason}")
    elif result.u is not None:
        lines.append(f"  standard uncertainty {result.u:.3g} {result.unit} (k = 1), from")
        variance = sum(part**2 for _, part in result.budget) or 1.0
        for tag, part in result.budget:
            lines.append(f"    {part:9.3g} {result.unit:<3} {100 * part**2 / variance:5.1f} %  {tag}")
    lines.append("  made by")
    lines += _tree(result.step, "    ", set())
    return "\n".join(lines)


def _tree(step: Step, indent: str, seen: set[str]) -> Iterator[str]:
    if step.id in seen:
        yield f"{indent}{step.operation}  [{step.id}, see above]"
        return
    seen.add(step.id)
    yield f"{indent}{step.operation}  [{step.id}]"
    if step.source is not None:
        place = f", {step.source.place}" if step.source.place else ""
        yield f"{indent}  file {step.source.path}{place}, sha256 {step.source.sha256}"
    for key, value in settings_lines(step.settings) if step.settings is not None else ():
        yield f"{indent}  {key} = {value}"
    for one in step.cautions:
        yield f"{indent}  caution {one.code}"
    for before in step.inputs:
        yield from _tree(before, indent + "  ", seen)


def explanation(findings: Findings, name: str) -> dict[str, Any]:
    """The same as plain values for JSON."""
    result = find_result(findings, name)
    return {
        "name": name,
        "measurand": result.measurand,
        "basis": result.basis,
        "value": result.value,
        "u": result.u,
        "unit": result.unit,
        "status": result.status,
        "reason": result.reason,
        "text": value_text(result),
        "budget": [{"input": tag, "u": part} for tag, part in result.budget],
        "steps": [
            {
                "id": step.id,
                "operation": step.operation,
                "inputs": [before.id for before in step.inputs],
                "settings": step.settings,
                "file": step.source.path if step.source else None,
                "place": step.source.place if step.source else None,
                "sha256": step.source.sha256 if step.source else None,
                "cautions": [one.code for one in step.cautions],
            }
            for step in result.step.walk()
        ],
    }
