"""Every way in which an input can be refused, each with one line that says what to do.

CutbookError
├── InputError (also ValueError)      a file or entry is wrong; exit status 1
│   ├── RunSheetError                 the run sheet or a settings file; carries every fault found
│   ├── TraceError                    a detector signal cannot be used
│   │   └── NoScansError              a file holds no run of mass spectra, though it may hold a trace
│   ├── LadderError                   the n-alkane ladder cannot be numbered beyond doubt
│   ├── UnitError                     a quantity with a wrong or unknown unit
│   └── BalanceError                  weighings contradict each other
└── MissingExtraError (also RuntimeError)  an optional library is not installed
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self


def printable(text: object, limit: int = 120) -> str:
    """Text that is safe on one line of a terminal: control characters escaped, length bounded."""
    shown = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in str(text))
    return shown if len(shown) <= limit else shown[: limit - 1] + "…"


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong with an input.

    file : name of the file as the user knows it ("" when no file is concerned).
    place : where in it ("line 812", "[[product]] 2, mass", "").
    found : what was met.
    expected : what would have been accepted.
    do : what to do about it ("" when `expected` already says so).
    """

    file: str
    place: str
    found: str
    expected: str
    do: str = ""

    def line(self) -> str:
        """The fault as one line: file, place: found; expected; what to do."""
        where = ", ".join(printable(part, 200) for part in (self.file, self.place) if part)
        text = f"found {printable(self.found, 400)}; expected {printable(self.expected, 400)}"
        if self.do:
            text += f". {printable(self.do, 400)}"
        return f"{where}: {text}" if where else text


class CutbookError(Exception):
    """Base of every error that the program raises on purpose."""


class InputError(CutbookError, ValueError):
    """An input is wrong and no defensible number exists. `faults` holds each as a record."""

    def __init__(self, *faults: Fault) -> None:
        self.faults: tuple[Fault, ...] = faults
        super().__init__("\n".join(fault.line() for fault in faults))

    def __reduce__(self) -> tuple[type[InputError], tuple[Fault, ...]]:
        """Cross from one process to another with the faults whole."""
        return type(self), self.faults

    @classmethod
    def single(cls, file: str, place: str, found: str, expected: str, do: str = "") -> Self:
        """An error with exactly one fault."""
        return cls(Fault(file, place, found, expected, do))


class RunSheetError(InputError):
    """The run sheet or a settings file is wrong; every fault found is reported at once."""


class TraceError(InputError):
    """A detector signal cannot be read or used."""


class NoScansError(TraceError):
    """A file holds no run of mass spectra; a trace it may hold all the same."""


class LadderError(InputError):
    """The n-alkane ladder cannot be numbered beyond doubt."""


class UnitError(InputError):
    """A quantity carries a wrong, missing or unknown unit."""


class BalanceError(InputError):
    """Weighings contradict each other."""


class MissingExtraError(CutbookError, RuntimeError):
    """An optional library is needed; the message says what to install."""


def nearest(word: str, known: Sequence[str]) -> str:
    """The known word closest to a mistyped one, or "" when none is near."""
    import difflib

    close = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    return close[0] if close else ""
