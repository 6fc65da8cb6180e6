"""Organic chlorine in words: verdicts with their limits, evidence, sums; for sheet, page and figures."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from cutbook.chlorine.concentration import FOUND, REAGENT, not_recorded
from cutbook.chlorine.organic_chlorine import WASHED
from cutbook.chlorine.workplace_air import WorkplaceRow
from cutbook.model.chlorine import Evidence, QuantifiedTarget, ScreenedOil, StandardLimits, UnknownCluster
from cutbook.model.chlorine_ledger import ChlorineBalance, OrganicChlorine, WhereDistilled
from cutbook.model.result import Result
from cutbook.reporting.cautions import Shown, reason_text
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, plain, with_uncertainty
from cutbook.workup.chlorine_findings import LINES, ChlorineFindings
from cutbook.workup.findings import Findings

DIOXINS, BESIDE_LIMITS = "chlorine.dioxins_unseen", "chlorine.beside_limits"
SAID = ("chlorine.masked", "chlorine.no_limit", "chlorine.not_recorded")
"""Reasons that stand in the column of concentrations as they are."""
RANK = ("confirmed", "indicated", "masked", "not detected")
"""Order in which verdicts are shown."""


@cache
def chlorine_words() -> dict[str, Any]:
    """The words as read from `reports/chlorine.toml`."""
    return tomllib.loads(files("cutbook.reports").joinpath("chlorine.toml").read_text(encoding="utf-8"))


@dataclass(frozen=True)
class TargetRow:
    """A target as a row of a table. limit : as printed, "" without one. level : what a masked one would have been seen
    at. reagent : whether somebody added it."""

    one: QuantifiedTarget
    verdict: str
    concentration: str
    limit: str
    window: str
    seen: str
    basis: str
    index_from: str
    evidence: tuple[str, ...]
    remark: str
    reagent: bool


def target_rows(
    oil: ScreenedOil, why: Callable[[Result], str], settings: OutputSettings = AS_WRITTEN
) -> tuple[TargetRow, ...]:
    """The targets of an oil, what was found first, then what is masked, then the rest; reagents last."""
    rows = [_row(one, why, settings) for one in oil.targets]
    return tuple(sorted(rows, key=lambda row: (row.reagent, RANK.index(row.verdict), row.one.screened.window_min)))


def _row(one: QuantifiedTarget, why: Callable[[Result], str], settings: OutputSettings) -> TargetRow:
    words, screened = chlorine_words(), one.screened
    limit = limit_text(one.detection_limit, settings)
    start, end = (plain(edge, 4, settings) for edge in screened.window_min)
    seen = ""
    if screened.time_min is not None:
        seen = f"{plain(screened.time_min, 4, settings)} min"
        seen += "" if screened.retention_index is None else f", {screened.retention_index:.0f}"
    reagent = one.concentration.reason == REAGENT
    told = limit or reagent or one.detection_limit.reason in SAID
    remark = "" if told else why(one.detection_limit)
    if screened.apart_from:
        remark = " ".join(part for part in (remark, f"Could as well be {', '.join(screened.apart_from)}.") if part)
    if one.standards is not None and one.standards.by_replicates is not None:
        remark = " ".join(part for part in (remark, _replicates(one.standards, settings)) if part)
    unseen = not_recorded(screened)
    return TargetRow(
        one, screened.verdict, concentration_text(one, settings), limit, "" if unseen else f"{start}–{end}", seen,
        "" if unseen else words["basis"][one.basis], "" if unseen else words["index_from"][screened.index_from],
        tuple(evidence_text(test, settings) for test in screened.evidence), remark, reagent,
    )  # fmt: skip


def _replicates(limits: StandardLimits, settings: OutputSettings) -> str:
    """What replicate standards tell, in a sentence."""
    value = limits.by_replicates.value if limits.by_replicates is not None else None
    low, high = limits.interval or (0.0, 0.0)
    if value is None:
        return ""
    return str(chlorine_words()["standards"]["replicates"]).format(
        count=limits.replicates, value=plain(value, 2, settings), low=plain(low, 2, settings),
        high=plain(high, 2, settings),
    )  # fmt: skip


def limit_text(limit: Result, settings: OutputSettings = AS_WRITTEN) -> str:
    """A limit as printed, to two digits, "" without one."""
    return "" if limit.value is None else f"{plain(limit.value, 2, settings)}\N{NO-BREAK SPACE}{limit.unit}"


def concentration_text(one: QuantifiedTarget, settings: OutputSettings = AS_WRITTEN) -> str:
    """Value with U, "< limit", or what a masked compound would have been seen at; never a verdict without its limit."""
    verdict, limit = one.screened.verdict, limit_text(one.detection_limit, settings)
    if one.concentration.value is not None:
        return with_uncertainty(one.concentration, settings)
    if one.concentration.reason == REAGENT:
        return "not counted"
    if verdict == "not detected":
        return f"< {limit}" if limit else "no limit proven"
    if not_recorded(one.screened):
        return "not recorded"
    if verdict == "masked":
        return f"seen from {limit}" if limit else "no level proven"
    return "no figure"


def evidence_text(one: Evidence, settings: OutputSettings = AS_WRITTEN) -> str:
    """One test as a line: "ratio of the isotope partner 0.318 ± 0.008, expected 0.32: for it"."""
    words = chlorine_words()
    text = str(words["evidence"].get(one.test, one.test))
    if one.found is not None:
        text += f" {plain(one.found, 3, settings)}"
        if one.u is not None and one.u > 0:
            text += f" ± {plain(2 * one.u, 2, settings)}"
        text += f" {one.unit}" if one.unit not in ("", "1") else ""
    if one.expected is not None:
        text += f", expected {plain(one.expected, 3, settings)}"
    return f"{text}: {words['outcome'][one.outcome]}"


def screen_sentences(oil: ScreenedOil, sums: OrganicChlorine, settings: OutputSettings = AS_WRITTEN) -> Iterator[str]:
    """What the screen of an oil comes to, in sentences."""
    words = chlorine_words()["screen"]
    counted = [one for one in oil.targets if one.concentration.reason != REAGENT]
    found = [one.screened.target.name for one in counted if one.screened.verdict in FOUND]
    unseen = sum(not_recorded(one.screened) for one in counted)
    masked = sum(one.screened.verdict == "masked" for one in counted) - unseen
    facts = {
        "of": oil.of, "file": oil.file, "count": len(counted), "masked": masked, "unseen": unseen,
        "names": ", ".join(found),
        "quiet": sum(one.screened.verdict == "not detected" for one in counted),
    }  # fmt: skip
    yield words["found" if found else "nothing_found"].format(**facts)
    ends = {key: with_uncertainty(getattr(sums, key), settings) for key in ("lower", "best", "upper")}
    if sums.best.value is None:
        yield words["sums_none"].format(upper=words["no_bound"] if sums.upper.value is None else ends["upper"])
    else:
        yield words["sums" if sums.upper.value is not None else "sums_open"].format(**ends)
    if sums.bulk is not None:
        value = with_uncertainty(sums.bulk.value, settings)
        known = sums.bulk.method != WASHED
        method = sums.bulk.method or words["no_method"]
        yield words["bulk" if known else "bulk_naphtha"].format(value=value, method=method, verdict=sums.bulk.verdict)
    if oil.unknown:
        yield words["unknown"].format(count=len(oil.unknown))
    if oil.bromine:
        yield words["bromine"].format(count=len(oil.bromine))
    added = [
        one.screened.target.name
        for one in oil.targets
        if one.concentration.reason == REAGENT and one.screened.verdict in FOUND
    ]
    if added:
        yield words["reagents"].format(names=", ".join(added))
    yield words["dioxins"]


def cluster_rows(oil: ScreenedOil, sums: OrganicChlorine) -> list[dict[str, Any]]:
    """Clusters that are no target's, those with chlorine first, with what they would hold."""
    parts = [part for part in sums.parts if part.verdict == "unknown"]
    with_chlorine = [one for one in oil.unknown if one.chlorine_atoms]
    held = dict(zip(map(id, with_chlorine), parts, strict=False))
    clusters: Sequence[UnknownCluster] = tuple(dict.fromkeys((*oil.unknown, *oil.bromine)))
    return [
        {
            "one": one,
            "halogens": " ".join(
                f"{symbol}{count}" for symbol, count in (("Cl", one.chlorine_atoms), ("Br", one.bromine_atoms)) if count
            ),
            "mz": ", ".join(str(mz) for mz in one.mz),
            "losses": ", ".join(str(mass) for mass in one.losses),
            "chlorine": held[id(one)].chlorine if id(one) in held else None,
            "evidence": tuple(evidence_text(test) for test in one.evidence),
        }
        for one in clusters
    ]


def ledger_rows(ledger: ChlorineBalance) -> Iterator[tuple[str, str, Result]]:
    """(key, name, result) of every line of the ledger that there is, in the order in which it is read."""
    words = chlorine_words()["ledger"]
    for key in LINES[:-1]:
        result: Result | None = getattr(ledger, key)
        if result is not None:
            yield key, words[key], result
    for name, result in ledger.others:
        yield "others", f"in {name}", result
    yield "unaccounted", words["unaccounted"], ledger.unaccounted
    for key in ("residual", "sorbent"):
        if (result := getattr(ledger, key)) is not None:
            yield key, words[key], result


def efficiency_rows(ledger: ChlorineBalance) -> list[dict[str, Any]]:
    """The efficiencies, each with its definition on the label."""
    words = chlorine_words()["efficiency"]
    return [{"label": words[one.definition]["label"], "means": words[one.definition]["means"], "result": one.value}
            for one in ledger.efficiencies]  # fmt: skip


def workplace_lines(row: WorkplaceRow, settings: OutputSettings = AS_WRITTEN) -> tuple[str, ...]:
    """The limits of a compound, one line each: "8 h mean 10 ppm (California, 2026)"."""
    return tuple(f"{one.quantity} {plain(one.value, 4, settings)} {one.unit} ({one.standing})" for one in row.limits)


def workplace_where(row: WorkplaceRow) -> str:
    """What the compound is in: the product with the verdict, or the feed."""
    return f"{row.of}, {row.verdict}" if row.verdict else str(chlorine_words()["workplace"]["split_off"])


def workplace_beside(row: WorkplaceRow, settings: OutputSettings = AS_WRITTEN) -> str:
    """How the estimate lies to the lowest limit, "" where there is none."""
    lowest = row.lowest
    if not row.beside or lowest is None:
        return ""
    limit = f"{plain(lowest.value, 4, settings)} {lowest.unit}"
    return str(chlorine_words()["workplace"]["beside"].format(beside=row.beside, limit=limit))


def chlorine_section(
    findings: Findings, worded: Sequence[Shown], settings: OutputSettings = AS_WRITTEN
) -> dict[str, Any] | None:
    """What the template of the page needs of organic chlorine; None without a screen and without a ledger."""
    found, elements = findings.chlorine, findings.elements
    ledger = None if elements is None else elements.chlorine
    if found is None and ledger is None and not findings.workplace_air:
        return None

    def why(result: Result) -> str:
        return reason_text(result.reason, worded) if result.value is None else ""

    return {
        "oils": [] if found is None else [_oil(oil, found, worded, why, settings) for oil in found.screened],
        "ledger": None
        if ledger is None
        else {
            "rows": [{"name": name, "result": one, "remark": why(one)} for _, name, one in ledger_rows(ledger)],
            "oil_from": ledger.oil_from,
            "efficiencies": efficiency_rows(ledger),
        },
        "workplace": [
            {
                "row": row,
                "where": workplace_where(row),
                "limits": workplace_lines(row, settings),
                "beside": workplace_beside(row, settings),
            }
            for row in findings.workplace_air
        ],
        "workplace_words": chlorine_words()["workplace"],
        "verdicts": [(name, chlorine_words()["verdict"][name]) for name in RANK],
    }


def _oil(
    oil: ScreenedOil, found: ChlorineFindings, worded: Sequence[Shown], why: Callable[[Result], str],
    settings: OutputSettings,
) -> dict[str, Any]:  # fmt: skip
    rows = target_rows(oil, why, settings)
    where: WhereDistilled | None = found.cuts(oil)
    return {
        "of": oil.of,
        "file": oil.file,
        "sentences": list(screen_sentences(oil, found.sums(oil), settings)),
        "cautions": [
            one
            for one in worded
            if one.about == oil.of
            and one.code.startswith("chlorine.")
            and (one.level == "danger" or one.code == BESIDE_LIMITS)
            and one.code != DIOXINS
        ],
        "found": [row for row in rows if not row.reagent and row.verdict in FOUND],
        "masked": [row for row in rows if not row.reagent and row.verdict == "masked"],
        "quiet": [row for row in rows if not row.reagent and row.verdict == "not detected"],
        "reagents": [row for row in rows if row.reagent],
        "clusters": cluster_rows(oil, found.sums(oil)),
        "where": where,
        "cuts": [] if where is None else [{"cut": one, "remark": why(one.best)} for one in where.cuts],
    }
