"""Read the composition table of a gas as a laboratory wrote it: names, units, limits, totals, decimal commas."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from cutbook.importers.headed_table import HeadedTable, TableKind, headed_table
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.written_numbers import decimal_mark, written_number
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import nearest, printable
from cutbook.model.gas import GasRow, GasTable, GasUnit
from cutbook.model.lineage import Source, Step

_FIELDS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (field, re.compile(pattern))
    for field, pattern in (
        ("note", r"(notes?|remarks?|comments?|bemerkung(en)?|anmerkung(en)?|kommentar).*"),
        ("mass", r"(.*\b(wt|weight|mass|m/m|w/w|gew|masse|gewicht)\b.*%?|(massen|gewichts)(anteil|prozent).*)"),
        ("expanded", r".*\bk ?= ?2\b.*"),
        ("u", r"(u|u\(x\)|±|\+/-|std\.? ?(dev\w*|unc\w*)?|(standard )?uncertainty|(standard)?unsicherheit"
              r"|(standard )?(deviation|abweichung))\b.*"),
        ("correction", r"(.*(correction|korrektur) ?-?(factor|faktor).*|factor|faktor|f)"),
        ("response", r"(.*(response|empfindlichkeit).*|rf|rrf)"),
        ("area", r"((peak|signal)? ?-?areas?|(peak)?-?fl(ä|ae)che|counts)\b.*"),
        ("component", r"((gas|peak) ?-?)?(components?|compounds?|names?|substances?|species|gas(es)?|analytes?|formula"
                      r"|komponenten?|stoffe?|substanz(en)?|verbindung(en)?|bestandteil|formel|parameter|analyt)"
                      r"([ -]?names?)?"),
        ("share", r"(.*\b(mole?|vol|volume|amount|fraction|share|conc\w*|content|value|result|ppmv?|percent"
                  r"|composition)\b.*|.*(prozent|anteil|gehalt|konz|wert|ergebnis|zusammensetzung).*|.*%.*|x|y|mol_?(e_)?percent.*)"),
    )
)  # fmt: skip
_UNITS: tuple[tuple[str, float, re.Pattern[str]], ...] = tuple(
    (name, factor, re.compile(pattern))
    for name, factor, pattern in (
        ("ppb", 1e-9, r"ppbv?\b"),
        ("ppm", 1e-6, r"ppmv?\b|µmol/mol|umol/mol|ml/m(3|³)"),
        ("‰", 1e-3, r"‰|promille|mmol/mol"),
        ("%", 1e-2, r"%|percent|prozent|cmol/mol"),
        ("1", 1.0, r"fraction|mol/mol|anteil\b|\(1\)|\[1\]|\[-\]|\(-\)"),
    )
)
_NOT_GIVEN = re.compile(
    r"|[-–—./]+|\?+|n\.?/?a\.?|n\.? ?d\.?|n\.? ?n\.?|n\.? ?b\.?|none|nil|x|bdl|b\.?d\.?l\.?|traces?|tr\.?|spuren?"
    r"|not (detected|found|measured|determined)|nicht (nachweisbar|gefunden|bestimmt|gemessen)|<\s*(lod|loq|bg|nwg|ng)",
    re.IGNORECASE,
)
_CELL = re.compile(
    r"(?P<about>~|≈|ca\.?)?\s*(?P<bound>[<≤])?\s*(?P<number>[+\-−]?\d[\d.,' ]*|[+\-−]?[.,]\d+)\s*"
    r"(?:(?:±|\+/-)\s*(?P<u>\d[\d.,]*|[.,]\d+)\s*)?(?P<unit>%|‰|ppm|ppb|vol\.?-? ?%|mol\.?-? ?%)?\s*",
    re.IGNORECASE,
)
_TOTAL = re.compile(
    r"(grand )?(total|sum|summe|gesamt(summe)?|insgesamt|Σ|∑|total sum)\s*[:=]?(\s*\(?.{0,6}%\)?)?", re.IGNORECASE
)
_LONGEST = 200  # characters of a heading
_TOLD = {"%": (50.0, 150.0), "1": (0.5, 1.5)}


def read_gas_heading(text: str) -> str:
    """The field that a heading heads, "" for none.

    Examples
    --------
    >>> read_gas_heading("Komponente"), read_gas_heading("mole_percent"), read_gas_heading("Vol.-%")
    ('component', 'share', 'share')
    """
    plain = re.sub(r"[\s_]+", " ", text).strip(" :").casefold()
    if not plain or len(plain) > _LONGEST:
        return ""
    return next((field for field, pattern in _FIELDS if pattern.fullmatch(plain)), "")


KIND = TableKind(
    "composition table",
    read_gas_heading,
    frozenset({"share", "area", "mass"}),
    "component and mole %",
    "Write them above the figures: component, mole_percent; or component, area, response",
    "[[gas_analysis]]",
)


def read_gas_table(
    file: TraceFile, place: str, known: Callable[[str], str], names: Sequence[str], columns: Mapping[str, str]
) -> GasTable:
    """Read a composition table.

    Parameters
    ----------
    file : CSV, TSV or XLSX, read whole, never changed. place : its entry of the run sheet.
    known : the reference name of a component from a spelling, "" for none. names : all reference names, for advice.
    columns : field -> heading, as the run sheet chooses; "sheet" names the sheet of a workbook.

    Returns
    -------
    GasTable
        Mole fractions, or areas over response. Nothing is normalised, filled or left out here but rows of remarks
        without a figure and the row of the total, which is kept apart; a total of areas is none of areas over response
        and says nothing.

    Raises
    ------
    TraceError
        When the file is no such table, a component is not known, a cell is no share, shares are by mass, areas lack
        a response, or the unit can't be told.

    Notes
    -----
    Volume % are taken as mole %. A `response` divides the area, a `correction factor` multiplies it.
    """
    table = headed_table(file, columns, KIND)
    found = _columns(table, {field: name for field, name in columns.items() if field != "sheet"})
    numeric = [at for field, at in found.items() if field not in ("component", "note")]
    decimal = decimal_mark([[_bare(row[at]) for _, row in table.rows] for at in numeric])
    reading = _Reading(table, found, decimal)
    raised: list[Caution] = []
    rows: list[_Read] = []
    total: _Cell | None = None
    remarks: list[str] = []
    for at, cells in table.rows:
        name = cells[found["component"]].strip()
        is_total = _TOTAL.fullmatch(name) is not None
        if not any(cells) or (is_total and reading.by_area):
            continue
        cell = reading.share(at, cells)
        if is_total:
            total = cell
            continue
        component = known(name) if name else ""
        if not component:
            if cell.value is None and cell.limit is None:
                remarks.append(at)
                continue
            near = nearest(name.casefold(), names) if name else ""
            raise table.file.fault(
                at, f"'{printable(name, 40)}'" if name else "a figure without a component", "a known component",
                f"Was '{near}' meant? See cutbook reference gas_components" if near
                else 'See cutbook reference gas_components and gas_lumps; "unidentified" takes what has no name',
            )  # fmt: skip
        rows.append(_Read(at, name, component, cell))
    if not any(row.cell.value is not None for row in rows):
        raise table.file.fault("", "no component with a figure", "a composition")
    if remarks:
        raised.append(caution("gas.rows_not_read", file.name, places=", ".join(remarks[:12])))
    if rough := [row.place for row in rows if row.cell.rough]:
        raised.append(caution("gas.rough_figures", file.name, places=", ".join(rough)))
    unit, factor, as_written = _unit(table, reading, rows, raised, file)
    step = Step(
        "read gas table/1",
        settings={
            "columns": {field: table.headings[at].strip() for field, at in found.items()},
            "unit": as_written or ("area" if unit == "area" else f"{factor:g}, told from the sum"),
        },
        source=Source(file.name, file.sha256),
        cautions=tuple(raised),
    )
    return GasTable(
        file.name,
        unit,
        tuple(_row(row, factor) for row in rows),
        None if total is None else _scaled(total, factor)[0],
        step,
    )


@dataclass(frozen=True)
class _Cell:
    """A cell: value, uncertainty, limit and step in the unit of the column, or with their own unit in `factor`; whether
    the value is written as a rough one."""

    value: float | None = None
    u: float | None = None
    limit: float | None = None
    step: float = 0.0
    factor: float | None = None
    rough: bool = False


@dataclass(frozen=True)
class _Read:
    place: str
    text: str
    component: str
    cell: _Cell


class _Reading:
    """Reads the figures of one table."""

    def __init__(self, table: HeadedTable, found: Mapping[str, int], decimal: str) -> None:
        self.table, self.found, self.decimal = table, found, decimal
        self.by_area = "share" not in found

    def share(self, place: str, cells: Sequence[str]) -> _Cell:
        """The share of a row, or its area over response."""
        cell = self._cell(place, cells, "area" if self.by_area else "share")
        for field, per in (("u", 1.0), ("expanded", 2.0)):
            if field in self.found and cell.value is not None:
                u = self._cell(place, cells, field).value
                if u is not None:
                    cell = replace(cell, u=u / per)
        if not self.by_area or (cell.value is None and cell.limit is None):
            return cell
        value, u, limit, step = _scaled(cell, self._weight(place, cells))
        return replace(cell, value=value, u=u, limit=limit, step=step)

    def _weight(self, place: str, cells: Sequence[str]) -> float:
        field = "response" if "response" in self.found else "correction"
        factor = self._cell(place, cells, field).value
        if not factor:
            raise self.table.file.fault(
                place, f"an area without a {self._heading(field)}", "a response factor above 0 beside every area",
                "Areas of different components are not comparable",
            )  # fmt: skip
        return 1 / factor if field == "response" else factor

    def _cell(self, place: str, cells: Sequence[str], field: str) -> _Cell:
        text = cells[self.found[field]].strip()
        if _NOT_GIVEN.fullmatch(text):
            return _Cell()
        heading = self._heading(field)
        found = _CELL.fullmatch(text)
        if found is None:
            raise self.table.file.fault(
                place, f"'{printable(text, 40)}' in column '{printable(heading, 40)}'",
                "a number, < limit or nothing",
                "Put remarks into a column of notes",
            )  # fmt: skip
        value, step = written_number(self.table.file, place, heading, found["number"], self.decimal)
        if value < 0:
            raise self.table.file.fault(place, f"'{text}' in column '{printable(heading, 40)}'", "a share of 0 or more")
        if not value < 1e12:
            raise self.table.file.fault(place, f"'{printable(text, 40)}'", "a share or an area")
        u = None
        if found["u"]:
            u, _ = written_number(self.table.file, place, heading, found["u"], self.decimal)
        factor = _unit_factor(found["unit"])[1] if found["unit"] and field == "share" else None
        if found["bound"]:
            return _Cell(limit=value, factor=factor)
        return _Cell(value, u, None, step, factor, found["about"] is not None)

    def _heading(self, field: str) -> str:
        return self.table.headings[self.found[field]].strip() if field in self.found else field


def _columns(table: HeadedTable, wanted: Mapping[str, str]) -> dict[str, int]:
    """Which column holds which field."""
    plain = [heading.strip() for heading in table.headings]
    fields = [read_gas_heading(heading) for heading in plain]
    found: dict[str, int] = {}
    for field, name in wanted.items():
        at = next((at for at, text in enumerate(plain) if text.casefold() == name.strip().casefold()), -1)
        if at < 0:
            offered = ", ".join(f"'{text}'" for text in plain[:12])
            raise table.file.fault(f"columns, {field}", f"'{name}'", f"one of {offered}")
        found[field] = at
    for field, _ in _FIELDS:
        places = [at for at, one in enumerate(fields) if one == field and at not in found.values()]
        if field in found or not places:
            continue
        if len(places) > 1 and field not in ("note", "mass"):
            shown = ", ".join(f"'{printable(plain[at], 40)}'" for at in places)
            raise table.file.fault(
                table.heading_place, f"{len(places)} columns that may be the {field}: {shown}", "one",
                f'Choose with columns = {{ {field} = "…" }} in its [[gas_analysis]] entry',
            )  # fmt: skip
        found[field] = places[0]
    if "component" not in found:
        raise table.file.fault(
            table.heading_place, "no column of components", "a heading such as component", KIND.advice
        )
    if "share" not in found and "area" not in found:
        by_mass = f"shares by mass ('{printable(plain[found['mass']], 40)}')" if "mass" in found else "no shares"
        raise table.file.fault(
            table.heading_place, by_mass,
            "mole % or volume %, or area with response", "Ask the laboratory for mole %",
        )  # fmt: skip
    if "share" not in found and not {"response", "correction"} & set(found):
        raise table.file.fault(
            table.heading_place, "areas without response factors", "a column of response factors, or mole %",
            "Areas of different components are not comparable",
        )  # fmt: skip
    return {field: at for field, at in found.items() if field != "mass"}


def _unit_factor(text: str) -> tuple[str, float]:
    plain = text.casefold().replace("_", " ")
    return next(((name, factor) for name, factor, pattern in _UNITS if pattern.search(plain)), ("", 0.0))


def _unit(
    table: HeadedTable, reading: _Reading, rows: Sequence[_Read], raised: list[Caution], file: TraceFile
) -> tuple[GasUnit, float, str]:
    """What the figures are, their factor to a mole fraction, the unit as the heading states it."""
    if reading.by_area:
        return "area", 1.0, ""
    heading = table.headings[reading.found["share"]].strip()
    name, factor = _unit_factor(heading)
    if name:
        return "fraction", factor, name
    bare = sum(row.cell.value for row in rows if row.cell.value is not None and row.cell.factor is None)
    own = sum(row.cell.value * row.cell.factor for row in rows if row.cell.value is not None and row.cell.factor)
    for unit, (low, high) in _TOLD.items():
        factor = 0.01 if unit == "%" else 1.0
        if low <= bare + own / factor <= high:
            raised.append(
                caution("gas.unit_told", file.name, column=heading, unit="mole %" if unit == "%" else "mole fraction")
            )
            return "fraction", factor, ""
    raise table.file.fault(
        table.heading_place, f"'{printable(heading, 40)}' without a unit, and figures that add up to {bare:g}",
        "mole %, vol %, mole fraction or ppm in the heading",
    )  # fmt: skip


def _scaled(cell: _Cell, factor: float) -> tuple[float | None, float | None, float | None, float]:
    """Value, uncertainty, limit and step times a factor, or that of the cell's own unit."""
    by = factor if cell.factor is None else cell.factor
    value, u, limit = (None if one is None else by * one for one in (cell.value, cell.u, cell.limit))
    return value, u, limit, by * cell.step


def _row(row: _Read, factor: float) -> GasRow:
    return GasRow(row.place, row.text, row.component, *_scaled(row.cell, factor))


def _bare(cell: str) -> str:
    """The number of a cell alone, for telling the decimal mark."""
    found = _CELL.fullmatch(cell.strip())
    return found["number"].strip() if found else ""
