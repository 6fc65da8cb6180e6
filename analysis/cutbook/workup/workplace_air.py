"""Set what was found in the oils of a run, and hydrogen chloride, beside workplace limits of air."""

from __future__ import annotations

from collections.abc import Sequence

from cutbook.balance.feed_elements import chlorine_at_most
from cutbook.chlorine.workplace_air import WorkplaceRow, acid_row, workplace_air, workplace_cautions
from cutbook.model.cautions import Caution
from cutbook.model.result import Result
from cutbook.model.run import Run
from cutbook.workup.chlorine_findings import ChlorineFindings
from cutbook.workup.findings import SampleFindings
from cutbook.workup.method import Method


def work_up_workplace_air(
    run: Run, chlorine: ChlorineFindings | None, samples: Sequence[SampleFindings], method: Method
) -> tuple[tuple[WorkplaceRow, ...], tuple[Caution, ...]]:
    """Limits of every compound found that has one, by product; of hydrogen chloride where the feed holds chlorine."""
    rows: list[WorkplaceRow] = []
    raised: list[Caution] = []
    for oil in chlorine.screened if chlorine is not None else ():
        here = workplace_air(oil, _mean_molar_mass(samples, oil.of, oil.file), method.workplace_air)
        raised += workplace_cautions(here, oil.of)
        rows += here
    if any(chlorine_at_most(feed) > 0 for feed in run.feeds):
        rows.append(acid_row())
        raised += workplace_cautions(rows[-1:], "feed")
    return tuple(rows), tuple(raised)


def _mean_molar_mass(samples: Sequence[SampleFindings], of: str, file: str) -> Result | None:
    """Of the trace itself, else of another trace of the product."""
    known = [
        (sample.file != file, one.result)
        for sample in samples
        if sample.of == of or sample.file == file
        for one in sample.properties
        if one.name == "molar_mass" and one.result.amount is not None
    ]
    return min(known, key=lambda one: one[0])[1] if known else None
