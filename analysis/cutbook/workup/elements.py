"""Work up the elements of a run: its feeds, its products, what a scrubber caught, and whether they close."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from cutbook.balance.chlorine_ledger import chlorine_ledger
from cutbook.balance.element_balance import element_lines
from cutbook.balance.feed_elements import HETERO, KEYS, FeedElements, feed_elements
from cutbook.balance.gas_elements import GasEvidence
from cutbook.balance.implied_composition import implied_shares
from cutbook.balance.impossible_hydrogen import impossible_compositions
from cutbook.balance.lost_moisture import leave_moisture_open
from cutbook.balance.mass_balance import HYDROGEN_CHLORIDE
from cutbook.balance.scrubber import ABOUT, Scrubber, scrubber_chlorine
from cutbook.balance.stream_elements import ACID_NAMES, Evidence, kind_of, possible_hydrogen, stream_elements
from cutbook.model.amount import nominal, standard_uncertainty, total
from cutbook.model.atoms import hydrogen_chloride_per_chlorine, mass_fractions
from cutbook.model.balance import Balance
from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine_ledger import OrganicChlorine
from cutbook.model.elements import ElementBalance, Stream
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.run import Run
from cutbook.workup.findings import ElementFindings, SampleFindings
from cutbook.workup.gas import NOTICED
from cutbook.workup.gas_findings import GasFindings
from cutbook.workup.method import Method

OF_SCRUBBER = (*ACID_NAMES, "hydrochloric acid", "scrubber")
"""Names of products that are what a scrubber caught."""


def work_up_scrubber(run: Run, method: Method) -> tuple[Scrubber | None, Result | None, tuple[Caution, ...]]:
    """What the scrubbers of a run caught, and the hydrogen chloride that counts as a product of the mass balance.

    Returns
    -------
    scrubber, product, cautions
        The product is None without a scrubber, where its method cannot tell, and where the sheet lists it itself.
    """
    entries = run.further.get("scrubber", ())
    if not entries:
        return None, None, ()
    reactor: dict[str, Any] = next(iter(run.further.get("reactor", ())), {})
    found = scrubber_chlorine(entries, run.sheet, reactor.get("purge_gas") or "", method.scrubber)
    raised = [*found.step.cautions]
    if listed := [one.fraction for one in run.products if one.fraction.casefold() in OF_SCRUBBER]:
        raised.append(caution("scrubber.listed_already", ABOUT, fraction=listed[0]))
        return found, None, tuple(raised)
    if found.hydrogen_chloride.amount is None:
        return found, None, tuple(raised)
    grams = round(nominal(found.hydrogen_chloride.amount), 2)
    raised.append(caution("scrubber.counted", ABOUT, name=HYDROGEN_CHLORIDE, grams=grams))
    return found, found.hydrogen_chloride, tuple(raised)


def caught_after_meter(run: Run, scrubber: Scrubber | None) -> Result | None:
    """Hydrogen chloride in g of the bottles that stand after the gas meter; None without one, or where nobody knows.

    Parameters
    ----------
    run : with the bottles as [[scrubber]] entries. scrubber : what they caught, None without any.
    """
    if scrubber is None or scrubber.hydrogen_chloride.amount is None:
        return None
    after = [entry["place"] for entry in run.further["scrubber"] if not entry["before_meter"]]
    own = [bottle.chlorine for bottle in scrubber.bottles if bottle.place in after]
    if len(own) == len(scrubber.bottles):
        return scrubber.hydrogen_chloride
    if not own:
        return None
    acid = total(one.amount for one in own) * hydrogen_chloride_per_chlorine()
    step = Step("acid after meter/1", tuple(one.step for one in own))
    return Result("hydrogen chloride caught after the meter", acid, "g", "", step)


def work_up_elements(
    run: Run,
    balance: Balance,
    samples: Sequence[SampleFindings],
    gas: GasFindings | None,
    scrubber: Scrubber | None,
    method: Method,
    organic: Sequence[OrganicChlorine] = (),
) -> tuple[ElementFindings, tuple[Caution, ...]]:
    """The balance of the elements of a run.

    Parameters
    ----------
    run : as read. balance : its mass balance, which holds what a scrubber caught. samples, gas, scrubber : what was
        found of them before. method : of the work-up. organic : organic chlorine of the products that were screened.

    Returns
    -------
    findings, cautions
    """
    feed = feed_elements(run.feeds, balance.charged, run.sheet, method.feed_elements)
    left = _left(run, balance, feed)
    products: list[Stream] = []
    hydrogen: dict[str, tuple[float, float]] = {}
    gases: list[str] = []
    kinds: dict[str, str] = {}
    for entry in balance.products:
        evidence = _evidence(entry.fraction, samples, gas, scrubber)
        compounds = next((one for one in organic if one.of == entry.fraction), None)
        evidence = replace(evidence, compounds=compounds)
        product = next((one for one in run.products if one.fraction == entry.fraction), None)
        products.append(stream_elements(entry, product, feed, evidence, run.sheet, left, method.stream_elements))
        kind = kind_of(entry.fraction, evidence)
        if kind not in ("water", "acid"):
            hydrogen[entry.fraction] = possible_hydrogen(kind, evidence)
        kinds[entry.fraction] = kind
        if kind == "gas":
            gases.append(entry.fraction)
    streams = (*feed.streams, *leave_moisture_open(products, feed, kinds, left))
    lines = element_lines(streams, method.element_balance)
    implied = implied_shares(streams, lines, hydrogen, method.implied)
    dangers = impossible_compositions(implied, streams, gases)
    step = Step("balance elements/1", inputs=tuple(line.closure.step for line in lines), cautions=dangers)
    found = ElementBalance(streams, {line.element: line for line in lines}, implied, step)
    entered = next(iter(run.further.get("chlorine", ())), None)
    chlorine, told = chlorine_ledger(found, scrubber, run.sheet, entered, organic, method.element_balance)
    raised = [*dangers]
    for stream in streams:
        raised += stream.step.cautions
    for line in lines:
        raised += line.closure.step.cautions
    return ElementFindings(found, scrubber, chlorine), tuple(dict.fromkeys([*raised, *told]))


def _left(run: Run, balance: Balance, feed: FeedElements) -> dict[str, float]:
    """g of each hetero-element that were fed and measured in no product, twice the uncertainty on top."""
    found = {}
    measured = {one.fraction: one.measured for one in run.products}
    acid = mass_fractions("HCl")["Cl"]
    for element in HETERO:
        rest = feed.fed(element)
        if rest is None:
            continue
        for entry in balance.products:
            entered = measured.get(entry.fraction, {}).get(KEYS[element])
            share = nominal(acid) if entry.how == "titration" and element == "Cl" else entered.value if entered else 0.0
            rest = rest - share * (entry.mass.amount if entry.mass.amount is not None else 0.0)
        found[element] = nominal(rest) + 2 * standard_uncertainty(rest)
    return found


def _evidence(
    fraction: str, samples: Sequence[SampleFindings], gas: GasFindings | None, scrubber: Scrubber | None
) -> Evidence:
    if gas is not None and gas.of == fraction:
        return Evidence(gas=GasEvidence(gas.analysed, gas.gas, NOTICED), scrubbed=scrubber is not None)
    own = [sample for sample in samples if sample.of == fraction and sample.carbons is not None and fraction != "gas"]
    if scrubber is not None and fraction.casefold() in OF_SCRUBBER:
        return Evidence(caught=scrubber.chlorine)
    if not own:
        return Evidence(scrubbed=scrubber is not None)
    hydrogen = next((one.result for one in own[0].properties if one.name == "hydrogen" and one.estimate), None)
    return Evidence(hydrogen=hydrogen, carbons=own[0].carbons)
