"""Answer for every liquid of a run whether it sets in store."""

from __future__ import annotations

from collections.abc import Sequence

from cutbook.coldflow.cold_storage import cold_storage
from cutbook.model.cautions import Caution, caution
from cutbook.model.entered import Entered
from cutbook.model.polymers import polymer_named
from cutbook.model.run import Run
from cutbook.workup.findings import ColdFindings, SampleFindings
from cutbook.workup.method import Method

NOT_STORED_LIQUID = ("char", "water", "gas")
MAIN = "oil"


def work_up_cold(
    run: Run, samples: Sequence[SampleFindings], method: Method
) -> tuple[tuple[ColdFindings, ...], tuple[Caution, ...]]:
    """The answers for each liquid whose wax formers are known, the oil first.

    Parameters
    ----------
    run : for storage temperature and what was measured on its products. samples : worked up. method : of the work-up.

    Returns
    -------
    findings, cautions
        One entry a product, from its first trace; nothing where no liquid has a ladder.
    """
    storage = run.further.get("storage", ())
    lowest: Entered | None = storage[0].get("minimum_temperature") if storage else None
    first: dict[str, SampleFindings] = {}
    for sample in samples:
        if sample.wax_formers is not None and sample.of not in NOT_STORED_LIQUID and run.product(sample.of) is not None:
            first.setdefault(sample.of, sample)
    ordered = sorted(first.values(), key=lambda sample: sample.of != MAIN)
    found: list[ColdFindings] = []
    raised: list[Caution] = []
    for sample in ordered:
        product = run.product(sample.of)
        measured = product.measured if product is not None else {}
        if sample.wax_formers is None:
            continue
        answer = cold_storage(sample.wax_formers, measured, lowest, run.sheet, method.cold)
        found.append(ColdFindings(sample.name, sample.of, answer))
        raised += answer.step.cautions
    styrenic = [feed.material for feed in run.feeds if _styrenic(feed.material)]
    if styrenic and found:
        about = ", ".join(one.of for one in found)
        raised.append(caution("cold.ageing_styrene", about, material=", ".join(dict.fromkeys(styrenic))))
    return tuple(found), tuple(dict.fromkeys(raised))


def _styrenic(material: str) -> bool:
    row = polymer_named(material)
    return row is not None and row["aromatic_oil"] == "1"
