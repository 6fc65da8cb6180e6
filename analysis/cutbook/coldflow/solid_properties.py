"""Melting point, enthalpies and ideal solubility of straight chains from tables and published correlations."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from cutbook.model.cold import Components, Family
from cutbook.model.tables import reference
from cutbook.model.trace import Floats
from cutbook.model.units import GAS_CONSTANT

JOULE_PER_CALORIE = 4.184
LIGHTEST, HEAVIEST = 5, 60
"""Carbon numbers of the tables."""
_LIGHTEST_MIXED = 8
"""Below this the correlation of the enthalpy of fusion in the chain solution turns negative or nearly so."""

HeatCapacity = Literal["by molar mass", "left out"]


@dataclass(frozen=True, eq=False)
class SolidProperties:
    """What melts how, component by component, each of shape (n,).

    melting_k : K. fusion_j_mol : J/mol. transition_k, transition_j_mol : of the solid-solid transition, 0 J/mol where
    there is none or where the enthalpy of fusion already contains it. molar_mass : g/mol.
    crystallises : whether the component enters this solid at all.
    """

    melting_k: Floats
    fusion_j_mol: Floats
    transition_k: Floats
    transition_j_mol: Floats
    molar_mass: Floats
    crystallises: np.ndarray[tuple[int], np.dtype[np.bool_]]


@cache
def constant(name: str) -> float:
    """A constant of the equations, by its name in the table."""
    return float(reference("wax_equations").by("name")[name]["value"])


def pure_solids(components: Components) -> SolidProperties:
    """The components as crystals of their own, from the tables.

    Raises
    ------
    ValueError
        For a chain outside C5 to C60.
    """
    rows = [_pure(family, float(n)) for family, n in zip(components.families, components.carbons, strict=True)]
    melting, fusion, transition_k, transition = (np.array(column) for column in zip(*rows, strict=True))
    return SolidProperties(
        melting, fusion, transition_k, transition, np.asarray(components.molar_mass), components.forms_wax
    )


def chain_solution(components: Components) -> SolidProperties:
    """The components in the orthorhombic crystal that chains of neighbouring length share.

    Even chains up to C20 crystallise alone in another form; what they would melt at in the shared one is given by a
    correlation that is smooth in the carbon number. A 1-alkene melts below that by as much as below the n-alkane, with
    the same share of its enthalpies.

    Raises
    ------
    ValueError
        For a chain outside C5 to C60; below C8 chains do not enter.

    References
    ----------
    Coutinho and Daridon, Energy Fuels 15 (2001) 1454 (from memory).
    """
    n = np.asarray(components.carbons, dtype=np.float64)
    lower = np.zeros_like(n)
    share = np.ones_like(n)
    for at, family in enumerate(components.families):
        if family == "1-alkene":
            lower[at] = _pure("n-alkane", n[at])[0] - _pure("1-alkene", n[at])[0]
            share[at] = constant("alkene_enthalpy_share")
        elif family == "n-alkane":
            _whole(float(n[at]))
    enters = components.forms_wax & (n >= _LIGHTEST_MIXED)
    melting = np.where(enters, orthorhombic_melting_k(np.maximum(n, _LIGHTEST_MIXED)) - lower, 1.0)
    fusion = orthorhombic_fusion_j_mol(n) * share
    transition = (total_enthalpy_j_mol(n) - orthorhombic_fusion_j_mol(n)) * share
    return SolidProperties(
        melting, fusion, orthorhombic_transition_k(n) - lower, transition, np.asarray(components.molar_mass), enters
    )


def ln_solubility(temperature_k: ArrayLike, solids: SolidProperties, heat_capacity: HeatCapacity) -> Floats:
    """Natural logarithm of the activity in the liquid, pure liquid as reference, at which each solid is in equilibrium.

    Parameters
    ----------
    temperature_k : K, shape (m,). solids : of n components.
    heat_capacity : whether the heat capacity that the liquid has over the solid counts.

    Returns
    -------
    array
        Shape (m, n); above 0 where the melt is the stable form, infinite for what does not crystallise. For an ideal
        liquid it is ln x.

    Notes
    -----
    ``-ln a = ΔH_f/R (1/T - 1/T_f) + ΔH_tr/R (1/T - 1/T_tr) - ΔC_p/R (T_f/T - 1 - ln T_f/T)``, the second term below the
    transition only: above it the other crystal is the stable one. ΔC_p in cal/(mol K) is 0.3033 M - 4.635e-4 M T.

    References
    ----------
    Prausnitz, Lichtenthaler and de Azevedo, Molecular Thermodynamics of Fluid-Phase Equilibria, 3rd ed., equation 11-13
    (from memory). ΔC_p: Pedersen, Skovborg and Rønningsen, Energy Fuels 5 (1991) 924 (from memory).
    """
    t = np.asarray(temperature_k, dtype=np.float64)[:, None]
    fusion = solids.fusion_j_mol / GAS_CONSTANT * (1.0 / t - 1.0 / solids.melting_k)
    step = solids.transition_j_mol / GAS_CONSTANT * (1.0 / t - 1.0 / np.maximum(solids.transition_k, 1.0))
    total = fusion + np.where(t < solids.transition_k, step, 0.0)
    if heat_capacity == "by molar mass":
        per_mass = constant("heat_capacity_mass") + constant("heat_capacity_mass_temperature") * t
        difference = JOULE_PER_CALORIE * np.maximum(per_mass, 0.0) * solids.molar_mass
        ratio = solids.melting_k / t
        total = total - np.where(ratio > 1.0, difference / GAS_CONSTANT * (ratio - 1.0 - np.log(ratio)), 0.0)
    return np.where(solids.crystallises, -total, np.inf)


def orthorhombic_melting_k(n: ArrayLike) -> Floats:
    """Melting temperature in K of a chain of n carbons in the shared crystal (Coutinho and Daridon 2001)."""
    chain = np.asarray(n, dtype=np.float64)
    grown = constant("orthorhombic_melting_rate") * (chain - 1.0) ** constant("orthorhombic_melting_power")
    falling = constant("orthorhombic_melting_factor") * np.exp(-grown)
    return np.asarray(constant("orthorhombic_melting_limit") - falling)


def orthorhombic_transition_k(n: ArrayLike) -> Floats:
    """Temperature in K of its solid-solid transition (Coutinho and Daridon 2001)."""
    chain = np.asarray(n, dtype=np.float64) + constant("orthorhombic_transition_shift")
    grown = constant("orthorhombic_transition_rate") * chain ** constant("orthorhombic_transition_power")
    falling = constant("orthorhombic_transition_factor") * np.exp(-grown)
    return np.asarray(constant("orthorhombic_transition_limit") - falling)


def orthorhombic_fusion_j_mol(n: ArrayLike) -> Floats:
    """Its enthalpy of fusion in J/mol (Coutinho and Daridon 2001)."""
    chain = np.asarray(n, dtype=np.float64)
    powers = ("constant", "linear", "square", "cubic")
    return np.asarray(sum(constant(f"orthorhombic_fusion_{p}") * chain**k for k, p in enumerate(powers)))


def total_enthalpy_j_mol(n: ArrayLike) -> Floats:
    """Fusion and transition together in J/mol (Coutinho and Daridon 2001)."""
    chain = np.asarray(n, dtype=np.float64)
    return np.asarray(constant("total_enthalpy_slope") * chain + constant("total_enthalpy_offset"))


def vaporisation_j_mol(n: ArrayLike) -> Floats:
    """Enthalpy of vaporisation at 298.15 K in J/mol (Chickos and Hanshaw 2004)."""
    chain = np.asarray(n, dtype=np.float64)
    return np.asarray(constant("vaporisation_slope") * chain + constant("vaporisation_offset"))


@cache
def _pure(family: Family, carbons: float) -> tuple[float, float, float, float]:
    """Melting K, fusion J/mol, transition K and J/mol; zeros of the transition where none is to be counted."""
    if family == "rest":
        return 1.0, 0.0, 0.0, 0.0
    n = _whole(carbons)
    row = reference("n_alkane_solid").by("carbon_number")[str(n)]
    fusion, transition = float(row["fusion_j_mol"]), float(row["transition_j_mol"] or 0.0)
    if row["includes_transition"] == "yes" and transition:
        raise ValueError(f"n_alkane_solid counts the transition of C{n} twice")
    if family == "n-alkane":
        return float(row["melting_k"]), fusion, float(row["transition_k"] or 0.0), transition
    melting = float(reference("alkene_solid").by("carbon_number")[str(n)]["melting_k"])
    return melting, constant("alkene_enthalpy_share") * (fusion + transition), 0.0, 0.0


def _whole(carbons: float) -> int:
    n = round(carbons)
    if n != carbons or not LIGHTEST <= n <= HEAVIEST:
        raise ValueError(f"a chain of {carbons} carbons is outside the table of C{LIGHTEST} to C{HEAVIEST}")
    return n
