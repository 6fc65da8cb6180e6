"""The ions by which a compound is told: its chlorine cluster, its third ions, the masses beside the cluster."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.identification.isotope_pattern import isotope_pattern, nominal_mass
from cutbook.model.atoms import atoms_of
from cutbook.model.chlorine import Target
from cutbook.model.trace import Floats


@dataclass(frozen=True, eq=False)
class TargetIons:
    """What a compound gives, as arrays over all masses that are looked at.

    mz : shape (k,). share : of the tallest cluster ion, 0 for masses beside the cluster. u_share : relative.
    cluster, third, beside : columns of the chlorine cluster (tallest first), of the other ions, and of the masses
    beside the cluster. beside_share : carbon-13 expected there, as a share of the tallest cluster ion.
    quantifier : column of the ion whose area is reported. molecular : whether the cluster is the whole molecule's.
    """

    mz: NDArray[np.int64]
    share: Floats
    u_share: Floats
    cluster: NDArray[np.int64]
    third: NDArray[np.int64]
    beside: NDArray[np.int64]
    beside_share: Floats
    quantifier: int
    molecular: bool


def target_ions(target: Target, first_mz: int, last_mz: int) -> TargetIons | None:
    """The ions of a target inside the range of masses that was scanned.

    Parameters
    ----------
    target : its table row. first_mz, last_mz : nominal masses that were scanned.

    Returns
    -------
    TargetIons or None
        None when no pair of isotope ions lies in the range: without one nothing can be said about chlorine.
    """
    inside = [ion for ion in target.ions if first_mz <= ion.mz <= last_mz]
    paired = [ion for ion in inside if ion.role in ("quantifier", "isotope partner")]
    if len(paired) < 2:
        return None
    paired.sort(key=lambda ion: -ion.share)
    others = [ion for ion in inside if ion.role == "qualifier"]
    tallest = paired[0].share
    known = {ion.mz for ion in target.ions}
    cluster_mz = [ion.mz for ion in paired]
    lowest = min(paired, key=lambda ion: ion.mz)
    low = lowest.mz
    carbon_13 = dict(isotope_pattern({"C": atoms_of(target.formula)["C"]})).get(1, 0.0)
    beside, beside_share = [], []
    for mz, expected in ((low + 1, carbon_13 * lowest.share / tallest), (low - 1, 0.0)):
        own = mz in known or (mz < low and mz in target.other_ions)
        if first_mz <= mz <= last_mz and not own:
            beside.append(mz)
            beside_share.append(expected)
    mz_all = [*cluster_mz, *(ion.mz for ion in others), *beside]
    share = [ion.share / tallest for ion in (*paired, *others)] + [0.0] * len(beside)
    u_share = [ion.u_share for ion in (*paired, *others)] + [0.0] * len(beside)
    of_cluster, of_third = len(paired), len(others)
    quantifier = mz_all.index(target.quantifier.mz) if target.quantifier.mz in mz_all else 0
    return TargetIons(
        np.array(mz_all), np.array(share), np.array(u_share), np.arange(of_cluster),
        np.arange(of_cluster, of_cluster + of_third), np.arange(of_cluster + of_third, len(mz_all)),
        np.array(beside_share), quantifier, low == nominal_mass(target.formula),
    )  # fmt: skip


def own_masses(target: Target) -> frozenset[int]:
    """Nominal masses that may hold an ion of the compound: those named, and their carbon-13."""
    named = {ion.mz for ion in target.ions} | set(target.other_ions)
    return frozenset(named | {mz + 1 for mz in named})
