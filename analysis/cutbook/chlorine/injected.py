"""Tell what one injection held: how far the oil was diluted, how much internal standard, what a standard contained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cutbook.identification.numbering import find_by_name
from cutbook.model.amount import Amount, measured
from cutbook.model.chlorine import ScreenedTarget
from cutbook.model.entered import Entered
from cutbook.model.errors import InputError
from cutbook.model.run import TraceEntry
from cutbook.quantitation.internal_standard import per_gram_of_sample

U_DENSITY = 0.005
"""Standard uncertainty of a solution's density, as a share, taken as that of its solvent at 20 °C: 4 K change a solvent
by half a per cent (from memory)."""


@dataclass(frozen=True)
class StandardSignal:
    """The internal standard in one run. area, u_area : of its quantifier, counts·min. current_share : of the quantifier
    in all its ions, None where nobody knows."""

    name: str
    area: float
    u_area: float
    current_share: float | None = None


@dataclass(frozen=True, eq=False)
class MeasuredRun:
    """A run that was screened.

    entry : of the run sheet. screened : its targets. current_area : of all ions that eluted, solvent and background
    taken away, counts·min; None where it was not summed. standard : its internal standard, where that is no target.
    """

    entry: TraceEntry
    screened: Sequence[ScreenedTarget]
    current_area: float | None = None
    standard: StandardSignal | None = None

    def target(self, name: str) -> ScreenedTarget | None:
        """A target by its name, None where it was not looked for."""
        return next((one for one in self.screened if same_name(one.target.name, name)), None)


def same_name(one: str, other: str) -> bool:
    """Whether two names of compounds are one, case and spaces aside."""
    return "".join(one.split()).casefold() == "".join(other.split()).casefold()


def standard_signal(run: MeasuredRun) -> StandardSignal | None:
    """The internal standard of a run: as given with it, else the target of that name; None where none was found."""
    if run.standard is not None or run.entry.internal_standard is None:
        return run.standard
    found = run.target(run.entry.internal_standard.name)
    if found is None or found.area is None or not found.area > 0:
        return None
    return StandardSignal(found.target.name, found.area, found.u_area or 0.0, found.target.current_share)


def dilution(entry: TraceEntry) -> Amount | float | None:
    """g of what was injected a g of the sample in it; None where a solvent was used and nobody says how much."""
    if entry.solvent_mass is not None and entry.sample_mass is not None:
        sample = entry.sample_mass.amount(f"weighing of {entry.of or entry.file} sample")
        return (sample + entry.solvent_mass.amount("weighing of solvent")) / sample
    return None if entry.solvent or entry.solvent_window_min is not None else 1.0


def standard_in_sample(entry: TraceEntry) -> Amount | None:
    """g of internal standard a g of sample; None without one, or where the dilution that it needs is not known."""
    declared = entry.internal_standard
    if declared is None:
        return None
    if declared.mass is None and dilution(entry) is None:
        return None
    return per_gram_of_sample(entry, declared)


def amounts_of(entry: TraceEntry, solvent: str, sheet: str) -> dict[str, Amount]:
    """Mass fraction of each compound in the solution of a standard, by its name as written.

    Parameters
    ----------
    entry : with role standard. solvent : of the sample, where the standard names none. sheet : name of the run sheet.

    Raises
    ------
    InputError
        For mg/L in a solvent whose density is not known.
    """
    found: dict[str, Amount] = {}
    for one in entry.amounts:
        written: Entered = one["concentration"]
        amount = written.amount(f"amount of {one['name']} in {entry.file}")
        if written.unit == "mg/L":
            amount = amount / 1e6 / _density(entry, entry.solvent or solvent, sheet)
        found[one["name"]] = amount
    return found


def _density(entry: TraceEntry, solvent: str, sheet: str) -> Amount:
    """g/mL of the solution, taken as that of its solvent."""
    row = find_by_name("solvents", solvent) if solvent else None
    if row is None or not row["density_20_g_ml"]:
        raise InputError.single(
            sheet, f"{entry.place}, amounts", f"mg/L in {solvent or 'a solvent that is not named'}",
            "mg/kg, or a solvent of `cutbook reference solvents`",
            'Name it by solvent = "…", or divide mg/L by the density of the solution in g/mL to get mg/kg.',
        )  # fmt: skip
    value = float(row["density_20_g_ml"])
    return measured(value, U_DENSITY * value, f"density of {row['name']}")
