"""Wax of nine oils of Environment Canada from their n-alkanes, beside pour points and wax contents; writes docs/cold-oils.md.

`python tests/published/cold_oils.py` writes the page anew.
"""

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from petroleum_assay import FOLDER, all_samples, read_value, rows_of

from cutbook.coldflow.gelling import Gelling, gelling, thick_oil
from cutbook.coldflow.solid_liquid import appearance_k, solid_curve
from cutbook.coldflow.wax_formers import tail_cautions
from cutbook.model.cold import Components, SolidCurve
from cutbook.model.tables import reference

PAGE = Path(__file__).resolve().parents[2] / "docs" / "cold-oils.md"
KELVIN = 273.15
DEGREES_C = np.arange(70.0, -91.0, -1.0)
HEAVY_CARBONS = 50.0  # what boils above the end of the curve
SLICES = np.arange(1.0, 100.0, 2.0)
TOLERANCE_C = 15.0
DEWAXING_C = -32.0  # ASTM D721 and D3235; the laboratory's own number is not in the catalogue
SOLVENT_CARBONS, SOLVENT_MOLAR_MASS = (
    5.4,
    78.0,
)  # methyl ethyl ketone and dichloromethane, half and half, as an ideal liquid
PARTS = (0.0, 3.0, 10.0, 30.0)  # of solvent to one of oil; 10 to 20 mL a gram is common practice, from memory


@dataclass(frozen=True)
class ColdOil:
    """One sample: what was measured and what follows from its n-alkanes. Temperatures in °C, shares in %.

    alkanes, heavy_alkanes : n-alkanes, and those from C20 on. precipitated : parts of solvent -> wax that a cold solvent precipitates, in % of the oil.
    codes : of the cautions raised.
    """

    oil: str
    sample: str
    evaporated: float | None
    alkanes: float
    heavy_alkanes: float
    pour: float
    wax: float | None
    asphaltenes: float | None
    appears: float
    curve: SolidCurve
    gels: Gelling
    precipitated: dict[float, float]
    codes: tuple[str, ...]

    @property
    def at_pour(self):
        """Solid at the measured pour point in %."""
        t = np.asarray(self.curve.temperature_k)[::-1] - KELVIN
        return 100.0 * float(np.interp(self.pour, t, np.asarray(self.curve.solid)[::-1]))

    @property
    def gel_c(self):
        return tuple(None if t is None else t - KELVIN for t in self.gels.temperatures_k)

    @property
    def wrong_side(self):
        """°C by which the measured pour point lies outside what the wax says: above its first gel or below its last."""
        first, _, last = self.gel_c
        above = self.pour - (first if first is not None else self.gels.lowest_k - KELVIN)
        below = (last - self.pour) if last is not None else 0.0
        return max(above, below, 0.0)


def components_of(sample):
    """n-Alkanes as reported; the rest spread over carbon numbers by the boiling curve, as n-alkanes would boil."""
    boiling = reference("n_alkanes").numbers("carbon_number", "boiling_c")
    alkanes = {n: value / 1e6 for n, value in sample.known(sample.alkanes).items() if n in boiling and value > 0}
    off, cumulative = sample.known(sample.off), sample.known(sample.cumulative)
    points = sorted(off.items()) if off else sorted((share, t) for t, share in cumulative.items())
    recovered, t = (np.array(column) for column in zip(*points, strict=True))
    at = np.interp(SLICES, recovered, t)
    rest = np.interp(at, np.array(list(boiling.values())), np.array(list(boiling.keys()), dtype=float))
    rest = np.where(recovered.max() >= SLICES, rest, HEAVY_CARBONS)
    carbons = np.concatenate([np.array(list(alkanes), dtype=float), rest])
    left = (1.0 - sum(alkanes.values())) / len(rest)
    mass = np.concatenate([np.array(list(alkanes.values())), np.full(len(rest), left)])
    families = ("n-alkane",) * len(alkanes) + ("rest",) * len(rest)
    return Components(carbons, families, mass / mass.sum(), 14.027 * carbons + 2.016)


def of_residue(sample, name, oil):
    """Cautions of an oil that residue makes thick, or may: where the boiling points are of what eluted alone."""
    unknown = () if sample.residue_known else tail_cautions(name, None, max(sample.known(sample.alkanes)))
    return (*thick_oil(name, oil), *unknown)


def precipitated(oil):
    """Wax in % of the oil that comes out of a cold solution of it, by parts of solvent to one of oil."""
    found = {}
    for parts in PARTS:
        carbons, mass, molar = (
            np.append(np.asarray(column), more)
            for column, more in (
                (oil.carbons, SOLVENT_CARBONS), (oil.mass_fraction, parts), (oil.molar_mass, SOLVENT_MOLAR_MASS)
            )
        )  # fmt: skip
        solution = Components(carbons, (*oil.families, "rest"), mass / mass.sum(), molar)
        found[parts] = 100.0 * (1.0 + parts) * float(solid_curve(solution, [DEWAXING_C + KELVIN]).solid[0])
    return found


def measured(group):
    found = {}
    for path in sorted(FOLDER.glob("eccc_*.csv")):
        for row in rows_of(path):
            if group(row):
                value = read_value(row["value"], row["standard_deviation"])
                if value.status == "value":
                    found.setdefault(row["ests_id"], value.value)
    return found


def cold_oils():
    """Every sample with n-alkanes, a boiling curve and a measured pour point, and what is lacking -> names of those without."""
    pour = measured(lambda row: row["property_group"] == "Pour Point")
    wax = measured(lambda row: row["property_group"] == "Wax Content")
    asphaltenes = measured(lambda row: row["property_name"] == "Asphaltenes")
    found, left_out = [], {}
    for sample in all_samples():
        alkanes = sample.known(sample.alkanes)
        name = f"{sample.oil} ({sample.sample})"
        if len(alkanes) < 20 or sample.sample not in pour:
            lacks = "n-alkanes" if len(alkanes) < 20 else "pour point"
            left_out.setdefault(lacks, []).append(name)
            continue
        oil = components_of(sample)
        curve = solid_curve(oil, DEGREES_C + KELVIN)
        gels = gelling(name, curve)
        found.append(
            ColdOil(
                sample.oil,
                sample.sample,
                sample.evaporated,
                sum(alkanes.values()) / 1e4,
                sum(value for n, value in alkanes.items() if n >= 20) / 1e4,
                pour[sample.sample],
                wax.get(sample.sample),
                asphaltenes.get(sample.sample),
                appearance_k(oil) - KELVIN,
                curve,
                gels,
                precipitated(oil),
                tuple(caution.code for caution in (*gels.cautions, *of_residue(sample, name, oil))),
            )  # fmt: skip
        )
    return found, left_out


def rank_correlations(oils):
    from scipy.stats import spearmanr

    floor = float(DEGREES_C[-1])
    pour = [one.pour for one in oils]
    with_wax = [one for one in oils if one.wax is not None]
    wax = [one.wax for one in with_wax]

    def rank(calculated):
        return float(spearmanr(wax, calculated).statistic)

    return {
        "appearance": float(spearmanr(pour, [one.appears for one in oils]).statistic),
        "first gel": float(
            spearmanr(pour, [floor if one.gel_c[0] is None else one.gel_c[0] for one in oils]).statistic
        ),
        "precipitated": {parts: rank([one.precipitated[parts] for one in with_wax]) for parts in PARTS},
        "n-alkanes and wax content": rank([one.alkanes for one in with_wax]),
    }


def shown(value, digits=0):
    return "–" if value is None else f"{value:.{digits}f}"


def page():
    oils, left_out = cold_oils()
    ranks = rank_correlations(oils)
    times = [one.wax / one.heavy_alkanes for one in oils if one.wax is not None]
    lines = [
        "# Wax of known oils",
        "",
        "What `cutbook` says of nine oils of the Environment Canada catalogue, fresh and evaporated, from their n-alkanes C8 to",
        "C44 and boiling curves alone, beside what was measured. Written by `tests/published/cold_oils.py`; a test holds it up to",
        "date. All oils, more coarsely, and what the cautions mean: `cold-catalogue.md`, where the listing ends at -40 °C.",
        "",
        "Temperatures in °C, shares in % by mass. Appears: first wax. 1 %, 2 %, 4 %: where so much is solid, the range in which oils",
        "stop pouring; – where it is not above -90 °C. At pour: solid at the measured pour point. Off: by how much the pour point",
        "lies above the 1 % temperature, or -90 °C where there is none, or below the 4 %. From solvent: wax that ten parts of a",
        "solvent precipitate from one of oil at -32 °C.",
        "",
        "| oil | evaporated | n-alkanes | appears | 1 % | 2 % | 4 % | pour point, measured | at pour | off | wax, measured | from solvent | caution |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for one in oils:
        first, second, last = (shown(t) for t in one.gel_c)
        lines.append(
            f"| {one.oil} | {shown(one.evaporated, 1)} | {one.alkanes:.2f} | {one.appears:.0f} | {first} | {second} | {last} | "
            f"{one.pour:.0f} | {one.at_pour:.2f} | {one.wrong_side:.0f} | {shown(one.wax, 1)} | {one.precipitated[10.0]:.2f} | {', '.join(one.codes)} |"
        )
    lines += [
        "",
        f"Rank correlation with the measured pour point over {len(oils)} samples: {ranks['appearance']:.2f} of the appearance",
        f"temperature, {ranks['first gel']:.2f} of the 1 % temperature.",
        "",
        f"A wax content is what a cold solvent leaves undissolved, so it is held against the oil in a solvent at {DEWAXING_C:g} °C, which keeps",
        "the short chains in solution. Rank correlation with the measured wax content by parts of solvent to one of oil (the catalogue",
        "does not say how many its laboratory takes): "
        + ", ".join(f"{parts:g}: {r:.2f}" for parts, r in ranks["precipitated"].items())
        + f"; of the sum of all n-alkanes {ranks['n-alkanes and wax content']:.2f}.",
        f"How much the wax content is cannot be told from n-alkanes: it is {min(times):.1f} to {max(times):.1f} times those from C20 on, for branched chains and",
        "rings come out with them, and oil and resins are caught between the crystals (Jokuty et al., Spill Sci. Technol. Bull. 3 (1996)",
        "195, of the same laboratory).",
        "",
        "Not in the table, since the catalogue lacks something: "
        + "; ".join(f"{what} of {', '.join(names)}" for what, names in left_out.items())
        + ".",
        "",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    sys.stdout.write(f"{PAGE}\n")
