"""Tell the elements of a gas from its composition, by mass of the gas as it was weighed or of its product part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cutbook.gas.substances import substances
from cutbook.model.amount import nominal, total
from cutbook.model.atoms import atomic_mass
from cutbook.model.elements import ELEMENTS, ElementShare
from cutbook.model.gas import GasComposition, ProductGas
from cutbook.model.lineage import Step

HYDROGEN = "hydrogen"
CARBON_DIOXIDE = "carbon dioxide"


@dataclass(frozen=True, eq=False)
class GasEvidence:
    """A gas that was analysed. analysed : the dry gas. product : what of it came from the charge.
    noticed : mass fraction of air and purge gas from which they are worth a word."""

    analysed: GasComposition
    product: ProductGas
    noticed: float = 0.005

    @property
    def step(self) -> Step:
        """The step that both come from."""
        return self.product.step

    @property
    def hydrogen_gas(self) -> Any:
        """Mass fraction of hydrogen gas in the product gas."""
        shares = self.product.shares
        return shares[HYDROGEN] * weight_of(HYDROGEN) / mean_weight(shares) if HYDROGEN in shares else 0.0

    @property
    def other_share(self) -> Any:
        """Mass fraction of air and purge gas in the analysed dry gas."""
        return 1 - self.product.product_share * mean_weight(self.product.shares) / mean_weight(self.analysed.shares)


def gas_shares(gas: GasEvidence, weighed: bool, foreign: frozenset[str], scrubbed: bool) -> dict[str, ElementShare]:
    """The elements of a gas that came from the charge, as mass fractions of the gas as weighed.

    Parameters
    ----------
    gas : as analysed. weighed : whether its mass counts the air and purge gas in it, as that of a balance or a density
        does; a mass from volume and composition is of the product gas alone. foreign : elements besides carbon and
        hydrogen that the feed may hold. scrubbed : whether hydrogen chloride was caught before.

    Returns
    -------
    dict
        Shares by element; nitrogen and oxygen are unknown where air or purge may be left in the gas, carbon and oxygen
        after a purge with carbon dioxide, and what the feed holds and the table does not list; chlorine counts as
        nothing behind a scrubber.

    Notes
    -----
    Molar masses are sums of atomic masses, so that the shares of a gas add up exactly.
    """
    product = gas.product.shares
    whole = mean_weight(gas.analysed.shares) / gas.product.product_share if weighed else mean_weight(product)
    known = substances()
    counted = weighed and nominal(gas.other_share) > gas.noticed
    found = {}
    for element in ELEMENTS:
        atoms = total(share * known[name].atoms.get(element, 0.0) for name, share in product.items())
        share = atoms * atomic_mass(element) / whole
        most = min(1.0, nominal(share))
        doubtful = not gas.product.air_free and element in ("N", "O")
        hidden = CARBON_DIOXIDE in gas.product.unknown and element in ("C", "O") and "O" in foreign
        if hidden:
            found[element] = ElementShare(None, most, 1.0, "carbon dioxide cannot be told from the purge gas")
        elif doubtful and most > 0:
            found[element] = ElementShare(None, 0.0, most, "some of it may be air")
        elif element == "Cl" and most == 0 and scrubbed:
            found[element] = ElementShare(0.0, 0.0, 0.0, "caught by the scrubber")
        elif element in foreign and most == 0:
            found[element] = ElementShare(None, 0.0, 1.0, "not in the table")
        elif most == 0:
            found[element] = ElementShare(0.0, 0.0, 0.0, "none in the feed")
        else:
            found[element] = ElementShare(
                share, how="gas analysis, air and purge counted" if counted else "gas analysis"
            )
    return found


def weight_of(name: str) -> Any:
    """Molar mass of a component from its atoms, g/mol."""
    return total(count * atomic_mass(element) for element, count in substances()[name].atoms.items())


def mean_weight(shares: Mapping[str, Any]) -> Any:
    """Mean molar mass of a gas from its mole fractions and the atoms of its components, g/mol."""
    return total(share * weight_of(name) for name, share in shares.items())
