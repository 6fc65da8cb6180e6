"""First wax and solid of mixtures weighed out from n-alkanes, beside what was measured; writes docs/wax-mixtures.md.

`python tests/published/wax_mixtures.py` writes the page anew.
"""

import csv
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cutbook.coldflow.gelling import share_temperature_k
from cutbook.coldflow.solid_liquid import EquilibriumSettings, appearance_k, solid_curve
from cutbook.model.cold import Components

DATA = Path(__file__).parent / "data" / "09c_wax_mixtures.csv"
PAGE = Path(__file__).resolve().parents[2] / "docs" / "wax-mixtures.md"
KELVIN = 273.15
DEGREES_C = np.arange(50.0, -31.0, -1.0)
TAKEN = EquilibriumSettings()
SOLUTION, ALONE = (EquilibriumSettings(solid=form) for form in ("solid solution", "pure solids"))
GELLING = (1.0, 4.2)  # % of the mass: where 1, 2 and 4 % are read off
PARTS = np.linspace(0.02, 0.98, 33)


def rows(data_set, quantity, mixture=None):
    with DATA.open(encoding="utf-8") as table:
        return [
            row for row in csv.DictReader(table)
            if (row["data_set"], row["quantity"]) == (data_set, quantity) and mixture in (None, row["mixture"])
        ]  # fmt: skip


def chain_of(name):
    return int(name.removeprefix("n-C"))


def n_alkanes(shares):
    """A mixture of n-alkanes from carbon number -> share of the mass."""
    carbons = np.array(sorted(shares), dtype=float)
    mass = np.array([shares[n] for n in sorted(shares)], dtype=float)
    molar = 12.011 * carbons + 1.008 * (2 * carbons + 2)
    return Components(carbons, ("n-alkane",) * len(carbons), mass / mass.sum(), molar)


@dataclass(frozen=True)
class Mixture:
    """One synthetic wax. disappears : measured, °C. solid : °C -> %, measured. solution, alone : first wax, °C."""

    name: str
    oil: Components
    disappears: float
    solid: dict[float, float]
    solution: float
    alone: float

    def calculated(self):
        """Solid in % at the temperatures at which it was measured."""
        curve = solid_curve(self.oil, np.array(list(self.solid)) + KELVIN)
        return 100.0 * np.asarray(curve.solid)

    def gelling(self):
        """(Measured share in %, °C at which it was measured, °C at which it is calculated) within the gelling range."""
        curve = solid_curve(self.oil, DEGREES_C + KELVIN)
        return [
            (share, t, share_temperature_k(curve, share / 100.0) - KELVIN)
            for t, share in self.solid.items() if GELLING[0] <= share <= GELLING[1]
        ]  # fmt: skip


def composition(data_set, mixture):
    found = rows(data_set, "composition", mixture)
    return {chain_of(row["component"]): float(row["value"]) for row in found}


def mixtures():
    found = []
    for row in rows("G", "wax disappearance temperature"):
        name = row["mixture"]
        oil = n_alkanes(composition("G", name))
        solid = {float(point["at"]): float(point["value"]) for point in rows("G", "solid", name)}
        first = [appearance_k(oil, how) - KELVIN for how in (SOLUTION, ALONE)]
        found.append(Mixture(name, oil, float(row["value"]), solid, *first))
    return found


@dataclass(frozen=True)
class Pair:
    """Two n-alkanes. at, measured : composition and temperature in °C of the lowest melting mixture.

    solution, taken : the lowest first wax of all mixtures with a solid solution, and with the solid that appears first.
    there : the latter for the mixture that was found to be the lowest.
    """

    name: str
    at: str
    measured: float
    solution: float
    taken: float
    there: float


def pairs():
    found = []
    for data_set in "IJK":
        for row in rows(data_set, "lowest melting temperature"):
            light, heavy = (chain_of(part) for part in row["mixture"].split(" + "))
            by_mole = row["at_unit"] == "mole %"
            measured = float(row["value"]) - (KELVIN if row["unit"] == "K" else 0.0)
            solution, taken = (
                min(appearance_k(two_n_alkanes(light, heavy, part, by_mole), how) for part in PARTS) - KELVIN
                for how in (SOLUTION, TAKEN)
            )
            there = appearance_k(two_n_alkanes(light, heavy, float(row["at"]) / 100.0, by_mole)) - KELVIN
            at = f"{float(row['at']):g} {row['at_unit']} {row['component']}"
            found.append(Pair(row["mixture"], at, measured, solution, taken, there))
    return found


def two_n_alkanes(light, heavy, part, by_mole):
    weights = {n: 14.027 * n + 2.016 if by_mole else 1.0 for n in (light, heavy)}
    return n_alkanes({light: (1.0 - part) * weights[light], heavy: part * weights[heavy]})


def mean(values):
    return float(np.mean(np.abs(values)))


def off(calculated, measured):
    return f"{round(calculated - measured, 1) + 0.0:+.1f}"


def page(waxes, two):
    lines = [
        "# Wax of known mixtures",
        "",
        "What `cutbook` calculates for mixtures that were weighed out from n-alkanes, beside what was measured on them. Written by",
        "`tests/published/wax_mixtures.py`; a test holds it up to date. Temperatures in °C. Numbers and sources:",
        "`tests/published/data/09c_wax_mixtures.csv`; two transcriptions of the first mixture agree. No parameter was fitted.",
        "",
        "## Five synthetic waxes in n-decane",
        "n-C18 to n-C36, 34 to 36 % of the mass; Bim 0 falls off evenly, the others lack 3 to 13 carbon numbers in the middle",
        "(Dauphin et al. 1999, da Silva et al. 2017).",
        "",
        "| mixture | wax goes on warming, measured | solid solution | off | pure solids | off |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    lines += [
        f"| {one.name} | {one.disappears:.1f} | {one.solution:.1f} | {off(one.solution, one.disappears)} | "
        f"{one.alone:.1f} | {off(one.alone, one.disappears)} |"
        for one in waxes
    ]
    lines += [
        "",
        f"Mean deviation {mean([one.solution - one.disappears for one in waxes]):.1f} °C of the solid solution, "
        f"{mean([one.alone - one.disappears for one in waxes]):.1f} °C of pure solids.",
        "",
        "| mixture | at | solid, measured | calculated | off |",
        "| --- | --- | --- | --- | --- |",
    ]
    for one in waxes:
        lines += [
            f"| {one.name} | {t:g} | {share:.1f} | {ours:.1f} | {off(ours, share)} |"
            for (t, share), ours in zip(one.solid.items(), one.calculated(), strict=True)
        ]
    solid = np.concatenate([one.calculated() - np.array(list(one.solid.values())) for one in waxes])
    gels = [ours - t for one in waxes for _, t, ours in one.gelling()]
    lines += [
        "",
        f"The solid is too much, by {mean(solid):.1f} % of the mass on average and up to {solid.max():.1f}: Wilson's equation mixes short and long",
        "chains in one crystal more readily than they do. The authors' own calculation with it is as much too high for Bim 0, and",
        "`cutbook` agrees with that within 1 % of the chains. Where 1 to 4 % are solid, the range in which oils stop pouring, the",
        f"temperature is off by {mean(gels):.1f} °C on average and {np.abs(gels).max():.1f} at most.",
        "",
        "## Two n-alkanes",
        "The lowest temperature at which any mixture of the two is still all liquid: with a solid solution; as taken by `cutbook`, with",
        "the solid that appears first; and as taken at the composition that was found to be lowest. The minimum is flat.",
        "",
        "| pair | composition | measured | solid solution | off | as taken | off | at the composition | off |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    lines += [
        f"| {one.name} | {one.at} | {one.measured:.1f} | {one.solution:.1f} | {off(one.solution, one.measured)} | {one.taken:.1f} | "
        f"{off(one.taken, one.measured)} | {one.there:.1f} | {off(one.there, one.measured)} |"
        for one in two
    ]
    lines += [
        "",
        f"Mean deviation {mean([one.solution - one.measured for one in two]):.1f} °C of the solid solution, "
        f"{mean([one.taken - one.measured for one in two]):.1f} °C as taken, {mean([one.there - one.measured for one in two]):.1f} °C at the composition.",
        "The reading of n-C22 + n-C30 lies above the melting point of pure n-C22 (43.8 °C), so part of its difference is the",
        "thermal analysis.",
        "",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    PAGE.write_text(page(mixtures(), pairs()), encoding="utf-8")
    sys.stdout.write(f"{PAGE}\n")
