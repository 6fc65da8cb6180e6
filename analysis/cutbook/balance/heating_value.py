"""Estimate what a solid or liquid gives when burnt from its elements."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from cutbook.model.amount import Amount, measured, nominal, tabulated
from cutbook.model.atoms import atomic_mass, mass_fractions
from cutbook.model.elements import ElementShare
from cutbook.model.tables import reference

MEAN_OF_ERRORS = 0.797885
"""Mean absolute error of a normal distribution in its standard deviations, root of 2/π."""
ROUNDING = 0.05
"""Mass % by which a share may pass the ends of a range: polystyrene (92.26) is what 92.25 was meant to hold."""

Correlation = Literal["elements", "oxygen"]


@dataclass(frozen=True)
class HeatingValueSettings:
    """How far heating values from elements are trusted.

    chlorine_from : mass fraction of chlorine from which the heat per oxygen takes the place of the correlation, which
        knows no chlorine; 0.005, since below it chlorine moves the value by less than the correlation's own error.
    outside : factor on the uncertainty where an element lies outside what the correlation was fitted to (2, a
    judgement).
    widest_share : width of the range of carbon, and twice that of hydrogen, up to which a share that is only bounded is
        used, as a rectangular distribution; what is known less gives no value (0.1, a judgement: 5 % of the value).
    """

    chlorine_from: float = 0.005
    outside: float = 2.0
    widest_share: float = 0.1


@dataclass(frozen=True, eq=False)
class Estimate:
    """A heating value from elements. gross, net : MJ/kg as weighed. by : which way. outside : elements out of range."""

    gross: Amount
    net: Amount
    by: Correlation
    outside: tuple[str, ...]


def heating_value(
    about: str,
    elements: Mapping[str, ElementShare],
    ash: Amount | float = 0.0,
    water: Amount | float = 0.0,
    settings: HeatingValueSettings = HeatingValueSettings(),
) -> Estimate | None:
    """Gross and net heating value of a solid or liquid.

    Parameters
    ----------
    about : what it is of, for the budget of uncertainty.
    elements : C, H, O, N, Cl by symbol, mass fractions of the material as weighed, the hydrogen and oxygen of its water
        among them. ash, water : mass fractions (0–1) of the material as weighed.
    settings : see `HeatingValueSettings`.

    Returns
    -------
    Estimate or None
        None where carbon or hydrogen is not known well enough.

    Notes
    -----
    Up to `chlorine_from` of chlorine: HHV = 0.3491 C + 1.1783 H + 0.1005 S - 0.1034 O - 0.0151 N - 0.0211 A in MJ/kg
    from mass % of the dry material (Channiwala and Parikh 2002), taken of the material without its water. Its average
    absolute error of 1.45 % is a standard deviation of 1.8 %. What of O, N and Cl nobody knows is the rest of the
    mass: it counts as anything between oxygen and nothing.
    Above it: 13.1 MJ for each kg of oxygen that burning takes, net (Walters, Hackett and Lyon 2000), hydrogen taken by
    chlorine as hydrogen chloride left out; its standard deviation between polymers is 6 %.
    Gross and net differ by the evaporation of the water formed and held, at 25 °C.
    """
    carbon = _share(about, "carbon", elements["C"], settings.widest_share)
    hydrogen = _share(about, "hydrogen", elements["H"], settings.widest_share / 2)
    if carbon is None or hydrogen is None:
        return None
    chlorine = _known(elements["Cl"])
    in_water = {symbol: nominal(share) for symbol, share in mass_fractions("H2O").items()}
    burning = hydrogen - water * in_water["H"]
    to_water = burning - chlorine * nominal(atomic_mass("H") / atomic_mass("Cl"))
    known = {name: _known(elements[name]) for name in ("O", "N")}
    rest = _rest(about, elements, nominal(carbon) + nominal(hydrogen) + nominal(ash), nominal(water) * in_water["O"])
    oxygen = known["O"] - water * in_water["O"] if elements["O"].share is not None else rest
    vapour = constant("evaporation of water at 25 °C") * (to_water / in_water["H"] + water)
    if nominal(chlorine) > settings.chlorine_from:
        net = _by_oxygen(about, carbon, to_water, oxygen) - constant("evaporation of water at 25 °C") * water
        return Estimate(net + vapour, net, "oxygen", ())
    shares = {"C": carbon, "H": burning, "O": oxygen, "N": known["N"], "ash": ash}
    dry = 1 - nominal(water)
    outside = tuple(name for name, share in shares.items() if not _inside(name, 100 * nominal(share) / dry))
    gross = total_of(shares) * (1 + _doubt(about, settings.outside if outside else 1.0))
    return Estimate(gross, gross - vapour, "elements", outside)


def total_of(shares: Mapping[str, Any]) -> Any:
    """The correlation itself: MJ/kg from mass fractions by element and "ash"."""
    terms = _terms()
    result: Any = 0.0
    for name, share in shares.items():
        result = result + terms[name][0] * 100.0 * share
    return result


def _by_oxygen(about: str, carbon: Any, to_water: Any, oxygen: Any) -> Any:
    """Net heat from the oxygen that burning takes beyond what the material holds, MJ/kg."""
    c, h, o = (nominal(atomic_mass(symbol)) for symbol in "CHO")
    taken = 2 * o * (carbon / c + to_water / (4 * h)) - oxygen
    row = reference("heating_constants").by("name")["heat per oxygen"]
    return taken * tabulated(float(row["value"]), float(row["u"]), f"heat per oxygen, {about}")


def _share(about: str, name: str, share: ElementShare, widest: float) -> Any:
    """A share as known, or within bounds that are close enough; None otherwise."""
    if share.share is not None:
        return share.share
    if share.high - share.low > widest:
        return None
    return measured(
        (share.low + share.high) / 2, (share.high - share.low) / 12**0.5, f"{name} of {about}", rectangular=True
    )


def _known(share: ElementShare) -> Any:
    return 0.0 if share.share is None else share.share


def _rest(about: str, elements: Mapping[str, ElementShare], known: float, of_water: float) -> Any:
    """What oxygen there may be where nobody knows it: from its least share up to what is left of the mass."""
    given = sum(nominal(_known(elements[name])) for name in ("N", "Cl"))
    high = max(0.0, min(elements["O"].high, 1 - known - given) - of_water)
    low = min(high, max(0.0, elements["O"].low - of_water))
    return measured((low + high) / 2, (high - low) / 12**0.5, f"oxygen of {about}", rectangular=True)


def _doubt(about: str, factor: float) -> Amount:
    error = nominal(constant("average absolute error of the correlation")) / 100 / MEAN_OF_ERRORS
    return measured(0.0, factor * error, f"heating value from elements, {about}")


def _inside(name: str, percent: float) -> bool:
    _, low, high = _terms()[name]
    return low - ROUNDING <= percent <= high + ROUNDING


@cache
def _terms() -> Mapping[str, tuple[float, float, float]]:
    rows = reference("heating_correlations").rows
    return {row["element"]: (float(row["coefficient"]), float(row["low"]), float(row["high"])) for row in rows}


@cache
def constant(name: str) -> Amount:
    """A constant of heating values by its name in `reference/heating_constants.csv`."""
    row = reference("heating_constants").by("name")[name]
    return tabulated(float(row["value"]), float(row["u"]), name)


def polymer_heat(abbreviation: str) -> Amount | None:
    """Published gross heat of combustion of a pure dry polymer in MJ/kg, None where the table has none."""
    row = reference("polymer_heats").by("polymer").get(abbreviation)
    return (
        None
        if row is None
        else tabulated(float(row["gross"]), float(row["u"]), f"heat of combustion of {abbreviation}")
    )
