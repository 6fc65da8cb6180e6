"""What an oil is made of as far as wax is concerned, and how much of it is solid at which temperature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.trace import Floats, frozen_array

Family = Literal["n-alkane", "1-alkene", "rest"]
"""Straight chains with or without a double bond at the end form wax; "rest" stays liquid."""
SolidForm = Literal["pure solids", "solid solution"]


@dataclass(frozen=True, eq=False)
class Components:
    """An oil, component by component.

    carbons : carbon number of each, whole for what forms wax, shape (n,). families : of each.
    mass_fraction : of the oil, adding up to 1, shape (n,).
    molar_mass : g/mol, shape (n,); what a carbon number leaves open is taken for the n-alkane's.
    """

    carbons: Floats
    families: tuple[Family, ...]
    mass_fraction: Floats
    molar_mass: Floats

    def __post_init__(self) -> None:
        for name in ("carbons", "mass_fraction", "molar_mass"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        if not len(self.carbons) == len(self.families) == len(self.mass_fraction) == len(self.molar_mass):
            raise ValueError("components of unequal length")
        if np.any(self.mass_fraction < 0) or abs(float(self.mass_fraction.sum()) - 1.0) > 1e-9:
            raise ValueError(f"mass fractions add up to {float(self.mass_fraction.sum())!r} or are negative")

    @property
    def forms_wax(self) -> NDArray[np.bool_]:
        """Which components crystallise, shape (n,)."""
        return np.array([family != "rest" for family in self.families])

    @property
    def mole_fraction(self) -> Floats:
        """Mole fractions, shape (n,)."""
        moles = self.mass_fraction / self.molar_mass
        return np.asarray(moles / moles.sum())


@dataclass(frozen=True, eq=False)
class SolidCurve:
    """The solid of an oil at equilibrium, by temperature.

    temperature_k : shape (m,). solid : mass fraction of the oil, shape (m,).
    solid_by_component : mass of each component that is solid, as a fraction of the oil, shape (m, n).
    liquid_by_component : the same of what stays liquid; the two add up to the oil.
    form : of the solid.
    """

    temperature_k: Floats
    solid: Floats
    solid_by_component: Floats
    liquid_by_component: Floats
    form: SolidForm

    def __post_init__(self) -> None:
        for name in ("temperature_k", "solid", "solid_by_component", "liquid_by_component"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


ChainSource = Literal["peak", "both in one peak", "class assumed", "heavy tail assumed"]


@dataclass(frozen=True, eq=False)
class ChainShare:
    """Straight chains of one length and family: % of the sample, and where that is known from."""

    n: int
    family: Family
    mass: Result
    source: ChainSource


@dataclass(frozen=True, eq=False)
class WaxFormers:
    """The straight chains of a sample and what lies beside them.

    chains : by carbon number, n-alkane before 1-alkene. rest : (carbon number, %) of what stays liquid.
    read_to : the heaviest carbon number read from peaks. heavy : % beyond the ladder or not eluted, None where what did
    not elute is not known.
    """

    of: str
    chains: tuple[ChainShare, ...]
    rest: tuple[tuple[float, float], ...]
    read_to: int
    heavy: float | None
    step: Step


StorageState = Literal["liquid", "hazy", "likely to block a narrow line", "likely to set"]


@dataclass(frozen=True, eq=False)
class SolidPoint:
    """Solid wax at one temperature. mass : % of the oil. by_carbon : (carbon number, % of the solid)."""

    temperature_c: float
    mass: Result
    by_carbon: tuple[tuple[int, float], ...]

    @property
    def label(self) -> str:
        """The point's name in the results: "-5", "20"."""
        return f"{self.temperature_c:g}"


@dataclass(frozen=True, eq=False)
class GelPoint:
    """Where a share of the gelling range is solid. share : %. temperature : °C, missing where it is not reached."""

    share: float
    temperature: Result


@dataclass(frozen=True, eq=False)
class AtStorage:
    """What the declared lowest temperature does.

    temperature_c : as declared. solid : % of the oil there. state : at the estimate; worst : at the upper end of
    its 95 % band. warm_to : °C, above which all is liquid again, missing where there is nothing to warm.
    """

    temperature_c: float
    solid: Result
    state: StorageState
    worst: StorageState
    warm_to: Result


@dataclass(frozen=True, eq=False)
class ColdStorage:
    """The answers for one liquid.

    appearance : °C, by the equilibrium. shown : what is reported: the measured cloud point where there is one.
    measured : (name, °C as entered) of cloud and pour point.
    difference : measured less estimated, None without a measurement.
    points : falling temperatures. gel : rising shares. at_storage : None where no temperature was declared.
    form : of the solid.
    """

    of: str
    appearance: Result
    shown: Result
    measured: tuple[tuple[str, Result], ...]
    difference: Result | None
    points: tuple[SolidPoint, ...]
    gel: tuple[GelPoint, ...]
    at_storage: AtStorage | None
    form: SolidForm
    step: Step
