"""Reckon what heated a reactor, as declared: fuel by its net heating value, electricity as metered."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cutbook.model.amount import tabulated
from cutbook.model.energy import BurnerEnergy
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.tables import reference


def burner_energy(fuel: str, used: Entered | None, electricity: Entered | None, sheet: Source) -> BurnerEnergy | None:
    """The energy that went to the heating of a run.

    Parameters
    ----------
    fuel : a name of `reference/burner_fuels.csv`, "" for none. used : in g or, where the table has its density, in mL.
    electricity : MJ. sheet : the run sheet.

    Returns
    -------
    BurnerEnergy or None
        MJ, fuel and electricity together; None where no amount was declared.

    Notes
    -----
    The net heating value of a fuel, and its density, are rectangular distributions between the ends of the table.
    """
    declared: dict[str, Any] = {}
    energy: Any = 0.0
    if fuel and used is not None:
        row = reference("burner_fuels").by("name")[fuel]
        grams = used.amount(f"{fuel} used")
        if used.unit == "mL":
            grams = grams * _between(row, "density_low", "density_high", f"density of {fuel}") / 1000.0
        energy = energy + grams * _between(row, "low", "high", f"net heating value of {fuel}") / 1000.0
        declared["burner_fuel"], declared["burner_fuel_used"] = fuel, used.text
    if electricity is not None:
        energy = energy + electricity.amount("heater energy")
        declared["heater_energy"] = electricity.text
    if not declared:
        return None
    source = Source(sheet.path, sheet.sha256, "[reactor], " + ", ".join(declared))
    step = Step("energy of the burner/1", settings=declared, source=source)
    texts = [f"{declared['burner_fuel_used']} {fuel}"] if "burner_fuel" in declared else []
    texts += [f"{declared['heater_energy']} electricity"] if "heater_energy" in declared else []
    result = Result("net energy that heated the reactor, as declared", energy, "MJ", "", step)
    return BurnerEnergy(fuel if "burner_fuel" in declared else "", " and ".join(texts), result)


def _between(row: Mapping[str, str], low: str, high: str, tag: str) -> Any:
    ends = float(row[low]), float(row[high])
    return tabulated(sum(ends) / 2, (ends[1] - ends[0]) / 12**0.5, tag)
