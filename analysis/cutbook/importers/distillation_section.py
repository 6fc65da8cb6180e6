"""Read the [[distillation]] entries of a run sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cutbook.importers.run_files import FileFinder
from cutbook.importers.sheet_table import Sheet
from cutbook.importers.still_headings import FIELDS
from cutbook.model.run import DistillationEntry, Receiver
from cutbook.model.still import StillKind

KINDS: tuple[StillKind, ...] = ("simple", "packed", "vacuum", "standard-test")
_KEYS = (
    "file", "of", "charge_mass", "charge_volume", "pressure", "kind", "residue_mass", "residue_volume",
    "emergent_stem_degrees", "stem_temperature", "thermometer_lag", "columns", "receivers", "as_written",
)  # fmt: skip
_COLUMNS = 'headings, such as { head_temperature = "T2", volume = "V" }'
LONGEST_STEM = 400.0
"""Degrees of scale; no thermometer has more outside the vapour."""


def read_distillation(
    sheet: Sheet, row: Mapping[str, Any], place: str, files: FileFinder, fractions: Sequence[str]
) -> DistillationEntry | None:
    """One [[distillation]]."""
    sheet.only(row, place, _KEYS)
    file = files.file(row, place, "file", required=True)
    kind = sheet.text(row, place, "kind", choices=KINDS)
    entry = DistillationEntry(
        file=file,
        place=place,
        of=sheet.text(row, place, "of", required=True, choices=tuple(fractions)),
        kind=next((one for one in KINDS if one == kind), None),
        charge_mass=_above_zero(sheet, row, place, "charge_mass", "mass"),
        charge_volume=_above_zero(sheet, row, place, "charge_volume", "volume"),
        residue_mass=sheet.quantity(row, place, "residue_mass", "mass"),
        residue_volume=sheet.quantity(row, place, "residue_volume", "volume"),
        pressure=_above_zero(sheet, row, place, "pressure", "pressure"),
        emergent_stem_c=sheet.number(row, place, "emergent_stem_degrees"),
        stem_temperature=sheet.quantity(row, place, "stem_temperature", "temperature"),
        thermometer_lag=sheet.quantity(row, place, "thermometer_lag", "time"),
        columns=sheet.columns(row, place, ("sheet", *FIELDS), _COLUMNS),
        receivers=_receivers(sheet, row, place),
        as_written=_as_written(sheet, row, place),
    )
    stem = entry.emergent_stem_c
    if stem is not None and not 0 <= stem <= LONGEST_STEM:
        sheet.fault(f"{place}, emergent_stem_degrees", f"{stem:g}", f"0 to {LONGEST_STEM:g} degrees of the scale")
    if ("emergent_stem_degrees" in row) != ("stem_temperature" in row):
        given, lacking = ("emergent_stem_degrees", "stem_temperature")[:: 1 if "emergent_stem_degrees" in row else -1]
        sheet.fault(f"{place}, {lacking}", "nothing", f"a value beside {given}", "The correction needs both.")
    for key in ("mass", "volume"):
        charged, left = getattr(entry, f"charge_{key}"), getattr(entry, f"residue_{key}")
        if charged is not None and left is not None and left.value > charged.value:
            sheet.fault(f"{place}, residue_{key}", f'"{left.text}"', f"no more than was charged, {charged.text}")
    return entry if file and entry.of else None


def _above_zero(sheet: Sheet, row: Mapping[str, Any], place: str, key: str, dimension: str) -> Any:
    entered = sheet.quantity(row, place, key, dimension)
    if entered is not None and entered.value <= 0:
        sheet.fault(f"{place}, {key}", f'"{entered.text}"', f"a {dimension} above 0")
        return None
    return entered


def _receivers(sheet: Sheet, row: Mapping[str, Any], place: str) -> tuple[Receiver, ...]:
    found = []
    example = '[{ name = "1", mass = "41.2 g", density = "0.742 g/mL" }]'
    for one, here in sheet.tables(row, place, "receivers", example):
        sheet.only(one, here, ("name", "mass", "volume", "density"))
        found.append(
            Receiver(
                sheet.text(one, here, "name", required=True),
                sheet.quantity(one, here, "mass", "mass"),
                sheet.quantity(one, here, "volume", "volume"),
                _above_zero(sheet, one, here, "density", "density"),
            )
        )
    names = [receiver.name for receiver in found if receiver.name]
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            sheet.fault(
                f"{place}, receivers", f"'{name}' {names.count(name)} times", "a name of its own for each receiver"
            )
    return tuple(found)


def _as_written(sheet: Sheet, row: Mapping[str, Any], place: str) -> tuple[str, ...]:
    value = row.get("as_written")
    if value is None:
        return ()
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        sheet.fault(f"{place}, as_written", f"{value!r}", 'places of the log, such as ["line 7"]')
        return ()
    return tuple(" ".join(one.split()) for one in value)
