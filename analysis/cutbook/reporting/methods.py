"""Write the methods paragraph of a report from what was actually done."""

from __future__ import annotations

import math
import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from cutbook import __version__
from cutbook.reporting.energy_words import energy_words
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, plain, with_uncertainty
from cutbook.workup.findings import DistillationFindings, Findings, SampleFindings
from cutbook.workup.gas_findings import GasFindings


@cache
def _words() -> dict[str, Any]:
    return tomllib.loads(files("cutbook.reports").joinpath("methods.toml").read_text(encoding="utf-8"))


def methods_paragraph(findings: Findings, settings: OutputSettings = AS_WRITTEN) -> str:
    """What was done, in sentences that can go into a paper; only what the findings bear out.

    Parameters
    ----------
    findings : of one run.
    settings : decimal sign.

    Returns
    -------
    str
        One paragraph; wording from `reports/methods.toml`.
    """
    words = _words()
    sentences = [words["program"].format(version=__version__), *_balance(findings, words)]
    for sample in findings.samples:
        sentences += _sample(findings, sample, words, settings)
    if findings.cuts:
        sentences += _cuts(findings, words)
    sentences += [_still(one, words) for one in findings.distillations]
    sentences += _gas(findings, words)
    sentences += _energy(findings, words)
    sentences += _elements(findings, words)
    sentences += _chlorine(findings, words)
    if findings.cold:
        forms = list(dict.fromkeys(str(one.answer.form) for one in findings.cold))
        names = _listed([one.of for one in findings.cold])
        sentences.append(words["cold"].format(names=names, forms=_listed(forms)))
    sentences.append(words["uncertainty"])
    return " ".join(sentences)


def _balance(findings: Findings, words: dict[str, Any]) -> list[str]:
    told = []
    for how, sentence in words["balance"].items():
        names = [p.fraction for p in findings.balance.products if p.how == how]
        if names:
            told.append(sentence.format(products=_listed(names)))
    bases = ["as charged"]
    if findings.balance.feed_dry is not None:
        bases.append("dry")
    if findings.balance.feed_dry_ash_free is not None:
        bases.append("dry ash-free")
    told.append(words["bases"].format(bases=_listed(bases)))
    return told


def _sample(findings: Findings, sample: SampleFindings, words: dict[str, Any], settings: OutputSettings) -> list[str]:
    named = {"name": sample.name, "detector": sample.detector or words["unknown_detector"], "file": sample.file}
    if sample.curves is None:
        told = [words["peak_list"].format(**named)]
    else:
        trace, following, total = sample.curves
        minutes = plain(float(trace.time_min[-1] - trace.time_min[0]), 3, settings)
        told = [
            words["trace"].format(**named, minutes=minutes, points=len(trace.time_min)),
            words["baseline_peaks"][following.kind],
            words["baseline_totals"][total.kind],
        ]
    rules = list(dict.fromkeys(peak.area_rule for peak in sample.peaks))
    if rules:
        told.append(
            words["peaks"].format(count=len(sample.peaks), rules=_listed([words["area_rule"][r] for r in rules]))
        )
    for start, end in sample.solvent_windows_min:
        entry = findings.run.entry(sample.file)
        told.append(
            words["solvent"].format(
                solvent=(entry.solvent if entry and entry.solvent else words["unknown_solvent"]),
                start=plain(start, 4, settings),
                end=plain(end, 4, settings),
            )
        )
    ladder, carbons = sample.ladder, sample.carbons
    if ladder is None or carbons is None:
        return [*told, words["no_ladder"].format(name=sample.name)]
    agreeing = [sign.name for sign in ladder.signs if sign.verdict == "agrees"]
    told.append(
        words["ladder"].format(
            file=ladder.file,
            first=ladder.carbons[0],
            last=ladder.carbons[-1],
            count=len(ladder.rungs),
            signs=_listed(agreeing) if agreeing else words["no_sign"],
        )
    )
    told.append(words["convention"][carbons.convention])
    told.append(words["response"].get(carbons.response, words["response"]["other"]).format(response=carbons.response))
    told.append(words["residue_known" if carbons.residue_known else "residue_unknown"].format(name=sample.name))
    if carbons.hump.value is not None:
        told.append(words["hump"].format(hump=with_uncertainty(carbons.hump, settings)))
    return told


def _cuts(findings: Findings, words: dict[str, Any]) -> list[str]:
    schemes: dict[str, list[str]] = {}
    for cut in findings.cuts:
        if cut.scheme in ("carbon-number", "boiling-range") and cut.limits and cut.cut != "residue":
            schemes.setdefault(cut.scheme, []).append(f"{cut.cut} {cut.limits}")
    told = [words["cuts"][scheme].format(cuts=_listed(list(dict.fromkeys(cuts)))) for scheme, cuts in schemes.items()]
    left = list(
        dict.fromkeys(cut.cut.removesuffix(", not analysed") for cut in findings.cuts if "not analysed" in cut.cut)
    )
    if left:
        told.append(words["not_analysed"].format(products=_listed(left)))
    tables = list(dict.fromkeys(s.ladder.boiling_table for s in findings.samples if s.ladder is not None))
    if tables and "boiling-range" in schemes:
        told.append(words["boiling_table"].format(table=_listed(tables)))
    return told


def _still(still: DistillationFindings, words: dict[str, Any]) -> str:
    curve = still.curve
    vacuum = sum(point.vacuum for point in curve.points)
    pressure = "barometer" if not vacuum else "vacuum" if vacuum == len(curve.points) else "both"
    repairs = len(curve.log.repairs)
    told: str = words["still"].format(
        name=still.entry.of, kind=words["still_kind"][curve.kind], file=curve.log.file, rows=len(curve.points),
        repairs=words["still_repairs"].format(count=repairs) if repairs else words["still_as_written"],
        pressure=words["still_pressure"][pressure], basis=curve.basis,
    )  # fmt: skip
    return told


def _gas(findings: Findings, words: dict[str, Any]) -> list[str]:
    gas = findings.gas
    if gas is None:
        return []
    raw = gas.analysed.raw_sum
    told = []
    if gas.tables:
        tables = _listed(list(dict.fromkeys(table.file for table in gas.tables)))
        told.append(words["gas_table"].format(name=gas.of, files=tables))
    else:
        told += _gas_traces(gas, words)
    if raw is not None:
        told.append(words["gas_raw_sum"].format(sum=f"{100 * raw:.1f}"))
    told.append(words["gas_air_free" if gas.gas.air_free else "gas_not_air_free"])
    if gas.meter is not None:
        count = len(gas.meter.parts) + 1
        told.append(words["gas_meter"].format(name=gas.of, count=count, file=gas.meter.log.file))
    if gas.amount is not None:
        told.append(words["gas_volume"].format(name=gas.of))
    if gas.amount is not None and gas.amount.purge is not None:
        told.append(words["gas_purge"].format(gas=gas.amount.purge.gas))
    told.append(words["gas_calorific"].format(state=gas.properties.volumetric[0].reference))
    return told


def _energy(findings: Findings, words: dict[str, Any]) -> list[str]:
    """By which way each stream has its heating value, the ways in the order of the ledger."""
    ledger = findings.energy
    ways: dict[str, list[str]] = {}
    for row in ledger.rows if ledger is not None else ():
        if row.gross.value is not None:
            told = energy_words()["how"][row.how]
            ways.setdefault(f"{told}, {row.method}" if row.method else told, []).append(row.name)
    if ledger is None or not ways:
        return []
    listed = "; ".join(f"{_listed(list(dict.fromkeys(names)))}: {way}" for way, names in ways.items())
    return [words["energy"].format(ways=listed), *([words["energy_process"]] if ledger.process is not None else [])]


def _chlorine(findings: Findings, words: dict[str, Any]) -> list[str]:
    """How oils were screened for chlorinated compounds, and by what areas became concentrations."""
    told = []
    for oil in findings.chlorine.screened if findings.chlorine is not None else ():
        bases = list(dict.fromkeys(one.basis for one in oil.targets if one.basis != "none"))
        told.append(words["chlorine_screen"].format(name=oil.of, file=oil.file, count=len(oil.targets)))
        told.append(words["chlorine_limits"])
        if bases:
            told.append(words["chlorine_basis"].format(bases=_listed([words["chlorine_bases"][one] for one in bases])))
    return told


def _gas_traces(gas: GasFindings, words: dict[str, Any]) -> list[str]:
    """How the composition was read from traces: one sentence a detector, then how two were joined."""
    told = [
        words["gas_trace"].format(
            name=gas.of, detector=one.detector, files=_listed(list(one.samples)),
            standards=_listed(list(one.standards)),
            known=sum(known.how == "standard" for known in one.responses.values()),
        )
        for one in dict((one.detector, one) for traced in gas.traced for one in traced.readings).values()
    ]  # fmt: skip
    relative = {
        name for traced in gas.traced for one in traced.readings
        for name, known in one.responses.items() if known.how == "relative" and name != "unidentified"
    }  # fmt: skip
    if relative:
        told.append(words["gas_relative"].format(names=_listed(sorted(relative))))
    if bridge := next((traced.bridge for traced in gas.traced if traced.bridge), ""):
        told.append(words["gas_bridge"].format(component=bridge))
    return told


def _elements(findings: Findings, words: dict[str, Any]) -> list[str]:
    found = findings.elements
    if found is None:
        return []
    ways = [share.how for stream in found.balance.streams if stream.feed for share in stream.elements.values()]
    known = [how for how in dict.fromkeys(ways) if how != "not known"]
    told = [words["elements"].format(feeds=_listed(known))] if known else []
    if found.scrubber is not None:
        methods = list(dict.fromkeys(words["scrubber_method"][one.method] for one in found.scrubber.bottles))
        count = len(found.scrubber.bottles)
        told.append(
            words["scrubber"].format(
                methods=_listed(methods), count=count, bottles="bottle" if count == 1 else "bottles"
            )
        )
    return told


def _listed(words: list[str]) -> str:
    """ "a, b and c"."""
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]


def open_range(low: float | None, high: float | None, settings: OutputSettings = AS_WRITTEN) -> str:
    """Limits as printed: "3 to 10", "at most 0.1", "at least 2", "" for none."""
    has_low = low is not None and math.isfinite(low)
    has_high = high is not None and math.isfinite(high)
    if has_low and has_high:
        return f"{plain(low or 0.0, 4, settings)} to {plain(high or 0.0, 4, settings)}"
    if has_high:
        return f"at most {plain(high or 0.0, 4, settings)}"
    return f"at least {plain(low or 0.0, 4, settings)}" if has_low else ""
