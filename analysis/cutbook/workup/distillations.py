"""Work up the distillations of a run, from their logs to their curves."""

from __future__ import annotations

from cutbook.fractions.cut_schemes import chosen_schemes
from cutbook.fractions.density_estimate import assumed_watson_factor
from cutbook.fractions.still_curve import still_curve
from cutbook.fractions.still_fuel_properties import still_fuel_properties
from cutbook.fractions.still_properties import still_properties
from cutbook.importers.still_log import read_still_log
from cutbook.importers.trace_file import open_trace_file
from cutbook.model.cautions import Caution
from cutbook.model.run import DistillationEntry, Run
from cutbook.workup.findings import DistillationFindings
from cutbook.workup.method import Method


def work_up_distillation(
    name: str, entry: DistillationEntry, run: Run, method: Method
) -> tuple[DistillationFindings, tuple[Caution, ...]]:
    """One distillation.

    Parameters
    ----------
    name : its key in the results. entry : its entry of the run sheet. run, method : of the work-up.

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
    raised = [*curve.step.cautions, *step.cautions, *(estimated.cautions if estimated is not None else ())]
    return DistillationFindings(name, entry, curve, (*properties, *estimates)), tuple(dict.fromkeys(raised))
