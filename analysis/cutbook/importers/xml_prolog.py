"""Refuse XML that could pull in other files, grow without bound in memory, or hide what it says in a rare encoding.

A document type is where entities are declared, and no open format of this trade has one. It can only stand before
the first element, so that looking there is enough; the encodings let through all write ASCII as ASCII, so that
nothing can hide from the look.
"""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import TraceError

_DECLARATION = re.compile(rb"(?:\xef\xbb\xbf)?\s*<\?xml\s[^>]*?encoding\s*=\s*[\"']([A-Za-z][\w.-]*)[\"']")
_LONGEST_TAG = 200_000  # characters
_MOST_PARTS = 100_000  # an hour at 25 scans a second
_MOST_TAGS = 3_000_000  # of all of them; a spectrum has some fifty to eighty
_BLOCK = 2**20  # characters looked through at a time
_MOST_ELEMENTS = 5_000  # in one place; the head of a file has some hundred
_ENCODINGS = frozenset({"utf-8", "us-ascii", "ascii", "iso-8859-1", "iso-8859-15", "latin1", "windows-1252", "cp1252"})
# no entities, no network; the parser's own limits on depth and length stay in force
PARSED_SAFELY: dict[str, Any] = {
    "remove_comments": True,
    "remove_pis": True,
    "resolve_entities": False,
    "no_network": True,
}


def refuse_unsafe(file: TraceFile, whole: tuple[bytes, ...]) -> None:
    """Refuse a file of spectra that must not be handed to a parser.

    Parameters
    ----------
    file : XML. whole : see `unsafe_bulk`.

    Raises
    ------
    TraceError
        For what `unsafe_prolog` or `unsafe_bulk` finds.
    """
    if unsafe := unsafe_prolog(file.content):
        raise file.fault("", unsafe, "plain XML in UTF-8", "Export the file again")
    if bulk := unsafe_bulk(file.content, whole):
        raise file.fault("", bulk, "a run of spectra, each with its arrays", "Export the file again")


def unreadable(file: TraceFile, error: Any, form: str) -> TraceError:
    """What is said of a file, which should be of a format, when the parser gives up with an `XMLSyntaxError`."""
    at = f"line {error.lineno}" if error.lineno else ""
    return file.fault(at, f"XML that cannot be read ({error.msg})", form, "Was the file cut short?")


def unsafe_prolog(content: bytes) -> str:
    """What speaks against handing XML to a parser, "" when nothing does.

    Examples
    --------
    >>> unsafe_prolog(b'<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>')
    'an XML document type (entities)'
    """
    if content.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\0" in content[:100]:
        return "XML in UTF-16 or UTF-32"
    declared = _DECLARATION.match(content[:1000])
    if declared and declared.group(1).decode("ascii").casefold() not in _ENCODINGS:
        return f"XML in the encoding {declared.group(1).decode('ascii')[:40]}"
    at = 0
    while (at := content.find(b"<", at)) >= 0:
        if content.startswith(b"<!--", at):
            at = content.find(b"-->", at + 4)
        elif content.startswith(b"<?", at):
            at = content.find(b"?>", at + 2)
        elif content.startswith(b"<!", at):
            return "an XML document type (entities)"
        else:
            return ""
        if at < 0:
            break
    return "XML without an element"


def unsafe_bulk(content: bytes, whole: tuple[bytes, ...]) -> str:
    """What would make a parser hold far more than a spectrum at a time, "" when nothing would.

    Parameters
    ----------
    content : XML. whole : names of the elements after which a parser lets go of what it has read.
    """
    codes = np.frombuffer(content, np.uint8)
    begins, ends = _places(codes, b"<"), _places(codes, b">")
    if begins is None or ends is None:
        return f"{max(content.count(b'<'), content.count(b'>')):,} tags"
    wide = np.flatnonzero(np.diff(ends, prepend=-1) > _LONGEST_TAG)
    for gap in wide.tolist():
        start = int(ends[gap - 1]) if gap else 0
        opened_at = content.find(b"<", start, int(ends[gap]))  # before it stands the text of an array
        if opened_at >= 0 and int(ends[gap]) - opened_at > _LONGEST_TAG:
            return f"a tag of {int(ends[gap]) - opened_at:,} characters"
    begun = np.sort(np.concatenate([_named(codes, begins, name) for name in whole]))
    if not len(begun):  # names with a prefix; a pattern finds them, more slowly
        pattern = re.compile(rb"<\w+:(?:" + b"|".join(whole) + rb")[\s>/]")
        begun = np.array([found.start() for found in pattern.finditer(content)], dtype=np.int64)
    if len(begun) > _MOST_PARTS:
        return f"{len(begun):,} spectra"
    most = int(np.diff(np.searchsorted(ends, begun), prepend=0, append=len(ends)).max())
    return f"{most:,} elements in one place" if most > _MOST_ELEMENTS else ""


def _places(codes: NDArray[np.uint8], sign: bytes) -> NDArray[np.int64] | None:
    """Where a sign stands, None where it stands in more places than any file has tags."""
    found, count = [], 0
    for first in range(0, len(codes), _BLOCK):
        found.append(np.flatnonzero(codes[first : first + _BLOCK] == ord(sign)) + first)
        count += len(found[-1])
        if count > _MOST_TAGS:
            return None
    return np.concatenate(found) if found else np.empty(0, np.int64)


def _named(codes: NDArray[np.uint8], begins: NDArray[np.int64], name: bytes) -> NDArray[np.int64]:
    """Which of the places where tags begin are followed by a name."""
    at = begins[begins < len(codes) - len(name)]
    for place, letter in enumerate(name, 1):
        at = at[codes[at + place] == letter]
    return at


def forget(node: Any) -> None:
    """Let go of an element and of all that stands before it, so that no more than one is held in memory."""
    node.clear()
    while node is not None:
        while node.getprevious() is not None:
            del node.getparent()[0]
        node = node.getparent()
