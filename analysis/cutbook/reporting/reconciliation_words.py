"""Put a reconciliation into words: what is not believed, what the others say, what could as well be wrong."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from cutbook.balance.run_reconciliation import MASS, value_name
from cutbook.model.balance import ReconciledValue, Reconciliation
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, plain, with_uncertainty

VAGUE = 25.0
"""Standard uncertainty in % from which a share that was solved for tells nothing: its 95 % interval is all there is."""
LEAST_CHANCE = 1e-4


@cache
def reconciliation_words() -> Mapping[str, Any]:
    """The wording of `reports/reconciliation.toml`."""
    return tomllib.loads(files("cutbook.reports").joinpath("reconciliation.toml").read_text(encoding="utf-8"))


def reconciliation_sentences(found: Reconciliation, settings: OutputSettings = AS_WRITTEN) -> tuple[str, ...]:
    """One sentence for each value that is not believed, or one that says that none is."""
    words = reconciliation_words()
    p = chance(found.p, settings)
    facts = {"chi_square": plain(found.chi_square, 3, settings), "p": p if p.startswith("<") else f"= {p}"}
    if not found.suspects:
        real = any(code.code == "balance.imbalance_spread" for code in found.step.cautions)
        return (words["spread" if real else "sound"].format(**facts),)
    less_found = any(one.of == MASS and (one.difference.value or 0.0) > 0 for one in found.imbalances)
    told = tuple(
        words["several" if one.alike else "suspect"].format(
            name=value_name(one.stream, one.element),
            measured=with_uncertainty(one.measured, settings),
            others=with_uncertainty(one.others, settings),
            names=", ".join(value_name(*other) for other in one.alike),
        )
        for one in found.suspects
    )
    return (*told, words["lost"]) if less_found else told


def chance(p: float, settings: OutputSettings = AS_WRITTEN) -> str:
    """A chance in figures that can be read; what is below one in ten thousand is told as that."""
    return plain(p, 2, settings) if p >= LEAST_CHANCE else f"< {plain(LEAST_CHANCE, 1, settings)}"


def worth_showing(found: Reconciliation) -> tuple[ReconciledValue, ...]:
    """Masses, then the shares that the balances move, check or find well enough to tell something."""
    shares = [
        one
        for one in found.shares
        if (one.standing == "solved" and abs(one.reconciled.value or 0.0) > 1e-9 and (one.reconciled.u or 0.0) < VAGUE)
        or one.detectable is not None
    ]
    return (*found.masses, *shares)


def reconciliation_section(found: Reconciliation | None, settings: OutputSettings) -> dict[str, Any] | None:
    """Sentences and rows as the page shows them; None without redundancy."""
    if found is None:
        return None
    standing = reconciliation_words()["standing"]
    rows = [
        {"name": value_name(one.stream, one.element), "of": one, "standing": standing[one.standing]}
        for one in worth_showing(found)
    ]
    sentences = reconciliation_sentences(found, settings)
    return {"sentences": sentences, "rows": rows, "chance": chance(found.p, settings)}
