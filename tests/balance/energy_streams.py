"""Streams of a made-up run with their elements, for tests of the energy ledger."""

from rdkit.Chem import GetPeriodicTable

from cutbook.gas.substances import atoms_of
from cutbook.model.amount import measured
from cutbook.model.elements import ELEMENTS, ElementShare, Stream
from cutbook.model.lineage import Step
from cutbook.model.result import Result


def mass_fractions(formula):
    """Mass fraction by element, with the atomic masses of a general-purpose library."""
    table = GetPeriodicTable()
    masses = {symbol: count * table.GetAtomicWeight(symbol) for symbol, count in atoms_of(formula).items()}
    return {symbol: mass / sum(masses.values()) for symbol, mass in masses.items()}


def shares(formula=None, **given):
    """The shares of a pure substance, or those given; the others are none at all, "?" is unknown."""
    known = mass_fractions(formula) if formula else {}
    known |= given
    return {
        symbol: ElementShare(None, 0.0, 1.0) if known.get(symbol) == "?" else ElementShare(known.get(symbol, 0.0))
        for symbol in ELEMENTS
    }


def a_stream(name, grams, formula=None, feed=False, u=0.01, by_difference=False, amount=None, **given):
    step = Step("weigh/1", settings={"name": name})
    mass = amount if amount is not None else measured(grams, u, f"weighing of {name}")
    return Stream(name, feed, Result(name, mass, "g", "", step), by_difference, shares(formula, **given), step)


def without_mass(name, formula=None, **given):
    step = Step("no mass/1")
    missing = Result.missing(name, "g", "", step, "balance.not_measured")
    return Stream(name, False, missing, False, shares(formula, **given), step)
