"""Set the organic chlorine of an oil beside limits and usages, for orientation only."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from cutbook.model.cautions import Caution, caution
from cutbook.model.tables import reference

CHLORINE = "chlorine"
"""What limits of a liquid are of: all chlorine in it."""
WORKPLACE_AIR = "workplace air"
_COVERAGE = 2.0  # standard uncertainties within which a value and a limit are not told apart


@dataclass(frozen=True)
class OrientationLimit:
    """A limit with which something is compared for orientation only.

    use : where it applies, "workplace air", "steam cracker feed". quantity : what kind of limit. unit : ppm or mg/m³ in
    air, mg/kg in a liquid. jurisdiction : "" for a usage. as_of : year of the text. kind : of the source, "standard",
    "library", "patent" or "from-memory".
    """

    substance: str
    use: str
    quantity: str
    value: float
    unit: str
    jurisdiction: str
    as_of: str
    source: str
    kind: str

    def shown(self) -> str:
        """The limit with its use, place, year and standing, for a sentence."""
        return f"{self.use}, {self.quantity}: {self.value:g} {self.unit} ({self.standing})"

    @property
    def standing(self) -> str:
        """Its place and year, and how far its source can be trusted."""
        of = ", ".join(filter(None, (self.jurisdiction, self.as_of)))
        doubt = ", from memory" if self.kind == "from-memory" else ", a patent claim" if self.kind == "patent" else ""
        return f"{of}{doubt}"


def orientation_limits(substance: str, use: str = "") -> tuple[OrientationLimit, ...]:
    """Limits of a substance ("chlorine" for the sum in a liquid), of one use or of all, in the order of the table."""
    return tuple(one for one in _limits() if one.substance == substance and use in ("", one.use))


def orientation_caution(mg_per_kg: float, u: float, about: str) -> Caution:
    """The organic chlorine of an oil beside every limit and usage of a liquid.

    Parameters
    ----------
    mg_per_kg, u : organic chlorine and its standard uncertainty, mg/kg. about : the product.

    Notes
    -----
    A limit within two standard uncertainties is neither above nor below.
    """
    limits = orientation_limits(CHLORINE)
    wide = _COVERAGE * u
    return caution(
        "chlorine.beside_limits", about,
        above=_listed(one for one in limits if mg_per_kg - wide > one.value),
        near=_listed(one for one in limits if abs(mg_per_kg - one.value) <= wide),
        below=_listed(one for one in limits if mg_per_kg + wide < one.value),
    )  # fmt: skip


def _listed(limits: Iterable[OrientationLimit]) -> str:
    return "; ".join(one.shown() for one in limits) or "none"


@cache
def _limits() -> tuple[OrientationLimit, ...]:
    return tuple(
        OrientationLimit(
            row["substance"],
            row["use"],
            row["quantity"],
            float(row["value"]),
            row["unit"],
            row["jurisdiction"],
            row["as_of"],
            row["source"],
            row["source_kind"],
        )  # fmt: skip
        for row in reference("orientation_limits").rows
    )
