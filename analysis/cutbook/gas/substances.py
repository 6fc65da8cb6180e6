"""Gas components and the sums that laboratories report, with what they weigh and give, from their names."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from cutbook.model.amount import Amount, nominal, tabulated, total
from cutbook.model.atoms import atoms_of
from cutbook.model.tables import reference

COMBUSTION_C: Mapping[float, str] = {0.0: "gross_0", 15.0: "gross_15", 15.55: "gross_15_55", 20.0: "gross_20",
                                     25.0: "gross_25"}  # fmt: skip
"""Combustion temperatures of ISO 6976:2016 in °C and the columns of their calorific values."""
METERING_C: Mapping[float, str] = {0.0: "s_0", 15.0: "s_15", 15.55: "s_15_55", 20.0: "s_20"}
"""Metering temperatures of ISO 6976:2016 in °C and the columns of their summation factors."""


@dataclass(frozen=True, eq=False)
class Substance:
    """One component, or a sum of components that is reckoned as one.

    name : in the reference tables. members : components that a sum may hold, () for a component. atoms : by element.
    molar_mass : g/mol. gross : kJ/mol, ideal, by combustion temperature in °C. summation : s by metering temperature.
    """

    name: str
    members: tuple[str, ...]
    atoms: Mapping[str, Amount]
    molar_mass: Amount
    gross: Mapping[float, Amount]
    summation: Mapping[float, Amount]

    @property
    def is_lump(self) -> bool:
        """Whether it is a sum of components."""
        return bool(self.members)


@cache
def substances() -> Mapping[str, Substance]:
    """Every component and every sum by its name; each uncertain figure is one variable wherever it is used."""
    found = {row["name"]: _component(row) for row in reference("gas_components").rows}
    for row in reference("gas_lumps").rows:
        found[row["name"]] = _lump(row, found)
    return MappingProxyType(found)


def molar_mass(shares: Mapping[str, Amount | float]) -> Any:
    """Mean molar mass in g/mol of a gas from its mole fractions."""
    return total(share * substances()[name].molar_mass for name, share in shares.items())


@cache
def spellings() -> Mapping[str, str]:
    """Names by every known spelling, folded by `folded`."""
    found: dict[str, str] = {}
    for table in ("gas_components", "gas_lumps"):
        for row in reference(table).rows:
            for spelling in (row["name"], *row["aliases"].split("|")):
                if spelling:
                    found.setdefault(folded(spelling), row["name"])
    return MappingProxyType(found)


_SUBSCRIPTS = str.maketrans("₀₁₂₃₄₅₆₇₈₉₊", "0123456789+")


def folded(text: str) -> str:
    """A name without what hands write differently: case, blanks, hyphens, dots, brackets, subscripts."""
    return re.sub(r"[\s\-_.·'’()\[\]–—]+", "", text.translate(_SUBSCRIPTS)).casefold()


def component_named(text: str) -> str:
    """The reference name of a component as somebody wrote it, "" when it is not known.

    Examples
    --------
    >>> component_named("Methan"), component_named("C3H6"), component_named("iC4"), component_named("C5+")
    ('methane', 'propene', 'isobutane', 'C5+')
    """
    known = spellings()
    for candidate in (
        text,
        re.sub(r"[(\[][^()\[\]]*[)\]]\s*$", "", text),
        *re.findall(r"[(\[]([^()\[\]]+)[)\]]", text),
    ):
        if name := known.get(folded(candidate), ""):
            return name
    return ""


@cache
def constant(name: str) -> Amount:
    """A constant of `reference/gas_constants.csv` with its uncertainty."""
    row = reference("gas_constants").by("name")[name]
    return tabulated(float(row["value"]), float(row["u"]), name)


def _component(row: Mapping[str, str]) -> Substance:
    name = row["name"]
    # one error of the enthalpy of combustion, whatever the temperature it is carried to (ISO 6976:2016, Table 3)
    off = tabulated(0.0, float(row["gross_u"]), f"calorific value of {name}")
    s_off = tabulated(0.0, float(row["s_u"]), f"summation factor of {name}")
    return Substance(
        name,
        (),
        {element: tabulated(float(count), 0.0, name) for element, count in atoms_of(row["formula"]).items()},
        tabulated(float(row["molar_mass"]), float(row["molar_mass_u"]), f"molar mass of {name}"),
        {t: float(row[column]) + off for t, column in COMBUSTION_C.items()},
        {t: float(row[column]) + s_off for t, column in METERING_C.items()},
    )


def _lump(row: Mapping[str, str], known: Mapping[str, Substance]) -> Substance:
    parts = [known[name] for name in row["representative"].split("|")]
    light, heavy = known[row["light"]], known[row["heavy"]]
    # rectangular from the light to the heavy end: half its width over the square root of 3 (JCGM 100:2008, 4.3.7)
    off = tabulated(0.0, 12**-0.5, f"what {row['name']} consists of")

    def between(of: Any) -> Amount:
        mean = sum(of(part) for part in parts) / len(parts)
        return mean + off * (of(heavy).nominal_value - of(light).nominal_value)

    elements = sorted({element for one in (*parts, light, heavy) for element in one.atoms})
    none = tabulated(0.0, 0.0, "")
    return Substance(
        row["name"],
        _members(row["name"], [*parts, light, heavy], known),
        {element: between(lambda one, e=element: one.atoms.get(e, none)) for element in elements},
        between(lambda one: one.molar_mass),
        {t: between(lambda one, t=t: one.gross[t]) for t in COMBUSTION_C},
        {t: between(lambda one, t=t: one.summation[t]) for t in METERING_C},
    )


def _members(name: str, told: Sequence[Substance], known: Mapping[str, Substance]) -> tuple[str, ...]:
    """Hydrocarbons with as many carbons, and as much hydrogen beyond two a carbon, as the components told of a sum
    have, or between; any number of carbons above theirs where its name ends in +."""

    def carbons_and_excess(one: Substance) -> tuple[float, float]:
        carbon, hydrogen = (nominal(one.atoms.get(element, 0.0)) for element in ("C", "H"))
        return carbon, hydrogen - 2 * carbon

    carbons, excess = zip(*(carbons_and_excess(one) for one in told), strict=True)
    most = math.inf if name.endswith("+") else max(carbons)
    found = []
    for one in known.values():
        carbon, beyond = carbons_and_excess(one)
        between = min(carbons) <= carbon <= most and min(excess) <= beyond <= max(excess)
        if not one.is_lump and set(one.atoms) == {"C", "H"} and between:
            found.append(one.name)
    return tuple(found)
