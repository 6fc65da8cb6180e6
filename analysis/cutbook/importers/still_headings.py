"""Tell from the headings of a still log what each column holds and in which unit."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from cutbook.importers.column_headings import column_named
from cutbook.importers.trace_file import TraceFile
from cutbook.model.units import known_units

FIELDS: Mapping[str, tuple[str, ...]] = {
    "time": ("time",),
    "pot_temperature": ("temperature",),
    "head_temperature": ("temperature",),
    "volume": ("volume", "fraction"),
    "mass": ("mass",),
    "pressure": ("pressure",),
    "receiver": (),
    "note": (),
}
"""What a log may hold, as the run sheet names it -> dimensions of its unit; none for text."""

_BENCH = {"time": "min", "temperature": "°C", "volume": "mL", "mass": "g"}
# as hands write them, beside the spellings of the table of units
_SPELLINGS = {"std": "h", "minuten": "min", "sek": "s", "prozent": "%", "% v/v": "%", "vol%": "%", "vol %": "%",
              "vol.%": "%", "vol.-%": "%"}  # fmt: skip
_LONGEST = 200  # characters; what is longer is a paragraph and no heading
# English and German, in the order in which they are asked: a pot temperature is a temperature, too
_NAMES: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (field, re.compile(pattern))
    for field, pattern in (
        ("note", r"(notes?|remarks?|comments?|observations?|bemerkung(en)?|anmerkung(en)?|notiz(en)?|beobachtung(en)?"
                 r"|kommentar)"),
        ("receiver", r"(receiver|receiving flask|fraction|fraktion|vorlage|cut|bottle|flasche|schnitt)"
                     r"( ?(no|nr|nummer|number)?\.?)?"),
        ("pressure", r"(.*(press|druck|vacuum|vakuum|baromet).*|p)"),
        ("pot_temperature", r"(.*\b(pot|kettle|boiler|still|sump|bottoms?|liquid|reboiler)\b.*|.*(sumpf|blase|kolben"
                            r"|fl(ü|ue)ssig).*|t ?(pot|s|b|sumpf|blase))"),
        ("head_temperature", r"(.*\b(head|vapou?r|overhead|top|still ?head|boiling (point|temp\w*))\b.*|.*(kopf|dampf"
                             r"|(ü|ue)bergang|siedetemp).*|t ?(head|h|k|d|kopf|dampf))"),
        ("time", r"(.*\b(time|clock|elapsed)\b.*|.*(zeit|uhr|dauer).*|t|min(utes?|uten)?)"),
        ("mass", r"(.*(mass|weight|gewicht|distil|destil|recover|menge).*|m|wt\.?)"),
        ("volume", r"(.*(vol|distil|destil|recover|menge|übergegangen).*|v|ml|percent|prozent)"),
        ("head_temperature", r"(temp(erature|eratur)?\.?|t|ϑ|θ)"),
    )
)  # fmt: skip


@dataclass(frozen=True)
class StillHeading:
    """A heading: as written, which field it heads ("" for none), the unit in it ("" where none is stated)."""

    text: str
    field: str
    unit: str


def read_still_heading(text: str) -> StillHeading:
    """Take a heading of a still log apart.

    Examples
    --------
    >>> read_still_heading("Kopftemp. [°C]")
    StillHeading(text='Kopftemp. [°C]', field='head_temperature', unit='°C')
    >>> read_still_heading("pot_temperature_F").field
    'pot_temperature'
    >>> read_still_heading("vol / ml").unit
    'mL'
    """
    if len(text) > _LONGEST or not text.strip():
        return StillHeading(text, "", "")
    name, unit = _unit_apart(" ".join(text.split()))
    plain = re.sub(r"[\s_]+", " ", name).strip(" :.,").casefold()
    fits = [field for field, pattern in _NAMES if pattern.fullmatch(plain)] if plain else []
    if not unit and "mass" in fits and "volume" in fits:
        # "distillate" without a unit may be either; only a word for the one settles it
        fits = [field for field in fits if field != ("volume" if re.search("mass|weight|gewicht", plain) else "mass")]
    if unit:
        dimension = known_units()[unit].dimension
        # the unit decides: "T (min)" is a time; a heading that is a unit and nothing else tells enough
        of_receiver = "receiver" in fits
        fits = [field for field in fits if dimension in FIELDS[field]]
        if of_receiver and not fits and dimension in ("volume", "mass"):  # "receiver (mL)": what is in it
            fits = [dimension]
        if not fits and not plain:
            fits = [field for field in ("head_temperature", "volume", "mass", "pressure", "time")
                    if dimension in FIELDS[field]]  # fmt: skip
    return StillHeading(text, fits[0] if fits else "", unit)


def still_columns(
    file: TraceFile,
    headings: Sequence[str],
    place: str,
    wanted: Mapping[str, str],
    reading: Callable[[str], StillHeading] = read_still_heading,
    fields: Mapping[str, tuple[str, ...]] = FIELDS,
    entry: str = "[[distillation]]",
) -> dict[str, tuple[int, str]]:
    """Which column holds which field.

    Parameters
    ----------
    file : for messages. headings : as written. place : where they stand.
    wanted : field -> heading or column number from 1, as the run sheet chooses; they come first.
    reading, fields, entry : how a heading is read, what there may be and where it is chosen, of another hand-kept log.

    Returns
    -------
    dict
        Field -> (position from 0, unit); the unit is "" where none is stated.

    Raises
    ------
    TraceError
        When two columns may be the same field, or a wanted one is not there or wanted twice.
    """
    read = [reading(text) for text in headings]
    found: dict[str, tuple[int, str]] = {}
    for field, name in wanted.items():
        at = column_named(file, headings, name, field)
        twin = next((other for other, (taken, _) in found.items() if taken == at), "")
        if twin:
            raise file.fault("columns", f"column {at + 1} for {twin} and for {field}", "two different columns")
        unit = read[at].unit
        fits = not unit or not fields[field] or known_units()[unit].dimension in fields[field]
        found[field] = (at, unit if fits else "")
    taken = {at for at, _ in found.values()}
    for field in fields:
        if field in found:
            continue
        at_all = [at for at, heading in enumerate(read) if heading.field == field and at not in taken]
        if len(at_all) > 1:
            shown = ", ".join(f"'{headings[at].strip()}'" for at in at_all)
            raise file.fault(
                place, f"{len(at_all)} columns that may be the {field.replace('_', ' ')}: {shown}", "one",
                f'Choose with columns = {{ {field} = "…" }} in its {entry} entry',
            )  # fmt: skip
        if at_all:
            found[field] = (at_all[0], read[at_all[0]].unit)
    return found


def assumed_unit(field: str) -> str:
    """The unit of a column whose heading states none; "" where no unit may be assumed."""
    return _BENCH.get(FIELDS[field][0], "") if FIELDS[field] else ""


def unit_of(text: str) -> str:
    """The name of a unit however it is written, "" when it is none."""
    spelled = re.sub(r"^(grad|deg\.?|°)\s*c$", "°C", text.strip(" .()[]"), flags=re.IGNORECASE)
    spelled = {"º": "°"}.get(spelled[:1], spelled[:1]) + spelled[1:]
    units = known_units()
    if spelled in units:
        return units[spelled].name
    folded = {name.casefold(): unit.name for name, unit in reversed(units.items())}
    return folded.get(_SPELLINGS.get(spelled.casefold(), spelled.casefold()), "")


def _unit_apart(text: str) -> tuple[str, str]:
    """Name and unit: "T (°C)", "T [°C]", "T / °C", "T_C", "T, °C", "T in °C", "°C"."""
    bracketed = re.fullmatch(r"([^()\[\]]*)[(\[]([^()\[\]]*)[)\]]\s*(.*)", text)
    if bracketed and (unit := unit_of(bracketed[2])):
        return f"{bracketed[1]} {bracketed[3]}".strip(), unit
    tail = re.fullmatch(r"(.*?)(?:\s*[/,;:_]\s*|\s+in\s+|\s+)([^/,;:_]+)", text)
    while tail and tail[1]:
        if unit := unit_of(tail[2]):
            return tail[1], unit
        # "mm Hg", "deg C": a unit of two words
        tail = re.fullmatch(r"(.*?)(?:\s*[/,;:_]\s*|\s+in\s+|\s+)([^\s/,;:_]+)", tail[0]) if " " in tail[2] else None
    if unit := unit_of(text):
        return "", unit
    if text.startswith("%"):
        return text[1:].strip(), "%"
    return re.sub(r"[()\[\]]", " ", text), ""
