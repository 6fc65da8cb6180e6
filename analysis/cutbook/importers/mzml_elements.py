"""Take an mzML file apart into its spectra and chromatograms: their terms, and their arrays as they are packed.

The spectra of a run are written alike. One that differs in nothing but its values from one that was parsed before is
read by the pattern of that one; all others go through the parser. A file that holds more than tags and text, or in
which the parser finds a fault, is read by way of pyteomics' reader, so that what is said of it does not depend on
shortcuts.
"""

from __future__ import annotations

import io
import re
from collections.abc import Generator, Iterator
from typing import Any

from cutbook.importers.binary_text import whole_number
from cutbook.importers.mzml_alike import Alike, learn
from cutbook.importers.mzml_terms import ASKED, VALUED, Array, Element, Terms, packing
from cutbook.importers.trace_file import TraceFile
from cutbook.importers.xml_prolog import PARSED_SAFELY, forget, refuse_unsafe, unreadable

WANTED = ("{*}spectrum", "{*}chromatogram", "{*}referenceableParamGroup")
_WHOLE = (b"spectrum", b"chromatogram")
_FLAG = ("", "")
_PIECE = 2**16  # bytes that the parser is given at a time
_DECLARATION = re.compile(rb"(?:\xef\xbb\xbf)?<\?xml[^?]*\?>")
_NO_TAG = re.compile(rb"<[!?]")  # of a comment, of text that is not to be parsed, of an instruction
_OPENED, _CLOSED = re.compile(rb"<spectrum[\s/>]"), b"</spectrum>"
_MOST_LEARNED = 8  # full scans, fragments, scans without ions, a few more; a file with others is written unlike


def elements(file: TraceFile, counted: str = "") -> Iterator[Element]:
    """Every spectrum and chromatogram of a file, in its order.

    Parameters
    ----------
    file : mzML. counted : the kind, if any, of which nothing is asked but how many there are.

    Raises
    ------
    TraceError
        When the file must not be handed to a parser, or when it is no XML.
    """
    refuse_unsafe(file, _WHOLE)
    walk = _Walk(file, counted)
    whole = yield from _plain_elements(walk)
    if not whole:
        yield from _any_elements(file, counted, walk.met)


class _Walk:
    """Makes elements of what a parser found, by what stood before it."""

    def __init__(self, file: TraceFile, counted: str) -> None:
        self.file = file
        self.counted = counted
        self.groups: dict[str, Terms] = {}
        self.numbers = {"spectrum": 0, "chromatogram": 0}
        self.known: list[Alike] = []
        self.to_learn = _MOST_LEARNED

    @property
    def met(self) -> int:
        """How many elements were made."""
        return sum(self.numbers.values())

    def elements(self, nodes: Iterator[Any]) -> Iterator[Element]:
        """Spectra and chromatograms among nodes of `WANTED`, which are cleared once they were looked at."""
        for node in nodes:
            tag = node.tag.rpartition("}")[2]
            if tag == "referenceableParamGroup":
                self.known.clear()  # may have been learned of a group by the same name
                self.groups[node.get("id", "")] = {p.get("accession", ""): _valued(p) for p in node.iter("{*}cvParam")}
            else:
                element = self.element(node, tag)
                self.numbers[tag] += 1
                yield element
            forget(node)

    def element(self, node: Any, tag: str) -> Element:
        """The next spectrum or chromatogram."""
        number = self.numbers[tag]
        name = node.get("id", "")
        default = whole_number(self.file, f"{tag} {number + 1}", node.get("defaultArrayLength", "0"))
        own: Terms = {}
        arrays: list[Array] = []
        terms = own
        for part in node.iter() if tag != self.counted else ():
            accession = part.get("accession")
            if accession is not None:  # most parts are terms, and most terms are not asked for
                if accession in ASKED and accession not in terms:
                    terms[accession] = _valued(part) if accession in VALUED else _FLAG
                continue
            kind = part.tag.rpartition("}")[2]
            if kind == "binaryDataArray":
                length = part.get("arrayLength")
                terms = {}
                array = Array(terms, default if length is None else whole_number(self.file, name, length))
                arrays.append(array)
            elif kind == "binary":
                if arrays:
                    arrays[-1].text = part.text or ""
            elif kind == "referenceableParamGroupRef":
                for accession, value in self.groups.get(part.get("ref", ""), {}).items():
                    terms.setdefault(accession, value)
            elif kind == "precursorList":
                terms = {}  # what belongs to a precursor is not the spectrum's own
        for array in arrays:
            array.dtype, array.zipped = packing(array.terms)
        return Element(tag, name, number, default, own, arrays)

    def by_pattern(self, one: Alike, values: tuple[bytes, ...]) -> Element:
        """The next spectrum, from the values in it."""
        number = self.numbers["spectrum"]
        self.numbers["spectrum"] += 1
        return one.spectrum(self.file, number, values)

    def learn(self, text: bytes) -> None:
        """Learn the pattern of a spectrum that was met."""
        from lxml import etree

        def parsed(specimen: bytes) -> Element:
            return self.element(etree.fromstring(specimen, etree.XMLParser(**PARSED_SAFELY)), "spectrum")

        if self.to_learn:
            self.to_learn -= 1
            if (one := learn(text, parsed)) is not None:
                self.known.append(one)


def _plain_elements(walk: _Walk) -> Generator[Element, None, bool]:
    """The elements of a file that is nothing but tags and text; whether it is, so that these are all."""
    from lxml import etree

    content = walk.file.content
    declared = _DECLARATION.match(content)
    unseen = declared.end() if declared else 0
    parser = etree.XMLPullParser(("end",), tag=WANTED, **PARSED_SAFELY)
    at = 0
    try:
        while walk.known or walk.to_learn:
            # right after a spectrum stands nothing that could hide another, so that a pattern is enough to tell it
            for one in walk.known:
                if (found := one.pattern.match(content, at)) is not None:
                    at = found.end()
                    yield walk.by_pattern(one, found.groups())
                    break
            else:
                end = content.find(_CLOSED, at) + len(_CLOSED)
                if end < len(_CLOSED):
                    break
                opened = [tag.start() for tag in _OPENED.finditer(content, at, end)]
                if len(opened) != 1 or _NO_TAG.search(content, max(at, unseen), end):
                    return False
                before = walk.numbers["spectrum"]
                yield from walk.elements(_parsed(parser, content, at, end))
                if walk.numbers["spectrum"] != before + 1:
                    return False
                walk.learn(content[opened[0] : end])
                at = end
        if not at:
            return False
        yield from walk.elements(_parsed(parser, content, at, len(content)))
        parser.close()
    except etree.XMLSyntaxError:
        return False
    return True


def _parsed(parser: Any, content: bytes, start: int, end: int) -> Iterator[Any]:
    """The nodes that end in the next part of a file."""
    for first in range(start, end, _PIECE):
        parser.feed(content[first : min(first + _PIECE, end)])
        for _, node in parser.read_events():
            yield node


def _any_elements(file: TraceFile, counted: str, known: int) -> Iterator[Element]:
    """The elements of any file, without so many at its beginning that are known."""
    from lxml import etree

    from cutbook.importers.mzml_reader import open_reader

    walk = _Walk(file, counted)
    try:
        for element in walk.elements(open_reader(io.BytesIO(file.content)).elements(WANTED)):
            if walk.met > known:
                yield element
    except etree.XMLSyntaxError as error:
        raise unreadable(file, error, "mzML") from None


def _valued(term: Any) -> tuple[str, str]:
    """Value and unit of a term."""
    return term.get("value", ""), term.get("unitAccession") or term.get("unitName") or ""
