"""Hold the uncertainties of a run against Monte Carlo: its balances worked out anew with drawn inputs."""

from __future__ import annotations

from dataclasses import replace

from cutbook.balance.mass_balance import mass_balance
from cutbook.balance.propagation_check import held_against_draws
from cutbook.balance.whole_cuts import whole_cuts
from cutbook.model.cautions import Caution
from cutbook.model.draws import drawing
from cutbook.model.lineage import Step
from cutbook.model.monte_carlo import MonteCarlo
from cutbook.workup.elements import work_up_elements, work_up_scrubber
from cutbook.workup.energy import work_up_energy
from cutbook.workup.findings import Findings, cuts_of_samples
from cutbook.workup.gas import work_up_gas

NAMED = 6
"""Results that a caution names; all stand in the sheet."""


def monte_carlo(findings: Findings) -> MonteCarlo:
    """First-order uncertainties of a run against drawn ones.

    Parameters
    ----------
    findings : of a run; `findings.method.monte_carlo` says how many draws.

    Returns
    -------
    MonteCarlo
        Every result of the balances, the gas, the elements, the energy and the cuts on feed that has an uncertainty.

    Notes
    -----
    Propagation of distributions (JCGM 101:2008): weighings, volumes, temperatures and analyses are drawn, normal where
    an uncertainty was stated and rectangular where it is that of the last digit; the arithmetic of the work-up is run
    on the draws. Shares of a sample's cuts and figures of tables enter with their first-order uncertainties, drawn
    normal and with their correlations.
    """
    settings = findings.method.monte_carlo
    with drawing(settings.draws, settings.seed):
        drawn = drawn_findings(findings)
    before = findings.named()
    held = tuple(
        one
        for name, result in drawn.named().items()
        if (one := held_against_draws(name, before.get(name), result, settings.draws)) is not None
    )
    told = []
    for departure, code in (("too narrow", "monte_carlo.too_narrow"), ("too wide", "monte_carlo.too_wide")):
        names = [one.name for one in held if not one.agrees and one.departure == departure]
        if names:
            shown = ", ".join(names[:NAMED]) + (" …" if len(names) > NAMED else "")
            told.append(Caution(code, "uncertainties", {"names": shown, "count": len(names), "draws": settings.draws}))
    step = Step("monte carlo/1", (findings.balance.step,), settings, cautions=tuple(told))
    return MonteCarlo(settings.draws, settings.seed, held, step)


def drawn_findings(findings: Findings) -> Findings:
    """Balances, gas, energy and cuts on feed of a run worked out anew from its samples as they are; drawn while a
    drawing is on."""
    run, method, samples = findings.run, findings.method, findings.samples
    scrubber, caught, _ = work_up_scrubber(run, method)
    acid = None if scrubber is None else scrubber.hydrogen_chloride
    gas = None if findings.gas is None else work_up_gas(run, method, caught=acid)
    masses = {} if gas is None else {gas.of: gas.mass}
    balance = mass_balance(run.feeds, run.products, run.sheet, method.balance, masses, caught)
    organic = () if findings.chlorine is None else findings.chlorine.organic
    elements, _ = work_up_elements(run, balance, samples, gas, scrubber, method, organic)
    cuts = whole_cuts(balance, cuts_of_samples(samples))
    energy, _ = work_up_energy(run, elements.balance.streams, samples, gas, method)
    return replace(
        findings, balance=balance, gas=gas, elements=elements, energy=energy, cuts=cuts, samples=(), distillations=(),
        cold=(), chlorine=None,
    )  # fmt: skip
