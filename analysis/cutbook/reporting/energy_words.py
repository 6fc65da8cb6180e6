"""Say in plain sentences what the gas of a run would give and what heating took, and no more than that."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from functools import cache
from importlib.resources import files
from typing import Any

from cutbook.balance.stream_elements import kind_of
from cutbook.model.energy import EnergyLedger
from cutbook.model.result import Result
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, figure, plain, with_uncertainty
from cutbook.workup.findings import Findings

ACID = "safety.burning_acid_gas"


@cache
def energy_words() -> dict[str, Any]:
    """The sentences and names, from reports/energy.toml."""
    return tomllib.loads(files("cutbook.reports").joinpath("energy.toml").read_text(encoding="utf-8"))


def energy_sentences(findings: Findings, settings: OutputSettings = AS_WRITTEN) -> Iterator[str]:
    """What is known of gas, heat of the process and fuel, one sentence each; never that a run could heat itself."""
    ledger, words = findings.energy, energy_words()
    if ledger is None:
        return
    if ledger.gas_net.value is None:
        yield words["no_gas"]
    else:
        yield words["gas"].format(gas=ledger.gas, net=with_uncertainty(ledger.gas_net, settings))
    yield _process(ledger, settings)
    yield _compared(ledger, settings)
    if ledger.gas or any(not row.feed and kind_of(row.name) == "gas" for row in ledger.rows):
        yield words["licence"]
    if any(one.code == ACID for one in findings.cautions):
        yield words["acid"]


def _process(ledger: EnergyLedger, settings: OutputSettings) -> str:
    process = ledger.process
    if process is None:
        return str(energy_words()["no_process"])
    return str(
        energy_words()["process"].format(
            polymers=" and ".join(process.polymers), peak=plain(process.peak_c, 3, settings),
            low=figure(process.low, 1, settings), high=figure(process.high, 1, settings),
        )
    )  # fmt: skip


def _compared(ledger: EnergyLedger, settings: OutputSettings) -> str:
    words, burner = energy_words(), ledger.burner
    if burner is None:
        return str(words["unknown"])
    facts = {"used": burner.used, "energy": with_uncertainty(burner.energy, settings)}
    if ledger.ratio.value is None:
        return str(words["no_ratio"].format(**facts))
    kind = "ratio_fuel" if burner.fuel else "ratio_electric"
    return str(words[kind].format(**facts, ratio=with_uncertainty(ledger.ratio, settings)))


def energy_figures(ledger: EnergyLedger, settings: OutputSettings = AS_WRITTEN) -> Iterator[tuple[str, str, Result]]:
    """(name, state, result) of the sums of the ledger, the gas, the process and what heated the reactor."""
    names = energy_words()["figures"]
    for key in ("feed", "products", "closure", "unaccounted"):
        result: Result = getattr(ledger, key)
        holds = f"holds {', '.join(ledger.without)}" if key == "unaccounted" and ledger.without else ""
        yield names[key], holds, result
    yield names["gas_net"], "at 15 °C", ledger.gas_net
    if (process := ledger.process) is not None:
        state = f"literature, {figure(process.low, 1, settings)} to {figure(process.high, 1, settings)} MJ"
        yield names["process"], state, process.energy
    if ledger.burner is not None:
        yield names["burner"], ledger.burner.used, ledger.burner.energy
    yield names["ratio"], "", ledger.ratio


def energy_section(
    findings: Findings, why: Callable[[Result], str], settings: OutputSettings = AS_WRITTEN
) -> dict[str, Any] | None:
    """What the template of the page needs of the energy, None without a ledger. why : tells why a result is missing."""
    ledger, words = findings.energy, energy_words()
    if ledger is None:
        return None
    return {
        "sentences": list(energy_sentences(findings, settings)),
        "rows": [
            {"row": row, "how": words["how"][row.how], "remark": why(row.energy) or row.method} for row in ledger.rows
        ],
        "figures": [
            {"name": name, "state": state, "result": result, "remark": why(result)}
            for name, state, result in energy_figures(ledger, settings)
        ],
        "references": words["references"],
    }
