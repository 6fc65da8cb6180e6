"""Organic chlorine and the ledger of a run as plain values for results.json."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cutbook.balance.scrubber import Scrubber
from cutbook.chlorine.workplace_air import WorkplaceRow
from cutbook.model.chlorine import Evidence, QuantifiedTarget, ScreenedOil, StandardLimits, UnknownCluster
from cutbook.model.chlorine_ledger import BulkChlorine, ChlorineBalance, CutChlorine, OrganicChlorine, WhereDistilled
from cutbook.reporting.chlorine_words import cluster_rows, efficiency_rows
from cutbook.reporting.plain_values import bare, quantity
from cutbook.workup.chlorine_findings import LINES, ChlorineFindings
from cutbook.workup.findings import ElementFindings


def chlorine_result(
    elements: ElementFindings | None, found: ChlorineFindings | None, air: Sequence[WorkplaceRow] = ()
) -> dict[str, Any] | None:
    """Screen, sums and ledger as dictionaries and lists of plain values; None where there is neither.

    Keys screen, unknown_chlorinated, organic_chlorine and organic_chlorine_bounds are of the first oil, further oils
    are under `others` with the same keys; `balance` is of the run, in g. A concentration is null unless a signal was
    measured; "not detected" and "masked" carry a detection limit, null where none could be proven. `workplace_air` has
    the limits of what was found, for orientation.
    """
    ledger = None if elements is None else elements.chlorine
    if ledger is None and found is None and not air:
        return None
    told: dict[str, Any] = {"of": None, "file": None, "screen": [], "unknown_chlorinated": [], "brominated": [],
                            "organic_chlorine": None, "organic_chlorine_bounds": None}  # fmt: skip
    if found is not None and found.screened:
        told |= _oil(found.screened[0], found)
        told["others"] = [_oil(oil, found) for oil in found.screened[1:]]
    told["balance"] = None if ledger is None else _balance(ledger)
    told["efficiencies"] = [] if ledger is None else _efficiencies(ledger)
    told["scrubber"] = _scrubber(None if elements is None else elements.scrubber)
    told["workplace_air"] = [_workplace(row) for row in air]
    return told


def _workplace(row: WorkplaceRow) -> dict[str, Any]:
    return {
        "of": row.of,
        "compound": row.substance,
        "verdict": row.verdict or None,
        "vapour_over_oil": quantity(row.vapour),
        "beside_lowest": row.beside or None,
        "limits": [
            {
                "quantity": one.quantity,
                "limit": bare(one.value, one.unit),
                "jurisdiction": one.jurisdiction,
                "as_of": one.as_of,
                "source": one.source,
                "source_kind": one.kind,
            }
            for one in row.limits
        ],
    }


def _oil(oil: ScreenedOil, found: ChlorineFindings) -> dict[str, Any]:
    sums, where = found.sums(oil), found.cuts(oil)
    return {
        "of": oil.of,
        "file": oil.file,
        "screen": [_target(one) for one in oil.targets],
        "unknown_chlorinated": _clusters(oil.unknown, oil, sums),
        "brominated": _clusters(oil.bromine, oil, sums),
        "organic_chlorine": quantity(sums.best),
        "organic_chlorine_bounds": {"lower": quantity(sums.lower), "upper": quantity(sums.upper)},
        "parts": [
            {
                "name": part.name,
                "verdict": part.verdict,
                "chlorine": quantity(part.chlorine),
                "counted": part.counted,
                "counted_as": part.instead or None,
            }
            for part in sums.parts
        ],
        "bulk": _bulk(sums.bulk),
        "cuts": [] if where is None else [_cut(where, one) for one in where.cuts],
    }


def _target(one: QuantifiedTarget) -> dict[str, Any]:
    seen, target = one.screened, one.screened.target
    start, end = seen.window_min
    return {
        "compound": target.name,
        "formula": target.formula,
        "cas": target.cas or None,
        "kind": target.kind,
        "chlorine_atoms": target.chlorine_atoms,
        "retention_index": seen.retention_index,
        "time": None if seen.time_min is None else bare(seen.time_min, "min"),
        "window": {"start": start, "end": end, "unit": "min", "laid_by": seen.index_from},
        "verdict": seen.verdict,
        "concentration": quantity(one.concentration),
        "detection_limit": quantity(one.detection_limit),
        "quantitation_limit": quantity(one.quantitation_limit),
        "basis": one.basis,
        "area": None if seen.area is None else {"value": seen.area, "u": seen.u_area, "unit": "counts·min"},
        "limit_area": None if seen.limit_area is None else bare(seen.limit_area, "counts·min"),
        "limit_area_without_neighbours": None
        if seen.quiet_limit_area is None
        else bare(seen.quiet_limit_area, "counts·min"),
        "of_standards": _standards(one.standards),
        "trials": seen.trials,
        "found_in_trials": seen.found_in_trials,
        "could_as_well_be": list(seen.apart_from),
        "hazards": list(target.hazards),
        "evidence": _evidence(seen.evidence),
    }


def _standards(limits: StandardLimits | None) -> dict[str, Any] | None:
    if limits is None:
        return None
    return {
        "line_limit": quantity(limits.by_line),
        "method_limit": quantity(limits.by_replicates),
        "method_limit_interval": None if limits.interval is None else list(limits.interval),
        "quantitation_limit": quantity(limits.quantitation),
        "replicates": limits.replicates or None,
    }


def _evidence(tests: Sequence[Evidence]) -> dict[str, Any]:
    """Tests by their names; one that was made twice has its number."""
    told: dict[str, Any] = {}
    for place, one in enumerate(tests):
        before = sum(other.test == one.test for other in tests[:place])
        name = f"{one.test} {before + 1}" if before else one.test
        told[name] = {
            "outcome": one.outcome,
            "found": one.found,
            "expected": one.expected,
            "u": one.u,
            "unit": one.unit or None,
        }
    return told


def _clusters(clusters: Sequence[UnknownCluster], oil: ScreenedOil, sums: OrganicChlorine) -> list[dict[str, Any]]:
    held = {id(row["one"]): row["chlorine"] for row in cluster_rows(oil, sums)}
    return [
        {
            "retention_index": one.retention_index,
            "time": bare(one.time_min, "min"),
            "chlorine_atoms": one.chlorine_atoms,
            "bromine_atoms": one.bromine_atoms,
            "mz": list(one.mz),
            "losses": list(one.losses),
            "character": one.character,
            "area": {"value": one.area, "u": one.u_area, "unit": "counts·min"},
            "chlorine": quantity(held.get(id(one))),
            "evidence": _evidence(one.evidence),
        }
        for one in clusters
    ]


def _bulk(bulk: BulkChlorine | None) -> dict[str, Any] | None:
    if bulk is None:
        return None
    return {
        "value": quantity(bulk.value),
        "method": bulk.method or None,
        "difference": quantity(bulk.difference),
        "verdict": bulk.verdict,
    }


def _cut(where: WhereDistilled, one: CutChlorine) -> dict[str, Any]:
    return {
        "scheme": where.scheme,
        "by": where.by,
        "cut": one.cut,
        "limits": one.limits,
        "chlorine": quantity(one.best),
        "bounds": {"lower": quantity(one.lower), "upper": quantity(one.upper)},
        "compounds": list(one.compounds),
    }


def _balance(ledger: ChlorineBalance) -> dict[str, Any]:
    return {key: quantity(getattr(ledger, key)) for key in LINES} | {
        "others": [{"name": name, "chlorine": quantity(result)} for name, result in ledger.others],
        "oil_from": ledger.oil_from or None,
        "residual": quantity(ledger.residual),
        "sorbent": quantity(ledger.sorbent),
    }


def _efficiencies(ledger: ChlorineBalance) -> list[dict[str, Any]]:
    return [
        {"name": one.definition, "definition": row["label"], "value": quantity(one.value)}
        for one, row in zip(ledger.efficiencies, efficiency_rows(ledger), strict=True)
    ]


def _scrubber(scrubber: Scrubber | None) -> dict[str, Any] | None:
    if scrubber is None:
        return None
    return {
        "chlorine": quantity(scrubber.chlorine),
        "hydrogen_chloride": quantity(scrubber.hydrogen_chloride),
        "last_share": quantity(scrubber.last_share),
        "bottles": [
            {
                "place": one.place,
                "method": one.method,
                "titre": quantity(one.titre),
                "chlorine": quantity(one.chlorine),
            }
            for one in scrubber.bottles
        ],
    }
