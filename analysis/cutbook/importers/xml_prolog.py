"""Refuse XML that could pull in other files, grow without bound, or hide what it says in a rare encoding.

A document type is where entities are declared, and no open format of this trade has one. It can only stand before
the first element, so that looking there is enough; the encodings let through all write ASCII as ASCII, so that
nothing can hide from the look.
"""

from __future__ import annotations

import re

_DECLARATION = re.compile(rb"(?:\xef\xbb\xbf)?\s*<\?xml\s[^>]*?encoding\s*=\s*[\"']([A-Za-z][\w.-]*)[\"']")
_ENCODINGS = frozenset({"utf-8", "us-ascii", "ascii", "iso-8859-1", "iso-8859-15", "latin1", "windows-1252", "cp1252"})


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
