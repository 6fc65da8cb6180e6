"""Decode the tables of numbers of JCAMP-DX: packed ordinates behind an x on each line, and plain groups.

A packed ordinate takes its sign, its first digit and its parting from the one before it out of a single letter.
Three alphabets do so: one for ordinates (SQZ), one for differences to the ordinate before (DIF), and one that counts
how often the value or the difference before it stands (DUP). They may be mixed with plain numbers on one line.

References
----------
McDonald R. S., Wilks P. A., Appl. Spectrosc. 42 (1988) 151, JCAMP-DX 4.24, section 5: AFFN, PAC, SQZ, DIF, DUP.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import TraceError, printable
from cutbook.model.trace import Floats, frozen_array

MOST_VALUES = 4_000_000  # ten hours of mass spectra; a few bytes of repeat counts could claim any number
LARGEST = 1e100  # what is larger is damage; sums of these, and their products with a factor, stay finite
LONGEST_NUMBER = 64  # characters; a double needs 24

_SQZ = {letter: digits for digits, letter in enumerate("@ABCDEFGHI")} | {
    letter: -digits for digits, letter in enumerate("abcdefghi", 1)
}
_DIF = {letter: digits for digits, letter in enumerate("%JKLMNOPQR")} | {
    letter: -digits for digits, letter in enumerate("jklmnopqr", 1)
}
_DUP = {letter: digits for digits, letter in enumerate("STUVWXYZs", 1)}

# Every character belongs to exactly one alternative, so that a line is cut up in one pass. "E" is also an ordinate
# beginning with 5: among packed ordinates it is an exponent only before a sign, which packed ordinates never have.
_PLAIN = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)"
_OTHERS = r"|([@A-Za-s%])([0-9.]*)|(\?)|([^ \t\f\v,;])|[ \t\f\v,;]+"
_PACKED = re.compile(rf"({_PLAIN}(?:[Ee][+-][0-9]+)?){_OTHERS}")
_UNPACKED = re.compile(rf"({_PLAIN}(?:[Ee][+-]?[0-9]+)?){_OTHERS}")
_LETTERS = re.compile(r"[@A-DF-Za-df-s%]")
_WORD = re.compile(r"[+-]?[0-9.]+(?:[Ee][+-]?[0-9]+)?|[?]")
_SEPARATORS = str.maketrans(",;\t\f\v", "     ")
_JOINED_SIGN = re.compile(r"(?<=[0-9.?])(?=[+-])")
_SIMPLE = re.compile(r"[-0-9. ,\t]*")
_GROUPED = re.compile(r"[-+0-9.eE? ]*")
_TEXT = re.compile(r"<[^<>]*>|[()]")


@dataclass(frozen=True, eq=False)
class Rows:
    """The numbers of one table and the lines on which they stand.

    values : ordinates, shape (n,), or groups, shape (n, width); NaN where the file says "?".
    starts : index of the first new point of each line. lines : the numbers of these lines in the file.
    line_x : the x with which each line begins, as written; empty for groups.
    x_at : index of the point to which it belongs. A line that begins with a check value begins with a known point.
    """

    values: Floats
    starts: NDArray[np.int64]
    lines: NDArray[np.int64]
    line_x: Floats
    x_at: NDArray[np.int64]

    def line(self, point: int) -> int:
        """The line on which a point stands."""
        at = int(np.searchsorted(self.starts, point, side="right")) - 1
        return int(self.lines[max(at, 0)])


def unpack(file: TraceFile, first: int, lines: Sequence[str], most: int = MOST_VALUES) -> Rows:
    """Decode the lines of an ``(X++(Y..Y))`` table.

    Parameters
    ----------
    file : names the file in messages.
    first : number of the first of the lines in the file.
    lines : comments taken away; empty lines stand for themselves.
    most : ordinates that are still believed.

    Raises
    ------
    TraceError
        A character that is no part of the code, a difference or a count without a value, a check value that differs
        from the end of the line before, or more than `most` ordinates.

    Notes
    -----
    Where a line ends with a difference, the next one repeats the last ordinate before it goes on. It is compared and
    left out.
    """
    pattern = _UNPACKED if _has_exponents(lines) else _PACKED
    values = array("d")
    rows: list[tuple[int, int, float, int]] = []
    checked = False  # whether the line before ended with a difference
    for number, line in enumerate(lines, first):
        if not checked and (plain_row := _plain_row(line)):
            rows.append((len(values), number, plain_row[0], len(values)))
            values.extend(plain_row[1:])
            if len(values) > most:
                raise _too_many(file, number, most)
            continue
        start, x, x_at = len(values), None, -1
        last: float | None = None  # the ordinate before, on this line
        step: float | None = None  # the difference that led to it
        repeatable = False
        for plain, code, rest, missing, bad in pattern.findall(line):
            if bad or (code and code not in _SQZ and x_at < 0):
                what = f"'{bad or code + rest}'" + (" where a line begins" if not bad else "")
                raise _damaged(file, number, what, "an x followed by ordinates")
            if plain or missing or code in _SQZ:
                value = np.nan if missing else _number(file, number, plain, _SQZ.get(code), rest)
                if x is None:
                    if not plain:
                        raise _damaged(file, number, f"'{missing or code + rest}' where a line begins", "an x")
                    x = value
                    continue
                if x_at < 0 and checked:
                    _compare(file, number, values[-1], value)
                    x_at = start - 1
                else:
                    x_at = start if x_at < 0 else x_at
                    values.append(value)
                last, step, repeatable = value, None, True
            elif code in _DIF and last is not None:
                step = _number(file, number, "", _DIF[code], rest)
                last += step
                values.append(last)
                repeatable = True
            elif code in _DUP and last is not None and repeatable:
                more = _count(file, number, _DUP[code], rest) - 1
                if len(values) + more > most:
                    raise _too_many(file, number, most)
                last = _repeat(values, last, step or 0.0, more)
                repeatable = False
            elif code:
                raise _damaged(file, number, f"'{code + rest}' that follows no ordinate", "an ordinate before it")
        if x is None:
            continue
        if last is None:
            raise _damaged(file, number, "an x without ordinates", "ordinates behind every x")
        if len(values) > most:
            raise _too_many(file, number, most)
        checked = step is not None
        rows.append((start, number, x, x_at))
    return _rows(np.frombuffer(values, dtype=np.float64) if values else np.empty(0), rows)


def unpack_groups(file: TraceFile, first: int, lines: Sequence[str], width: int, most: int = MOST_VALUES) -> Rows:
    """Read groups such as ``(XY..XY)``: parted by commas, semicolons, blanks or only by a sign.

    Parameters
    ----------
    file, first, lines, most : as for `unpack`.
    width : numbers in each group; words in angle brackets and the brackets around a group are passed over.

    Raises
    ------
    TraceError
        Something that is no number, an incomplete group on a line, or more than `most` groups.
    """
    values = array("d")
    rows: list[tuple[int, int, float, int]] = []
    for number, line in enumerate(lines, first):
        if "<" in line or "(" in line:
            line = _TEXT.sub(" ", line)
        text = line.translate(_SEPARATORS)
        if not _GROUPED.fullmatch(text):
            raise _damaged(file, number, f"'{printable(line.strip(), 40)}'", "numbers")
        if "-" in text or "+" in text:
            text = _JOINED_SIGN.sub(" ", text)
        words = text.split()
        if not words:
            continue
        if len(words) % width:  # also where a comma was a decimal mark
            raise _damaged(file, number, f"{len(words)} numbers on a line", f"groups of {width}")
        rows.append((len(values) // width, number, np.nan, 0))
        if (plain_row := _floats(words)) is not None:
            values.extend(plain_row)
        else:
            for word in words:
                values.append(np.nan if word == "?" else _number(file, number, word, None, ""))
        if len(values) > most * width:
            raise _too_many(file, number, most)
    numbers = np.frombuffer(values, dtype=np.float64) if values else np.empty(0)
    return _rows(numbers.reshape(-1, width), rows)


def _plain_row(line: str) -> list[float] | None:
    """An x and its ordinates where a line holds nothing but plain numbers parted by blanks or commas; else None."""
    words = line.translate(_SEPARATORS).split()
    return _floats(words) if len(words) > 1 and _SIMPLE.fullmatch(line) else None


def _floats(words: list[str]) -> list[float] | None:
    """Words as numbers when all are plain and none is too long or too large; None leaves the message to others."""
    try:
        found = list(map(float, words))
    except ValueError:
        return None
    if max(map(len, words)) > LONGEST_NUMBER or not all(abs(value) <= LARGEST for value in found):
        return None
    return found


def _has_exponents(lines: Sequence[str]) -> bool:
    """Whether "E" begins an exponent even without a sign: where every line is made of complete plain numbers."""
    for line in lines:
        if _LETTERS.search(line):
            return False
        if "E" in line or "e" in line:
            words = _JOINED_SIGN.sub(" ", line.translate(_SEPARATORS)).split()
            if len(words) < 2 or not all(_WORD.fullmatch(word) for word in words):
                return False
    return True


def _rows(values: Floats, rows: list[tuple[int, int, float, int]]) -> Rows:
    starts, lines, line_x, x_at = zip(*rows, strict=True) if rows else ((), (), (), ())
    return Rows(
        frozen_array(values),
        np.array(starts, dtype=np.int64),
        np.array(lines, dtype=np.int64),
        frozen_array(line_x),
        np.array(x_at, dtype=np.int64),
    )


def _number(file: TraceFile, line: int, plain: str, digit: int | None, rest: str) -> float:
    """A plain number, or a first digit with its sign and what follows it."""
    text = plain or f"{digit}{rest}"
    if len(text) > LONGEST_NUMBER:
        raise _damaged(file, line, f"a number of {len(text)} characters", f"at most {LONGEST_NUMBER}")
    try:
        value = float(text)
    except ValueError:
        raise _damaged(file, line, f"'{text}'", "a number") from None
    if not abs(value) <= LARGEST:
        raise _damaged(file, line, f"'{text}'", f"a number up to {LARGEST:g}")
    return value


def _count(file: TraceFile, line: int, digit: int, rest: str) -> int:
    text = f"{digit}{rest}"
    if not text.isdigit() or len(text) > 9:
        raise _damaged(file, line, f"a count of {printable(text, 20)} repeated values", "a smaller whole number")
    return int(text)


def _repeat(values: array[float], last: float, step: float, more: int) -> float:
    """Append a value or a difference again; the last ordinate then reached."""
    if more <= 0:
        return last
    values.frombytes((last + step * np.arange(1, more + 1, dtype=np.float64)).tobytes())
    return last + step * more


def _compare(file: TraceFile, line: int, ended: float, begins: float) -> None:
    if abs(ended - begins) > 1e-9 * max(1.0, abs(ended)):
        raise _damaged(
            file,
            line,
            f"a check value of {begins:.10g} where the line before ends at {ended:.10g}",
            "the last ordinate repeated",
        )


def _damaged(file: TraceFile, line: int, found: str, expected: str) -> TraceError:
    return file.fault(f"line {line}", found, expected, "Was the file cut short or changed? Copy or export it again")


def _too_many(file: TraceFile, line: int, most: int) -> TraceError:
    return _damaged(
        file, line, f"more than {most:,} points", "no more, by the file's own count and by what is sensible"
    )
