"""Say in plain sentences what the cold does to a liquid."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from functools import cache
from importlib.resources import files

from cutbook.coldflow.cold_storage import warm_to_c
from cutbook.coldflow.gelling import gelling_shares
from cutbook.model.cold import ColdStorage
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, plain, with_uncertainty
from cutbook.workup.cold_changes import ColdChange


@cache
def cold_words() -> dict[str, str]:
    """The sentences, from reports/cold.toml."""
    return tomllib.loads(files("cutbook.reports").joinpath("cold.toml").read_text(encoding="utf-8"))


def cold_sentence(answer: ColdStorage, settings: OutputSettings = AS_WRITTEN) -> str:
    """One sentence that a person can act on: where wax appears, what happens in store, to what to warm."""
    words, at = cold_words(), answer.at_storage
    if answer.shown.value is None:
        told = words["no_wax"]
        if at is None or at.worst == "liquid":
            return told
    else:
        measured = answer.shown is not answer.appearance
        told = words["measured" if measured else "appears"].format(appearance=with_uncertainty(answer.shown, settings))
    if at is None:
        return f"{told}; {words['no_storage']}"
    here = plain(at.temperature_c, 3, settings)
    told += "; " + words["state"].format(temperature=here, state=at.state)
    if at.worst != at.state:
        told += words["worst"].format(worst=at.worst)
    warm = warm_to_c(answer)
    if at.worst != "liquid" and warm is not None:
        told += "; " + words["warm"].format(warm=warm)
    return told


def change_lines(
    changes: Sequence[ColdChange], below_c: float | None, settings: OutputSettings = AS_WRITTEN
) -> Iterator[str]:
    """One line a mixture, then whether what was wanted was found."""
    words, gelled = cold_words(), f"{100 * gelling_shares()[0]:g}"

    def whole(value: float) -> str:
        return plain(round(value), 3, settings)

    for one in changes:
        appears, gel, solid = one.appearance_c, one.first_gel_c, one.at_storage
        appeared = words["change_no_wax"] if appears is None else words["change_appears"].format(value=whole(appears))
        gels = words["change_no_gel"] if gel is None else words["change_gel"].format(value=whole(gel))
        stored = "" if solid is None else words["change_storage"].format(value=plain(solid, 2, settings))
        mass = plain(one.mass, 3, settings)
        what = _what(one, settings)
        yield words["change"].format(what=what, appearance=appeared, first=gelled, gel=gels, storage=stored, mass=mass)
    if below_c is not None and not any(one.appearance_c is None or one.appearance_c < below_c for one in changes):
        yield words["change_not_found"].format(below=plain(below_c, 3, settings))
    yield words["change_foot"]


def _what(one: ColdChange, settings: OutputSettings) -> str:
    """What was done to the liquid."""
    words = cold_words()
    if one.removed_from is not None:
        return words["change_removed"].format(first=one.removed_from)
    if one.blended:
        return words["change_blended"].format(share=plain(100 * one.share, 3, settings), name=one.blended)
    return words["change_as_is"]
