"""Read the sections of a run sheet into records."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cutbook.importers.chlorine_keys import WASHED, read_chlorine, read_chlorine_method
from cutbook.importers.gas_sections import (
    CARRIERS,
    read_bag_volume,
    read_elutes,
    read_gas_analysis,
    read_gas_meter,
    read_reactor,
)
from cutbook.importers.run_files import FileFinder
from cutbook.importers.sheet_table import Sheet
from cutbook.model.entered import Entered
from cutbook.model.errors import nearest
from cutbook.model.run import Feed, InternalStandard, Product, Role, TraceEntry

ELEMENTS = ("carbon", "hydrogen", "oxygen", "nitrogen", "chlorine")
MEASURED = {
    **dict.fromkeys((*ELEMENTS, "ash", "moisture"), "fraction"),
    "gross_calorific_value": "heating value",
    "api_gravity": "API gravity",
    "cloud_point": "temperature",
    "pour_point": "temperature",
    "flash_point": "temperature",
}
PRODUCT_KEYS = (
    "fraction", "mass", "volume", "density", "by_difference", "temperature", "pressure", "wet", "chlorine_method",
    *MEASURED,
)  # fmt: skip
TRACE_KEYS = (
    "file", "detector", "role", "of", "ladder", "blank", "columns", "ladder_carbons", "solvent", "solvent_window",
    "sample_mass", "solvent_mass", "internal_standard", "amounts", "elutes", "carrier", "volume", "taken_at",
)  # fmt: skip
ROLES: tuple[Role, ...] = ("sample", "ladder", "blank", "standard")
HEAVIEST_CARBON = 120
_COLUMNS = 'names of columns, such as { time = "t/min", signal = "FID A" }'


def read_feed(sheet: Sheet, row: Mapping[str, Any], place: str) -> Feed | None:
    """One [[feed]]."""
    shares = ("moisture", "ash", "chlorine", "carbon", "hydrogen", "oxygen", "nitrogen")
    sheet.only(row, place, ("material", "mass", *shares))
    material = sheet.text(row, place, "material", required=True)
    mass = sheet.quantity(row, place, "mass", "mass", required=True)
    given = {key: sheet.quantity(row, place, key, "fraction") for key in shares}
    if mass is not None and mass.value == 0:
        sheet.fault(f"{place}, mass", f'"{mass.text}"', "a mass above 0")
    lost = sum(entry.value for key in ("moisture", "ash") if (entry := given[key]) is not None)
    if lost >= 1:
        sheet.fault(place, f"moisture and ash of {100 * lost:g} % together", "less than 100 %")
    held = sum(entry.value - 2 * entry.u for key in ("ash", *ELEMENTS) if (entry := given[key]) is not None)
    if held > 1:
        sheet.fault(place, f"ash and elements of {100 * held:.4g} % together, uncertainty allowed", "100 % at most")
    if mass is None or not material:
        return None
    return Feed(material, mass, place, **given)


def read_product(sheet: Sheet, row: Mapping[str, Any], place: str, metered: Sequence[str] = ()) -> Product | None:
    """One [[product]]; its amount must be a mass, a volume, or by difference, or a [[gas_meter]] counted it.

    metered : the products that a [[gas_meter]] counted."""
    sheet.only(row, place, PRODUCT_KEYS)
    fraction = sheet.text(row, place, "fraction", required=True)
    mass = sheet.quantity(row, place, "mass", "mass")
    volume = sheet.quantity(row, place, "volume", "volume")
    density = sheet.quantity(row, place, "density", "density")
    by_difference = bool(sheet.flag(row, place, "by_difference"))
    temperature = sheet.quantity(row, place, "temperature", "temperature")
    pressure = sheet.quantity(row, place, "pressure", "pressure")
    wet = sheet.flag(row, place, "wet")
    given = {key: entry for key, dimension in MEASURED.items() if (entry := sheet.quantity(row, place, key, dimension))}
    ways = [key for key in ("mass", "volume") if key in row] + (["by_difference"] if by_difference else [])
    if fraction and fraction in metered and "volume" in row:
        sheet.fault(
            f"{place}, volume", f"a volume beside a [[gas_meter]] of {fraction}", "one of the two",
            "Leave the volume out; the readings of the meter give it.",
        )  # fmt: skip
    elif not ways and not (fraction and fraction in metered):
        sheet.fault(
            place,
            f"no amount of {fraction or 'this product'}",
            "mass, or volume with density, or by_difference = true",
            "A gas needs volume with temperature and pressure.",
        )  # fmt: skip
    elif by_difference and len(ways) > 1:
        sheet.fault(place, f"by_difference together with {ways[0]}", "either a measurement or the difference")
    elif ways == ["volume"] and "density" not in row and not {"temperature", "pressure"} <= set(row):
        sheet.fault(
            f"{place}, volume", "a volume without density", "a density too; for a gas temperature and pressure",
            "A mass cannot be had from a volume alone, and 1 g/mL is not assumed.",
        )  # fmt: skip
    if density is not None and density.value == 0:
        sheet.fault(f"{place}, density", f'"{density.text}"', "a density above 0")
    method = read_chlorine_method(sheet, row, place)
    if method == WASHED and "chlorine" in given:  # of a cut after washing: never that of the whole
        given["naphtha_chlorine"] = given.pop("chlorine")
    if not fraction:
        return None
    return Product(fraction, place, mass, volume, density, by_difference, temperature, pressure, wet, given, method)


def read_trace_entry(
    sheet: Sheet, row: Mapping[str, Any], place: str, files: FileFinder, fractions: Sequence[str], open_names: bool
) -> TraceEntry | None:
    """One [[trace]]. open_names : whether `of` may name something else than a product (a still cut)."""
    sheet.only(row, place, TRACE_KEYS)
    file = files.file(row, place, "file", required=True)
    role = sheet.text(row, place, "role", required=True, choices=ROLES)
    of = sheet.text(row, place, "of", required=role == "sample")
    if of and of not in fractions and not open_names:
        near = nearest(of, fractions)
        sheet.fault(
            f"{place}, of", f"'{of}'", "a fraction of this sheet: " + ", ".join(fractions),
            f"Did you mean '{near}'?" if near else "",
        )  # fmt: skip
    entry = TraceEntry(
        file=file,
        place=place,
        role=next((one for one in ROLES if one == role), "sample"),
        detector=sheet.text(row, place, "detector", choices=("FID", "TCD", "MS")),
        of=of,
        ladder=files.file(row, place, "ladder"),
        blank=files.file(row, place, "blank"),
        columns=sheet.columns(row, place, ("time", "signal", "sheet"), _COLUMNS),
        ladder_carbons=_carbons(sheet, row, place),
        solvent=sheet.text(row, place, "solvent"),
        solvent_window_min=_window(sheet, row, place),
        sample_mass=sheet.quantity(row, place, "sample_mass", "mass"),
        solvent_mass=sheet.quantity(row, place, "solvent_mass", "mass"),
        internal_standard=_internal_standard(sheet, row, place),
        amounts=_amounts(sheet, row, place),
        elutes=read_elutes(sheet, row, place),
        carrier=sheet.text(row, place, "carrier", choices=CARRIERS),
        volume=read_bag_volume(sheet, row, place),
        taken_at=sheet.quantity(row, place, "taken_at", "time"),
    )
    for key in ("ladder", "blank"):
        if file and getattr(entry, key) == file:
            sheet.fault(f"{place}, {key}", f"'{file}', the trace itself", "another file")
    for key in ("elutes", "carrier", "taken_at", "volume"):
        if key in row and role in ("ladder", "blank"):
            sheet.fault(f"{place}, {key}", f"{key} with role '{role}'", "a trace of the gas or of its standard")
    if "amounts" in row and role and role != "standard":
        sheet.fault(f"{place}, amounts", f"amounts with role '{role}'", 'role = "standard"')
    if entry.sample_mass is not None and entry.sample_mass.value == 0:
        sheet.fault(f"{place}, sample_mass", f'"{entry.sample_mass.text}"', "a mass above 0")
    if (standard := entry.internal_standard) and standard.mass is not None and "sample_mass" not in row:
        sheet.fault(f"{place}, sample_mass", "nothing", "the mass of sample that the standard was added to")
    if entry.solvent_mass is not None and "sample_mass" not in row:
        sheet.fault(f"{place}, sample_mass", "nothing", "the mass of sample in that solvent")
    return entry if file else None


def _carbons(sheet: Sheet, row: Mapping[str, Any], place: str) -> tuple[int, ...]:
    value = row.get("ladder_carbons")
    if value is None:
        return ()
    whole = isinstance(value, list) and all(
        isinstance(n, int) and not isinstance(n, bool) and 1 <= n <= HEAVIEST_CARBON for n in value
    )
    if not whole or not value or sorted(set(value)) != value:
        sheet.fault(
            f"{place}, ladder_carbons",
            f"{value!r}",
            f"rising carbon numbers from 1 to {HEAVIEST_CARBON}, such as [8, 9, 10]",
        )
        return ()
    return tuple(value)


def _window(sheet: Sheet, row: Mapping[str, Any], place: str) -> tuple[float, float] | None:
    value = row.get("solvent_window")
    if value is None:
        return None
    at = f"{place}, solvent_window"
    if not isinstance(value, list) or len(value) != 2:
        sheet.fault(at, f"{value!r}", 'two times, such as ["1.9 min", "2.4 min"]')
        return None
    ends = [sheet.quantity({"solvent_window": end}, place, "solvent_window", "time") for end in value]
    start, end = ends
    if start is None or end is None:
        return None
    if start.value >= end.value:
        sheet.fault(at, f'"{start.text}" to "{end.text}"', "a start before its end")
        return None
    return start.value, end.value


def _internal_standard(sheet: Sheet, row: Mapping[str, Any], place: str) -> InternalStandard | None:
    value = row.get("internal_standard")
    if value is None:
        return None
    at = f"{place}, internal_standard"
    if not isinstance(value, Mapping):
        sheet.fault(at, f"{value!r}", 'a table, such as { name = "…", concentration = "20 mg/kg" }')
        return None
    sheet.only(value, at, ("name", "concentration", "mass", "retention_time", "retention_index"))
    name = sheet.text(value, at, "name", required=True)
    concentration = sheet.quantity(value, at, "concentration", "fraction")
    mass = sheet.quantity(value, at, "mass", "mass")
    if ("concentration" in value) == ("mass" in value):
        found = "both concentration and mass" if "mass" in value else "neither concentration nor mass"
        sheet.fault(at, found, "one of the two")
    for key, entry in (("concentration", concentration), ("mass", mass)):
        if entry is not None and (entry.value == 0 or (key == "concentration" and entry.value >= 1)):
            sheet.fault(
                f"{at}, {key}", f'"{entry.text}"', "an amount above 0" + (" and below 100 %" if key[0] == "c" else "")
            )
    time = sheet.quantity(value, at, "retention_time", "time")
    index = sheet.number(value, at, "retention_index")
    return InternalStandard(name, concentration, mass, None if time is None else time.value, index)


def _amounts(sheet: Sheet, row: Mapping[str, Any], place: str) -> tuple[dict[str, Any], ...]:
    found = []
    for one, at in sheet.tables(row, place, "amounts", '[{ name = "…", concentration = "5.0 mg/kg" }]'):
        sheet.only(one, at, ("name", "concentration", "retention_time"))
        text = one.get("concentration")
        per_volume = isinstance(text, str) and text.strip().endswith(("/L", "/l", "/mL", "/ml"))
        dimension = "mass concentration" if per_volume else "fraction"
        found.append(
            {
                "name": sheet.text(one, at, "name", required=True),
                "concentration": sheet.quantity(one, at, "concentration", dimension, required=True),
                "retention_time": sheet.quantity(one, at, "retention_time", "time"),
            }
        )
    return tuple(found)


def read_further(
    sheet: Sheet, data: Mapping[str, Any], files: FileFinder, fractions: Sequence[str]
) -> dict[str, tuple[dict[str, Any], ...]]:
    """The sections that later questions need, validated: scrubber, chlorine, reactor, gas, storage."""
    found: dict[str, tuple[dict[str, Any], ...]] = {}
    scrubbers = [_scrubber(sheet, row, place) for row, place in sheet.rows(data, "scrubber")]
    gases = [read_gas_analysis(sheet, row, place, files, fractions) for row, place in sheet.rows(data, "gas_analysis")]
    meters = [read_gas_meter(sheet, row, place, files, fractions) for row, place in sheet.rows(data, "gas_meter")]
    if len(meters) > 1:
        sheet.fault("[[gas_meter]] 2", "a second meter", "one meter", "Put the readings of one meter into one log.")
    reactor, storage = sheet.table(data, "reactor"), sheet.table(data, "storage")
    sheet.only(storage, "[storage]", ("minimum_temperature",))
    if scrubbers:
        found["scrubber"] = tuple(scrubbers)
    if chlorine := sheet.table(data, "chlorine"):
        found["chlorine"] = (read_chlorine(sheet, chlorine),)
    if reactor:
        found["reactor"] = (read_reactor(sheet, reactor),)
    if gases:
        found["gas_analysis"] = tuple(gases)
    if meters:
        found["gas_meter"] = tuple(meters)
    if storage:
        found["storage"] = (
            {"minimum_temperature": sheet.quantity(storage, "[storage]", "minimum_temperature", "temperature")},
        )
    return found


def _scrubber(sheet: Sheet, row: Mapping[str, Any], place: str) -> dict[str, Any]:
    sheet.only(
        row, place, ("solution_volume", "aliquot", "titrant", "titre", "blank", "method", "chloride", "before_meter")
    )
    titres = row.get("titre", [])
    if not isinstance(titres, list):
        titres = [titres]
    read: list[Entered | None] = [sheet.quantity({"titre": one}, place, "titre", "volume") for one in titres]
    found = {
        "place": place,
        "solution_volume": sheet.quantity(row, place, "solution_volume", "volume"),
        "aliquot": sheet.quantity(row, place, "aliquot", "volume"),
        "titrant": sheet.quantity(row, place, "titrant", "amount concentration"),
        "titre": tuple(one for one in read if one is not None),
        "blank": sheet.quantity(row, place, "blank", "volume"),
        "method": sheet.text(row, place, "method", choices=("argentometric", "acid-base", "ion-chromatography")),
        "chloride": sheet.quantity(row, place, "chloride", "mass concentration"),
        "before_meter": sheet.flag(row, place, "before_meter") is not False,
    }
    _enough_for_chlorine(sheet, row, place, found)
    return found


def _enough_for_chlorine(sheet: Sheet, row: Mapping[str, Any], place: str, found: Mapping[str, Any]) -> None:
    """Whether a scrubber entry tells all that its method needs, and no blank beyond the titre."""
    if "method" not in row:
        choices = "argentometric, acid-base or ion-chromatography"
        sheet.fault(f"{place}, method", "nothing", f"how the chloride was found: {choices}")
        return
    if not found["method"]:  # told already
        return
    by_titration = found["method"] in ("argentometric", "acid-base")
    needed = ("aliquot", "titrant", "titre") if by_titration else ("chloride",)
    if missing := [key for key in ("solution_volume", *needed) if key not in row]:
        sheet.fault(place, f"no {' and no '.join(missing)}", f"{', '.join(missing)} for method {found['method']}")
    for key in ("solution_volume", "aliquot", "titrant"):
        if found[key] is not None and found[key].value == 0:
            sheet.fault(f"{place}, {key}", f'"{found[key].text}"', "more than nothing")
    whole, aliquot, blank, titres = (found[key] for key in ("solution_volume", "aliquot", "blank", "titre"))
    if by_titration and whole is not None and aliquot is not None and aliquot.value > whole.value:
        sheet.fault(f"{place}, aliquot", f'"{aliquot.text}" of "{whole.text}"', "no more than the whole solution")
    if by_titration and blank is not None and titres:
        mean = sum(one.value for one in titres) / len(titres)
        if blank.value > mean:
            sheet.fault(
                f"{place}, blank", f"a blank of {blank.value:g} mL above the mean titre of {mean:.4g} mL",
                "a blank below the titre", "Chlorine would be negative; check that the two were not swapped.",
            )  # fmt: skip
