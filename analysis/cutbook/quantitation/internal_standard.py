"""Find the internal standard of a sample and what a gram of sample brought of it."""

from __future__ import annotations

from dataclasses import dataclass

from cutbook.identification.numbering import find_by_name
from cutbook.identification.retention_index import time_at
from cutbook.model.amount import Amount, measured
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import TraceError
from cutbook.model.ladder import Ladder
from cutbook.model.lineage import Source, Step
from cutbook.model.peaks import Peak, PeakTable
from cutbook.model.run import InternalStandard, TraceEntry
from cutbook.quantitation.response import relative_response


@dataclass(frozen=True)
class InternalStandardSettings:
    """How the peak of an internal standard is recognised.

    index_window : index units on either side of a tabulated or given index.
    time_window_min : min on either side of a given time.
    u_unknown_response : standard uncertainty of its response, as a share, when its structure is not in the
        compounds table and equal response is assumed.
    """

    index_window: float = 15.0
    time_window_min: float = 0.1
    u_unknown_response: float = 0.1


@dataclass(frozen=True, eq=False)
class FoundStandard:
    """The internal standard in a trace.

    peak : its peak. response : area per gram relative to n-heptane. per_gram_of_sample : g of it a g of sample.
    """

    name: str
    peak: Peak
    response: Amount
    per_gram_of_sample: Amount
    step: Step


def find_internal_standard(
    entry: TraceEntry,
    sheet: Source,
    peaks: PeakTable,
    ladder: Ladder,
    settings: InternalStandardSettings = InternalStandardSettings(),
) -> FoundStandard:
    """The internal standard that the run sheet declares for a trace.

    Parameters
    ----------
    entry : with `internal_standard`. sheet : the run sheet.
    peaks : of the trace, with retention indices. ladder : run under the same method.
    settings : see `InternalStandardSettings`.

    Returns
    -------
    FoundStandard

    Raises
    ------
    TraceError
        When nothing says where it elutes, or no peak stands there.
    """
    declared = entry.internal_standard
    if declared is None:
        raise ValueError("no internal standard declared")
    row = find_by_name("compounds", declared.name)
    low, high, told = _where(declared, row, ladder, entry.file, settings)
    inside = [peak for peak in peaks if low <= peak.apex_min <= high and "solvent" not in peak.flags]
    if not inside:
        raise TraceError.single(
            entry.file,
            f"internal standard '{declared.name}'",
            f"no peak between {low:.2f} and {high:.2f} min ({told})",
            "its peak there",
            "Give internal_standard its retention_time or retention_index in the run sheet, or remove it.",
        )
    raised: list[Caution] = []
    if row and row["smiles"]:
        model = relative_response(row["smiles"])
        response = measured(model.value, model.u, f"response of {declared.name}")
    else:
        response = measured(1.0, settings.u_unknown_response, f"response of {declared.name}")
        raised.append(caution("standard.response_unknown", entry.of or entry.file, name=declared.name))
    step = Step(
        "find internal standard/1",
        inputs=(peaks.step, ladder.step),
        settings={"declared": declared, "sample_mass": entry.sample_mass, "solvent_mass": entry.solvent_mass,
                  "settings": settings},
        source=Source(sheet.path, sheet.sha256, f"{entry.place}, internal_standard"),
        cautions=tuple(raised),
    )  # fmt: skip
    ratio = per_gram_of_sample(entry, declared)
    return FoundStandard(declared.name, max(inside, key=lambda peak: peak.area), response, ratio, step)


def _where(
    declared: InternalStandard,
    row: dict[str, str] | None,
    ladder: Ladder,
    file: str,
    settings: InternalStandardSettings,
) -> tuple[float, float, str]:
    """From when to when to look, and why there."""
    if declared.retention_time_min is not None:
        at = declared.retention_time_min
        return at - settings.time_window_min, at + settings.time_window_min, "retention_time of the run sheet"
    index, told, window = declared.retention_index, "retention_index of the run sheet", settings.index_window
    if index is None and row and row["retention_index"]:
        index, told = float(row["retention_index"]), "retention index of the reference table"
        window = max(window, 2.0 * float(row["retention_index_u"] or 0.0))
    carbons = ladder.carbons
    if index is None or not carbons[0] * 100 <= index <= carbons[-1] * 100:
        found = "no retention index for it" if index is None else f"its index {index:g} outside the ladder"
        raise _nowhere(file, declared.name, found)
    low = max((index - window) / 100, carbons[0])
    high = min((index + window) / 100, carbons[-1])
    return time_at(low, ladder), time_at(high, ladder), told


def _nowhere(file: str, name: str, found: str) -> TraceError:
    """The refusal when nothing says where the internal standard elutes."""
    return TraceError.single(
        file,
        f"internal standard '{name}'",
        found,
        "a retention_time or retention_index in the run sheet",
        'Write for example internal_standard = { name = "…", retention_time = "12.34 min", … }.',
    )


def per_gram_of_sample(entry: TraceEntry, declared: InternalStandard) -> Amount:
    """g of standard a g of sample: mass over sample mass, or c/(1 - c) of what was injected, solvent included.

    Parameters
    ----------
    entry : with `sample_mass` where the standard was weighed to it. declared : its internal standard.
    """
    name = declared.name
    if declared.mass is not None and entry.sample_mass is not None:
        return declared.mass.amount(f"weighing of {name}") / entry.sample_mass.amount(f"weighing of {entry.of} sample")
    if declared.concentration is None:
        raise ValueError(f"{entry.place}: neither concentration nor masses of the internal standard")
    share = declared.concentration.amount(f"concentration of {name}")
    ratio = share / (1 - share)
    if entry.solvent_mass is not None and entry.sample_mass is not None:
        sample = entry.sample_mass.amount(f"weighing of {entry.of} sample")
        ratio = ratio * (sample + entry.solvent_mass.amount("weighing of solvent")) / sample
    return ratio
