"""What a run as a whole gives reason to warn of: dangers to people first, then doubts."""

from __future__ import annotations

from collections.abc import Sequence

from cutbook.balance.feed_elements import chlorine_at_most
from cutbook.balance.stream_elements import kind_of
from cutbook.model.amount import nominal
from cutbook.model.atoms import hydrogen_chloride_per_chlorine
from cutbook.model.cautions import Caution, caution
from cutbook.model.cuts import WholeCut
from cutbook.model.polymers import polymer_named
from cutbook.model.run import Run
from cutbook.workup.findings import SampleFindings, precision_of
from cutbook.workup.gas_findings import GasFindings

LIGHTEST_LIQUIDS = 6
"""Up to this carbon number a liquid boils below about 70 °C and has its flash point far below room temperature."""
FLAMMABLE_SHARE = 0.5
"""% of such light components from which a liquid is called extremely flammable (common practice, no source)."""

FLAMMABLE_GAS = 4.0
"""% of the product gas that burns from which it is called flammable: the lower limit of hydrogen in air, and above
those of hydrocarbons (common knowledge, no source)."""
TOXIC_GAS = 0.01
"""% of carbon monoxide from which people are warned: 100 ppm, above every limit for workplaces (from memory)."""


def dangers_of_feed(run: Run) -> tuple[Caution, ...]:
    """Chlorine in the feed, by the share given in the run sheet or by the kind of plastic."""
    found = []
    for feed in run.feeds:
        share = chlorine_at_most(feed)
        if share > 0:
            grams = share * feed.mass.value * nominal(hydrogen_chloride_per_chlorine())
            found.append(caution("safety.chlorine_fed", "feed", material=feed.material, grams=f"{grams:.3g}"))
    return tuple(found)


def dangers_of_gas(gas: GasFindings | None) -> tuple[Caution, ...]:
    """What the gas does to people: it burns, and it may hold carbon monoxide or hydrogen chloride."""
    if gas is None:
        return ()
    percent = {one.component: one.mole.value or 0.0 for one in gas.composition}
    burning = sum(
        share
        for name, share in percent.items()
        if name not in ("nitrogen", "oxygen", "argon", "helium", "carbon dioxide")
    )
    found = []
    if burning > FLAMMABLE_GAS:
        found.append(caution("safety.flammable_gas", gas.of, share=round(burning, 1)))
    if percent.get("carbon monoxide", 0.0) > TOXIC_GAS:
        found.append(caution("safety.carbon_monoxide", gas.of, share=round(percent["carbon monoxide"], 2)))
    if percent.get("hydrogen chloride", 0.0) > 0:
        found.append(caution("safety.hydrogen_chloride", gas.of, share=round(percent["hydrogen chloride"], 3)))
    return tuple(found)


def doubts_of_gas(run: Run, gas: GasFindings | None) -> tuple[Caution, ...]:
    """Hydrogen chloride that the feed gives and the analysis does not mention."""
    if gas is None or not any(chlorine_at_most(feed) > 0 for feed in run.feeds):
        return ()
    listed = {*gas.analysed.shares, *(row.component for table in gas.tables for row in table.rows)}
    return () if "hydrogen chloride" in listed else (caution("gas.acid_not_seen", gas.of),)


def dangers_of_samples(run: Run, samples: Sequence[SampleFindings]) -> tuple[Caution, ...]:
    """Flammable light ends, and benzene in any liquid of cracked plastic."""
    found = []
    liquids = [p.fraction for p in run.products if kind_of(p.fraction) in ("liquid", "other")]
    light: set[str] = set()
    for sample in samples:
        if sample.carbons is None or sample.of in light or sample.of == "gas":
            continue
        share = sum(
            s.mass.value or 0.0 for s in sample.carbons.numbered() if s.n is not None and s.n <= LIGHTEST_LIQUIDS
        )
        if share >= FLAMMABLE_SHARE:
            light.add(sample.of)
            found.append(caution("safety.light_ends", sample.of, share=round(share, 1), last=LIGHTEST_LIQUIDS))
    if liquids:
        found.append(caution("safety.benzene", ", ".join(liquids)))
    return tuple(found)


def doubts_of_run(run: Run, samples: Sequence[SampleFindings], cuts: Sequence[WholeCut]) -> tuple[Caution, ...]:
    """What concerns the run rather than one of its numbers."""
    found = []
    rich = [
        feed.material
        for feed in run.feeds
        if (row := polymer_named(feed.material)) is not None and row["aromatic_oil"] == "1"
    ]
    curves = [sample.name for sample in samples if sample.boiling_curve is not None]
    if rich and curves:
        found.append(caution("boiling.aromatic_bias", ", ".join(curves), material=", ".join(dict.fromkeys(rich))))
    found += [one for pair in precision_of(samples) for one in pair.step.cautions]
    products = {product.fraction for product in run.products}
    for sample in samples:
        if sample.of not in products:
            found.append(caution("run.trace_of_no_product", sample.of or sample.name))
    if any(cut.yield_as_charged.amount is not None and nominal(cut.yield_as_charged.amount) > 0 for cut in cuts):
        found.append(caution("safety.road_fuel", "cuts"))
    found.append(caution("balance.one_run", run.id))
    return tuple(found)
