"""How much of the charge a still had given at each reading, by mass and by volume."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutbook.fractions.property_equations import density_15_g_ml, watson_k
from cutbook.model.amount import Amount, doubt, measured, nominal
from cutbook.model.cautions import Caution, caution
from cutbook.model.properties import WatsonFactor
from cutbook.model.run import DistillationEntry, Product, Receiver
from cutbook.model.still import Reading, StillLog
from cutbook.model.tables import reference


@dataclass(frozen=True)
class StillAmountSettings:
    """How amounts in a log are trusted; standard uncertainties.

    u_cylinder : share of a volume by which a measuring cylinder may be wrong all along; class B cylinders of 100 mL
        are made to 1 mL (ISO 4788, from memory), which is taken as twice that.
    u_meniscus_ml : of one reading of it, at least.
    u_cut_density : share by which the density of a cut, taken from the charge's by its boiling point, may be off;
        aromatic cuts are denser and olefinic ones lighter than their neighbours (common practice, no source).
    u_balance_g : of one weighing in the course of the distillation, at least.
    u_percent : of one reading in % of the charge, at least; a quarter of a division of 1 %.
    """

    u_cylinder: float = 0.005
    u_meniscus_ml: float = 0.25
    u_cut_density: float = 0.02
    u_balance_g: float = 0.05
    u_percent: float = 0.25


@dataclass(frozen=True, eq=False)
class StillAmounts:
    """What was recovered at each reading, and the charge.

    mass, volume : % of the charge at each reading, None where it cannot be told. mass_reason, volume_reason : code of
    the caution that says why, "" where it can. charge_g, charge_ml : None where not known.
    how : where masses come from. unknown_from : reading from which on no density is known, None for none.
    """

    mass: tuple[Amount | None, ...]
    volume: tuple[Amount | None, ...]
    mass_reason: str
    volume_reason: str
    charge_g: Amount | None
    charge_ml: Amount | None
    how: Literal["weighed", "from volumes", "none"]
    cautions: tuple[Caution, ...]
    unknown_from: int | None = None


@dataclass(frozen=True, eq=False)
class ChargeDensity:
    """Density of the charge in g/mL and the Watson factor that goes with it, both None where nothing tells them.

    estimated : whether it was taken from an assumed Watson factor and not measured.
    """

    density: Amount | None
    watson: Amount | None
    estimated: bool = False


def charge_density(
    product: Product | None, boiling_c: tuple[float | None, ...], assumed: WatsonFactor | None
) -> ChargeDensity:
    """What the density of a charge is, measured or by a Watson factor at the middle of its curve.

    Parameters
    ----------
    product : that was charged, with its density where it was measured. boiling_c : of each reading, as far as known.
    assumed : factor of an oil from such a feed, None where it is not to be assumed.
    """
    known = sorted(value for value in boiling_c if value is not None)
    root = watson_k(known[len(known) // 2], 1.0) if known else None
    if product is not None and product.density is not None:
        density = product.density.amount(f"density of {product.fraction}")
        return ChargeDensity(density, None if root is None else density_15_g_ml(root) / density)
    if assumed is None or root is None:
        return ChargeDensity(None, None)
    return ChargeDensity(density_15_g_ml(root) / assumed.amount, assumed.amount, True)


def still_amounts(
    log: StillLog,
    entry: DistillationEntry,
    charge: ChargeDensity,
    boiling_c: tuple[float | None, ...],
    settings: StillAmountSettings = StillAmountSettings(),
) -> StillAmounts:
    """Recovered shares of the charge.

    Parameters
    ----------
    log : cleaned. entry : with charge and receivers. charge : its density.
    boiling_c : equivalent temperature at each reading, None where there is none.

    Returns
    -------
    StillAmounts

    Notes
    -----
    Weighings are taken as they are. Volumes become masses by the density of the receiver where it was measured; else
    by that of the charge, for each slice of distillate by a constant Watson factor, ``SG = (1.8 T)^(1/3)/K``, with K
    from the density of the charge and the middle of its curve, or assumed. Without either there are no masses: 1 g/mL
    is not assumed. The standard test charges 100 mL.
    """
    density = charge.density
    charge_g = entry.charge_mass.amount("charge of the still") if entry.charge_mass else None
    charge_ml = entry.charge_volume.amount("volume of the charge") if entry.charge_volume else None
    raised: list[Caution] = []
    if charge_ml is None and charge_g is not None and density is not None:
        charge_ml = charge_g / density
    if charge_ml is None and entry.kind == "standard-test":
        standard = float(reference("barometric_correction").by("constant")["charge"]["value"])
        charge_ml = measured(standard, settings.u_cylinder * standard, "volume of the charge")
        raised.append(caution("still.standard_charge", entry.file, charge=standard))
    if charge_g is None and charge_ml is not None and density is not None:
        charge_g = charge_ml * density
    volumes = _volumes(log, settings)
    by_percent = any(one.volume_percent is not None for one in log.readings)
    if by_percent:
        u_one = max(log.resolution["volume"] / 12**0.5, settings.u_percent)
        shares: list[Amount | None] = [
            None if one.volume_percent is None else measured(one.volume_percent, u_one, f"reading at {one.place}")
            for one in log.readings
        ]  # fmt: skip
        if charge_ml is not None:
            volumes = [None if share is None else share * charge_ml / 100.0 for share in shares]
    else:
        shares = [None if one is None or charge_ml is None else 100.0 * one / charge_ml for one in volumes]
    weighed = any(one.mass_g is not None for one in log.readings)
    unknown = None
    if weighed:
        masses = _weighed(log, settings)
    else:
        masses, unknown = _from_volumes(log.readings, volumes, entry.receivers, boiling_c, charge.watson, settings)
    mass: list[Amount | None] = [None if one is None or charge_g is None else 100.0 * one / charge_g for one in masses]
    there = any(one is not None for one in masses)
    mass_reason = "" if any(one is not None for one in mass) else (
        "still.no_charge" if there else "still.no_density" if any(v is not None for v in (*volumes, *shares)) else
        "still.no_mass"
    )  # fmt: skip
    volume_reason = "" if any(one is not None for one in shares) else (
        "still.no_charge_volume" if any(v is not None for v in volumes) else "still.no_volume"
    )  # fmt: skip
    for reason in (mass_reason, volume_reason):
        if reason:
            raised.append(caution(reason, entry.file))
    how: Literal["weighed", "from volumes", "none"] = (
        "none" if mass_reason else "weighed" if weighed else "from volumes"
    )
    if unknown is not None and how == "from volumes":
        raised.append(caution("still.receiver_without_density", entry.file, place=log.readings[unknown].place))
    if how == "from volumes":
        measured_too = any(receiver.density or (receiver.mass and receiver.volume) for receiver in entry.receivers)
        raised.append(caution("still.receiver_density" if measured_too else "still.cut_density", entry.file,
                              percent=round(100 * settings.u_cut_density, 1)))  # fmt: skip
    if charge.estimated and density is not None and (how == "from volumes" or entry.charge_volume is None):
        raised.append(caution("still.density_estimated", entry.file, density=round(nominal(density), 3)))
    return StillAmounts(
        tuple(mass), tuple(shares), mass_reason, volume_reason, charge_g, charge_ml, how, tuple(raised), unknown
    )


def receiver_density(receiver: Receiver, settings: StillAmountSettings) -> Amount | None:
    """Density in g/mL of what a receiver held: measured, or its mass by its volume; None where neither is known."""
    if receiver.density is not None:
        return receiver.density.amount(f"density of receiver {receiver.name}")
    if receiver.mass is None or receiver.volume is None or receiver.volume.value <= 0:
        return None
    volume = receiver.volume.amount(f"volume of receiver {receiver.name}")
    return receiver.mass.amount(f"weighing of receiver {receiver.name}") / (
        volume + settings.u_cylinder * receiver.volume.value * doubt("measuring cylinder")
    )


def _volumes(log: StillLog, settings: StillAmountSettings) -> list[Amount | None]:
    u_one = max(log.resolution.get("volume", 0.0) / 12**0.5, settings.u_meniscus_ml)
    cylinder = doubt("measuring cylinder")
    return [
        None if one.volume_ml is None else
        measured(one.volume_ml, u_one if one.volume_ml else 0.0, f"reading at {one.place}")
        + settings.u_cylinder * one.volume_ml * cylinder
        for one in log.readings
    ]  # fmt: skip


def _weighed(log: StillLog, settings: StillAmountSettings) -> list[Amount | None]:
    u_one = max(log.resolution.get("mass", 0.0) / 12**0.5, settings.u_balance_g)
    return [
        None if one.mass_g is None else measured(one.mass_g, u_one if one.mass_g else 0.0, f"weighing at {one.place}")
        for one in log.readings
    ]  # fmt: skip


def _from_volumes(
    readings: tuple[Reading, ...],
    volumes: list[Amount | None],
    receivers: tuple[Receiver, ...],
    boiling_c: tuple[float | None, ...],
    factor: Amount | None,
    settings: StillAmountSettings,
) -> tuple[list[Amount | None], int | None]:
    """Masses, and the reading from which on there are none for want of a density."""
    by_name = {receiver.name: receiver_density(receiver, settings) for receiver in receivers}
    if factor is None and not any(by_name.values()):
        return [None] * len(readings), None
    off = doubt("density of the cuts")
    found: list[Amount | None] = []
    total: Amount | float = 0.0
    before: Amount | float = 0.0
    last_c: float | None = None
    unknown = None
    for at, (reading, volume, temperature) in enumerate(zip(readings, volumes, boiling_c, strict=True)):
        if volume is None or unknown is not None:
            found.append(None)
            continue
        density = by_name.get(reading.receiver)
        middle = temperature if last_c is None else last_c if temperature is None else 0.5 * (temperature + last_c)
        if density is None and factor is not None and middle is not None:
            # turned round, the Watson factor of the charge gives the density of what boils here
            density = density_15_g_ml(watson_k(middle, 1.0)) / factor * (1.0 + settings.u_cut_density * off)
        slice_ml = volume - before
        if density is None and nominal(slice_ml) > 0:
            unknown = at
            found.append(None)
            continue
        total = total + (slice_ml * density if density is not None else 0.0)
        before, last_c = volume, temperature if temperature is not None else last_c
        found.append(total + 0.0 * slice_ml)
    return found, unknown
