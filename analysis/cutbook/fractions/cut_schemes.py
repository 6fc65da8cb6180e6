"""Where the cuts are drawn: the schemes in use, and those that a user defines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cutbook.model.cuts import CutKind, CutLimits, CutScheme
from cutbook.model.errors import InputError, nearest
from cutbook.model.tables import reference

HEADLINE_CARBON = "carbon-4-12-20"
"""C1–C4 / C5–C12 / C13–C20 / C21+."""
HEADLINE_BOILING = "boiling-36-200-350"
"""< 36 / 36–200 / 200–350 / > 350 °C."""

RESIDUE = "residue"
"""Name of what did not elute; no cut of a scheme may bear it."""


@dataclass(frozen=True)
class OwnCut:
    """One cut of a scheme of one's own. lower, upper : carbon numbers or °C; left out where the cut is open."""

    cut: str = ""
    lower: float | None = None
    upper: float | None = None


@dataclass(frozen=True)
class OwnScheme:
    """A scheme of one's own, cuts lightest first."""

    name: str = ""
    kind: CutKind = "boiling range"
    cuts: tuple[OwnCut, ...] = ()


@dataclass(frozen=True)
class CutSettings:
    """Which cuts are reported.

    carbon, boiling : the two headline schemes. further : schemes shown beside them. own : schemes of one's own,
        to be named in the other three.
    """

    carbon: str = HEADLINE_CARBON
    boiling: str = HEADLINE_BOILING
    further: tuple[str, ...] = ()
    own: tuple[OwnScheme, ...] = ()


@dataclass(frozen=True)
class ChosenSchemes:
    """The schemes in force, by the name under which results show them."""

    shown: tuple[tuple[str, CutScheme], ...]


def chosen_schemes(settings: CutSettings) -> ChosenSchemes:
    """Look up the schemes that the settings name.

    Raises
    ------
    InputError
        When a name is unknown, a headline scheme is of the other kind, or an own scheme is inconsistent.
    """
    own = [
        define_scheme(
            scheme.name,
            scheme.kind,
            [
                CutLimits(
                    cut.cut,
                    -math.inf if cut.lower is None else cut.lower,
                    math.inf if cut.upper is None else cut.upper,
                )
                for cut in scheme.cuts
            ],
            "defined by the user",
        )
        for scheme in settings.own
    ]
    shown = []
    for key, name, kind in (
        ("carbon", settings.carbon, "carbon number"),
        ("boiling", settings.boiling, "boiling range"),
    ):
        scheme = cut_scheme(name, own)
        if scheme.kind != kind:
            raise InputError.single("", f"[cuts] {key}", f"'{name}', a scheme by {scheme.kind}", f"one by {kind}")
        shown.append(("carbon-number" if key == "carbon" else "boiling-range", scheme))
    further = [(name, cut_scheme(name, own)) for name in dict.fromkeys(settings.further)]
    return ChosenSchemes((*shown, *(pair for pair in further if pair[0] not in (settings.carbon, settings.boiling))))


def scheme_names() -> tuple[str, ...]:
    """Names of the schemes of the reference table, in its order."""
    return tuple(dict.fromkeys(row["scheme"] for row in reference("cut_schemes").rows))


def cut_scheme(name: str, own: Sequence[CutScheme] = ()) -> CutScheme:
    """A scheme by name.

    Parameters
    ----------
    name : of the reference table or of `own`.
    own : schemes that the user defined; they come first.

    Raises
    ------
    InputError
        When the name is unknown; the nearest known one is offered.
    """
    for scheme in own:
        if scheme.name == name:
            return scheme
    rows = [row for row in reference("cut_schemes").rows if row["scheme"] == name]
    if not rows:
        known = (*(scheme.name for scheme in own), *scheme_names())
        near = nearest(name, known)
        raise InputError.single(
            "", "cut scheme", f"'{name}'", "one of " + ", ".join(known), f"Did you mean '{near}'?" if near else ""
        )
    cuts = [
        CutLimits(
            row["cut"],
            float(row["lower"]) if row["lower"] else -math.inf,
            float(row["upper"]) if row["upper"] else math.inf,
        )
        for row in rows
    ]
    kind: CutKind = "carbon number" if rows[0]["kind"] == "carbon number" else "boiling range"
    return define_scheme(name, kind, cuts, rows[0]["source"])


def define_scheme(name: str, kind: CutKind, cuts: Sequence[CutLimits], source: str = "") -> CutScheme:
    """A scheme of one's own.

    Parameters
    ----------
    name : as printed. kind : what the limits are.
    cuts : lightest first; each begins where the one before ends (carbon numbers: one later).
    source : who draws them so.

    Raises
    ------
    InputError
        When cuts overlap, leave a gap, repeat a name, or end before they begin.
    """
    step = 1.0 if kind == "carbon number" else 0.0
    names = [cut.cut for cut in cuts]
    for index, cut in enumerate(cuts):
        place = f"cut '{cut.cut}'"
        if not cut.cut or names.count(cut.cut) > 1:
            raise InputError.single(
                "", f"cut scheme '{name}'", f"{place} {names.count(cut.cut)} times", "a name of its own"
            )
        if cut.cut == RESIDUE:
            raise InputError.single(
                "", f"cut scheme '{name}'", place, f"another name; '{RESIDUE}' is what did not elute", "Try 'bottoms'."
            )
        if cut.lower > cut.upper or (step == 0 and cut.lower == cut.upper):
            raise InputError.single(
                "",
                f"cut scheme '{name}', {place}",
                f"{cut.lower:g} to {cut.upper:g}",
                "a lower limit below the upper one",
            )
        if index and cut.lower != cuts[index - 1].upper + step:
            raise InputError.single(
                "",
                f"cut scheme '{name}', {place}",
                f"lower limit {cut.lower:g} after an upper limit of {cuts[index - 1].upper:g}",
                f"{cuts[index - 1].upper + step:g}, so that nothing is counted twice or left out",
            )
    if not cuts:
        raise InputError.single("", f"cut scheme '{name}'", "no cuts", "one at least")
    return CutScheme(name, kind, tuple(cuts), source)
