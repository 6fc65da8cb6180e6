"""Put into words how far a distillation and a trace agree, and what the likely reason is where they do not."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from cutbook.fractions.agreement import MIDDLE
from cutbook.fractions.method_ranges import ranges_of
from cutbook.model.agreement import Agreement, Evidence, Suspect
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, figure, plain, with_uncertainty


@cache
def _words() -> Mapping[str, Any]:
    return tomllib.loads(files("cutbook.reports").joinpath("agreement.toml").read_text(encoding="utf-8"))


def agreement_sentence(agreement: Agreement, settings: OutputSettings = AS_WRITTEN) -> str:
    """The verdict, and the likely reason with its evidence, in a few plain sentences.

    Wording from `reports/agreement.toml`.
    """
    words = _words()["verdict"]
    if agreement.verdict == "not comparable":
        return str(words["not_comparable"].format(**_middle()))
    facts = {
        **_middle(),
        "median": with_uncertainty(agreement.median, settings),
        "worst": with_uncertainty(agreement.worst, settings),
    }
    said = [words[agreement.verdict].format(**facts)]
    if agreement.culprit:
        (suspect,) = agreement.suspects
        said.append(words["named"].format(**{"is": _is(suspect, settings)}))
        if evidence := evidence_lines(suspect, settings):
            said.append(words["evidence"].format(evidence="; ".join(evidence)))
        said.append(words[f"odd_{suspect.odd_one}"])
    elif agreement.suspects:
        either = " or whether ".join(_is(suspect, settings) for suspect in agreement.suspects)
        said.append(words["rivals"].format(**{"is": either}))
    elif agreement.verdict == "differ":
        said.append(words["unexplained"])
    return " ".join(said)


def what_settles_it(agreement: Agreement) -> tuple[str, ...]:
    """What to do about each reason that is named or cannot be told from another, each once."""
    cracks = f"{ranges_of('still_pot')['cracking'][1]:g}"
    return tuple(dict.fromkeys(_reason(suspect)["do"].format(cracks=cracks) for suspect in agreement.suspects))


def evidence_lines(suspect: Suspect, settings: OutputSettings = AS_WRITTEN) -> tuple[str, ...]:
    """What speaks for a reason besides the fit, one clause each."""
    return tuple(_clause(one, settings) for one in suspect.evidence)


def reason_name(suspect: Suspect, settings: OutputSettings = AS_WRITTEN) -> str:
    """A reason as a clause: "the ladder is numbered one carbon too low"."""
    return _is(suspect, settings)


def conversion_label(agreement: Agreement) -> tuple[str, str]:
    """By which conversion the curves were made comparable, and what it was fitted on."""
    entry = _words()["conversion"][agreement.conversion]
    return entry["label"], entry["validity"]


def _middle() -> Mapping[str, str]:
    low, high = MIDDLE
    return {"low": f"{low:g}", "high": f"{high:g}"}


def _reason(suspect: Suspect) -> Mapping[str, str]:
    entry: Mapping[str, Any] = _words()["reason"][suspect.code]
    if suspect.code == "ladder":
        return dict(entry["low" if suspect.size < 0 else "high"])
    if suspect.code == "mass_or_volume":
        return dict(entry["volume_as_mass" if suspect.size > 1 else "mass_as_volume"])
    if suspect.code == "solvent":
        return dict(entry[suspect.odd_one])
    return entry


def _is(suspect: Suspect, settings: OutputSettings) -> str:
    if suspect.code == "mass_or_volume":
        size = figure(max(suspect.size, 1.0 / suspect.size), 2, settings)
    else:
        size = figure(suspect.size, 0, settings)
    return _reason(suspect)["is"].format(size=size)


def _clause(evidence: Evidence, settings: OutputSettings) -> str:
    facts = {
        name: plain(float(value), 3, settings) if isinstance(value, (int, float)) else value
        for name, value in evidence.facts.items()
    }
    code = evidence.code
    if code == "gap" and float(evidence.facts["gap"]) < 0:
        code, facts = "gap_over", {"over": plain(-float(evidence.facts["gap"]), 3, settings)}
    return str(_words()["evidence"][code].format(**facts))
