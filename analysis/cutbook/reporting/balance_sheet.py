"""Lay out the sheets Inputs and Balance, so that the closure can be followed with a finger."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from cutbook.model.balance import ProductYield
from cutbook.model.result import Result
from cutbook.reporting.reconciliation_sheet import write_reconciliation
from cutbook.reporting.sheet_writer import Sheet, definitions, digits_of
from cutbook.workup.findings import Findings

BASES = (
    ("charged", "Feed_g", "u_Feed_g"),
    ("dry", "Feed_dry_g", "u_Feed_dry_g"),
    ("daf", "Feed_daf_g", "u_Feed_daf_g"),
)


@dataclass
class Linked:
    """Cells that other sheets refer to, with the values they hold.

    names : name of a constant -> value. masses : fraction -> (address, g, address of u, u).
    """

    names: dict[str, float] = field(default_factory=dict)
    masses: dict[str, tuple[str, float, str, float]] = field(default_factory=dict)
    yields: dict[str, tuple[str, str]] = field(default_factory=dict)


@dataclass(frozen=True)
class InputRows:
    """Rows of the sheet Inputs: first and last of the feeds, row of each product."""

    feeds: tuple[int, int]
    products: dict[str, int]


def write_inputs(sheet: Sheet, findings: Findings) -> InputRows:
    """Feeds, products, conditions and files as the run sheet gives them."""
    run, about = findings.run, definitions()["inputs"]
    sheet.widths(about["product"])
    sheet.head(about["feed"], widths=False)
    first = sheet.row
    for feed in run.feeds:
        sheet.say("material", feed.material)
        sheet.say("place", feed.place, "quiet")
        sheet.entered("mass", feed.mass)
        sheet.entered("moisture", feed.moisture, 100.0)
        sheet.entered("ash", feed.ash, 100.0)
        sheet.row += 1
    last = sheet.row - 1
    sheet.caption("Products")
    sheet.head(about["product"], widths=False)
    rows = {}
    for product in run.products:
        rows[product.fraction] = sheet.row
        sheet.say("fraction", product.fraction)
        sheet.say("place", product.place, "quiet")
        for key in ("mass", "volume", "density", "temperature", "pressure"):
            sheet.entered(key, getattr(product, key))
        told = ["by difference"] if product.by_difference else []
        if product.wet is not None:
            told.append("measured wet" if product.wet else "measured dry")
        sheet.say("how", ", ".join(told), "quiet")
        sheet.row += 1
    products_head = dict(sheet.columns)
    if run.conditions:
        sheet.caption("Conditions")
        sheet.head(about["conditions"], widths=False)
        for name, value in run.conditions.items():
            sheet.say("name", name.replace("_", " "))
            sheet.say("text", str(value.text) if hasattr(value, "text") else str(value), "input")
            sheet.row += 1
    sheet.caption("Files read")
    sheet.head(about["files"], widths=False)
    for one in findings.inputs:
        sheet.say("path", one.source.path)
        sheet.say("role", one.role)
        sheet.say("of", one.of)
        sheet.say("sha256", one.source.sha256, "quiet")
        sheet.row += 1
    sheet.columns = products_head
    return InputRows((first, last), rows)


def write_balance(book: Any, sheet: Sheet, inputs: Sheet, rows: InputRows, findings: Findings) -> Linked:
    """Products, their sum, the feed and the closure; defines the names of the feed on its three bases."""
    balance = findings.balance
    sheet.head(sheet.about["columns"], freeze=True)
    first = sheet.row
    feed_rows = first + len(balance.products) + 2
    links = Linked()
    _feed(book, sheet, inputs.name, rows.feeds, findings, feed_rows, links)
    sheet.row = first
    values: list[float] = []
    squares: list[float] = []
    for one in balance.products:
        sheet.say("fraction", one.fraction)
        sheet.say("how", one.how)
        mass, u = one.mass.value, one.mass.u
        if mass is not None:
            _mass(sheet, inputs, rows, findings, one, first, links)
            links.masses[one.fraction] = (
                sheet.ref("mass", sheet=True), mass, sheet.ref("u_mass", sheet=True), u or 0.0,
            )  # fmt: skip
            values.append(mass)
            squares.append((u or 0.0) ** 2)
        for (key, name, u_name), result in zip(
            BASES, (one.yield_as_charged, one.yield_dry, one.yield_dry_ash_free), strict=True
        ):
            if result is not None and mass is not None:
                write_yield(sheet, key, name, u_name, sheet.ref("mass"), sheet.ref("u_mass"), mass, u, result, links)
        sheet.say("reason", sheet.why(one.mass), "quiet")
        sheet.say("step", one.mass.step.id, "quiet")
        links.yields[one.fraction] = (sheet.ref("charged", sheet=True), sheet.ref("u_charged", sheet=True))
        sheet.row += 1
    _total(sheet, findings, first, values, squares, links)
    sheet.row = feed_rows + 4
    sheet.say("fraction", f"Closure: {balance.verdict}.", bold=True)
    if balance.reconciled is not None:
        write_reconciliation(sheet, balance.reconciled)
    return links


def write_yield(
    sheet: Sheet,
    key: str,
    name: str,
    u_name: str,
    mass_ref: str,
    u_ref: str,
    mass: float,
    u: float | None,
    result: Result,
    links: Linked,
    bold: bool = False,
) -> None:
    """A yield in % with its u as formulas of a mass and a named feed: 100 m/F and y sqrt((u_m/m)² + (u_F/F)²)."""
    feed = links.names.get(name)
    digits = digits_of(result)
    value = None if not feed else 100.0 * mass / feed
    sheet.worked(key, f"100*{mass_ref}/{name}", value, result.value, digits, bold)
    if result.value is None or result.u is None:
        return
    u_value = None
    if value is not None and feed and mass and u is not None:
        u_value = value * math.sqrt((u / mass) ** 2 + (links.names[u_name] / feed) ** 2)
    formula = f"{sheet.ref(key)}*SQRT(({u_ref}/{mass_ref})^2+({u_name}/{name})^2)"
    sheet.worked(f"u_{key}", formula, u_value, result.u, digits + 1, bold)


def _mass(
    sheet: Sheet, inputs: Sheet, rows: InputRows, findings: Findings, one: ProductYield, first: int, links: Linked
) -> None:
    product = next((p for p in findings.run.products if p.fraction == one.fraction), None)
    row = rows.products.get(one.fraction)
    digits = digits_of(one.mass)
    formula, value, u_formula, u_value = "0", None, "0", None
    if one.how == "by difference" and "Feed_g" in links.names:
        others = [(first + i, p.mass) for i, p in enumerate(findings.balance.products) if p is not one]
        known = [(place, mass) for place, mass in others if mass.value is not None]
        value = links.names["Feed_g"] - math.fsum(mass.value or 0.0 for _, mass in known)
        u_value = math.sqrt(links.names["u_Feed_g"] ** 2 + math.fsum((mass.u or 0.0) ** 2 for _, mass in known))
        formula = "Feed_g-SUM(" + ",".join(sheet.ref("mass", place) for place, _ in known) + ")"
        u_formula = "SQRT(u_Feed_g^2+SUMSQ(" + ",".join(sheet.ref("u_mass", place) for place, _ in known) + "))"
    elif product is not None and row is not None:
        refs = {key: inputs.ref(key, row, sheet=True) for key in inputs.columns}
        if product.mass is not None:
            formula, value = refs["mass"], product.mass.value
            u_formula, u_value = refs["u_mass"], product.mass.u
        elif product.volume is not None and product.density is not None:
            v, d = product.volume, product.density
            formula, value = f"{refs['volume']}*{refs['density']}", v.value * d.value
            u_formula = f"SQRT(({refs['density']}*{refs['u_volume']})^2+({refs['volume']}*{refs['u_density']})^2)"
            u_value = math.sqrt((d.value * v.u) ** 2 + (v.value * d.u) ** 2)
    sheet.worked("mass", formula, value, one.mass.value, digits)
    if one.mass.u is not None:
        sheet.worked("u_mass", u_formula, u_value, one.mass.u, digits + 1)


def _total(
    sheet: Sheet, findings: Findings, first: int, values: list[float], squares: list[float], links: Linked
) -> None:
    balance = findings.balance
    last = sheet.row - 1
    sheet.say("fraction", "all products", bold=True)
    mass_ref, u_ref = sheet.ref("mass"), sheet.ref("u_mass")
    if balance.total.value is not None:
        value, u = math.fsum(values), math.sqrt(math.fsum(squares))
        digits = digits_of(balance.total)
        span = f"{sheet.ref('mass', first)}:{sheet.ref('mass', last)}"
        u_span = f"{sheet.ref('u_mass', first)}:{sheet.ref('u_mass', last)}"
        sheet.worked("mass", f"SUM({span})", value, balance.total.value, digits, bold=True)
        if balance.total.u is not None:
            sheet.worked("u_mass", f"SQRT(SUMSQ({u_span}))", u, balance.total.u, digits + 1, bold=True)
        if balance.closure.value is not None:
            write_yield(
                sheet, "charged", "Feed_g", "u_Feed_g", mass_ref, u_ref, balance.total.value, balance.total.u,
                balance.closure, links, bold=True,
            )  # fmt: skip
    sheet.say("how", "closure" if balance.closure.value is not None else "closure not tested")
    sheet.say("reason", sheet.why(balance.closure), "quiet")
    sheet.say("step", balance.closure.step.id, "quiet")
    links.yields["closure"] = (sheet.ref("charged", sheet=True), sheet.ref("u_charged", sheet=True))


def _feed(
    book: Any, sheet: Sheet, inputs: str, rows: tuple[int, int], findings: Findings, at_row: int, links: Linked
) -> None:
    """The feed on its bases, named so that formulas read Feed_g, Feed_dry_g, Feed_daf_g."""
    first, last = rows[0] + 1, rows[1] + 1
    feeds, balance = findings.run.feeds, findings.balance
    m, w, a = (f"'{inputs}'!${c}${first}:${c}${last}" for c in "CEG")
    um, uw, ua = (f"'{inputs}'!${c}${first}:${c}${last}" for c in "DFH")
    mass = math.fsum(f.mass.value for f in feeds)
    u = math.sqrt(math.fsum(f.mass.u**2 for f in feeds))
    wet = [f.moisture.value if f.moisture else 0.0 for f in feeds]
    u_wet = [f.moisture.u if f.moisture else 0.0 for f in feeds]
    ash = [f.ash.value if f.ash else 0.0 for f in feeds]
    u_ash = [f.ash.u if f.ash else 0.0 for f in feeds]
    masses, u_masses = [f.mass.value for f in feeds], [f.mass.u for f in feeds]
    dry = [1 - x for x in wet]
    daf = [1 - x - y for x, y in zip(wet, ash, strict=True)]
    lines: tuple[tuple[str, str, Result | None, str, float, str, float], ...] = (
        ("as charged", "Feed_g", balance.feed, f"SUM({m})", mass, f"SQRT(SUMSQ({um}))", u),
        (
            "dry", "Feed_dry_g", balance.feed_dry, f"SUMPRODUCT({m},1-{w}/100)", _dot(masses, dry),
            f"SQRT(SUMPRODUCT(({um}*(1-{w}/100))^2+({m}*{uw}/100)^2))",
            _root(masses, u_masses, dry, u_wet),
        ),
        (
            "dry ash-free", "Feed_daf_g", balance.feed_dry_ash_free, f"SUMPRODUCT({m},1-{w}/100-{a}/100)",
            _dot(masses, daf),
            f"SQRT(SUMPRODUCT(({um}*(1-{w}/100-{a}/100))^2+({m}*{uw}/100)^2+({m}*{ua}/100)^2))",
            _root(masses, u_masses, daf, u_wet, u_ash),
        ),
    )  # fmt: skip
    for place, (basis, name, result, formula, value, u_formula, u_value) in enumerate(lines):
        if result is None or result.value is None:
            continue
        sheet.row = at_row + place
        sheet.say("fraction", "feed")
        sheet.say("how", basis)
        digits = digits_of(result)
        sheet.worked("mass", formula, value, result.value, digits)
        if result.u is not None:
            sheet.worked("u_mass", u_formula, u_value, result.u, digits + 1)
        sheet.say("reason", f"named {name} in formulas", "quiet")
        sheet.say("step", result.step.id, "quiet")
        book.define_name(name, "=" + sheet.ref("mass", sheet=True))
        book.define_name(f"u_{name}", "=" + sheet.ref("u_mass", sheet=True))
        links.names[name], links.names[f"u_{name}"] = result.value, result.u or 0.0


def _dot(a: list[float], b: list[float]) -> float:
    return math.fsum(x * y for x, y in zip(a, b, strict=True))


def _root(masses: list[float], u_masses: list[float], shares: list[float], *u_shares: list[float]) -> float:
    """u of the sum of mass × share, all inputs independent."""
    own = [(u * s) ** 2 for u, s in zip(u_masses, shares, strict=True)]
    others = [(m * u) ** 2 for us in u_shares for m, u in zip(masses, us, strict=True)]
    return math.sqrt(math.fsum(own + others))
