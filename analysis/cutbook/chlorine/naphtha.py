"""Hold a laboratory's organic chloride of the washed naphtha against the compounds that boil with it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from cutbook.chlorine.concentration import UNIT
from cutbook.chlorine.organic_chlorine import WASHED, bulk_verdict
from cutbook.chlorine.where_distilled import PLACED, WhereDistilledSettings, where_distilled
from cutbook.model.amount import measured
from cutbook.model.boiling import BoilingCurve
from cutbook.model.cautions import caution
from cutbook.model.chlorine import QuantifiedTarget
from cutbook.model.chlorine_ledger import OrganicChlorine
from cutbook.model.cuts import CutLimits, CutScheme
from cutbook.model.lineage import Step
from cutbook.model.result import Result

END_C = 204.0
"""Up to which ASTM D4929 distils the naphtha that it washes and measures, °C (its scope)."""
NAPHTHA = CutScheme("washed naphtha", "boiling range", (CutLimits("naphtha", -math.inf, END_C),), "ASTM D4929")


def against_naphtha(
    sums: OrganicChlorine,
    targets: Sequence[QuantifiedTarget],
    curve: BoilingCurve | None,
    settings: WhereDistilledSettings = PLACED,
) -> OrganicChlorine:
    """The sums with the laboratory's figure of the washed naphtha held against them, where the boiling curve allows.

    Parameters
    ----------
    sums : with `bulk` of a washed naphtha; other sums are given back as they are. targets : that they are made of.
    curve : of the oil, None where there is none. settings : how compounds are placed.

    Returns
    -------
    OrganicChlorine
        With a verdict of what boils up to 204 °C in mg/kg of the naphtha; "not compared" stays where the share of the
        naphtha is not known.
    """
    share = None if curve is None else boiled_up_to(curve, END_C)
    if sums.bulk is None or sums.bulk.method != WASHED or share is None:
        return sums
    (cut,) = where_distilled(sums, targets, NAPHTHA, {"naphtha": share}, settings).cuts
    entered = sums.bulk.value.amount
    if cut.best.amount is None or cut.lower.amount is None or entered is None:
        return sums
    verdict, raised = bulk_verdict(entered, cut.lower, cut.upper, f"naphtha of {sums.of}")
    told = (*raised, caution("chlorine.naphtha_compared", sums.of, value=f"{cut.best.value:.3g}"))
    step = Step("compare washed naphtha/1", inputs=(sums.bulk.value.step, cut.best.step), cautions=told)
    difference = Result(sums.bulk.difference.measurand, entered - cut.best.amount, UNIT, f"naphtha of {sums.of}", step)
    return replace(sums, bulk=replace(sums.bulk, difference=difference, verdict=verdict))


def boiled_up_to(curve: BoilingCurve, temperature_c: float) -> Result | None:
    """Share of a sample that boils up to a temperature, in %; None where the curve does not reach it from both sides.

    Notes
    -----
    Its uncertainty is that of the temperature times the slope of the curve over 10 % about it.
    """
    known: list[tuple[float, Any]] = [
        (one.recovered, one.temperature) for one in curve.points if one.temperature.value is not None
    ]
    recovered = np.array([one for one, _ in known])
    at = np.array([one.value for _, one in known], dtype=float)
    if len(known) < 2 or not at[0] <= temperature_c <= at[-1]:
        return None
    share = float(np.interp(temperature_c, at, recovered))
    u_c = float(np.interp(share, recovered, [one.u or 0.0 for _, one in known]))
    low, high = (float(np.interp(share + step, recovered, at)) for step in (-5.0, 5.0))
    slope = 10.0 / max(high - low, 1e-6)
    amount = measured(share, slope * u_c, f"share of {curve.of} that boils up to {temperature_c:g} °C")
    step = Step("read share off boiling curve/1", inputs=(curve.step,), settings={"temperature": temperature_c})
    return Result(f"share that boils up to {temperature_c:g} °C", amount, "%", curve.of, step)
