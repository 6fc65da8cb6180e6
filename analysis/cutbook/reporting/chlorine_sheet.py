"""Lay out the sheets Chlorine screen and Chlorine ledger, sums as formulas over their rows."""

from __future__ import annotations

from collections.abc import Sequence

from cutbook.chlorine.concentration import chlorine_share
from cutbook.chlorine.workplace_air import WorkplaceRow
from cutbook.model.amount import nominal
from cutbook.model.chlorine import ScreenedOil
from cutbook.model.chlorine_ledger import ChlorineBalance, ChlorinePart, OrganicChlorine
from cutbook.model.result import Result
from cutbook.reporting.chlorine_words import (
    TargetRow,
    chlorine_words,
    cluster_rows,
    efficiency_rows,
    target_rows,
    workplace_beside,
    workplace_where,
)
from cutbook.reporting.sheet_writer import Sheet, definitions, digits_of
from cutbook.workup.chlorine_findings import ChlorineFindings
from cutbook.workup.findings import Findings

SUMS = (("lower", ("lower",)), ("best", ("lower", "best")), ("upper", ("lower", "best", "upper")))
"""The three sums and what is counted in each."""


def write_chlorine_screen(sheet: Sheet, findings: Findings) -> None:
    """Every target with its verdict and limit, the three sums over the column of chlorine, then unknown clusters."""
    found = findings.chlorine
    for place, oil in enumerate(found.screened if found is not None else ()):
        if place:
            sheet.caption(f"{oil.of}, {oil.file}")
        elif found is not None and len(found.screened) > 1:
            sheet.text(sheet.row - 1, 0, f"{oil.of}, {oil.file}", bold=True)
        sheet.head(sheet.about["columns"], freeze=place == 0, widths=place == 0)
        if found is not None:
            _oil(sheet, oil, found.sums(oil))


def _oil(sheet: Sheet, oil: ScreenedOil, sums: OrganicChlorine) -> None:
    parts = {part.name: part for part in sums.parts}
    cells: dict[str, list[tuple[str, float]]] = {"lower": [], "best": [], "upper": []}
    for row in target_rows(oil, sheet.why):
        _target(sheet, row, parts.get(row.one.screened.target.name), cells)
    unknown = [part for part in sums.parts if part.verdict == "unknown" and part.counted == "best"]
    for part in unknown:
        sheet.say("name", part.name)
        sheet.say("verdict", "unknown")
        sheet.number("chlorine", part.chlorine.value, digits_of(part.chlorine))
        sheet.say("counted", part.counted)
        cells["best"].append((sheet.ref("chlorine"), part.chlorine.value or 0.0))
        sheet.row += 1
    for name, kinds in SUMS:
        result: Result = getattr(sums, name)
        sheet.say("name", f"organic chlorine, {name}", bold=True)
        own = [cell for kind in kinds for cell in cells[kind]]
        if result.value is not None:
            formula = "+".join(ref for ref, _ in own) if own else "0"
            sheet.worked(
                "chlorine", formula, sum(value for _, value in own), result.value, digits_of(result), bold=True
            )
            sheet.number("u", result.u, digits_of(result) + 1)
        sheet.say("reason", sheet.why(result), "quiet")
        sheet.say("step", result.step.id, "quiet")
        sheet.row += 1
    if sums.bulk is not None:
        sheet.say("name", "chlorine by a laboratory", bold=True)
        sheet.number("chlorine", sums.bulk.value.value, digits_of(sums.bulk.value), "input")
        sheet.say("basis", sums.bulk.method or chlorine_words()["screen"]["no_method"])
        sheet.say("reason", sums.bulk.verdict)
        sheet.row += 1
    _clusters(sheet, oil, sums)


def write_chlorine_evidence(sheet: Sheet, findings: Findings) -> None:
    """Every test of every target on a row of its own, in the order of the screen."""
    words, found = chlorine_words(), findings.chlorine
    sheet.head(sheet.about["columns"], freeze=True)
    for oil in found.screened if found is not None else ():
        for row in target_rows(oil, sheet.why):
            for test in row.one.screened.evidence:
                sheet.say("of", oil.of)
                sheet.say("name", row.one.screened.target.name)
                sheet.say("test", words["evidence"][test.test])
                for key, number in (("value", test.found), ("u", test.u), ("expected", test.expected)):
                    sheet.number(key, number, 3)
                sheet.say("unit", test.unit)
                sheet.say("verdict", words["outcome"][test.outcome])
                sheet.row += 1


def _target(sheet: Sheet, row: TargetRow, part: ChlorinePart | None, cells: dict[str, list[tuple[str, float]]]) -> None:
    one, seen = row.one, row.one.screened
    sheet.say("name", seen.target.name)
    sheet.say("verdict", seen.verdict, "attention" if seen.verdict == "confirmed" and not row.reagent else "text")
    held = one.concentration
    sheet.number("value", held.value, digits_of(held))
    sheet.number("u", held.u, digits_of(held) + 1)
    sheet.number("limit", one.detection_limit.value, digits_of(one.detection_limit))
    sheet.number("least", one.quantitation_limit.value, digits_of(one.quantitation_limit))
    if one.standards is not None:
        sheet.number("of_standards", one.standards.by_line.value, digits_of(one.standards.by_line))
    share = nominal(chlorine_share(seen.target))
    sheet.number("share", 100 * share, 2, "input")
    if part is not None and part.chlorine.value is not None:
        source = "value" if held.value is not None else "limit"
        base = held.value if held.value is not None else one.detection_limit.value
        formula = f"{sheet.ref(source)}*{sheet.ref('share')}/100"
        sheet.worked("chlorine", formula, (base or 0.0) * share, part.chlorine.value, digits_of(part.chlorine))
        counted = part.counted if not part.instead else f"as {part.instead}"
        sheet.say("counted", counted)
        if part.counted in cells:
            cells[part.counted].append((sheet.ref("chlorine"), part.chlorine.value))
    elif row.reagent:
        sheet.say("counted", "nowhere")
    sheet.say("basis", row.basis)
    sheet.say("formula", seen.target.formula)
    for key, number, digits in (
        ("start_min", seen.window_min[0] if row.window else None, 3),
        ("end_min", seen.window_min[1] if row.window else None, 3), ("apex_min", seen.time_min, 3),
        ("index", seen.retention_index, 0), ("area", seen.area, 1), ("u_area", seen.u_area, 2),
        ("limit_area", seen.limit_area, 1), ("trials", float(seen.trials) if seen.trials else None, 0),
        ("seen", float(seen.found_in_trials) if seen.trials else None, 0),
    ):  # fmt: skip
        sheet.number(key, number, digits)
    sheet.say("laid", row.index_from, "quiet")
    sheet.say("reason", row.remark, "quiet")
    sheet.say("step", held.step.id, "quiet")
    sheet.row += 1


def _clusters(sheet: Sheet, oil: ScreenedOil, sums: OrganicChlorine) -> None:
    rows = cluster_rows(oil, sums)
    if not rows:
        return
    about = definitions()["chlorine_clusters"]
    sheet.caption(about["title"])
    sheet.head(about["columns"], widths=False)
    for row in rows:
        one, held = row["one"], row["chlorine"]
        sheet.say("name", one.character)
        sheet.say("verdict", row["halogens"])
        sheet.number("apex_min", one.time_min, 3)
        sheet.number("index", one.retention_index, 0)
        sheet.number("area", one.area, 1)
        sheet.number("u_area", one.u_area, 2)
        if held is not None:
            sheet.number("chlorine", held.value, digits_of(held))
            sheet.number("u", held.u, digits_of(held) + 1)
        sheet.say("basis", row["mz"])
        sheet.say("losses", row["losses"])
        sheet.text(sheet.row, sheet.columns["reason"], "; ".join(row["evidence"]), "quiet")
        sheet.row += 1


def write_chlorine_ledger(sheet: Sheet, findings: Findings) -> None:
    """Lines of the ledger, unaccounted and efficiencies as formulas over them, bottles, chlorine of the cuts."""
    sheet.head(sheet.about["columns"], freeze=True)
    elements = findings.elements
    ledger = None if elements is None else elements.chlorine
    if ledger is not None:
        _ledger(sheet, ledger)
    scrubber = None if elements is None else elements.scrubber
    if scrubber is not None:
        sheet.caption("What the scrubber caught")
        sheet.head(sheet.about["columns"], widths=False)
        for bottle in scrubber.bottles:
            if bottle.titre is not None:
                sheet.figure(f"{bottle.place}, mean titre less blank", "", bottle.titre)
            sheet.figure(f"{bottle.place}, chlorine by {bottle.method}", "", bottle.chlorine)
        sheet.figure("hydrogen chloride caught", "", scrubber.hydrogen_chloride)
        if scrubber.last_share is not None:
            sheet.figure("in the last bottle", "of the chlorine caught", scrubber.last_share)
    if findings.chlorine is not None:
        _cuts(sheet, findings.chlorine)
    if findings.workplace_air:
        _workplace(sheet, findings.workplace_air)


def _ledger(sheet: Sheet, ledger: ChlorineBalance) -> None:
    words = chlorine_words()["ledger"]
    placed: dict[str, tuple[str, float]] = {}

    def line(key: str, name: str, result: Result | None, state: str = "") -> None:
        if result is not None:
            if result.value is not None:
                placed[key] = (sheet.ref("value"), result.value)
            sheet.figure(name, state, result)

    for key in ("fed", "scrubber", "second_bottle", "oil", "oil_low", "oil_high", "wax", "water", "char", "walls"):
        line(key, words[key], getattr(ledger, key), ledger.oil_from if key == "oil" else "")
    for name, result in ledger.others:
        line(f"others {name}", f"in {name}", result)
    found = [cell for key, cell in placed.items() if key not in ("fed", "second_bottle", "oil_low", "oil_high")]
    rest, fed = ledger.unaccounted, placed.get("fed")
    if rest.value is not None and fed is not None:
        formula = fed[0] + "".join(f"-{ref}" for ref, _ in found)
        sheet.figure(words["unaccounted"], "", rest, formula, fed[1] - sum(value for _, value in found))
    else:
        sheet.figure(words["unaccounted"], "", rest)
    line("residual", words["residual"], ledger.residual)
    line("sorbent", words["sorbent"], ledger.sorbent)
    if not ledger.efficiencies:
        return
    sheet.caption("Dechlorination, by its definition")
    sheet.head(sheet.about["columns"], widths=False)
    for one, row in zip(ledger.efficiencies, efficiency_rows(ledger), strict=True):
        held = placed.get({"caught": "scrubber", "solid": "char"}.get(one.definition, ""))
        if held is None or fed is None:
            sheet.figure(row["label"], one.value.basis, one.value)
            continue
        ratio = held[1] / fed[1]
        part = f"{held[0]}/{fed[0]}"
        formula, worked = (part, ratio) if one.definition == "caught" else (f"(1-{part})", 1 - ratio)
        sheet.figure(row["label"], one.value.basis, one.value, f"100*{formula}", 100 * worked)


def _workplace(sheet: Sheet, rows: Sequence[WorkplaceRow]) -> None:
    """What air over the oil would hold, then the limits, one a row, each with its source."""
    words, about = chlorine_words()["workplace"], definitions()["workplace_air"]
    sheet.caption(about["title"])
    sheet.head(about["columns"], widths=False)
    for row in rows:
        if row.vapour is not None:
            name = f"{row.substance} ({workplace_where(row)}) {words['vapour']}"
            sheet.figure(name, workplace_beside(row), row.vapour)
        for one in row.limits:
            sheet.say("name", f"{row.substance}, {one.quantity}")
            sheet.number("value", one.value, 3 if one.value < 1 else 0, "input")
            sheet.say("unit", one.unit)
            sheet.say("limits", one.standing, wrap=True)
            sheet.say("reason", one.source, "quiet")
            sheet.row += 1
    sheet.say("name", words["about"])
    sheet.say("reason", words["means"], "quiet")
    sheet.row += 1


def _cuts(sheet: Sheet, found: ChlorineFindings) -> None:
    about = definitions()["chlorine_cuts"]
    for where in found.distilled:
        sheet.caption(f"{about['title']}: {where.of}")
        sheet.head(about["columns"], widths=False)
        for cut in where.cuts:
            sheet.say("name", cut.cut)
            sheet.number("value", cut.best.value, digits_of(cut.best))
            sheet.number("u", cut.best.u, digits_of(cut.best) + 1)
            sheet.number("low", cut.lower.value, digits_of(cut.lower))
            sheet.number("high", cut.upper.value, digits_of(cut.upper))
            sheet.say("limits", cut.limits)
            sheet.say("reason", "; ".join(part for part in (", ".join(cut.compounds), sheet.why(cut.best)) if part))
            sheet.say("step", cut.best.step.id, "quiet")
            sheet.row += 1
