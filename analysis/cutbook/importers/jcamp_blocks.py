"""Cut a JCAMP-DX file into its blocks and pages, each with its labels and its numbers.

A file is a row of labelled records, ``##LABEL= text``. A block begins with ``##TITLE=`` and ends with ``##END=``; a
block that only holds others says so. Within a block every table of numbers is returned by itself, since a series has
one a page or one a scan.

References
----------
McDonald R. S., Wilks P. A., Appl. Spectrosc. 42 (1988) 151, JCAMP-DX 4.24: labels, blocks.
Davies A. N., Lampen P., Appl. Spectrosc. 47 (1993) 1093: NTUPLES, pages.
"""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from cutbook.importers.jcamp_labels import leading_number, normal_label
from cutbook.importers.jcamp_packed import MOST_VALUES
from cutbook.importers.jcamp_tables import Block, Record, read_table
from cutbook.importers.trace_file import TraceFile

MOST_TABLES = 20_000  # three hours of scans at two a second
_TABLES = {"XYDATA", "XYPOINTS", "PEAKTABLE", "DATATABLE"}
# what is said of one table and of no later one
_OF_ONE_TABLE = {
    *("NPOINTS", "FIRSTX", "LASTX", "DELTAX", "MINX", "MAXX", "FIRSTY", "LASTY", "MINY", "MAXY", "PAGE"),
    *("RETENTIONTIME", "RT", "SCANTIME", "TIC", "TOTALIONCURRENT", "SCAN", "SCANNUMBER"),
}
# what is said between tables and holds for all that follow
_SERIES = {"NTUPLES", "VARNAME", "SYMBOL", "VARTYPE", "VARFORM", "VARDIM", "UNITS", "FIRST", "LAST", "MIN", "MAX"}
_SERIES |= {"FACTOR", "PAGE"}
_LASTING = _SERIES - {"PAGE"} | {"DATATYPE", "DATACLASS", "XUNITS", "YUNITS", "XFACTOR", "YFACTOR"}


@dataclass
class _Scope:
    """The labels that hold where the file has been read to."""

    header: dict[str, str] = field(default_factory=dict)
    lasting: dict[str, str] = field(default_factory=dict)
    own: dict[str, str] = field(default_factory=dict)
    tables: int = 0

    def labels(self) -> Mapping[str, str]:
        """What holds for the table met now."""
        return MappingProxyType(ChainMap(self.own, self.lasting, self.header))

    def after_table(self) -> None:
        """Keep what holds for later tables, too. Maps given away are never changed."""
        if not self.tables:
            self.header = {name: text for name, text in self.own.items() if name.lstrip(".$") not in _OF_ONE_TABLE}
        elif kept := {name: text for name, text in self.own.items() if name in _LASTING}:
            self.lasting = self.lasting | kept
        self.own, self.tables = {}, self.tables + 1

    def after_series(self) -> None:
        """Forget the quantities of a series that has ended."""
        for name in ("header", "lasting", "own"):
            setattr(self, name, {key: text for key, text in getattr(self, name).items() if key not in _SERIES})


@dataclass
class _Link:
    """A block that holds others: how many it states, how many began in it."""

    line: int
    stated: float | None
    found: int = 0


def read_blocks(file: TraceFile) -> tuple[Block, ...]:
    """All tables of a file, in order.

    Parameters
    ----------
    file : the file, read whole; UTF-8 or Latin-1, any line ends.

    Raises
    ------
    TraceError
        More than 64 MiB, 2 million lines or 20,000 tables; a table of unknown form or damaged, fewer or more points
        than ``##NPOINTS=`` says, or fewer blocks than ``##BLOCKS=`` says.

    Notes
    -----
    A missing ``##END=`` loses nothing: the next title, or the end of the file, ends the block as well.
    """
    file.hold_to(64, 2_000_000, "Export the chromatogram alone, or the scans as mzML or ANDI")
    blocks: list[Block] = []
    links: list[_Link] = []
    scope = _Scope()
    left = MOST_VALUES
    for record in _records(file):
        label = record.label
        if label == "TITLE":
            if not scope.tables and (scope.own.get("DATATYPE", "").upper() == "LINK" or "BLOCKS" in scope.own):
                links.append(_Link(record.line, leading_number(scope.own.get("BLOCKS"))))
            if links:
                links[-1].found += 1
            scope = _Scope(own={"TITLE": _joined(record)})
        elif label == "END":
            if not (scope.own or scope.tables) and links:
                _close(file, links)
            scope = _Scope()
        elif label == "ENDNTUPLES":
            scope.after_series()
        elif label in _TABLES:
            if len(blocks) == MOST_TABLES:
                raise file.fault(f"line {record.line}", f"more than {MOST_TABLES:,} tables", "a table a scan at most")
            block = read_table(file, record, scope.labels(), len(blocks) + 1, left)
            left -= len(block.x)
            blocks.append(block)
            scope.after_table()
        elif label:
            scope.own[label] = _joined(record)
    while links:
        _close(file, links)
    return tuple(blocks)


def _close(file: TraceFile, links: list[_Link]) -> None:
    """End a block that holds others; those in it count for the one around it, too."""
    link = links.pop()
    if links:
        links[-1].found += link.found
    # some writers count the outer block itself
    if link.stated is not None and link.stated > link.found + 1:
        raise file.fault(
            f"line {link.line}",
            f"{link.found} blocks",
            f"the {link.stated:g} of ##BLOCKS=",
            "Data were lost; copy or export the file again",
        )


def _records(file: TraceFile) -> Iterator[Record]:
    try:
        text = file.content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = file.content.decode("latin-1")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")  # splitlines would split at more than these
    record = Record("", "", 1, [])
    for number, line in enumerate(lines, 1):
        if "$$" in line:
            line = line.partition("$$")[0]
        if line.lstrip().startswith("##"):
            yield record
            label, _, rest = line.lstrip()[2:].partition("=")
            record = Record(normal_label(label), rest.strip(), number, [])
        else:
            record.more.append(line)
    yield record


def _joined(record: Record) -> str:
    return "\n".join((record.text, *record.more)).strip()
