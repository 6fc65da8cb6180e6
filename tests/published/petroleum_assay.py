"""Read the catalogue rows of crude oils as what they mean: a value, a limit, nothing found, not measurable, missing."""

import csv
import re
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[3] / "shared" / "data" / "petroleum-assays"
NUMBER = r"-?(?:0|[1-9]\d*)(?:\.\d+)?(?:E[+-]\d+)?"
NOT_MEASURABLE = {"too viscous", "nm", "no flash"}
NOT_DETECTED = {"nd"}
MISSING = {"", "n/a", "none"}
OF_WHAT_ELUTED = "ASTM D2887"
"""For samples that elute whole, up to 538 °C (its section 1); D7169 extends it to those that do not, by an external standard."""


@dataclass(frozen=True)
class AssayValue:
    """One cell. status : "value", "below limit", "above limit", "not detected", "not measurable", "missing", "text".

    value : only with status "value". limit : with the two limits. text : as written.
    """

    status: str
    text: str
    value: float | None = None
    limit: float | None = None


def read_value(text: str, spread: str = "") -> AssayValue:
    """A cell of the column value; an empty one says in the column of its standard deviation why it is empty."""
    cell = text.strip()
    if cell.casefold() in MISSING and spread.strip().casefold() in NOT_MEASURABLE:
        cell = spread.strip()
    plain = cell.casefold()
    if plain in MISSING:
        return AssayValue("missing", cell)
    if plain in NOT_DETECTED:
        return AssayValue("not detected", cell)
    if plain in NOT_MEASURABLE:
        return AssayValue("not measurable", cell)
    if re.fullmatch(NUMBER, cell):
        return AssayValue("value", cell, value=float(cell))
    if re.fullmatch("[<>]" + NUMBER, cell):
        return AssayValue("below limit" if cell[0] == "<" else "above limit", cell, limit=float(cell[1:]))
    return AssayValue("text", cell)


@dataclass
class AssaySample:
    """One oil as received or evaporated. evaporated : % of its mass, None where not said. method : of the boiling points.

    off : recovered % -> °C. cumulative : °C -> % of the mass. alkanes : carbon number -> µg/g.
    densities : °C -> g/mL. gravity : °API.
    """

    oil: str
    sample: str
    evaporated: float | None
    method: str = ""
    off: dict[float, AssayValue] = field(default_factory=dict)
    cumulative: dict[float, AssayValue] = field(default_factory=dict)
    alkanes: dict[int, AssayValue] = field(default_factory=dict)
    densities: dict[float, AssayValue] = field(default_factory=dict)
    gravity: AssayValue = AssayValue("missing", "")

    @property
    def residue_known(self):
        """Whether the boiling points are of the whole oil, not of what eluted."""
        return self.method != OF_WHAT_ELUTED

    def known(self, table):
        return {key: cell.value for key, cell in sorted(table.items()) if cell.status == "value"}


def rows_of(path: Path):
    with path.open(encoding="utf-8-sig", newline="") as table:
        yield from csv.DictReader(table)


def samples_of(path: Path) -> list[AssaySample]:
    """The samples of one oil, fresh first."""
    found: dict[str, AssaySample] = {}
    methods = defaultdict(set)
    for row in rows_of(path):
        name, oil = row["ests_id"], row["oil_name"]
        if name not in found:
            lost = read_value(row["weathering_percent"].strip().rstrip("%"))
            found[name] = AssaySample(oil, name, lost.value)
        sample, group, what = found[name], row["property_group"], row["property_name"]
        cell = read_value(row["value"], row["standard_deviation"])
        if group == "Boiling Point Distribution, Temperature":
            at = {"Initial Boiling Point": 0.5, "Final Boiling Point": 99.5}.get(what)
            sample.off[at if at is not None else float(what.rstrip("%"))] = cell
        elif group == "Boiling Point Cumulative Weight Fraction":
            sample.cumulative[float(row["temperature"])] = cell
        elif group == "n-Alkanes" and re.fullmatch(r"n-C\d+", what):
            sample.alkanes[int(what[3:])] = cell
        elif group == "Density":
            sample.densities[float(row["temperature"].rstrip("°C"))] = cell
        elif group == "API Gravity":
            sample.gravity = cell
        if group.startswith("Boiling Point") and cell.status in ("value", "above limit"):
            methods[name].add(row["method"])
    for name, sample in found.items():
        sample.method = " and ".join(
            sorted({" ".join(one.replace("ASTM D ", "ASTM D").split()) for one in methods[name]})
        )
    return sorted(found.values(), key=lambda one: one.evaporated or 0.0)


def all_samples() -> list[AssaySample]:
    return [sample for path in sorted(FOLDER.glob("eccc_*.csv")) for sample in samples_of(path)]
