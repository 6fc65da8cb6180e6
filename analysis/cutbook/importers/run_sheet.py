"""Read the run sheet of a run folder, whole, with every fault that it has."""

from __future__ import annotations

import datetime
import hashlib
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cutbook.importers.distillation_section import read_distillation
from cutbook.importers.run_files import FileFinder
from cutbook.importers.run_sheet_sections import read_feed, read_further, read_product, read_trace_entry
from cutbook.importers.sheet_table import Sheet
from cutbook.model.entered import Entered
from cutbook.model.errors import RunSheetError
from cutbook.model.lineage import Source, Step
from cutbook.model.run import Feed, Product, Run, TraceEntry
from cutbook.model.units import parse_factor

RUN_SHEET = "run.toml"
GAS = "gas"
"""The product that a gas entry is of where it does not say."""
LARGEST_SHEET = 1_000_000
SECTIONS = (
    "run", "conditions", "feed", "product", "trace", "scrubber", "chlorine", "reactor", "gas_analysis", "gas_meter",
    "distillation", "storage",
)  # fmt: skip


def read_run(folder: Path | str) -> Run:
    """Read and validate a run folder's sheet; instrument files are located, not read.

    Parameters
    ----------
    folder : the run folder, with `run.toml` in it.

    Returns
    -------
    Run

    Raises
    ------
    RunSheetError
        With every fault of the sheet at once: file, place, what was found, what was expected, what to do.
    """
    folder = Path(folder)
    content, data = load_toml(folder, RUN_SHEET, f"`cutbook new {folder.name or 'FOLDER'}` writes one.")
    sheet = Sheet(RUN_SHEET)
    source = Source(RUN_SHEET, hashlib.sha256(content).hexdigest())
    sheet.only(data, "", SECTIONS)
    head = sheet.table(data, "run", required=True)
    sheet.only(head, "[run]", ("id", "date", "operator", "title", "notes"))
    run_id = sheet.text(head, "[run]", "id", required="run" in data)
    files = FileFinder(folder, sheet)
    feeds = [read_feed(sheet, row, place) for row, place in sheet.rows(data, "feed", required=True)]
    metered = _metered(data)
    products = [read_product(sheet, row, place, metered) for row, place in sheet.rows(data, "product")]
    _check_products(sheet, products)
    fractions = [product.fraction for product in products if product is not None and product.fraction]
    open_names = "distillation" in data
    traces = [
        read_trace_entry(sheet, row, place, files, fractions, open_names) for row, place in sheet.rows(data, "trace")
    ]
    _check_traces(sheet, traces)
    stills = [read_distillation(sheet, row, place, files, fractions) for row, place in sheet.rows(data, "distillation")]
    further = read_further(sheet, data, files, fractions)
    conditions = _conditions(sheet, data)
    date = _date(sheet, head)
    sheet.stop_at_faults()
    return Run(
        folder=folder,
        sheet=source,
        id=run_id,
        feeds=tuple(feed for feed in feeds if isinstance(feed, Feed)),
        products=tuple(product for product in products if isinstance(product, Product)),
        traces=tuple(entry for entry in traces if isinstance(entry, TraceEntry)),
        step=Step("read run sheet/1", settings={"id": run_id}, source=source),
        date=date,
        operator=sheet.text(head, "[run]", "operator"),
        title=sheet.text(head, "[run]", "title"),
        notes=sheet.text(head, "[run]", "notes"),
        distillations=tuple(entry for entry in stills if entry is not None),
        conditions=conditions,
        further=further,
    )


def _metered(data: Mapping[str, Any]) -> tuple[str, ...]:
    """The products that a [[gas_meter]] counted, faults left to the section itself."""
    rows = data.get("gas_meter")
    named = [row.get("of") or GAS for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []
    return tuple(name for name in named if isinstance(name, str))


def load_toml(folder: Path, name: str, when_missing: str) -> tuple[bytes, dict[str, Any]]:
    """The bytes and the content of a TOML file in a folder.

    Raises
    ------
    RunSheetError
        When it is missing, no regular file, too large, not UTF-8 or not TOML; in one line.
    """
    path = folder / name
    if not folder.is_dir():
        found = "no such folder" if not folder.exists() else "not a folder"
        raise RunSheetError.single(str(folder), "", found, "a run folder with a run.toml in it", when_missing)
    if not path.is_file():
        found = "no such file" if not path.exists() else "not a regular file"
        raise RunSheetError.single(name, "", f"{found} in {folder}", "a text file in TOML", when_missing)
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST_SHEET + 1)
    except OSError as error:
        raise RunSheetError.single(name, "", f"{error.strerror or error}", "a readable file") from error
    if len(content) > LARGEST_SHEET:
        raise RunSheetError.single(name, "", f"more than {LARGEST_SHEET} bytes", "a sheet of a few pages at most")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise RunSheetError.single(
            name, f"line {line}", f"byte 0x{content[error.start]:02x}, not UTF-8", "text in UTF-8", "Save it as UTF-8."
        ) from error
    try:
        return content, tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        raise RunSheetError.single(
            name, "", str(error), "TOML", "See the line named; texts stand in quotes."
        ) from error
    except (RecursionError, ValueError) as error:  # nested without end; numbers of absurd length
        raise RunSheetError.single(
            name, "", f"TOML that cannot be read ({type(error).__name__})", "a run sheet"
        ) from error


def _date(sheet: Sheet, head: Mapping[str, Any]) -> datetime.date | None:
    value = head.get("date")
    if value is None:
        return None
    if isinstance(value, datetime.datetime):
        return value.date()
    if isinstance(value, datetime.date):
        return value
    sheet.fault("[run], date", f"{value!r}", "a date without quotes, such as 2026-03-12")
    return None


def _conditions(sheet: Sheet, data: Mapping[str, Any]) -> dict[str, Entered | str | float | bool]:
    found: dict[str, Entered | str | float | bool] = {}
    for name, value in sheet.table(data, "conditions").items():
        if isinstance(value, str):
            found[name] = parse_factor(value) or value
        elif isinstance(value, (bool, int, float)):
            found[name] = value
        else:
            sheet.fault(f"[conditions], {name}", f"{value!r}", 'a number, or text such as "455 °C" or "nitrogen"')
    return found


def _check_products(sheet: Sheet, products: list[Product | None]) -> None:
    seen: dict[str, str] = {}
    by_difference: list[str] = []
    for product in products:
        if product is None:
            continue
        if product.fraction in seen:
            sheet.fault(
                f"{product.place}, fraction", f"'{product.fraction}' again, after {seen[product.fraction]}",
                "a name of its own for each product", "Add up what belongs together, or name them oil-1 and oil-2.",
            )  # fmt: skip
        seen.setdefault(product.fraction, product.place)
        if product.by_difference:
            by_difference.append(product.place)
    if len(by_difference) > 1:
        sheet.fault(
            f"{by_difference[1]}, by_difference", f"a second product by difference, after {by_difference[0]}",
            "one at most", "Two unknowns cannot be told apart by one balance; weigh one of them.",
        )  # fmt: skip


def _check_traces(sheet: Sheet, traces: list[TraceEntry | None]) -> None:
    seen: dict[str, str] = {}
    for entry in traces:
        if entry is None or not entry.file:
            continue
        if entry.file in seen:
            sheet.fault(f"{entry.place}, file", f"'{entry.file}' again, after {seen[entry.file]}", "each file once")
        seen.setdefault(entry.file, entry.place)
