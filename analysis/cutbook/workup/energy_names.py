"""Name every figure of an energy ledger as in results.json."""

from __future__ import annotations

from collections.abc import Iterator

from cutbook.model.energy import EnergyLedger
from cutbook.model.result import Result


def energy_names(at: str, ledger: EnergyLedger) -> Iterator[tuple[str, Result]]:
    """(name, result) of every figure of a ledger, a second stream of one name numbered. at : what they begin with."""
    for key in ("feed", "products", "closure", "unaccounted", "gas_net", "ratio"):
        yield f"{at}.{key}", getattr(ledger, key)
    met: dict[tuple[bool, str], int] = {}
    for row in ledger.rows:
        met[row.feed, row.name] = count = met.get((row.feed, row.name), 0) + 1
        name = row.name if count == 1 else f"{row.name}-{count}"
        own = f"{at}.{'feeds' if row.feed else 'streams'}.{name}"
        yield f"{own}.gross", row.gross
        yield f"{own}.energy", row.energy
        yield f"{own}.share", row.share
    if ledger.process is not None:
        yield f"{at}.process", ledger.process.energy
    if ledger.burner is not None:
        yield f"{at}.burner", ledger.burner.energy
