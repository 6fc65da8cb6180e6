"""What could be computed if one more thing were given."""

from __future__ import annotations

from dataclasses import dataclass

from cutbook.balance.whole_cuts import NO_CHROMATOGRAM
from cutbook.model.run import Product, Run
from cutbook.workup.gas_traces import gas_name, gas_samples


@dataclass(frozen=True)
class Missing:
    """One thing that a run lacks. code : key of `reports/readiness.toml`. about : product, trace or "feed"."""

    code: str
    about: str


def readiness(run: Run) -> tuple[Missing, ...]:
    """What a run lacks for further answers, in the order of the run sheet.

    Parameters
    ----------
    run : read by `read_run`.

    Returns
    -------
    tuple of Missing
    """
    found: list[Missing] = []
    for feed in run.feeds:
        if feed.moisture is None:
            found.append(Missing("moisture", f"feed {feed.material}"))
        if feed.ash is None:
            found.append(Missing("ash", f"feed {feed.material}"))
    of_gas = gas_name(run)
    told_by_standard = {entry.file for entry in gas_samples(run)}
    analysed = {entry["of"] or "gas" for entry in run.further.get("gas_analysis", ())}
    analysed |= {of_gas} if told_by_standard else set()
    metered = {entry["of"] or "gas" for entry in run.further.get("gas_meter", ())}
    traced = {entry.of for entry in run.samples()}
    for product in run.products:
        if product.by_difference:
            found.append(Missing("measured", product.fraction))
        elif (_unweighed_gas(product) or product.fraction in metered) and product.fraction not in analysed:
            found.append(Missing("gas_analysis", product.fraction))
        if product.fraction not in traced and product.fraction not in NO_CHROMATOGRAM:
            found.append(Missing("trace", product.fraction))
    if not any(product.fraction == "char" for product in run.products):
        found.append(Missing("char", run.id))
    for entry in run.samples():
        if entry.file in told_by_standard and not entry.ladder:
            continue
        if entry.of == of_gas and of_gas not in analysed:
            found.append(Missing("gas_standard", entry.file))
        if not entry.ladder:
            found.append(Missing("ladder", entry.file))
            continue
        ladder = run.entry(entry.ladder)
        if ladder is None or not ladder.ladder_carbons:
            found.append(Missing("ladder_carbons", entry.ladder))
        if not entry.blank:
            found.append(Missing("blank", entry.file))
        if entry.internal_standard is None:
            found.append(Missing("internal_standard", entry.file))
    for product in run.products:
        counted = product.volume is not None or product.fraction in metered
        if product.fraction in analysed and counted and product.wet is None:
            found.append(Missing("gas_wet", product.fraction))
    if analysed and not any(entry.get("purge_gas") for entry in run.further.get("reactor", ())):
        found.append(Missing("purge_gas", run.id))
    heated = [
        entry for entry in run.further.get("reactor", ()) if entry.get("burner_fuel_used") or entry.get("heater_energy")
    ]
    if analysed and not heated:
        found.append(Missing("burner_fuel", run.id))
    if analysed & metered and any(
        entry.get("purge_gas") not in ("", "none") and entry.get("purge_flow") is None
        for entry in run.further.get("reactor", ())
    ):
        found.append(Missing("purge_flow", run.id))
    for still in run.distillations:
        charged = next((one for one in run.products if one.fraction == still.of), None)
        if still.pressure is None:
            found.append(Missing("barometer", still.file))
        if still.residue_mass is None and still.residue_volume is None:
            found.append(Missing("still_residue", still.file))
        if (charged is None or charged.density is None) and not any(one.density or one.mass for one in still.receivers):
            found.append(Missing("still_density", still.of))
    return tuple(dict.fromkeys(found))


def _unweighed_gas(product: Product) -> bool:
    return product.mass is None and product.volume is not None and product.density is None
