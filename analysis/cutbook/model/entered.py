"""A quantity as somebody wrote it down, in bench units."""

from __future__ import annotations

from dataclasses import dataclass

from cutbook.model.amount import Amount, drawn_or_not, measured_once


@dataclass(frozen=True)
class Entered:
    """A quantity that was read from a sheet.

    value, u : in `unit`, a bench unit (g, mL, °C, kPa, min, g/mL, fraction 0–1 as "1" …).
    text : exactly as written. u_stated : whether the uncertainty was written down; if not, `u` is
        that of the last digit written (rectangular over one step of it, d/√12).
    """

    value: float
    u: float
    unit: str
    text: str
    u_stated: bool

    def amount(self, tag: str) -> Amount:
        """The quantity as a tagged variable for the uncertainty budget: one and the same however often it enters."""
        made: Amount | None = self.__dict__.get("_variable")
        if made is None:
            made = measured_once(self.value, self.u, tag)
            object.__setattr__(self, "_variable", made)  # no field: what was read stays as it was
        return drawn_or_not(made, rectangular=not self.u_stated)
