"""Put a caution into words: level, text, why it matters, what to do."""

from __future__ import annotations

import string
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from cutbook.model.cautions import Caution
from cutbook.reporting.numbers import plain

Level = Literal["danger", "warning", "note"]
LEVELS: tuple[Level, ...] = ("danger", "warning", "note")


class WordingError(LookupError):
    """A caution has no wording, or its wording names a fact that was not given: a fault of the program."""


@dataclass(frozen=True)
class Wording:
    """The words of one caution code, facts still open as {names}."""

    code: str
    level: Level
    text: str
    means: str
    do: str

    def facts(self) -> frozenset[str]:
        """Names of the facts that the words need ("about" is always there)."""
        parts = (field for words in (self.text, self.means, self.do) for _, field, _, _ in _PLAIN.parse(words))
        return frozenset(name for name in parts if name) - {"about"}


@dataclass(frozen=True)
class Shown:
    """A caution as the reader meets it."""

    code: str
    level: Level
    about: str
    text: str
    means: str
    do: str


class _Facts(string.Formatter):
    """Fill in facts; numbers to four significant digits and with the minus of print, unless the words ask for more."""

    def format_field(self, value: Any, format_spec: str) -> str:
        if not format_spec and isinstance(value, float):
            return plain(value)
        if not format_spec and isinstance(value, int) and value < 0:
            return f"−{-value}"
        return str(format(value, format_spec))


_PLAIN = _Facts()


@cache
def wordings() -> Mapping[str, Wording]:
    """Every caution code that has words, from `reports/cautions.toml` and its companions `cautions.d-*.toml`.

    Raises
    ------
    WordingError
        When an entry is incomplete.
    """
    folder = files("cutbook.reports")
    names = sorted(e.name for e in folder.iterdir() if e.name.startswith("cautions.d-") and e.name.endswith(".toml"))
    found: dict[str, Wording] = {}
    for name in ["cautions.toml", *names]:
        for code, entry in tomllib.loads(folder.joinpath(name).read_text(encoding="utf-8")).items():
            lacking = [key for key in ("level", "text", "means", "do") if not entry.get(key)]
            if lacking or entry["level"] not in LEVELS:
                raise WordingError(f"{name}: '{code}' lacks {', '.join(lacking) or 'a level of ' + str(LEVELS)}")
            found[code] = Wording(code, entry["level"], entry["text"], entry["means"], entry["do"])
    return found


def put_into_words(caution: Caution) -> Shown:
    """The words of a caution with its facts filled in.

    Raises
    ------
    WordingError
        When the code has no words, or they need a fact that the caution does not carry.
    """
    wording = wordings().get(caution.code)
    if wording is None:
        raise WordingError(f"caution '{caution.code}' has no words in reports/cautions.toml")
    facts = {"about": caution.about, **caution.facts}
    try:
        text, means, do = (_PLAIN.vformat(words, (), facts) for words in (wording.text, wording.means, wording.do))
    except (KeyError, IndexError, ValueError, AttributeError) as error:
        raise WordingError(
            f"caution '{caution.code}' needs {sorted(wording.facts())}, was given {sorted(caution.facts)}: {error}"
        ) from error
    return Shown(caution.code, wording.level, caution.about, text, means, do)


def shown(caution: Caution) -> Shown:
    """The words of a caution; where they fail, its bare facts as a warning, so that a doubt is never lost."""
    try:
        return put_into_words(caution)
    except WordingError:
        wording = wordings().get(caution.code)
        facts = ", ".join(f"{name} {value}" for name, value in caution.facts.items())
        return Shown(
            caution.code,
            wording.level if wording else "warning",
            caution.about,
            f"{caution.code.replace('_', ' ').replace('.', ': ')}" + (f" ({facts})" if facts else ""),
            "The program raised this caution without words for it.",
            "Read the number it concerns with reserve, and report the code to the maintainers.",
        )


def in_order(cautions: Iterable[Caution]) -> tuple[Shown, ...]:
    """All cautions in words, dangers first, then in the order in which they arose."""
    worded = [shown(caution) for caution in cautions]
    return tuple(sorted(worded, key=lambda one: LEVELS.index(one.level)))


def grouped(worded: Iterable[Shown]) -> list[dict[str, Any]]:
    """Cautions of one code together, so that what it means is said once."""
    groups: dict[tuple[str, str, str], dict[str, Any]] = {}
    for one in worded:
        group = groups.setdefault(
            (one.code, one.means, one.do), {"level": one.level, "means": one.means, "do": one.do, "entries": []}
        )
        group["entries"].append(one)
    return list(groups.values())


def reason_text(reason: str, cautions: Iterable[Shown]) -> str:
    """Why a number is missing, in words: the text of the caution that its result names."""
    if not reason:
        return ""
    told = [one for one in cautions if one.code == reason]
    if told:
        return told[0].text
    wording = wordings().get(reason)
    bare = Caution(reason)
    return shown(bare).text if wording is not None and not wording.facts() else reason
