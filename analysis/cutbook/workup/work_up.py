"""The order of operations: from a run to everything that is found in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from cutbook.balance.mass_balance import mass_balance
from cutbook.balance.run_reconciliation import reconcile_run
from cutbook.balance.whole_cuts import whole_cuts
from cutbook.importers.plan_file import PLAN, read_plan
from cutbook.model.balance import Balance
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Source
from cutbook.model.run import Run, TraceEntry
from cutbook.workup.chlorine import work_up_chlorine
from cutbook.workup.chlorine_findings import ChlorineFindings
from cutbook.workup.cold import work_up_cold
from cutbook.workup.distillations import work_up_distillation
from cutbook.workup.elements import caught_after_meter, work_up_elements, work_up_scrubber
from cutbook.workup.energy import work_up_energy
from cutbook.workup.findings import DistillationFindings, Findings, InputFile, SampleFindings, cuts_of_samples
from cutbook.workup.gas import has_gas, work_up_gas
from cutbook.workup.gas_findings import GasFindings
from cutbook.workup.gas_traces import oil_samples
from cutbook.workup.method import Method
from cutbook.workup.monte_carlo import monte_carlo
from cutbook.workup.read_method import ReadMethod
from cutbook.workup.run_cautions import (
    dangers_of_feed,
    dangers_of_gas,
    dangers_of_samples,
    doubts_of_gas,
    doubts_of_run,
)
from cutbook.workup.samples import Traces, result_names, work_up_sample
from cutbook.workup.workplace_air import work_up_workplace_air


def work_up(
    run: Run,
    method: Method | ReadMethod | None = None,
    progress: Callable[[str], None] | None = None,
) -> Findings:
    """Everything that a run tells.

    Parameters
    ----------
    run : read by `read_run`.
    method : settings, as a record or as read from a file; the defaults when None.
    progress : called with the name of each piece of work before it begins.

    Returns
    -------
    Findings

    Raises
    ------
    InputError
        When a file cannot be read, a ladder cannot be numbered beyond doubt, or weighings contradict each other.
    """
    settings_file = method.source if isinstance(method, ReadMethod) else None
    method = method.method if isinstance(method, ReadMethod) else method or Method()
    told = progress or (lambda _: None)

    traces = Traces(run, method)
    scrubber, caught, of_scrubber = work_up_scrubber(run, method)
    gas = None
    if has_gas(run):
        told("gas")
        gas = work_up_gas(run, method, traces, caught_after_meter(run, scrubber))

    told("balance")
    balance = mass_balance(
        run.feeds, run.products, run.sheet, method.balance, {} if gas is None else {gas.of: gas.mass}, caught
    )

    entries = oil_samples(run)
    samples: list[SampleFindings] = []
    of_samples: list[Caution] = []
    for name, entry in zip(result_names(entries), entries, strict=True):
        told(name)
        sample, raised = work_up_sample(name, entry, traces)
        samples.append(sample)
        of_samples += raised

    chlorine, of_chlorine = work_up_chlorine(run, traces, samples, method, told)

    air, of_air = work_up_workplace_air(run, chlorine, samples, method)

    told("elements")
    organic = chlorine.organic if chlorine is not None else ()
    elements, of_elements = work_up_elements(run, balance, samples, gas, scrubber, method, organic)
    balance = replace(balance, reconciled=reconcile_run(elements.balance.streams, method.reconciliation))

    stills: list[DistillationFindings] = []
    of_stills: list[Caution] = []
    plan = read_plan(run.folder) if run.distillations and (run.folder / PLAN).is_file() else None
    for name, still in zip(result_names(run.distillations), run.distillations, strict=True):
        told(f"still log of {name}")
        distilled, raised = work_up_distillation(name, still, run, method, samples, plan)
        stills.append(distilled)
        of_stills += raised

    told("cold storage")
    cold, of_cold = work_up_cold(run, samples, method)

    told("cuts on feed")
    cuts = whole_cuts(balance, cuts_of_samples(samples))

    told("energy")
    energy, of_energy = work_up_energy(run, elements.balance.streams, samples, gas, method)

    cautions = [
        *dangers_of_feed(run),
        *dangers_of_gas(gas),
        *dangers_of_samples(run, samples),
        *run.step.cautions,
        *balance.step.cautions,
        *_reconciled(balance),
        *(_of_gas(gas) if gas is not None else ()),
        *doubts_of_gas(run, gas),
        *of_scrubber,
        *of_samples,
        *of_chlorine,
        *of_air,
        *of_elements,
        *of_stills,
        *of_cold,
        *of_energy,
        *(one for cut in cuts for one in cut.step.cautions),
        *doubts_of_run(run, samples, cuts),
    ]
    findings = Findings(
        run=run,
        method=method,
        inputs=_inputs(run, traces, entries, stills, gas, chlorine, settings_file),
        cautions=tuple(dict.fromkeys(cautions)),
        balance=balance,
        samples=tuple(samples),
        cuts=cuts,
        distillations=tuple(stills),
        gas=gas,
        cold=cold,
        energy=energy,
        elements=elements,
        chlorine=chlorine,
        workplace_air=air,
    )
    if not method.monte_carlo.draws:
        return findings
    told("Monte Carlo")
    drawn = monte_carlo(findings)
    return replace(findings, monte_carlo=drawn, cautions=(*findings.cautions, *drawn.step.cautions))


def _reconciled(balance: Balance) -> tuple[Caution, ...]:
    if balance.reconciled is None:
        return (caution("balance.no_redundancy", "balance"),)
    return balance.reconciled.step.cautions


def _of_gas(gas: GasFindings) -> tuple[Caution, ...]:
    """What arose on the way to the mass and the heating value of the gas."""
    steps = [gas.properties.step, gas.mass.step, *([gas.trapped.oxygen.step] if gas.trapped is not None else [])]
    return tuple(dict.fromkeys(one for step in steps for one in step.all_cautions()))


def _inputs(
    run: Run,
    traces: Traces,
    entries: tuple[TraceEntry, ...],
    stills: list[DistillationFindings],
    gas: GasFindings | None,
    chlorine: ChlorineFindings | None,
    settings_file: Source | None,
) -> tuple[InputFile, ...]:
    """Every file that was read, each once, the run sheet first."""
    files = [InputFile(run.sheet, "run sheet", "")]
    if settings_file is not None:
        files.append(InputFile(settings_file, "settings", ""))
    for entry in entries:
        for file, role, of in (
            (entry.file, entry.role, entry.of),
            (entry.ladder, "ladder", ""),
            (entry.blank, "blank", ""),
        ):
            source = traces.signal(traces.entry(file, role, entry)).step.source if file else None
            if source is not None and source.path not in {known.source.path for known in files}:
                files.append(InputFile(source, role, of))
    for source, part in gas.sources() if gas is not None else ():
        if source.path not in {known.source.path for known in files}:
            files.append(InputFile(source, part, gas.of if gas is not None else ""))
    for source, part, of in chlorine.sources if chlorine is not None else ():
        if source.path not in {known.source.path for known in files}:
            files.append(InputFile(source, part, of))
    for still in stills:
        source = still.curve.log.step.source
        if source is not None and source.path not in {known.source.path for known in files}:
            files.append(InputFile(source, "still log", still.entry.of))
        if still.plan is not None and still.plan.step.source is not None:
            files.append(InputFile(still.plan.step.source, "plan", still.entry.of))
    return tuple(files)
