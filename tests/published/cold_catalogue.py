"""Wax of all oils of a catalogue that tell their n-alkanes, beside pour points and wax contents; writes docs/cold-catalogue.md.

`python tests/published/cold_catalogue.py` writes the page anew.
"""

import math
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import oil_catalogue
from cold_oils import PARTS, TOLERANCE_C, components_of, of_residue, precipitated, shown
from oil_catalogue import CatalogueOil, catalogue
from petroleum_assay import OF_WHAT_ELUTED
from scipy.stats import spearmanr

from cutbook.coldflow.cold_doubts import ColdSettings
from cutbook.coldflow.cold_storage import COVERAGE
from cutbook.coldflow.gelling import Gelling, gelling, hardly_enough_wax
from cutbook.coldflow.solid_liquid import appearance_k, solid_curve
from cutbook.coldflow.solid_properties import constant
from cutbook.model.units import KELVIN

PAGE = Path(__file__).resolve().parents[2] / "docs" / "cold-catalogue.md"
LOWEST_C = ColdSettings().lowest_c
DEGREES_C = np.arange(40.0, LOWEST_C - 1.0, -2.0)
BAND_K = COVERAGE * constant("model_u")  # of the equilibrium: the doubt of the n-alkanes is not in the catalogue
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
        raised = (*gels.cautions, *hardly_enough_wax(name, gels, BAND_K), *of_residue(one.assay, name, oil))
        first = appearance_k(oil)
        appears = None if first is None else first - KELVIN
        found.append(ColdRow(one, appears, gels, precipitated(oil), tuple(caution.code for caution in raised)))
    return found


def rank(rows, measured, calculated):
    return float(spearmanr([measured(row) for row in rows], [calculated(row) for row in rows]).statistic)


def first_gel(row):
    return LOWEST_C - 1.0 if row.gel_c[0] is None else row.gel_c[0]


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


def far_off(rows):
    return sum(abs(row.off) > TOLERANCE_C for row in rows)


def off_of(rows, oil):
    return [row.off for row in rows if row.measured.assay.oil == oil]


def by_caution(rows):
    """Each caution, the samples with a pour point that carry it, and those that carry no other."""
    pour = with_pour(rows)
    for code in ("cold.too_little_wax", "cold.hardly_enough_wax", "cold.thick_oil", "cold.tail_unknown"):
        yield code, [row for row in pour if code in row.codes], [row for row in pour if row.codes == (code,)]


def wax_ranks(rows):
    """Rank correlation of the wax content with the wax from a solvent, by parts of it."""
    return {
        parts: rank(rows, lambda row: row.measured.wax, lambda row, parts=parts: row.precipitated[parts])
        for parts in PARTS
    }


def page(rows):
    pour, bare = with_pour(rows), [row for row in with_pour(rows) if not row.codes]
    told = [row for row in pour if row.codes]
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
        f"Of {len(pour)} samples with a pour point {len(bare)} carry no caution. Each of these lies within {math.ceil(max(abs(row.off) for row in bare))} °C of the range between the 1 and",
        f"the 4 % temperature. Rank correlation of the 1 % temperature with the pour point: {rank(bare, pour_point, first_gel):.2f} over them, {rank(one_an_oil(bare), pour_point, first_gel):.2f} over the first",
        f"sample of each of their {len(one_an_oil(bare))} oils, {rank(pour, pour_point, first_gel):.2f} over all {len(pour)}. The others are told that something else than wax may stop them:",
        "",
        "| caution | samples | of these more than 15 °C off | with this caution alone | of these more than 15 °C off |",
        "| --- | --- | --- | --- | --- |",
    ]
    for code, so, alone in by_caution(rows):
        lines.append(f"| `{code}` | {len(so)} | {far_off(so)} | {len(alone)} | {far_off(alone)} |")
    lines += [
        f"| any | {len(told)} | {far_off(told)} | – | – |",
        "",
        "- `cold.too_little_wax`: 1 % is not solid down to -40 °C. Such an oil pours on until it thickens, or until wax other than n-alkanes",
        "  sets it.",
        "- `cold.hardly_enough_wax`: 1 % is reached, but within the doubt of the equilibrium (± 6 °C; that of the n-alkanes is not in the",
        f"  catalogue) it may not be. It is one sample, Odoptu evaporated by 41.2 %, {off_of(rows, 'Odoptu')[-1]:.0f} °C off, and the caution was made on seeing it: no proof.",
        "  Its pour point is in line with those of the same oil less evaporated (-48, -42, -29 °C), and at 38 mPa·s it is not thick; with",
        "  12.1 % of wax but 1.8 % of n-alkanes, what sets it must be branched chains and rings.",
        "- `cold.thick_oil`: residue makes it thick. The limit was drawn on these oils, so they are no proof of it; without it the",
        f"  correlation is {rank(undrawn, pour_point, first_gel):.2f} over {len(undrawn)} samples, and {far_off(undrawn)} of them lie more than {TOLERANCE_C:g} °C off.",
        f"- `cold.tail_unknown`: the boiling curve is by {OF_WHAT_ELUTED}, for samples that elute whole, up to 538 °C: what stays in the",
        "  column it does not see. `cutbook` says the same of a trace without internal standard. Bunker C MV Manolis is told to be 99.5 % off",
        f"  at 504 °C, evaporated at 501 °C, though 13 and 21 % of it are asphaltenes; it lies {' and '.join(f'{off:.0f}' for off in off_of(rows, 'Bunker C MV Manolis'))} °C off. Two blends of bitumen end at",
        "  511 to 527 °C by D7169, which should tell the residue, with 13 to 27 % of asphaltenes; they carry the first caution.",
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
        "older one it does not, for that repeats itself badly: Alaska North Slope has 2.6 % in 2002 and 4.0 % in 2015, with fewer",
        "n-alkanes. The laboratory names the cause: resins that come down with the wax, and oil that is caught in it (Jokuty et al.,",
        "Spill Sci. Technol. Bull. 3 (1996) 195).",
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
