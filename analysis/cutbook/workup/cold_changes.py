"""What it does to the cold to take a cut out of a liquid or to blend another one in."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from cutbook.coldflow.cold_doubts import ColdSettings
from cutbook.coldflow.gelling import gelling_shares, share_temperature_k
from cutbook.coldflow.mixtures import blended, components_of, without
from cutbook.coldflow.solid_liquid import appearance_k, solid_curve
from cutbook.fractions.cut_schemes import chosen_schemes
from cutbook.model.cold import Components
from cutbook.model.errors import InputError, nearest
from cutbook.model.units import KELVIN
from cutbook.workup.findings import ColdFindings, Findings, SampleFindings


@dataclass(frozen=True)
class ColdChange:
    """One mixture; the liquid as it is where nothing is removed or blended in.

    mass : g from 100 g of the liquid as it is.
    appearance_c : first wax, °C, None for none.
    first_gel_c : °C at which the first share of the gelling range is solid, None where it is not reached in the range
        that is listed. at_storage : % solid at the storage temperature, None where that is not declared.
    removed_from : carbon number from which on all is taken out, None for nothing. blended : liquid that is blended in,
    "" for none. share : of it in the blend, 0 to 1.
    """

    mass: float
    appearance_c: float | None
    first_gel_c: float | None
    at_storage: float | None
    removed_from: int | None = None
    blended: str = ""
    share: float = 0.0


def cold_changes(
    findings: Findings, of: str, remove: str, above: int | None, blend: str, share: float | None, below_c: float | None
) -> tuple[ColdChange, ...]:
    """The liquid as it is, and what was asked for.

    Parameters
    ----------
    findings : of the run. of : the product; the main liquid when "".
    remove : name of a cut by carbon number to take out. above : carbon number from which on all is taken out instead.
    blend : the liquid that is blended in. share : of it in the blend, 0 to 1; steps of a tenth when None.
    below_c : °C below which the first wax is wanted: the carbon number to cut at, or the share to blend, is looked for.

    Returns
    -------
    tuple of ColdChange

    Raises
    ------
    InputError
        For a liquid, cut or blend that there is none of.
    """
    liquid = _liquid(findings, of)
    sample = _sample(findings, liquid.name)
    oil, how = _components(sample), findings.method.cold
    if share is not None and not 0.0 < share < 1.0:
        raise InputError.single("", "--share", f"{100 * share:g} %", "more than 0 and less than 100 %")
    lowest = liquid.answer.at_storage.temperature_c if liquid.answer.at_storage is not None else None
    changes = [_change(oil, 100.0, lowest, how)]
    if remove or above is not None:
        first = above if above is not None else _first_carbon(findings, remove)
        changes.append(_cut_at(oil, first - 1, lowest, how))
        if below_c is not None:
            changes += _cut_below(oil, first - 1, below_c, lowest, how)
    elif blend:
        other = _components(_sample(findings, _liquid(findings, blend).name))
        shares = [share] if share is not None else [tenth / 10.0 for tenth in range(1, 10)]
        changes += [_blend(oil, other, blend, one, lowest, how) for one in shares]
        if below_c is not None:
            changes += _blend_below(oil, other, blend, below_c, lowest, how)
    elif below_c is not None:
        changes += _cut_below(oil, int(np.max(oil.carbons)), below_c, lowest, how)
    return tuple(dict.fromkeys(changes))  # what was asked for may be the least change, too


def _liquid(findings: Findings, of: str) -> ColdFindings:
    known = [one.of for one in findings.cold]
    if not known:
        raise InputError.single(
            "run.toml", "[[trace]]", "no liquid with an n-alkane ladder", "a sample of a liquid that names a ladder"
        )
    if not of:
        return findings.cold[0]
    if of not in known:
        near = nearest(of, known)
        raise InputError.single(
            "", "liquid", f"'{of}'", "one of " + ", ".join(known), f"Did you mean '{near}'?" if near else ""
        )
    return next(one for one in findings.cold if one.of == of)


def _sample(findings: Findings, name: str) -> SampleFindings:
    return next(sample for sample in findings.samples if sample.name == name)


def _components(sample: SampleFindings) -> Components:
    if sample.wax_formers is None:
        raise InputError.single(sample.file, "", "no wax formers", "a sample with an n-alkane ladder")
    return components_of(sample.wax_formers)


def _first_carbon(findings: Findings, cut: str) -> int:
    """Where a cut of the headline scheme by carbon number begins."""
    schemes = dict(chosen_schemes(findings.method.cuts).shown)
    first = {one.cut: one.lower for one in schemes["carbon-number"].cuts if math.isfinite(one.lower)}
    if cut not in first:
        raise InputError.single(
            "", "--remove", f"'{cut}'", "one of " + ", ".join(first), "A carbon number is given by --above."
        )
    return round(first[cut])


def _change(oil: Components, mass: float, lowest_c: float | None, how: ColdSettings) -> ColdChange:
    appears = appearance_k(oil, how.equilibrium)
    top = math.ceil((KELVIN if appears is None else appears) - KELVIN) + 1
    degrees = np.arange(max(top, how.lowest_c + 1), how.lowest_c - 1, -1, dtype=np.float64)
    gel = share_temperature_k(solid_curve(oil, degrees + KELVIN, how.equilibrium), gelling_shares()[0])
    solid = None
    if lowest_c is not None:
        solid = 100.0 * float(solid_curve(oil, [lowest_c + KELVIN], how.equilibrium).solid[0])
    return ColdChange(mass, None if appears is None else appears - KELVIN, None if gel is None else gel - KELVIN, solid)


def _cut_at(oil: Components, last: int, lowest_c: float | None, how: ColdSettings) -> ColdChange:
    lighter, taken = without(oil, last)
    return replace(_change(lighter, 100.0 * (1.0 - taken), lowest_c, how), removed_from=last + 1)


def _cut_below(
    oil: Components, start: int, below_c: float, lowest_c: float | None, how: ColdSettings
) -> list[ColdChange]:
    """The first cut, from the heavy end, with which wax appears below what is wanted."""
    for last in range(start, int(np.min(oil.carbons)), -1):
        lighter, _ = without(oil, last)
        appears = appearance_k(lighter, how.equilibrium)
        if appears is None or appears - KELVIN < below_c:
            return [_cut_at(oil, last, lowest_c, how)]
    return []


def _blend(
    oil: Components, other: Components, name: str, share: float, lowest_c: float | None, how: ColdSettings
) -> ColdChange:
    mixed = blended(oil, other, share)
    return replace(_change(mixed, 100.0 / (1.0 - share), lowest_c, how), blended=name, share=share)


def _blend_below(
    oil: Components, other: Components, name: str, below_c: float, lowest_c: float | None, how: ColdSettings
) -> list[ColdChange]:
    """The least share of the other liquid, to a hundredth, with which wax appears below what is wanted."""

    def is_enough(share: float) -> bool:
        appears = appearance_k(blended(oil, other, share), how.equilibrium)
        return appears is None or appears - KELVIN < below_c

    if not is_enough(0.99):
        return []
    low, high = 0, 99
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_enough(middle / 100.0) else (middle, high)
    return [_blend(oil, other, name, high / 100.0, lowest_c, how)]
