"""Put together from the literature what warming, melting, cracking and evaporating polyolefins takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from cutbook.model.amount import Amount, measured, nominal, total
from cutbook.model.energy import HeatPart, ProcessHeat
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.tables import reference


@dataclass(frozen=True)
class ProcessHeatSettings:
    """From where to where the charge is heated.

    start_c : °C of the charge; a workshop. peak_c : °C, where the run sheet states no `peak_temperature`; in the middle
        of what batch reactors are run at (common practice). least_c, most_c : °C between which a stated peak is
        believed; outside, the figures of the table do not hold.
    """

    start_c: float = 20.0
    peak_c: float = 450.0
    least_c: float = 300.0
    most_c: float = 650.0


def process_heat(
    masses: Mapping[str, Amount],
    feed_g: Amount | float,
    before: Step,
    peak_c: float | None = None,
    settings: ProcessHeatSettings = ProcessHeatSettings(),
) -> ProcessHeat | None:
    """The heat that the polyolefins of a charge need, without losses.

    Parameters
    ----------
    masses : g of dry ash-free polymer by its abbreviation. feed_g : the whole feed. before : the step of the feed.
    peak_c : °C of the run, None where it is not stated.
    settings : see `ProcessHeatSettings`.

    Returns
    -------
    ProcessHeat or None
        None where none of the polymers is in `reference/process_heat.csv`. low and high are the sums of all lower and
        of all upper ends of the parts; the value is the middle, uncertain as a rectangle over the whole range.

    Notes
    -----
    For each kg: c_s (T_m - T_0) + h_fusion + c_l (T - T_m) + ΔH_scission/M + h_evaporation. A scission is needed for
    every molecule of product, M being the mean molar mass of all products. The heat of evaporation is what leaves with
    the vapours; a condenser gives none of it back to the reactor.
    """
    known = {name for name, _ in _table()} - {"any"}
    masses = {name: mass for name, mass in masses.items() if name in known}
    if not masses:
        return None
    stated = peak_c is not None and settings.least_c <= peak_c <= settings.most_c
    peak = peak_c if stated and peak_c is not None else settings.peak_c
    step = Step(
        "heat of the process/1", inputs=(before,), settings={"settings": settings, "peak_c": peak, "stated": stated}
    )
    ends = {name: _ends(name, peak, settings.start_c) for name in masses}
    # one doubt for all: who finds one part at its upper end in the literature may find all of them there
    doubt = measured(0.0, 1.0, "heat of the process (literature)")
    energy = total(mass * _between(ends[name], doubt) for name, mass in masses.items()) / 1000.0
    whole = sum(nominal(mass) for mass in masses.values())
    parts = tuple(
        HeatPart(
            part,
            sum(nominal(mass) * ends[name][part][0] for name, mass in masses.items()) / whole,
            sum(nominal(mass) * ends[name][part][1] for name, mass in masses.items()) / whole,
        )
        for part in ends[next(iter(ends))]
    )
    return ProcessHeat(
        peak_c=peak,
        assumed=not stated,
        polymers=tuple(masses),
        covered=100 * whole / nominal(feed_g),
        energy=Result("heat of warming, melting, cracking and evaporating, without losses", energy, "MJ", "", step),
        low=sum(part.low for part in parts) * whole / 1000.0,
        high=sum(part.high for part in parts) * whole / 1000.0,
        parts=parts,
    )


def _parts(name: str, peak_c: float, start_c: float, table: Mapping[tuple[str, str], Any]) -> dict[str, Any]:
    """Each part in MJ/kg from the rows of a polymer and those of any."""

    def row(part: str) -> Any:
        return table[name, part] if (name, part) in table else table["any", part]

    melting = row("melting point")
    return {
        "warming the solid": row("specific heat of the solid") * (melting - start_c) / 1000.0,
        "melting": row("heat of fusion") / 1000.0,
        "warming the melt": row("specific heat of the melt") * (peak_c - melting) / 1000.0,
        "cracking": row("heat of one scission") / row("mean molar mass of the products"),
        "evaporating": row("heat of evaporation") / 1000.0,
    }


def _ends(name: str, peak_c: float, start_c: float) -> dict[str, tuple[float, float]]:
    """The least and the greatest of each part over the corners of its rows."""
    rows = _table()
    corners = []
    for melts in (0, 1):
        for molar in (0, 1):
            for at in (0, 1):
                chosen = {key: ends[at] for key, ends in rows.items()}
                chosen[name, "melting point"] = rows[name, "melting point"][melts]
                chosen["any", "mean molar mass of the products"] = rows["any", "mean molar mass of the products"][molar]
                corners.append(_parts(name, peak_c, start_c, chosen))
    return {part: (min(c[part] for c in corners), max(c[part] for c in corners)) for part in corners[0]}


def _between(ends: Mapping[str, tuple[float, float]], doubt: Amount) -> Any:
    """MJ/kg, the middle of the range of all parts together, uncertain as a rectangle over it."""
    low, high = (sum(pair[at] for pair in ends.values()) for at in (0, 1))
    return (low + high) / 2 + (high - low) / 12**0.5 * doubt


@cache
def _table() -> Mapping[tuple[str, str], tuple[float, float]]:
    rows = reference("process_heat").rows
    return {(row["polymer"], row["part"]): (float(row["low"]), float(row["high"])) for row in rows}
