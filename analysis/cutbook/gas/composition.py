"""Turn the composition table of a laboratory into a dry gas by components, and say what was done to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Literal

from cutbook.gas.substances import substances
from cutbook.model.amount import Amount, doubt, flat, measured, nominal, total
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import InputError
from cutbook.model.gas import GasComposition, GasRow, GasTable
from cutbook.model.lineage import Step

WATER = "water"


@dataclass(frozen=True)
class CompositionSettings:
    """How a table is judged.

    relative_u, least_u : standard uncertainty of a share that states none, relative and in mole fraction, the larger
        (2 % and 0.02 mol %, common practice for a calibrated gas chromatograph, no source).
    area_u : relative standard uncertainty of a share from area and response (5 %, common practice, no source).
    low, high : raw sums outside are a warning (95 and 105 %, common practice, no source).
    lowest, highest : raw sums outside are no composition (50 and 150 %).
    rounding : sums this near to 1 are put down to rounding and not mentioned (0.0005).
    """

    relative_u: float = 0.02
    least_u: float = 0.0002
    area_u: float = 0.05
    low: float = 0.95
    high: float = 1.05
    lowest: float = 0.5
    highest: float = 1.5
    rounding: float = 0.0005


def gas_composition(
    table: GasTable,
    basis: Literal["wet", "dry", ""],
    about: str,
    settings: CompositionSettings = CompositionSettings(),
) -> GasComposition:
    """The dry gas of a table.

    Parameters
    ----------
    table : as read. basis : whether the table counts water vapour; "" where nobody says. about : the product.

    Returns
    -------
    GasComposition
        Mole fractions that add up to 1. Below a limit: counted as nothing, with the limit as its uncertainty. Empty:
        left out and named. The same component twice with the same figure counts once.

    Raises
    ------
    InputError
        When a component has two different figures, no figure is above 0, or the raw sum is no composition.
    """
    rows, raised = _once(table, about)
    values = {row.component: _amount(row, table, settings) for row in rows if row.value is not None}
    raw = {row.component: row.value for row in rows if row.value is not None}
    raw_sum = sum(raw.values())
    if raw_sum <= 0:
        raise InputError.single(table.file, "", "no component with a figure above 0", "a composition")
    if table.unit == "fraction":
        raised += _judged_sum(table, raw_sum, about, settings)
    else:
        raised.append(caution("gas.areas", about, percent=round(100 * settings.area_u, 1)))
    raised += _total_row(table, raw_sum, about)
    whole = 1.0 if table.unit == "fraction" else raw_sum
    limits = {row.component: row.limit / whole for row in rows if row.limit is not None and row.value is None}
    not_given = tuple(row.text for row in rows if row.value is None and row.limit is None)
    if limits:
        raised.append(caution("gas.below_limit", about, names=", ".join(limits)))
    if not_given:
        raised.append(caution("gas.not_given", about, names=", ".join(not_given)))
    raised += _overlaps([*values, *limits], about)
    raised += _water(basis, WATER in values, about)
    for name, limit in limits.items():
        # nothing was seen: 0 with the limit as half width of a rectangle
        values[name] = doubt(f"{name} below its limit") * (limit * whole / 3**0.5)
    step = Step(
        "gas composition/1",
        inputs=(table.step,),
        settings={"settings": settings, "basis": basis},
        cautions=tuple(raised),
    )
    return dry_gas(table.file, values, limits, not_given, raw_sum if table.unit == "fraction" else None, step)


def dry_gas(
    file: str,
    values: Mapping[str, Any],
    limits: Mapping[str, float],
    not_given: tuple[str, ...],
    raw_sum: float | None,
    step: Step,
) -> GasComposition:
    """A dry gas that adds up to 1. values : by component, in any one unit. limits : as mole fractions."""
    dry = {name: value for name, value in values.items() if name != WATER}
    sum_dry: Any = flat(total(dry.values()))
    if nominal(sum_dry) <= 0:
        raise InputError.single(file, "", "a gas of nothing but water", "the composition of a dry gas")
    shares = {name: flat(value / sum_dry) for name, value in dry.items()}
    return GasComposition(MappingProxyType(shares), MappingProxyType(dict(limits)), not_given, raw_sum, step)


MixedBy = Literal["volume", "meter", "alike"]


def mixed(parts: Sequence[tuple[GasComposition, Amount | float]], about: str, by: MixedBy) -> GasComposition:
    """Several samples of one gas as one, each by its amount.

    Parameters
    ----------
    parts : (composition, volume in any one unit); at least one. by : what the volumes are: of the samples, of the gas
        that passed a meter about the time of each, or none, so that each sample counts alike. What a sample does not
        give counts as nothing in it, and is told ("gas.bag_lacks").
    """
    if len(parts) == 1:
        return parts[0][0]
    whole: Any = total(amount for _, amount in parts)
    names = list(dict.fromkeys(name for part, _ in parts for name in part.shares))
    shares = {
        name: flat(total(part.shares[name] * (amount / whole) for part, amount in parts if name in part.shares))
        for name in names
    }
    limits = {
        name: max(part.limits[name] for part, _ in parts if name in part.limits)
        for name in names
        if any(name in part.limits for part, _ in parts)
        and all(nominal(p.shares.get(name, 0.0)) == 0 for p, _ in parts)
    }
    raised = [
        caution("gas.bags_by_meter", about, count=len(parts),
                percents=", ".join(f"{100 * nominal(amount) / nominal(whole):.0f}" for _, amount in parts))
        if by == "meter"
        else caution("gas.bags_weighted", about, count=len(parts))
        if by == "volume"
        else caution("gas.bags_alike", about, count=len(parts))
    ]  # fmt: skip
    if lacking := [name for name in names if any(name not in part.shares for part, _ in parts)]:
        raised.append(caution("gas.bag_lacks", about, names=", ".join(lacking)))
    step = Step("mix gas samples/1", inputs=tuple(part.step for part, _ in parts), cautions=tuple(raised))
    not_given = tuple(dict.fromkeys(name for part, _ in parts for name in part.not_given))
    return GasComposition(MappingProxyType(shares), MappingProxyType(limits), not_given, None, step)


def _once(table: GasTable, about: str) -> tuple[list[GasRow], list[Caution]]:
    """Every component once; the same figure twice is one figure, two figures are a fault."""
    kept: dict[str, GasRow] = {}
    raised: list[Caution] = []
    for row in table.rows:
        before = kept.get(row.component)
        if before is None:
            kept[row.component] = row
            continue
        given = row.value is not None or row.limit is not None
        same = not given or (before.value, before.limit) == (row.value, row.limit)
        if before.value is None and before.limit is None and given:
            kept[row.component], same = row, True
        if not same:
            raise InputError.single(
                table.file, row.place,
                f"'{row.text}' with another figure than '{before.text}' at {before.place}, both {row.component}",
                "each component once", "Leave the one out that does not count, or sum them where both do",
            )  # fmt: skip
        raised.append(caution("gas.duplicate", about, name=row.component, place=row.place))
    return list(kept.values()), raised


def _amount(row: GasRow, table: GasTable, settings: CompositionSettings) -> Amount:
    value = row.value or 0.0
    if row.u is not None:
        u = row.u
    elif table.unit == "area":
        u = settings.area_u * value
    else:
        u = max(settings.relative_u * value, settings.least_u if value else 0.0, row.step / 12**0.5)
    return measured(value, u, f"analysis of {row.component}")


def _judged_sum(table: GasTable, raw_sum: float, about: str, settings: CompositionSettings) -> list[Caution]:
    percent = round(100 * raw_sum, 2)
    if not settings.lowest <= raw_sum <= settings.highest:
        raise InputError.single(
            table.file, "", f"shares that add up to {percent:g} %", "a composition of about 100 %",
            "Is the unit right, and is every component in the table?",
        )  # fmt: skip
    if not settings.low <= raw_sum <= settings.high:
        low, high = round(100 * settings.low, 2), round(100 * settings.high, 2)
        return [caution("gas.raw_sum_off", about, sum=percent, low=low, high=high)]
    return [caution("gas.normalised", about, sum=percent)] if abs(raw_sum - 1) > settings.rounding else []


def _total_row(table: GasTable, raw_sum: float, about: str) -> list[Caution]:
    if table.total is None:
        return []
    # every figure may be off by half a step of its last digit
    if abs(table.total - raw_sum) <= 0.5 * sum(row.step for row in table.rows) + 1e-9 * raw_sum:
        return []
    return [
        caution("gas.total_disagrees", about, stated=round(100 * table.total, 4), found=round(100 * raw_sum, 4))
    ]  # fmt: skip


def _overlaps(names: Sequence[str], about: str) -> list[Caution]:
    known, raised = substances(), []
    # what is not identified is none of what is
    lumps = [name for name in names if known[name].is_lump and name != "unidentified"]
    single = [name for name in names if not known[name].is_lump]
    for place, name in enumerate(lumps, 1):
        held = set(known[name].members)
        also = [other for other in (*single, *lumps[place:]) if held & set(known[other].members or (other,))]
        if also:
            raised.append(caution("gas.lump_overlaps", about, lump=name, members=", ".join(also)))
    return raised


def _water(basis: str, listed: bool, about: str) -> list[Caution]:
    if basis == "wet" and not listed:
        return [caution("gas.water_not_listed", about)]
    if basis == "dry" and listed:
        return [caution("gas.water_in_dry", about)]
    return [] if basis or listed else [caution("gas.basis_not_stated", about)]
