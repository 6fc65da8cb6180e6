"""Wax of all oils of a catalogue that tell their n-alkanes, beside pour points and wax contents; writes docs/cold-catalogue.md.

`python tests/published/cold_catalogue.py` writes the page anew.
"""

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import oil_catalogue
from cold_oils import PARTS, TOLERANCE_C, components_of, precipitated, shown
from oil_catalogue import CatalogueOil, catalogue
from scipy.stats import spearmanr

from cutbook.coldflow.cold_doubts import ColdSettings
from cutbook.coldflow.gelling import Gelling, gelling, thick_oil
from cutbook.coldflow.solid_liquid import appearance_k, solid_curve
from cutbook.model.units import KELVIN

PAGE = Path(__file__).resolve().parents[2] / "docs" / "cold-catalogue.md"
LOWEST_C = ColdSettings().lowest_c
DEGREES_C = np.arange(40.0, LOWEST_C - 1.0, -2.0)
NEWER, OLDER = "ESTS 12.11/4.0/M", "ESTS 12.11/2.0/M"


@dataclass(frozen=True)
class ColdRow:
    """One sample: what was measured, and what follows from its n-alkanes down to the lowest temperature listed.

    appears : first wax in °C. codes : of the cautions raised.
    """

    measured: CatalogueOil
    appears: float | None
    gels: Gelling
    precipitated: dict[float, float]
    codes: tuple[str, ...]

    @property
    def gel_c(self):
        return tuple(None if t is None else t - KELVIN for t in self.gels.temperatures_k)

    @property
    def off(self):
        """°C by which the pour point lies above the 1 % (+) or below the 4 % temperature (-), 0 between; None without one."""
        if self.measured.pour is None:
            return None
        first, _, last = self.gel_c
        above = self.measured.pour - (LOWEST_C if first is None else first)
        below = 0.0 if last is None else last - self.measured.pour
        return above if above > 0 else -max(below, 0.0)


def cold_rows():
    found = []
    for one in catalogue():
        oil = components_of(one.assay)
        name = f"{one.assay.oil} ({one.assay.sample})"
        gels = gelling(name, solid_curve(oil, DEGREES_C + KELVIN))
        raised = (*gels.cautions, *thick_oil(name, oil))
        first = appearance_k(oil)
        appears = None if first is None else first - KELVIN
        found.append(ColdRow(one, appears, gels, precipitated(oil), tuple(caution.code for caution in raised)))
    return found


def rank(rows, measured, calculated):
    return float(spearmanr([measured(row) for row in rows], [calculated(row) for row in rows]).statistic)


def first_gel(row):
    return DEGREES_C[-1] - 1.0 if row.gel_c[0] is None else row.gel_c[0]


def pour_point(row):
    return row.measured.pour


def one_an_oil(rows):
    """The first sample of each oil, the least evaporated one."""
    kept = {id(one) for one in oil_catalogue.fresh([row.measured for row in rows])}
    return [row for row in rows if id(row.measured) in kept]


def with_pour(rows):
    return [row for row in rows if row.measured.pour is not None]


def with_wax(rows, method=""):
    return [row for row in rows if row.measured.wax is not None and method in row.measured.wax_method]


def silently_off(rows):
    """Samples placed on the wrong side of their pour point by more than is tolerated, without a caution."""
    return [row for row in with_pour(rows) if abs(row.off) > TOLERANCE_C and not row.codes]


def wax_ranks(rows):
    """Rank correlation of the wax content with the wax from a solvent, by parts of it."""
    return {
        parts: rank(rows, lambda row: row.measured.wax, lambda row, parts=parts: row.precipitated[parts])
        for parts in PARTS
    }


def page(rows):
    pour, bare = with_pour(rows), [row for row in with_pour(rows) if not row.codes]
    silent = silently_off(rows)
    undrawn = [row for row in pour if row.codes in ((), ("cold.thick_oil",))]
    lines = [
        "# Wax of a catalogue of oils",
        "",
        f"What `cutbook` says of all oils of the Environment Canada catalogue that tell at least {oil_catalogue.FEWEST_ALKANES} n-alkanes and a boiling curve, {len(one_an_oil(rows))}",
        f"oils in {len(rows)} samples, fresh and evaporated, beside what was measured. The nine of `cold-oils.md` are among them. Written by",
        "`tests/published/cold_catalogue.py`; a test holds it up to date. Numbers: `tests/published/data/15_oil_catalogue.csv`.",
        f"Temperatures in °C, shares in % by mass. 1 %, 4 %: where so much is solid; – where it is not above {LOWEST_C} °C, the lowest that is",
        "listed. Off: by how much the pour point lies above the 1 % (+) or below the 4 % temperature (-). From solvent: wax that ten",
        "parts of a solvent precipitate from one of oil at -32 °C. Thick: mPa·s at 15 °C.",
        "",
        "## Pour points",
        f"Rank correlation of the 1 % temperature with the pour point: {rank(pour, pour_point, first_gel):.2f} over {len(pour)} samples, {rank(bare, pour_point, first_gel):.2f} over the {len(bare)} that carry no",
        f"caution, {rank(one_an_oil(bare), pour_point, first_gel):.2f} over the first of these of each of {len(one_an_oil(bare))} oils: what the 1 % tells best is how one oil changes as it loses its light",
        f"ends, and where an oil is waxy. Of the {len(bare)}, {len(bare) - len(silent)} lie within {TOLERANCE_C:g} °C of the range between the 1 and the 4 % temperature. The others:",
        "",
    ]
    lines += [
        f"- {row.measured.assay.oil}, evaporated {shown(row.measured.assay.evaporated, 1)} %: pours down to {row.measured.pour:.0f}, 1 % at {row.gel_c[0]:.0f}, "
        f"{shown(row.measured.viscosity)} mPa·s at 15 °C"
        for row in silent
    ]
    lines += [
        "",
        "What stops a thick oil from pouring is that it is thick, and of that its n-alkanes say nothing: bitumens and residual fuels",
        "carry `cold.too_little_wax` or `cold.thick_oil`. One residual fuel has a boiling curve that leaves its residue out.",
        "The limit of `cold.thick_oil` was drawn on these same oils, so they are no proof of it; without it the correlation",
        f"is {rank(undrawn, pour_point, first_gel):.2f} over {len(undrawn)} samples, and {sum(abs(row.off) > TOLERANCE_C for row in undrawn)} of them lie more than {TOLERANCE_C:g} °C off.",
        "",
        "## Wax contents",
        "Rank correlation with the wax from a solvent, by parts of solvent to one of oil, by samples:",
        "",
        "| samples | number | " + " | ".join(f"{parts:g}" for parts in PARTS) + " |",
        "| --- | --- |" + " --- |" * len(PARTS),
    ]
    for name, some in (
        ("all", with_wax(rows)), ("one an oil", one_an_oil(with_wax(rows))), (f"by {OLDER}", with_wax(rows, OLDER)),
        (f"by {NEWER}", with_wax(rows, NEWER)),
    ):  # fmt: skip
        lines.append(f"| {name} | {len(some)} | " + " | ".join(f"{r:.2f}" for r in wax_ranks(some).values()) + " |")
    lines += [
        "",
        f"By the newer of the laboratory's two methods, {len(one_an_oil(with_wax(rows, NEWER)))} oils so far, the wax content ranks them as their n-alkanes do; by the",
        "older one it does not, and hardly could, for it repeats itself badly: Alaska North Slope has 2.6 % in 2002 and 4.0 % in 2015,",
        "with fewer n-alkanes, two samples of the fuel of one ship 0.4 and 7.0 %. The laboratory itself names the cause: resins that",
        "come down with the wax, and oil that is caught in it (Jokuty et al., Spill Sci. Technol. Bull. 3 (1996) 195).",
        "",
        "| oil | evaporated | thick | appears | 1 % | 4 % | pour point | off | wax | method | from solvent | caution |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for row in rows:
        one, (first, _, last) = row.measured, row.gel_c
        off = "–" if row.off is None else f"{round(row.off):+d}" if round(row.off) else "0"
        lines.append(
            f"| {one.assay.oil} | {shown(one.assay.evaporated, 1)} | {shown(one.viscosity)} | {shown(row.appears)} | {shown(first)} | {shown(last)} | "
            f"{shown(one.pour)} | {off} | {shown(one.wax, 1)} | {one.wax_method.removeprefix('ESTS ')} | "
            f"{row.precipitated[10.0]:.2f} | {', '.join(row.codes)} |"
        )
    return "\n".join([*lines, ""])


if __name__ == "__main__":
    PAGE.write_text(page(cold_rows()), encoding="utf-8")
    sys.stdout.write(f"{PAGE}\n")
