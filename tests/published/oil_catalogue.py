"""Oils of Environment Canada's catalogue with n-alkanes, boiling curve and what was measured of their cold behaviour.

`python tests/published/oil_catalogue.py CATALOGUE.csv` writes the extract anew from `data/env_canada/opp_data_catalogue_en.csv`
of the sdist of adios_db 1.2.7.
"""

import csv
import sys
from dataclasses import dataclass
from pathlib import Path

from petroleum_assay import AssaySample, read_value, rows_of, samples_of

EXTRACT = Path(__file__).parent / "data" / "15_oil_catalogue.csv"
SOURCE = "Environment Canada, oil properties database, as carried by adios_db 1.2.7 (CC0)"
COLUMNS = (
    "oil", "sample", "evaporated_percent", "alkanes_ug_g", "boiling", "boiling_c", "boiling_method", "pour_point_c",
    "wax_percent", "wax_method", "asphaltenes_percent", "viscosity_15c_mpa_s", "source", "source_kind",
)  # fmt: skip
FEWEST_ALKANES, FEWEST_POINTS = 20, 3


@dataclass(frozen=True)
class CatalogueOil:
    """One sample and what was measured on it: pour point in °C, wax and asphaltenes in %, viscosity in mPa·s at 15 °C.

    wax_method : number of the laboratory's method. None where nothing, or only a limit, is told.
    """

    assay: AssaySample
    pour: float | None
    wax: float | None
    wax_method: str
    asphaltenes: float | None
    viscosity: float | None


def catalogue():
    with EXTRACT.open(encoding="utf-8", newline="") as table:
        return [_oil(row) for row in csv.DictReader(table)]


def fresh(oils):
    """The first sample of each oil, the least evaporated one."""
    first = {}
    for one in oils:
        first.setdefault(one.assay.oil, one)
    return list(first.values())


def _oil(row):
    assay = AssaySample(row["oil"], row["sample"], _number(row["evaporated_percent"]), row["boiling_method"])
    assay.alkanes = {int(n): read_value(text) for n, text in _pairs(row["alkanes_ug_g"])}
    points = {float(key): read_value(text) for key, text in _pairs(row["boiling_c"])}
    if row["boiling"] == "°C by % off":
        assay.off = points
    else:
        assay.cumulative = points
    pour, wax, asphaltenes, viscosity = (
        _number(row[column]) for column in ("pour_point_c", "wax_percent", "asphaltenes_percent", "viscosity_15c_mpa_s")
    )
    return CatalogueOil(assay, pour, wax, row["wax_method"], asphaltenes, viscosity)


def _number(text):
    return read_value(text).value


def _pairs(text):
    return [part.split(":") for part in text.split(" ") if part]


def _joined(table):
    return " ".join(f"{key:g}:{value:g}" for key, value in table.items())


def _measured(path, group):
    """The first reading of each sample, with its method."""
    found = {}
    for row in rows_of(path):
        if group(row):
            cell = read_value(row["value"], row["standard_deviation"])
            if cell.status == "value":
                found.setdefault(row["ests_id"], (cell.text, row["method"]))
    return found


def extract(path):
    """Rows of the extract: samples with enough n-alkanes and boiling points, and a pour point or a wax content."""
    pour = _measured(path, lambda row: row["property_group"] == "Pour Point")
    wax = _measured(path, lambda row: row["property_group"] == "Wax Content")
    asphaltenes = _measured(path, lambda row: row["property_name"].startswith("Asphaltene"))
    viscosity = _measured(
        path, lambda row: row["property_group"].startswith("Dynamic Viscosity") and row["temperature"] == "15°C"
    )
    for sample in samples_of(path):
        alkanes = sample.known(sample.alkanes)
        kind, points = ("°C by % off", sample.known(sample.off))
        if not points:
            kind, points = ("% by °C", sample.known(sample.cumulative))
        name = sample.sample
        if len(alkanes) < FEWEST_ALKANES or len(points) < FEWEST_POINTS or not (name in pour or name in wax):
            continue
        evaporated = "" if sample.evaporated is None else f"{sample.evaporated:g}"
        cells = [table.get(name, ("", "")) for table in (pour, wax, asphaltenes, viscosity)]
        yield (
            sample.oil, name, evaporated, _joined(alkanes), kind, _joined(points),
            sample.method, cells[0][0], cells[1][0],
            " ".join(cells[1][1].split()), cells[2][0], cells[3][0], SOURCE, "open-record",
        )  # fmt: skip


if __name__ == "__main__":
    rows = sorted(extract(Path(sys.argv[1])), key=lambda row: (row[0], float(row[2] or 0.0)))
    with EXTRACT.open("w", encoding="utf-8", newline="") as table:
        writer = csv.writer(table, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(rows)
    sys.stdout.write(f"{len(rows)} samples: {EXTRACT}\n")
