"""Put into words how many chlorine and bromine atoms single spectra tell of, from `reports/file_contents.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from cutbook.identification.chlorine_count import count_halogens, faulty_pattern
from cutbook.model.errors import InputError
from cutbook.model.scans import Spectrum


@cache
def halogen_words() -> Mapping[str, str]:
    """The words of halogens, by key."""
    text = files("cutbook.reports").joinpath("file_contents.toml").read_text(encoding="utf-8")
    found: Mapping[str, str] = tomllib.loads(text)["halogens"]
    return found


def halogen_record(spectrum: Spectrum) -> dict[str, Any]:
    """What the isotopes of a spectrum tell, as plain values."""
    told = count_halogens(spectrum.mz.tolist(), spectrum.intensity.tolist())
    return {
        "time_min": None if spectrum.time_min is None else round(spectrum.time_min, 4),
        "finding": told.finding,
        "chlorine": told.chlorine,
        "bromine": told.bromine,
        "mz": told.mz or None,
        "also": [{"chlorine": chlorine, "bromine": bromine} for chlorine, bromine in told.also],
        "evidence": [
            {
                "test": one.test,
                "outcome": one.outcome,
                "found": one.found,
                "expected": one.expected,
                "u": one.u,
                "unit": one.unit or None,
            }
            for one in told.evidence
        ],
    }


def against_formula(spectrum: Spectrum) -> list[dict[str, Any]] | None:
    """Isotope ratios that contradict the formula that a file states; None where it states none that can be held."""
    if not spectrum.formula:
        return None
    try:
        wrong = faulty_pattern(spectrum.formula, spectrum.mz.tolist(), spectrum.intensity.tolist())
    except InputError:
        return None
    return [{"ion": one.unit, "found": one.found, "expected": one.expected} for one in wrong]


def lone_line(record: Mapping[str, Any]) -> str:
    """One line about one spectrum."""
    return halogen_words()["lone"].format(found=_finding(record))


def peaks_line(records: Sequence[Mapping[str, Any]]) -> str:
    """One line about the tallest peaks of a run: what holds halogens one by one, the rest counted."""
    words = halogen_words()
    seen = [words["at"].format(found=_finding(one), time=one["time_min"]) for one in records
            if one["finding"] == "halogen"]  # fmt: skip
    counts = {kind: sum(one["finding"] == kind for one in records) for kind in ("none", "open")}
    return words["peaks"].format(
        count=len(records), found="; ".join(seen) if seen else words["no_peak"], none=counts["none"],
        open=counts["open"],
    )  # fmt: skip


def formula_lines(formula: str | None, wrong: Sequence[Mapping[str, Any]] | None) -> Iterator[str]:
    """Whether the isotopes bear out the formula that a file states."""
    words = halogen_words()
    if formula is None or wrong is None:
        return
    if not wrong:
        yield words["formula_borne_out"].format(formula=formula)
        return
    ratios = ", ".join(
        words["ratio"].format(ion=one["ion"], found=f"{one['found']:.2g}", expected=f"{one['expected']:.2g}")
        for one in wrong
    )
    yield words["formula_contradicted"].format(formula=formula, ratios=ratios)


def _finding(record: Mapping[str, Any]) -> str:
    words = halogen_words()
    if record["finding"] == "halogen":
        return words["halogen"].format(atoms=_atoms(record), mz=record["mz"])
    if record["finding"] == "none":
        return words["none"].format(mz=record["mz"])
    if not record["also"]:
        return words["open"]
    return words["also"].format(also=words["or"].join(_atoms(one) for one in record["also"]), mz=record["mz"])


def _atoms(record: Mapping[str, Any]) -> str:
    counts = (("Cl", record["chlorine"]), ("Br", record["bromine"]))
    return " ".join(f"{count} {symbol}" for symbol, count in counts if count) or halogen_words()["no_halogen"]
