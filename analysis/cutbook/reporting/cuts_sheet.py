"""Lay out the sheets Carbon numbers, Sample cuts and Cuts: shares summed into cuts, cuts put on the feed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cutbook.model.cuts import Cut
from cutbook.reporting.balance_sheet import Linked, write_yield
from cutbook.reporting.numbers import COVERAGE_FACTOR
from cutbook.reporting.sheet_writer import Sheet, digits_of
from cutbook.reporting.whole_sensitivity import whole_run_sensitivity
from cutbook.workup.findings import Findings, SampleFindings


@dataclass(frozen=True)
class ShareRows:
    """Where the shares of a sample stand in Carbon numbers: carbon number -> row; part -> row for the rest."""

    numbered: dict[int, int]
    rest: dict[str, int]


def write_carbon_numbers(sheet: Sheet, findings: Findings) -> dict[str, ShareRows]:
    """One row a carbon number and sample, a sum under each sample."""
    sheet.head(sheet.about["columns"], freeze=True)
    places = {}
    for sample in findings.samples:
        carbons = sample.carbons
        if carbons is None:
            sheet.say("sample", sample.name)
            sheet.say("reason", "no n-alkane ladder, so no carbon numbers", "quiet")
            sheet.row += 1
            continue
        first, running = sheet.row, 0.0
        rows = ShareRows({}, {})
        for share in carbons.shares:
            sheet.say("sample", sample.name)
            if share.n is not None:
                sheet.number("n", share.n, 0, "text")
                rows.numbered[share.n] = sheet.row
            else:
                rows.rest[share.part] = sheet.row
            sheet.say("part", share.part)
            mass = share.mass
            digits = digits_of(mass)
            sheet.number("mass", mass.value, digits)
            if mass.value is not None:
                write_u(sheet, mass.u, digits)
                running += mass.value
                span = f"{sheet.ref('mass', first)}:{sheet.ref('mass')}"
                sheet.worked("running", f"SUM({span})", running, None, 2)
            sheet.number("other", share.mass_other_response, 2)
            told = ["with what elutes before it"] if share.lighter_too else []
            told += ["solvent left out of this bin"] if share.hidden else []
            told += [sheet.why(mass)] if mass.value is None else []
            sheet.say("reason", "; ".join(told), "quiet")
            sheet.say("step", mass.step.id, "quiet")
            sheet.row += 1
        span = f"{sheet.ref('mass', first)}:{sheet.ref('mass', sheet.row - 1)}"
        sheet.say("sample", sample.name, bold=True)
        sheet.say("part", "sum", bold=True)
        whole = math.fsum(share.mass.value for share in carbons.shares if share.mass.value is not None)
        sheet.worked("mass", f"SUM({span})", whole, None, 2, bold=True)
        ends = "at" if carbons.convention == "after" else "between"
        told = [carbons.response, f"bins end {ends} the n-alkanes"]
        told += [] if carbons.residue_known else ["of the eluted part only"]
        sheet.say("reason", "; ".join(told), "quiet")
        sheet.row += 2
        places[sample.name] = rows
    return places


def write_u(sheet: Sheet, u: float | None, digits: int, key: str = "u") -> None:
    """u as found and U = 2u as a formula of it."""
    if u is None:
        return
    sheet.number(key, u, digits + 1)
    sheet.worked("wide", f"2*{sheet.ref(key)}", COVERAGE_FACTOR * u, None, digits)


def write_sample_cuts(
    sheet: Sheet, carbon_sheet: Sheet, places: dict[str, ShareRows], findings: Findings
) -> dict[tuple[str, str, str], tuple[str, float]]:
    """Cuts of each sample; those by carbon number as sums over Carbon numbers.

    Returns
    -------
    dict
        (sample, scheme, cut) -> (address of its share, share in %).
    """
    sheet.head(sheet.about["columns"], freeze=True)
    found = {}
    for sample in findings.samples:
        told = {(one.scheme, one.cut): one for one in sample.sensitivity}
        for cut in sample.cuts:
            sheet.say("sample", sample.name)
            sheet.say("scheme", cut.scheme)
            sheet.say("definition", cut.definition)
            sheet.say("cut", cut.cut)
            sheet.say("limits", cut.limits)
            value, digits = cut.mass.value, digits_of(cut.mass)
            if value is not None:
                formula, worked = _sum_of_shares(carbon_sheet, places.get(sample.name), sample, cut)
                sheet.worked("mass", formula, worked, value, digits)
                write_u(sheet, cut.mass.u, digits)
                found[sample.name, cut.scheme, cut.cut] = (sheet.ref("mass", sheet=True), value)
            one = told.get((cut.scheme, cut.cut))
            if one is not None:
                sheet.number("low", one.low, 1)
                sheet.number("high", one.high, 1)
                sheet.say("variants", "; ".join(f"{limits}: {share:.1f} %" for limits, share in one.variants), "quiet")
            sheet.say("reason", sheet.why(cut.mass), "quiet")
            sheet.say("step", cut.mass.step.id, "quiet")
            sheet.row += 1
        if sample.cuts:
            sheet.row += 1
    return found


def _sum_of_shares(sheet: Sheet, rows: ShareRows | None, sample: SampleFindings, cut: Cut) -> tuple[str, float | None]:
    """The sum over Carbon numbers that makes up a cut, and its value; ("0", None) for a cut that is no such sum."""
    if rows is None or sample.carbons is None:
        return "0", None
    masses = {share.n: share.mass.value for share in sample.carbons.shares if share.n is not None}
    parts = {share.part: share.mass.value for share in sample.carbons.shares if share.n is None}
    if cut.cut == "residue":
        row = rows.rest.get("did not elute")
        return ("0", None) if row is None else (sheet.ref("mass", row, sheet=True), parts["did not elute"])
    limits = _carbons(cut.limits)
    if limits is None:
        return "0", None
    inside = [n for n in rows.numbered if limits[0] <= n <= limits[1]]
    value = math.fsum(masses[n] or 0.0 for n in inside)
    formula = "0"
    if inside:
        first, last = rows.numbered[min(inside)], rows.numbered[max(inside)]
        formula = f"SUM({sheet.ref('mass', first, sheet=True)}:{sheet.ref('mass', last)})"
    beyond, row = parts.get("beyond the ladder"), rows.rest.get("beyond the ladder")
    reaches = math.isinf(limits[1]) and beyond is not None and row is not None
    if reaches and not math.isclose(value, cut.mass.value or 0.0, rel_tol=1e-9):
        return f"{formula}+{sheet.ref('mass', row, sheet=True)}", value + (beyond or 0.0)
    return formula, value


def _carbons(limits: str) -> tuple[float, float] | None:
    """Carbon numbers of limits as printed ("C5–C12", "C21+", "up to C4"); None for temperatures."""
    text = limits.removeprefix("up to ")
    if not text.startswith("C"):
        return None
    numbers = [part.removeprefix("C").rstrip("+") for part in text.split("–")]
    if not all(number.isdigit() for number in numbers):
        return None
    low = -math.inf if limits.startswith("up to") else float(numbers[0])
    return low, math.inf if text.endswith("+") else float(numbers[-1])


def write_cuts(
    sheet: Sheet,
    shares: dict[tuple[str, str, str], tuple[str, float]],
    links: Linked,
    findings: Findings,
) -> dict[tuple[str, str], int]:
    """Cuts of the whole run: grams of each product in the cut, their sum, yields on three bases.

    Returns
    -------
    dict
        (scheme, cut) -> row.
    """
    about = sheet.about
    products = list(dict.fromkeys(of for cut in findings.cuts for of, _ in cut.parts))
    part = about["part"]
    columns = [
        *about["before"],
        *({"key": f"part {of}", "head": part["head"].replace("{of}", of), "width": part["width"]} for of in products),
        *about["after"],
    ]
    sheet.head(columns, freeze=True)
    sample_of: dict[str, str] = {}
    for sample in findings.samples:
        sample_of.setdefault(sample.of, sample.name)
    rows: dict[tuple[str, str], int] = {}
    scheme = ""
    for cut in findings.cuts:
        if scheme and cut.scheme != scheme:
            sheet.row += 1
        scheme = cut.scheme
        rows[cut.scheme, cut.cut] = sheet.row
        sheet.say("scheme", cut.scheme)
        sheet.say("definition", cut.definition)
        sheet.say("cut", cut.cut)
        sheet.say("limits", cut.limits)
        for of, grams in cut.parts:
            formula, value = _grams(shares.get((sample_of.get(of, ""), cut.scheme, cut.cut)), of, links)
            sheet.worked(f"part {of}", formula, value, grams, 1)
        if cut.parts:
            span = f"{sheet.ref(f'part {products[0]}')}:{sheet.ref(f'part {products[-1]}')}"
            sheet.worked("grams", f"SUM({span})", math.fsum(grams for _, grams in cut.parts), None, 1)
        result = cut.yield_as_charged
        grams_ref = sheet.ref("grams")
        total = math.fsum(grams for _, grams in cut.parts)
        for key, name, u_name, found in (
            ("charged", "Feed_g", "u_Feed_g", cut.yield_as_charged),
            ("dry", "Feed_dry_g", "u_Feed_dry_g", cut.yield_dry),
            ("daf", "Feed_daf_g", "u_Feed_daf_g", cut.yield_dry_ash_free),
        ):
            if found is not None and found.value is not None:
                write_yield(sheet, key, name, u_name, grams_ref, "0", total, None, found, links)
        if result.value is not None and result.u is not None:
            digits = digits_of(result)
            sheet.worked("wide", f"2*{sheet.ref('u_charged')}", COVERAGE_FACTOR * result.u, None, digits)
        sheet.say("reason", sheet.why(result), "quiet")
        sheet.say("step", cut.step.id, "quiet")
        sheet.row += 1
    return rows


def _grams(share: tuple[str, float] | None, of: str, links: Linked) -> tuple[str, float | None]:
    mass = links.masses.get(of)
    if mass is None:
        return "0", None
    if share is None:
        return mass[0], mass[1]
    return f"{mass[0]}*{share[0]}/100", mass[1] * share[1] / 100.0


def write_summary(
    sheet: Sheet, balance: Sheet, cuts: Sheet, rows: dict[tuple[str, str], int], links: Linked, findings: Findings
) -> dict[str, tuple[int, int]]:
    """Headline yields, linked; returns scheme -> (first, last row) for the charts."""
    sheet.head(sheet.about["columns"])
    spread = whole_run_sensitivity(findings)
    spans: dict[str, tuple[int, int]] = {}
    titles = {"carbon-number": "cuts by carbon number", "boiling-range": "cuts by boiling range"}
    for scheme, title in titles.items():
        listed = [cut for cut in findings.cuts if cut.scheme == scheme]
        if not listed:
            continue
        sheet.say("what", title, bold=True)
        sheet.say("limits", listed[0].definition, "quiet")
        sheet.row += 1
        first = sheet.row
        for cut in listed:
            sheet.say("what", cut.cut)
            sheet.say("limits", cut.limits)
            result, row = cut.yield_as_charged, rows[cut.scheme, cut.cut]
            digits = digits_of(result)
            if result.value is not None:
                sheet.worked("value", cuts.ref("charged", row, sheet=True), result.value, None, digits)
                if result.u is not None:
                    sheet.worked("u", cuts.ref("u_charged", row, sheet=True), result.u, None, digits + 1)
                    sheet.worked("wide", f"2*{sheet.ref('u')}", COVERAGE_FACTOR * result.u, None, digits)
            one = spread.get((cut.scheme, cut.cut))
            if one is not None:
                sheet.number("low", one.low, 1)
                sheet.number("high", one.high, 1)
            sheet.say("reason", sheet.why(result), "quiet")
            sheet.row += 1
        spans[scheme] = (first, sheet.row - 1)
        sheet.row += 1
    sheet.say("what", "products", bold=True)
    sheet.row += 1
    closing = findings.balance.closure
    for name, result in (
        *((p.fraction, p.yield_as_charged) for p in findings.balance.products),
        ("closure", closing),
    ):
        sheet.say("what", name, bold=name == "closure")
        ref, u_ref = links.yields[name]
        digits = digits_of(result)
        if result.value is not None:
            sheet.worked("value", ref, result.value, None, digits, bold=name == "closure")
            if result.u is not None:
                sheet.worked("u", u_ref, result.u, None, digits + 1)
                sheet.worked("wide", f"2*{sheet.ref('u')}", COVERAGE_FACTOR * result.u, None, digits)
        sheet.say("reason", sheet.why(result) or (findings.balance.verdict if name == "closure" else ""), "quiet")
        sheet.row += 1
    return spans
