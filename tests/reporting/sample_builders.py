"""Analysed samples of a made-up run: triplets from C5 to C40 on a hump and bleed, all derived from a few truths."""

import math
from dataclasses import dataclass, replace

import numpy as np

from cutbook.model.amount import doubt, measured, nominal, total
from cutbook.model.boiling import BoilingCurve, CurvePoint
from cutbook.model.carbon import CarbonDistribution, CarbonShare
from cutbook.model.cautions import caution
from cutbook.model.cuts import Cut, CutLimits, CutScheme, Sensitivity
from cutbook.model.ladder import Check, Ladder, Rung, Sign
from cutbook.model.lineage import Source, Step
from cutbook.model.peaks import Peak, PeakTable
from cutbook.model.properties import CutProperties, Property
from cutbook.model.result import Result
from cutbook.model.trace import Baseline, Doubt, Trace
from cutbook.workup.findings import SampleFindings

CARBONS = range(5, 41)
INF = math.inf
CARBON_SCHEME = CutScheme(
    "carbon-4-12-20",
    "carbon number",
    (CutLimits("gas", 1, 4), CutLimits("gasoline", 5, 12), CutLimits("diesel", 13, 20), CutLimits("wax", 21, INF)),
)
SHORT_SCHEME = CutScheme(
    "carbon-4-11-20",
    "carbon number",
    (CutLimits("gas", 1, 4), CutLimits("gasoline", 5, 11), CutLimits("diesel", 12, 20), CutLimits("wax", 21, INF)),
)
BOILING_SCHEME = CutScheme(
    "boiling-36-200-350",
    "boiling range",
    (
        CutLimits("gas", -INF, 36),
        CutLimits("gasoline", 36, 200),
        CutLimits("diesel", 200, 350),
        CutLimits("wax", 350, INF),
    ),
)


@dataclass(frozen=True)
class SliceSettings:
    """A stand-in for one operation's settings."""

    convention: str = "after"
    response: str = "equal mass response"
    smallest: float = 1e-4


def alkane_time(carbon):
    """Retention time of an n-alkane in min: a temperature programme in one line."""
    return 13.65 * math.log(carbon) + 0.675 * carbon - 22.34


def a_trace(file, centre, spread, step, points=24_000, seed=7):
    """(trace, following, total, peaks) of an oil whose mass lies around a carbon number."""
    rng = np.random.default_rng(seed)
    time = np.linspace(0.0, 60.0, points)
    bleed = 12.0 + 16.0 / (1.0 + np.exp(-(time - 50.0) / 3.0))
    hump = 24.0 * np.exp(-0.5 * ((time - alkane_time(centre + 4)) / 9.0) ** 2)
    signal = bleed + hump + rng.normal(0.0, 0.15, points)
    peaks = []
    solvent = Peak(
        1.55, 1.7, 2.1, 5400.0 * 0.05 * 2.5066, 1.0, 5400.0, 0.1177, 1.1, 8.0, 36000.0, "isolated", ("solvent",)
    )
    signal = signal + 5400.0 * np.exp(-0.5 * ((time - 1.7) / 0.05) ** 2)
    peaks.append(solvent)
    for carbon in CARBONS:
        strength = 900.0 * math.exp(-0.5 * ((carbon - centre) / spread) ** 2)
        for name, shift, share in (("diene", -0.27, 0.32), ("alkene", -0.13, 0.7), ("alkane", 0.0, 1.0)):
            height, sigma, apex = strength * share, 0.022 + 0.0006 * carbon, alkane_time(carbon) + shift
            if height < 0.8:
                continue
            signal = signal + height * np.exp(-0.5 * ((time - apex) / sigma) ** 2)
            area = height * sigma * math.sqrt(2 * math.pi)
            peaks.append(
                Peak(
                    apex - 3 * sigma,
                    apex,
                    apex + 3 * sigma,
                    area,
                    0.002 * area + 0.004,
                    height,
                    2.3548 * sigma,
                    1.02,
                    1.18 * 0.13 / (2 * 2.3548 * sigma),
                    2 * height / 0.75,
                    "fitted" if name != "alkane" else "perpendicular drop",
                    ("shoulder",) if name == "diene" else (),
                    100.0 * (carbon + shift / (alkane_time(carbon) - alkane_time(carbon - 1))),
                )
            )
    read = Step("read trace/1", settings={"entry": file}, source=Source(file, f"{seed:064x}"))
    trace = Trace(file, time, signal, "pA", "FID", read)
    following = Baseline("following", bleed + hump, Step("follow baseline/1", (read,), {"window_min": 1.5}))
    flat = Step(
        "subtract blank/1",
        (read,),
        {"align": True},
        cautions=() if "oil" in file else (caution("sample.no_blank", "wax"),),
    )
    whole = Baseline("blank" if "oil" in file else "bleed model", bleed, flat, (Doubt("blank", 0.02 * bleed),), 0.15)
    table = PeakTable(tuple(peaks), "pA", Step("detect peaks/1", (following.step,), {"fewest_points": 5}))
    return trace, following, whole, table


def a_ladder():
    read = Step("read trace/1", settings={"entry": "traces/ladder.csv"}, source=Source("traces/ladder.csv", "ab" * 32))
    rungs = []
    for carbon in CARBONS:
        apex = alkane_time(carbon)
        peak = Peak(
            apex - 0.1, apex, apex + 0.1, 40.0, 0.1, 500.0, 0.08, 1.0, 6.0, 1200.0, "isolated", (), 100.0 * carbon
        )
        rungs.append(Rung(carbon, peak))
    signs = (
        Sign("declared carbons", "agrees", "36 carbons declared, 36 rungs found"),
        Sign("doubled peaks", "agrees", "C10, C20 and C30 are 2.0 times their neighbours"),
        Sign("gap pattern", "cannot tell", "no carbon number is missing"),
    )
    step = Step("number ladder/1", (read,), {"fewest": 5})
    boiling = [1090.0 - math.exp(6.9955 - 0.11193 * carbon ** (2 / 3)) - 273.15 for carbon in CARBONS]
    return Ladder("traces/ladder.csv", tuple(rungs), signs, 0.01, boiling, "n_alkanes", step)


def a_distribution(of, name, centre, spread, trace, ladder, residue):
    """Shares by carbon number that add up to 100 %, sharing the doubts of baseline, blank and internal standard."""
    step = Step("slice by carbon number/1", (trace.step, ladder.step), SliceSettings())
    lost = measured(residue, 0.6, f"internal standard in {name}") if residue else 0.0
    blank = doubt(f"blank of {name}")
    areas = {}
    for carbon in CARBONS:
        strength = math.exp(-0.5 * ((carbon - centre) / spread) ** 2)
        own = measured(strength, 0.01 * strength + 0.0004, f"integration of {name}")
        areas[carbon] = (
            own + 0.0006 * (carbon / 20) ** 2 * blank + 0.004 * strength * doubt(f"response of n-C{carbon} bin")
        )
    beyond = measured(0.006, 0.0006, f"integration of {name}") if centre > 20 else 0.0
    eluted = total(areas.values()) + beyond
    shares = [
        CarbonShare(
            carbon,
            "carbon number",
            Result(f"C{carbon} in {name}", area / eluted * (100.0 - lost), "%", of, step),
            nominal(area / eluted * (100.0 - lost)) * (1.0 + 0.001 * (20 - carbon)),
            lighter_too=carbon == 5,
            hidden=carbon == 6 and name == "oil",
        )
        for carbon, area in areas.items()
    ]
    if residue:
        shares.append(CarbonShare(None, "did not elute", Result(f"residue of {name}", lost, "%", of, step)))
    else:
        shares.append(
            CarbonShare(
                None, "did not elute", Result.missing(f"residue of {name}", "%", of, step, "sample.residue_unknown")
            )
        )
    if centre > 20:
        amount = beyond / eluted * (100.0 - lost)
        shares.append(
            CarbonShare(None, "beyond the ladder", Result(f"beyond the ladder in {name}", amount, "%", of, step))
        )
    edges = [0.0] + [alkane_time(c) + 0.05 for c in CARBONS]
    hump = Result(f"hump of {name}", measured(18.4, 0.7, "following baseline"), "%", of, step)
    share = Result(f"baseline of {name}", measured(31.0, 1.2, "blank"), "%", "raw signal", step)
    return CarbonDistribution(
        of, "after", "equal mass response", tuple(shares), edges, bool(residue), hump, share, step
    )


def cuts_of(name, carbons):
    """The cuts of one sample under three schemes, and how they depend on their limits."""
    found = []
    step = Step("sum cuts/1", (carbons.step,), {"edge": "split"})
    numbered = {share.n: share.mass.amount for share in carbons.numbered()}
    rest = {share.part: share.mass for share in carbons.shares if share.n is None}
    for scheme, public in (
        (CARBON_SCHEME, "carbon-number"),
        (SHORT_SCHEME, SHORT_SCHEME.name),
        (BOILING_SCHEME, "boiling-range"),
    ):
        for limits in scheme.cuts:
            if scheme.kind == "carbon number":
                inside = [a for n, a in numbered.items() if limits.lower <= n <= limits.upper]
            else:  # near enough for a picture: 200 °C is C11 and a fifth, 350 °C C20 and a half
                lower = {-INF: 0.0, 36: 4.9, 200: 11.2, 350: 20.5}[limits.lower]
                upper = {36: 4.9, 200: 11.2, 350: 20.5, INF: 99.0}[limits.upper]
                inside = [a * max(0.0, min(1.0, upper - n + 1) - max(0.0, lower - n + 1)) for n, a in numbered.items()]
            if limits.upper == INF and "beyond the ladder" in rest:
                inside.append(rest["beyond the ladder"].amount)
            amount = total(inside) + measured(0.0, 0.05, "ladder")
            found.append(
                Cut(
                    public,
                    scheme.name,
                    limits.cut,
                    limits.text(scheme.kind),
                    Result(f"{limits.cut} in {name}", amount, "%", name, step),
                )
            )
        residue = rest["did not elute"]
        found.append(Cut(public, scheme.name, "residue", "did not elute", replace(residue, step=step)))
    value = {(c.scheme, c.cut): c.mass.value for c in found}
    spread = []
    for scheme in ("carbon-number", "boiling-range"):
        for cut, low, high in (("gasoline", 0.86, 1.07), ("diesel", 0.93, 1.12), ("wax", 0.71, 1.18)):
            here = value[scheme, cut]
            spread.append(
                Sensitivity(
                    scheme, cut, here, here * low, here * high, (("C5–C11", here * low), ("C5–C13", here * high))
                )
            )
    return tuple(found), tuple(spread)


def a_sample(name, file, centre, spread, residue, ladder=True, points=24_000, seed=7):
    trace, following, whole, peaks = a_trace(file, centre, spread, name, points, seed)
    rungs = a_ladder()
    bare = SampleFindings(
        name, name, "FID", file, trace, following, whole, peaks, ((1.5, 2.15),), None, (), None, (), ()
    )
    if not ladder:
        return bare
    carbons = a_distribution(name, name, centre, spread, trace, rungs, residue)
    cuts, sensitivity = cuts_of(name, carbons)
    checks = (
        Check("resolution of n-C16 and n-C18", 7.2, "1", 3.0, 10.0, True),
        Check("response of n-C40 against n-C10", 0.87, "1", 0.9, 1.1, False, "heavy end reads low"),
        Check("repeat of retention times", None, "min", None, 0.1, None, "one ladder run only"),
    )
    return replace(
        bare,
        ladder=rungs,
        system_check=checks,
        carbons=carbons,
        cuts=cuts,
        sensitivity=sensitivity,
        boiling_curve=a_boiling_curve(name, carbons),
        properties=some_properties(name, carbons),
        cut_properties=some_cut_properties(name, carbons, cuts),
    )


def some_properties(name, carbons):
    """One measured, one estimated, one that is missing."""
    step = Step("estimate properties/1", (carbons.step,))
    density = measured(0.792, 0.001, f"density of {name}")
    heat = measured(46.4, 0.35, "correlation API 14A1.3")
    return (
        Property("density", Result("density", density, "g/mL", name, step), False, "measured"),
        Property("gross_heat_of_combustion", Result("gross heat", heat, "MJ/kg", name, step), True, "API 14A1.3"),
        Property(
            "watson_k", Result.missing("watson k", "1", name, step, "properties.curve_too_short"), True, "by definition"
        ),
    )


def some_cut_properties(name, carbons, cuts):
    """The same properties for every cut by boiling range, the density an estimate."""
    step = Step("estimate cut properties/1", (carbons.step,))
    found = []
    for cut in cuts:
        if cut.scheme != "boiling-range":
            continue
        density = Result("density", measured(0.81, 0.02, "Watson factor of a cut"), "g/mL", name, step)
        first, heat, watson = some_properties(name, carbons)
        own = (replace(first, result=density, estimate=True, method="Watson factor 12.1"), heat, watson)
        found.append(CutProperties(cut.scheme, cut.cut, cut.limits, own))
    return tuple(found)


def a_boiling_curve(name, carbons):
    """A smooth curve that stays open at 97 % of the sample."""
    step = Step("read boiling curve/1", (carbons.step,), cautions=(caution("boiling.did_not_elute", name, first="97"),))
    points = []
    for recovered in (0.5, *(float(p) for p in range(1, 100)), 99.5):
        measurand = f"boiling point at {recovered:g} %"
        at = measured(60.0 + 3.6 * recovered, 1.2, "retention times of the ladder")
        points.append(
            CurvePoint(
                recovered,
                Result(measurand, at, "°C", name, step)
                if recovered < 97
                else Result.missing(measurand, "°C", name, step, "boiling.did_not_elute"),
            )
        )
    return BoilingCurve(name, tuple(points), "n_alkanes, handbook values", True, step)
