"""Make the curve of a distillation from its log: recovered mass and volume against temperature, loss and cuts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cutbook.fractions.still_amounts import (
    StillAmounts,
    StillAmountSettings,
    charge_density,
    still_amounts,
)
from cutbook.fractions.still_cuts import receiver_cuts, still_cuts
from cutbook.fractions.still_doubts import StillDoubtSettings, still_doubts
from cutbook.fractions.still_temperatures import StillTemperatures, StillTemperatureSettings, still_temperatures
from cutbook.model.amount import Amount, nominal, standard_uncertainty
from cutbook.model.cautions import Caution, caution
from cutbook.model.cuts import CutScheme
from cutbook.model.lineage import Source, Step
from cutbook.model.properties import WatsonFactor
from cutbook.model.result import Result
from cutbook.model.run import DistillationEntry, Product
from cutbook.model.still import Axis, StillCurve, StillLog, StillPoint


@dataclass(frozen=True)
class StillSettings:
    """How still logs are worked up; each part is described beside the function that obeys it."""

    amounts: StillAmountSettings = StillAmountSettings()
    temperatures: StillTemperatureSettings = StillTemperatureSettings()
    doubts: StillDoubtSettings = StillDoubtSettings()


def still_curve(
    name: str,
    log: StillLog,
    entry: DistillationEntry,
    product: Product | None,
    sheet: Source,
    schemes: Sequence[tuple[str, CutScheme]],
    assumed: WatsonFactor | None = None,
    settings: StillSettings = StillSettings(),
) -> StillCurve:
    """The curve of one distillation.

    Parameters
    ----------
    name : key in the results. log : read and cleaned. entry : its entry of the run sheet.
    product : that was charged, with its density where it was measured. sheet : the run sheet.
    schemes : boiling-range schemes by the name under which results show them, the headline scheme first.
    assumed : Watson factor of an oil from such a feed, for a density that was not measured; None leaves it open.

    Returns
    -------
    StillCurve
        On mass where the masses of charge and distillate are known, else on volume. Loss is what neither was recovered
        nor left in the pot; missing where the residue was not measured.

    Notes
    -----
    Temperatures are first corrected without the Watson factor, which gives the middle of the curve and so the factor;
    then with it.
    """
    first = still_temperatures(log, entry, None, settings.temperatures)
    charge = charge_density(product, first.nominal_c(), assumed)
    temperatures = (
        first if charge.watson is None else still_temperatures(log, entry, charge.watson, settings.temperatures)
    )
    amounts = still_amounts(log, entry, charge, temperatures.nominal_c(), settings.amounts)
    raised: list[Caution] = [*temperatures.cautions, *amounts.cautions]
    in_log = {one.receiver for one in log.readings if one.receiver}
    if unknown := [one.name for one in entry.receivers if in_log and one.name not in in_log]:
        raised.append(caution("still.receiver_unknown", entry.file, names=", ".join(unknown),
                              known=", ".join(sorted(in_log))))  # fmt: skip
    if entry.kind is None:
        raised.append(caution("still.kind_not_said", entry.file))
    sheet_step = Step(
        "read distillation/1", settings={"entry": entry},
        source=Source(sheet.path, sheet.sha256, f"{entry.place}, {product.place if product else ''}"),
    )  # fmt: skip
    inputs = (log.step, sheet_step, *([assumed.step] if charge.estimated and assumed is not None else []))
    corrected = Step("correct still temperatures/1", inputs=inputs, settings=settings.temperatures)
    added = Step("add up distillate/1", inputs=(*inputs, corrected), settings=settings.amounts)
    points = tuple(_points(log, entry, temperatures, amounts, corrected, added))
    reasons = [
        one.reason for point in points
        for one in (point.mass_recovered, point.volume_recovered, point.head_temperature)
    ]  # fmt: skip
    if empty := reasons.count("still.gap"):
        raised.append(caution("still.gap", entry.file, count=empty))
    basis: Axis = "mass" if not amounts.mass_reason else "volume"
    recovered, residue, loss = _balance(entry, amounts, basis, added, in_log, raised)
    by_volume = None
    if basis == "mass" and entry.residue_volume is not None and not amounts.volume_reason:
        by_volume = _balance(entry, amounts, "volume", added, in_log, raised)
    curve = StillCurve(
        name, entry.of, entry.kind or "simple", log, points, basis, recovered, residue, loss, (), (),
        Step("make still curve/1", inputs=(corrected, added), settings=settings.doubts),
    )  # fmt: skip
    raised += still_doubts(curve, entry, temperatures.pressure_from, charge.watson,
                           settings.temperatures, settings.doubts)  # fmt: skip
    cuts = still_cuts(curve, schemes, basis)
    receivers = receiver_cuts(curve, entry, amounts, settings.amounts, basis)
    both = basis == "mass" and not amounts.volume_reason
    cuts_by_volume = still_cuts(curve, schemes, "volume") if both else ()
    receivers_by_volume = receiver_cuts(curve, entry, amounts, settings.amounts, "volume") if both else ()
    for cut in (*cuts, *receivers):
        raised += cut.mass.step.cautions
    step = Step(
        "make still curve/1", inputs=(corrected, added), settings=settings.doubts,
        cautions=tuple(dict.fromkeys((*log.step.cautions, *raised))),
    )  # fmt: skip
    return replace(curve, cuts=cuts, receivers=receivers, step=step, by_volume=by_volume,
                   cuts_by_volume=cuts_by_volume, receivers_by_volume=receivers_by_volume)  # fmt: skip


def _points(
    log: StillLog, entry: DistillationEntry, temperatures: StillTemperatures, amounts: StillAmounts, corrected: Step,
    added: Step,
) -> list[StillPoint]:  # fmt: skip
    found = []
    for at, reading in enumerate(log.readings):
        where = f"at {reading.place}"

        unknown = amounts.unknown_from is not None and at >= amounts.unknown_from
        of_mass = amounts.mass_reason or ("still.receiver_without_density" if unknown else "")

        def share(amount: Amount | None, what: str, reason: str, where: str = where) -> Result:
            if amount is None:
                return Result.missing(f"{what} recovered {where}", "%", entry.of, added, reason or "still.gap")
            return Result(f"{what} recovered {where}", amount, "%", entry.of, added)

        def read(amount: Amount | None, what: str, unit: str, where: str = where) -> Result:
            if amount is None:
                return Result.missing(f"{what} {where}", unit, "", corrected, "still.gap")
            return Result(f"{what} {where}", amount, unit, "", corrected)

        found.append(
            StillPoint(
                reading.place,
                share(amounts.mass[at], "mass", of_mass),
                share(amounts.volume[at], "volume", amounts.volume_reason),
                read(temperatures.head_c[at], "head temperature", "°C"),
                read(temperatures.pressure_kpa[at], "pressure", "kPa"),
                read(temperatures.equivalent_c[at], "equivalent temperature", "°C"),
                temperatures.vacuum[at],
            )
        )
    return found


def _balance(
    entry: DistillationEntry, amounts: StillAmounts, basis: Axis, step: Step,
    in_log: set[str], raised: list[Caution],
) -> tuple[Result, Result, Result]:  # fmt: skip
    """Recovered, residue and loss in % of the charge. in_log : receivers that the log names."""
    shares = amounts.mass if basis == "mass" else amounts.volume
    charge = amounts.charge_g if basis == "mass" else amounts.charge_ml
    left = entry.residue_mass if basis == "mass" else entry.residue_volume
    recovered = next((one for one in reversed(shares) if one is not None), None)
    if basis == "mass" and amounts.unknown_from is not None:
        recovered = None  # what is known ends before the distillation does
    weighed = {receiver.name for receiver in entry.receivers if receiver.mass is not None}
    every = {receiver.name for receiver in entry.receivers} | in_log
    if basis == "mass" and charge is not None and weighed and weighed == every:
        # the receivers on the balance at the end are better than what was read on the way
        total = sum((receiver.mass.amount(f"weighing of receiver {receiver.name}") for receiver in entry.receivers
                     if receiver.mass is not None), start=0.0)  # fmt: skip
        by_log, recovered = recovered, 100.0 * total / charge
        if by_log is not None:
            apart = recovered - by_log
            if abs(nominal(apart)) > 2.0 * standard_uncertainty(apart) + 0.5:
                raised.append(
                    caution("still.receivers_differ", entry.file, log=round(nominal(by_log), 1),
                            weighed=round(nominal(recovered), 1))
                )  # fmt: skip
    rest = None if left is None or charge is None else 100.0 * left.amount("residue in the pot") / charge
    lost = None if rest is None or recovered is None else 100.0 - recovered - rest
    if rest is None:
        raised.append(caution("still.residue_unknown", entry.file, basis=basis))
    if lost is not None and nominal(lost) < -2.0 * standard_uncertainty(lost):
        raised.append(caution("still.more_than_charged", entry.file, total=round(100.0 - nominal(lost), 1)))

    def result(what: str, amount: Amount | None) -> Result:
        if amount is None:
            lacking = amounts.mass_reason if basis == "mass" else amounts.volume_reason
            if basis == "mass" and amounts.unknown_from is not None:
                lacking = "still.receiver_without_density"
            reason = "still.residue_unknown" if recovered is not None or what == "residue" else lacking
            return Result.missing(f"{what} of the distillation", "%", entry.of, step, reason)
        return Result(f"{what} of the distillation", amount, "%", entry.of, step)

    return result("recovered part", recovered), result("residue", rest), result("loss", lost)
