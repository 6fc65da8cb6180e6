"""Say in plain sentences what the cold does to a liquid."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from functools import cache
from importlib.resources import files

from cutbook.coldflow.cold_storage import warm_to_c
from cutbook.model.cold import ColdStorage
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings, plain, with_uncertainty
from cutbook.workup.cold_changes import ColdChange


@cache
def cold_words() -> dict[str, str]:
    """The sentences, from reports/cold.toml."""
    return tomllib.loads(files("cutbook.reports").joinpath("cold.toml").read_text(encoding="utf-8"))


def cold_sentence(answer: ColdStorage, settings: OutputSettings = AS_WRITTEN) -> str:
    """One sentence that a person can act on: where wax appears, what happens in store, to what to warm."""
    words = cold_words()
    if answer.shown.value is None:
        return words["no_wax"]
    measured = answer.shown is not answer.appearance
    told = words["measured" if measured else "appears"].format(appearance=with_uncertainty(answer.shown, settings))
    at = answer.at_storage
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
    words = cold_words()

    def whole(value: float) -> str:
        return plain(round(value), 3, settings)

    for one in changes:
        appears, gel, solid = one.appearance_c, one.first_gel_c, one.at_storage
        first = words["change_no_wax"] if appears is None else words["change_appears"].format(value=whole(appears))
        gels = words["change_no_gel"] if gel is None else words["change_gel"].format(value=whole(gel))
        stored = "" if solid is None else words["change_storage"].format(value=plain(solid, 2, settings))
        mass = plain(one.mass, 3, settings)
        yield words["change"].format(what=one.what, appearance=first, gel=gels, storage=stored, mass=mass)
    if below_c is not None and not any(one.appearance_c is None or one.appearance_c < below_c for one in changes):
        yield words["change_not_found"].format(below=plain(below_c, 3, settings))
    yield words["change_foot"]
