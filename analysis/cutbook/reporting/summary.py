"""The few lines that a terminal shows after a work-up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from cutbook.reporting.agreement_words import agreement_sentence
from cutbook.reporting.cautions import in_order
from cutbook.reporting.cold_words import cold_sentence
from cutbook.reporting.numbers import OutputSettings, with_uncertainty
from cutbook.reporting.plain_values import quantity
from cutbook.workup.findings import Findings


def summary_lines(findings: Findings, settings: OutputSettings) -> Iterator[str]:
    """Run, headline yields on feed, closure, dangers in full, other cautions counted."""
    run, balance = findings.run, findings.balance
    title = f", {run.title}" if run.title else ""
    yield f"{run.id}{title}"
    shown = [cut for cut in findings.cuts if cut.scheme == "carbon-number"]
    width = max((len(cut.cut) for cut in shown), default=0)
    for cut in shown:
        share = with_uncertainty(cut.yield_as_charged, settings)
        yield f"  {cut.cut:<{width}}  {cut.limits:<9}  {share} of feed as charged"
    yield f"  closure {with_uncertainty(balance.closure, settings)} ({balance.verdict})"
    for still in findings.distillations:
        if still.agreement is not None:
            yield f"  {still.name}, distilled: {agreement_sentence(still.agreement, settings)}"
    for liquid in findings.cold:
        yield f"  {liquid.of} in the cold: {cold_sentence(liquid.answer, settings)}"
    if (drawn := findings.monte_carlo) is not None:
        off = len(drawn.disagreeing)
        yield f"  {drawn.draws} random draws: {off or 'none'} of {len(drawn.results)} uncertainties beyond tolerance"
    cautions = in_order(findings.cautions)
    for one in cautions:
        if one.level == "danger":
            yield f"  danger: {one.text}"
    counted = Counter(one.level for one in cautions if one.level != "danger")
    if counted:
        parts = [f"{count} {level}{'s' if count > 1 else ''}" for level, count in counted.items()]
        yield f"  {', '.join(parts)}: see the report"


def summary_record(findings: Findings) -> dict[str, Any]:
    """The same as plain values."""
    return {
        "run": findings.run.id,
        "closure": quantity(findings.balance.closure),
        "cuts": [
            {"scheme": cut.scheme, "cut": cut.cut, "yield": quantity(cut.yield_as_charged)} for cut in findings.cuts
        ],
        "agreement": [
            {"of": still.name, "verdict": still.agreement.verdict, "sentence": agreement_sentence(still.agreement)}
            for still in findings.distillations
            if still.agreement is not None
        ],
        "cautions": [{"code": one.code, "level": one.level, "text": one.text} for one in in_order(findings.cautions)],
    }
