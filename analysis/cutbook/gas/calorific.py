"""Reckon from the composition of a gas what it gives when burnt, per mole, mass and volume, with its uncertainty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cutbook.gas.substances import COMBUSTION_C, METERING_C, constant, molar_mass, substances
from cutbook.model.amount import Amount, nominal, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.gas import GasProperties, VolumetricValues
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.units import KELVIN, STANDARD_KPA

REFERENCE_STATES = tuple(
    sorted(((t1, t2) for t1 in COMBUSTION_C for t2 in METERING_C), key=lambda pair: pair != (15.0, 15.0))
)
"""(combustion, metering) temperatures in °C of ISO 6976:2016, the customary 15/15 first."""


@dataclass(frozen=True)
class CalorificSettings:
    """What is cautioned about.

    least_methane : mole fraction of methane below which the volumetric figures lie outside the scope of the standard
        (0.5, scope of ISO 6976 in its editions of 1995 and 2005; that of 2016 was not seen).
    widest_lump : mole fraction of sums of components above which their unknown make-up decides the uncertainty
        (0.1, common practice).
    """

    least_methane: float = 0.5
    widest_lump: float = 0.1


def gas_properties(
    shares: Mapping[str, Amount | float],
    about: str,
    before: Step,
    settings: CalorificSettings = CalorificSettings(),
) -> GasProperties:
    """Calorific values, Wobbe indices, densities of a gas.

    Parameters
    ----------
    shares : mole fraction by component of `reference/gas_components.csv` or sum of `gas_lumps.csv`; together 1.
    about : the product, for cautions. before : the step that made the shares.

    Returns
    -------
    GasProperties
        Molar and by mass for combustion at 15 °C; by volume at all twenty reference states of the standard.

    Raises
    ------
    ValueError
        When the shares do not add up to 1 within 1e-6, or one is no known component.

    Notes
    -----
    ISO 6976:2016: Hm = Σ x H°(t1); net = gross - Σ x (h/2) L(t1) with h hydrogen atoms and L the enthalpy of
    vaporisation of water; by mass Hm/M; by volume Hm p2/(R T2 Z); Z = 1 - (p2/p0)(Σ x s)²; relative density
    (M/Mair)(Zair/Z); density M p2/(R T2 Z); Wobbe index: volumetric value over the root of the relative density.
    First-order propagation with the composition's covariances and the standard's uncertainties (JCGM 100:2008).
    Where a halogen is present it ends as hydrogen halide and takes a hydrogen atom with it; the standard has none.
    """
    known = substances()
    if unknown := sorted(set(shares) - set(known)):
        raise ValueError(f"no component of reference/gas_components: {unknown[0]}")
    if abs(nominal(total(shares.values())) - 1) > 1e-6:
        raise ValueError("mole fractions that do not add up to 1")
    sums = _Sums(shares)
    step = Step("calorific value/1", inputs=(before,), settings=settings, cautions=_cautions(sums, about, settings))

    def result(measurand: str, amount: Any, unit: str) -> Result:
        return Result(f"{measurand} of {about}", amount, unit, "dry product gas", step)

    gross, net = sums.gross(15.0), sums.net(15.0)
    carbon, hydrogen = sums.atoms("C"), sums.atoms("H")
    if nominal(carbon) > 0:
        ratio = result("hydrogen to carbon ratio", hydrogen / carbon, "1")
    else:
        ratio = Result.missing(f"hydrogen to carbon ratio of {about}", "1", "dry product gas", step, "gas.no_carbon")
    # mass of an atom of hydrogen as in hydrogen gas
    share = 100 * hydrogen * (known["hydrogen"].molar_mass / 2) / sums.molar_mass
    return GasProperties(
        molar_mass=result("molar mass", sums.molar_mass, "g/mol"),
        gross_molar=result("gross calorific value", gross, "kJ/mol"),
        net_molar=result("net calorific value", net, "kJ/mol"),
        gross=result("gross calorific value", gross / sums.molar_mass, "MJ/kg"),
        net=result("net calorific value", net / sums.molar_mass, "MJ/kg"),
        hydrogen_to_carbon=ratio,
        hydrogen=result("hydrogen content", share, "%"),
        volumetric=tuple(_volumetric(sums, t1, t2, result) for t1, t2 in REFERENCE_STATES),
        step=step,
    )


class _Sums:
    """The sums over the components of one gas."""

    def __init__(self, shares: Mapping[str, Amount | float]) -> None:
        self.shares = shares
        self.parts = [(share, substances()[name]) for name, share in shares.items()]
        self.molar_mass: Any = molar_mass(shares)

    def gross(self, combustion_c: float) -> Any:
        return total(share * one.gross[combustion_c] for share, one in self.parts)

    def net(self, combustion_c: float) -> Any:
        latent = substances()["water"].gross[combustion_c]
        # a halogen takes its hydrogen along
        return self.gross(combustion_c) - (self.atoms("H") - self.atoms("Cl")) / 2 * latent

    def atoms(self, element: str) -> Any:
        return total(share * one.atoms.get(element, 0.0) for share, one in self.parts)

    def compression_factor(self, metering_c: float) -> Any:
        return 1 - total(share * one.summation[metering_c] for share, one in self.parts) ** 2


def _volumetric(sums: _Sums, t1: float, t2: float, result: Any) -> VolumetricValues:
    z, z_air = sums.compression_factor(t2), constant(f"compression factor of air {t2:g}")
    # with the gas constant of the standard, which is not the exact one of today; kPa/(J/(mol K) K) is mol per litre,
    # MJ/m³ is kJ/L, kg/m³ is g/L
    per_volume = STANDARD_KPA / (constant("gas constant") * (t2 + KELVIN) * z)
    gross, net = sums.gross(t1) * per_volume, sums.net(t1) * per_volume
    relative = sums.molar_mass / constant("molar mass of air") * z_air / z
    state = f"{t1:g}/{t2:g} °C, {STANDARD_KPA:g} kPa"
    return VolumetricValues(
        combustion_c=t1,
        metering_c=t2,
        reference=state,
        gross=result(f"gross calorific value at {state}", gross, "MJ/m3"),
        net=result(f"net calorific value at {state}", net, "MJ/m3"),
        wobbe=result(f"Wobbe index at {state}", gross / relative**0.5, "MJ/m3"),
        wobbe_net=result(f"net Wobbe index at {state}", net / relative**0.5, "MJ/m3"),
        density=result(f"density at {state}", sums.molar_mass * per_volume, "kg/m3"),
        relative_density=result(f"relative density at {state}", relative, "1"),
        compression_factor=result(f"compression factor at {state}", z, "1"),
    )


def _cautions(sums: _Sums, about: str, settings: CalorificSettings) -> tuple[Caution, ...]:
    raised = []
    methane = nominal(sums.shares.get("methane", 0.0))
    if methane < settings.least_methane:
        raised.append(caution("gas.outside_scope", about, methane=round(100 * methane, 1)))
    if not nominal(sums.atoms("C")) > 0:
        raised.append(caution("gas.no_carbon", about))
    lumps = {one.name: nominal(share) for share, one in sums.parts if one.is_lump}
    if sum(lumps.values()) > settings.widest_lump:
        raised.append(caution("gas.lumps", about, share=round(100 * sum(lumps.values()), 1), names=", ".join(lumps)))
    return tuple(raised)
