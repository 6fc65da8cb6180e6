"""Findings of a made-up run: feeds, products and their balance around two analysed samples."""

import datetime
from dataclasses import dataclass, field
from pathlib import Path

from sample_builders import SliceSettings, a_sample
from still_builders import a_distillation

from cutbook.model.amount import measured, nominal, standard_uncertainty, total
from cutbook.model.balance import Balance, ProductYield, ReconciledValue, Reconciliation
from cutbook.model.cautions import caution
from cutbook.model.cuts import WholeCut
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result
from cutbook.model.run import Feed, InternalStandard, Product, Run, TraceEntry
from cutbook.workup.findings import Findings, InputFile

FORMULA = '=HYPERLINK("http://example.invalid/x","y")'
TAG = "</script><script>alert(1)</script><img src=http://example.invalid/i.png onerror=alert(2)>"
NAME = "wax--> \x1b[2J\u6cb9 $x$ & <b>"
CONTROL = "tab\tbell\x07escape\x1b[31mnull\x00end"


@dataclass(frozen=True)
class BuiltMethod:
    """A stand-in for the settings of a work-up."""

    slices: SliceSettings = SliceSettings()
    carbon_scheme: str = "carbon-4-12-20"
    boiling_scheme: str = "boiling-36-200-350"
    note: str = ""
    limits: tuple = (1, 4, 12, 20)
    extra: dict = field(default_factory=dict)


def entered(value, u, unit, text, stated=True):
    return Entered(value, u, unit, text, stated)


def a_balance(run, gas):
    """Balance with yields on three bases; `gas` "measured", "by difference" or "not determined"."""
    step = Step(
        "balance/1",
        tuple(
            Step("enter/1", settings={"text": p.fraction}, source=Source("run.toml", "cd" * 32, p.place))
            for p in run.products
        ),
    )
    feeds = [f.mass.amount("weighing of feed") for f in run.feeds]
    feed = total(feeds)
    dry = total(m * (1 - f.moisture.amount("moisture")) for m, f in zip(feeds, run.feeds, strict=True))
    ashless = total(
        m * (1 - f.moisture.amount("moisture") - f.ash.amount("ash")) for m, f in zip(feeds, run.feeds, strict=True)
    )
    masses = {}
    for p in run.products:
        if p.mass is not None:
            masses[p.fraction] = ("weighed", p.mass.amount(f"weighing of {p.fraction}"))
    if gas == "measured":
        masses["gas"] = ("volume × density", measured(243.6, 3.9, "volume of gas"))
    elif gas == "by difference":
        masses["gas"] = ("by difference", feed - total(m for _, m in masses.values()))
    reason = "balance.by_difference" if gas == "by difference" else "balance.not_measured"
    rows = []
    for p in run.products:
        how, mass = masses.get(p.fraction, ("not determined", None))
        name = p.fraction
        if mass is None:
            none = [
                Result.missing(f"yield of {name}", "%", b, step, reason)
                for b in ("feed as charged", "dry feed", "dry ash-free feed")
            ]
            rows.append(ProductYield(name, how, Result.missing(f"mass of {name}", "g", "", step, reason), *none))
            continue
        rows.append(
            ProductYield(
                name,
                how,
                Result(f"mass of {name}", mass, "g", "", step),
                Result(f"yield of {name}", 100 * mass / feed, "%", "feed as charged", step),
                Result(f"yield of {name}", 100 * mass / dry, "%", "dry feed", step),
                Result(f"yield of {name}", 100 * mass / ashless, "%", "dry ash-free feed", step),
            )
        )
    whole = total(m for _, m in masses.values())
    closed = gas == "measured"
    streams = tuple(
        ReconciledValue(
            n, "", Result(f"mass of {n}", m, "g", "", step),
            Result(f"mass of {n}", measured(nominal(m) * 1.001, 0.9 * standard_uncertainty(m), n), "g", "", step),
            0.8, "checked", 4.5 * standard_uncertainty(m),
        )
        for n, (_, m) in masses.items()
    )  # fmt: skip
    return Balance(
        Result("feed", feed, "g", "as charged", step),
        Result("feed", dry, "g", "dry", step),
        Result("feed", ashless, "g", "dry ash-free", step),
        tuple(rows),
        Result("sum of products", whole, "g", "", step)
        if closed
        else Result.missing("sum of products", "g", "", step, reason),
        Result("closure", 100 * whole / feed, "%", "feed as charged", step)
        if closed
        else Result.missing("closure", "%", "feed as charged", step, reason),
        "good" if closed else "not tested",
        step,
        Reconciliation(streams, (), (), 1.4, 1, 0.24, (), Step("reconcile/1", (step,))) if closed else None,
    )


def whole_cuts(balance, samples):
    """Every cut of every analysed product on feed, then one line for each product without an analysis."""
    step = Step("whole-run cuts/1", (balance.step, *(s.carbons.step for s in samples if s.carbons)))
    masses = {p.fraction: p.mass.amount for p in balance.products}
    analysed = {s.of: s for s in samples if s.carbons is not None}
    found = []
    keys = dict.fromkeys((c.scheme, c.definition, c.cut, c.limits) for s in analysed.values() for c in s.cuts)
    for scheme, definition in dict.fromkeys((k[0], k[1]) for k in keys):
        rows = [(k[2], k[3]) for k in keys if k[0] == scheme]
        for cut, limits in rows:
            parts, missing = [], ""
            for of, sample in analysed.items():
                share = next(c.mass for c in sample.cuts if (c.scheme, c.cut) == (scheme, cut))
                if share.amount is None:
                    missing = share.reason
                elif masses[of] is not None:
                    parts.append((of, masses[of] * share.amount / 100))
            found.append(on_feed(scheme, definition, cut, limits, parts, balance, step, missing))
        for product in balance.products:
            if product.fraction not in analysed:
                label = (
                    product.fraction if product.fraction in ("char", "water") else f"{product.fraction}, not analysed"
                )
                parts = [] if product.mass.amount is None else [(product.fraction, product.mass.amount)]
                found.append(on_feed(scheme, definition, label, "", parts, balance, step, product.mass.reason))
    return tuple(found)


def on_feed(scheme, definition, cut, limits, parts, balance, step, missing):
    grams = total(g for _, g in parts)
    bases = (balance.feed, balance.feed_dry, balance.feed_dry_ash_free)
    names = ("feed as charged", "dry feed", "dry ash-free feed")
    if missing or not parts:
        results = [Result.missing(f"yield of {cut}", "%", n, step, missing or "balance.not_measured") for n in names]
    else:
        results = [
            Result(f"yield of {cut}", 100 * grams / b.amount, "%", n, step) for b, n in zip(bases, names, strict=True)
        ]
    return WholeCut(scheme, definition, cut, limits, *results, tuple((of, nominal(g)) for of, g in parts), step)


def a_run(gas="measured", ladder=True, hostile=False, points=24_000):
    """Findings of one run.

    gas : how the gas is known. ladder : whether the traces have one. hostile : text that wants to be more than text.
    """
    trap = FORMULA if hostile else "loss-trap"
    wax = NAME if hostile else "wax"
    products = (
        Product(
            "gas",
            "[[product]] 1",
            volume=entered(212000.0, 900.0, "mL", "212 L"),
            temperature=entered(19.0, 0.3, "°C", "19 °C"),
            pressure=entered(100.9, 0.03, "kPa", "100.9 kPa"),
            wet=True,
            by_difference=gas == "by difference",
        ),
        Product(
            "oil",
            "[[product]] 2",
            mass=entered(402.1, 0.5, "g", "402.1 ± 0.5 g"),
            density=entered(0.792, 0.001, "g/mL", "0.792 g/mL"),
        ),
        Product(wax, "[[product]] 3", mass=entered(118.3, 0.3, "g", "118.3 ± 0.3 g")),
        Product("char", "[[product]] 4", mass=entered(31.2, 0.1, "g", "31.2 ± 0.1 g")),
        Product(trap, "[[product]] 5", mass=entered(7.9, 0.2, "g", "7.9 ± 0.2 g")),
    )
    if gas == "not determined":
        products = (Product("gas", "[[product]] 1"), *products[1:])
    wet, ash = entered(0.012, 0.001, "1", "1.2 %"), entered(0.008, 0.0004, "1", "0.8 %")
    feeds = (
        Feed("HDPE", entered(612.4, 0.5, "g", "612.4 ± 0.5 g"), "[[feed]] 1", wet, ash),
        Feed("@PP" if hostile else "PP", entered(200.0, 0.5, "g", "200.0 ± 0.5 g"), "[[feed]] 2", wet, ash),
    )
    standard = InternalStandard("chlorobenzene-d5", concentration=entered(2e-5, 1e-7, "1", "20 mg/kg"))
    traces = (
        TraceEntry(
            "traces/oil.csv",
            "[[trace]] 1",
            "sample",
            "FID",
            "oil",
            "traces/ladder.csv",
            "traces/blank.csv",
            solvent="carbon disulfide",
            internal_standard=standard,
        ),
        TraceEntry(
            "traces/wax.csv", "[[trace]] 2", "sample", "FID", "wax", "traces/ladder.csv", solvent="carbon disulfide"
        ),
    )
    run = Run(
        Path("run-folder"),
        Source("run.toml", "cd" * 32),
        ("+1" + CONTROL) if hostile else "QY-07",
        feeds,
        products,
        traces,
        Step("read run sheet/1", source=Source("run.toml", "cd" * 32)),
        datetime.date(2026, 3, 12),
        TAG if hostile else "A. Weigher",
        TAG if hostile else "Two-stage condenser, slow heating",
        FORMULA if hostile else "",
        {"peak_temperature": entered(455.0, 1.0, "°C", "455 °C"), "purge": "-nitrogen" if hostile else "nitrogen"},
    )
    samples = (
        a_sample("oil", "traces/oil.csv", 13, 6, 3.1, ladder, points),
        a_sample(wax, "traces/wax.csv", 27, 5, 0.0, ladder, points, seed=11),
    )
    balance = a_balance(run, gas)
    raised = [
        caution("safety.light_ends", "oil", share=12.3, last=7),
        caution("safety.road_fuel"),
        caution("sample.no_blank", wax),
        caution("sample.residue_unknown", wax),
        caution("sample.solvent_hides", "oil", solvent="carbon disulfide", bins="C6"),
        caution("cuts.not_analysed", trap),
        caution("sample.response_basis", "oil", response="equal mass response"),
        caution("balance.one_run"),
    ]
    if gas != "measured":
        raised.insert(1, caution("balance.by_difference" if gas == "by difference" else "balance.not_measured", "gas"))
    if not ladder:
        raised.append(caution("report.no_ladder", "oil"))
    inputs = (
        InputFile(Source("run.toml", "cd" * 32), "run sheet", ""),
        InputFile(Source("traces/oil.csv", f"{7:064x}"), "sample", "oil"),
        InputFile(Source("traces/wax.csv", f"{11:064x}"), "sample", wax),
        InputFile(Source("traces/ladder.csv", "ab" * 32), "ladder", ""),
        InputFile(Source("traces/blank.csv", "ef" * 32), "blank", ""),
    )
    method = BuiltMethod(note=TAG if hostile else "")
    distillation = a_distillation("=1+1" if hostile else "1", FORMULA if hostile else "")
    raised += distillation.curve.step.cautions
    return Findings(
        run, method, inputs, tuple(raised), balance, samples, whole_cuts(balance, samples) if ladder else (),
        (distillation,),
    )  # fmt: skip
