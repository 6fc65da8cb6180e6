"""Work up the distillations of a run, from their logs to their curves."""

from __future__ import annotations

from collections.abc import Sequence

from cutbook.fractions.agreement import compare_still_with_trace
from cutbook.fractions.cut_schemes import chosen_schemes
from cutbook.fractions.density_estimate import assumed_watson_factor
from cutbook.fractions.plan_comparison import compare_with_plan
from cutbook.fractions.still_curve import still_curve
from cutbook.fractions.still_fuel_properties import still_fuel_properties
from cutbook.fractions.still_properties import still_properties
from cutbook.importers.still_log import read_still_log
from cutbook.importers.trace_file import open_trace_file
from cutbook.model.agreement import Agreement
from cutbook.model.cautions import Caution
from cutbook.model.plan import PlanOnPaper
from cutbook.model.run import DistillationEntry, Run
from cutbook.model.still import StillCurve
from cutbook.model.units import STANDARD_KPA
from cutbook.workup.findings import DistillationFindings, SampleFindings
from cutbook.workup.method import Method

# what the log has told already need not be told again of the comparison
_TOLD = (("still.no_barometer", "agreement.no_pressure"), ("still.cracking", "agreement.cracking"))


def work_up_distillation(
    name: str,
    entry: DistillationEntry,
    run: Run,
    method: Method,
    samples: Sequence[SampleFindings] = (),
    plan: PlanOnPaper | None = None,
) -> tuple[DistillationFindings, tuple[Caution, ...]]:
    """One distillation.

    Parameters
    ----------
    name : its key in the results. entry : its entry of the run sheet. run, method : of the work-up.
    samples : of the run; the first trace of what was charged is held against the still.
    plan : made before, None where there is none.

    Returns
    -------
    DistillationFindings, cautions
        Cautions in the order in which they arose.

    Raises
    ------
    InputError
        When the log cannot be read.
    """
    log = read_still_log(open_trace_file(run.folder, entry.file), entry)
    product = run.product(entry.of)
    schemes = [(shown, one) for shown, one in chosen_schemes(method.cuts).shown if one.kind == "boiling range"]
    assumed = assumed_watson_factor(run.feeds, run.sheet)
    curve = still_curve(name, log, entry, product, run.sheet, schemes, assumed, method.still)
    properties, step = still_properties(curve)
    estimates, estimated = still_fuel_properties(curve, properties, product, run.sheet, assumed, method.properties)
    agreement = _agreement(curve, entry, run, samples, method)
    planned = compare_with_plan(curve, plan, method.plan_comparison) if plan and plan.of == entry.of else None
    steps = [curve.step, step, *([estimated] if estimated is not None else [])]
    steps += [one.step for one in (agreement, planned) if one is not None]
    raised = dict.fromkeys(caution for one in steps for caution in one.cautions)
    told = {one.code for one in raised}
    again = {second for first, second in _TOLD if any(code.startswith(first) for code in told)}
    return (
        DistillationFindings(name, entry, curve, (*properties, *estimates), agreement, planned),
        tuple(one for one in raised if one.code not in again),
    )


def _agreement(
    curve: StillCurve, entry: DistillationEntry, run: Run, samples: Sequence[SampleFindings], method: Method
) -> Agreement | None:
    """The still against the first trace of what was charged that has a boiling curve."""
    sample = next((one for one in samples if one.of == entry.of and one.boiling_curve is not None), None)
    if sample is None or sample.boiling_curve is None:
        return None
    # exactly the standard pressure is what is written when nobody looked at a barometer
    in_log = any(one.pressure_kpa is not None for one in curve.log.readings)
    given = in_log or (entry.pressure is not None and abs(entry.pressure.value - STANDARD_KPA) > 1e-3)
    trace = run.entry(sample.file)
    density = next((one.result.amount for one in sample.properties if one.name == "density"), None)
    return compare_still_with_trace(
        curve, sample.boiling_curve, given, trace.solvent if trace is not None else "", density, method.agreement
    )
