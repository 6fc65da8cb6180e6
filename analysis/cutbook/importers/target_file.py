"""Read a user's table of compounds to look for: its columns, numbers and ions, chemistry not yet checked."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from cutbook.importers.headed_table import HeadedTable, TableKind, headed_table
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.written_numbers import written_number
from cutbook.model.errors import Fault, InputError, nearest, printable

REQUIRED = ("name", "formula", "index", "quantifier", "qualifiers")
OPTIONAL = (
    "u_index", "quantifier_ion", "cas", "smiles", "aromatic", "kind", "group", "index_source", "other_ions",
    "current_share", "boiling_c", "hazard",
)  # fmt: skip
COLUMNS = (*REQUIRED, *OPTIONAL)
KINDS = ("product", "solvent", "internal standard")
_LIMITS = {
    "index": (100.0, 6000.0), "u_index": (0.5, 300.0), "quantifier": (12.0, 2000.0), "current_share": (0.001, 1.0),
    "boiling_c": (-200.0, 800.0),
}  # fmt: skip
_ION = re.compile(r"(?P<mz>\d{2,4})(?::(?P<percent>\d+(?:\.\d+)?))?")
_MOST = 1000
_DO = "Part the columns by commas, semicolons or tabs, and the ions of one cell by blanks"


@dataclass(frozen=True)
class WrittenTarget:
    """One row.

    place : in the file. texts : cells by column, "" where there is none. numbers : by column, those that were given.
    qualifiers : (m/z, height in % of the quantifier's or None). other_ions : as written, ranges not yet read.
    """

    place: str
    texts: Mapping[str, str]
    numbers: Mapping[str, float]
    qualifiers: tuple[tuple[int, float | None], ...]


def read_targets(file: TraceFile) -> tuple[WrittenTarget, ...]:
    """Rows of a table of targets (CSV, TSV or XLSX).

    Raises
    ------
    InputError
        With every fault: columns that are unknown, doubled or missing, cells that are no numbers or no ions.
    """
    kind = TableKind("table of targets", _field, frozenset({"quantifier"}), ", ".join(REQUIRED), _DO, "targets")
    table = headed_table(file, {}, kind)
    faults = _heading_faults(table)
    if not faults and len(table.rows) > _MOST:
        faults = [Fault(file.name, "", f"{len(table.rows)} rows", f"at most {_MOST}")]
    if faults:
        raise InputError(*faults)
    found = []
    for place, cells in table.rows:
        texts = dict.fromkeys(COLUMNS, "") | {
            _field(heading): cell for heading, cell in zip(table.headings, cells, strict=True) if _field(heading)
        }
        if any(texts.values()):
            found.append(_row(table.file, place, texts, faults))
    if faults:
        raise InputError(*faults)
    return tuple(found)


def _field(heading: str) -> str:
    """The column that a heading heads, "" for none."""
    folded = re.sub(r"[\s\-]+", "_", heading.strip().casefold())
    return folded if folded in COLUMNS else ""


def _heading_faults(table: HeadedTable) -> list[Fault]:
    faults = []
    known = [_field(heading) for heading in table.headings]
    for heading, field in zip(table.headings, known, strict=True):
        if heading.strip() and not field:
            near = nearest(heading.strip().casefold(), COLUMNS)
            faults.append(
                Fault(
                    table.file.name,
                    table.heading_place,
                    f"unknown column '{printable(heading.strip(), 60)}'",
                    "one of " + ", ".join(COLUMNS),
                    f"Did you mean '{near}'?" if near else "",
                )  # fmt: skip
            )
    for field in dict.fromkeys(known):
        if field and known.count(field) > 1:
            faults.append(
                Fault(table.file.name, table.heading_place, f"column '{field}' {known.count(field)} times", "once")
            )
    missing = [field for field in REQUIRED if field not in known]
    if missing:
        faults.append(
            Fault(table.file.name, table.heading_place, f"no column {' and no column '.join(missing)}",
                  "columns " + ", ".join(REQUIRED))
        )  # fmt: skip
    return faults


def _row(file: TraceFile, place: str, texts: Mapping[str, str], faults: list[Fault]) -> WrittenTarget:
    for field in REQUIRED:
        if not texts[field]:
            faults.append(Fault(file.name, f"{place}, {field}", "nothing", f"a value of {field}"))
    numbers = {}
    for field, (low, high) in _LIMITS.items():
        if not texts[field]:
            continue
        try:
            value, _ = written_number(file, place, field, texts[field], "")
        except InputError as refused:
            faults += refused.faults
            continue
        except ValueError:
            faults.append(Fault(file.name, f"{place}, {field}", f"'{printable(texts[field], 40)}'", "a number"))
            continue
        if low <= value <= high:
            numbers[field] = value
        else:
            faults.append(Fault(file.name, f"{place}, {field}", f"{value:g}", f"{low:g} to {high:g}"))
    qualifiers: list[tuple[int, float | None]] = []
    for part in texts["qualifiers"].split():
        ion = _ION.fullmatch(part)
        if ion is None or (ion["percent"] is not None and not 0 < float(ion["percent"]) <= 10_000):
            faults.append(
                Fault(
                    file.name,
                    f"{place}, qualifiers",
                    f"'{printable(part, 40)}'",
                    "m/z and height in % of the quantifier's, such as 77:55",
                )  # fmt: skip
            )
        else:
            qualifiers.append((int(ion["mz"]), None if ion["percent"] is None else float(ion["percent"])))
    for field, choices in (("kind", KINDS), ("aromatic", ("yes", "no"))):
        if texts[field] and texts[field] not in choices:
            faults.append(
                Fault(
                    file.name, f"{place}, {field}", f"'{printable(texts[field], 40)}'", "one of " + ", ".join(choices)
                )
            )
    return WrittenTarget(place, dict(texts), numbers, tuple(qualifiers))
