"""Learn from a spectrum of an mzML file the pattern of those that differ from it in nothing but their values.

The pattern takes what is no value letter by letter, and in the place of a value nothing that could end it. Whether the
places are those of values is asked of the parser, which is given the spectrum with a mark in each.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from cutbook.importers.binary_text import whole_number
from cutbook.importers.mzml_terms import Array, Element, Terms
from cutbook.importers.trace_file import TraceFile

_PLACES = re.compile(
    rb'\s(?:value|id|index|defaultArrayLength|arrayLength|encodedLength)="([^"<&]*)"|<binary>([^<&]*)</binary>'
)
_VALUE = rb"[ !#-%(-;=?-~]*+"  # ASCII without quotes and without what begins or ends a tag or an entity
_PACKED = rb"[A-Za-z0-9+/= \t\n]{0,10000000}+"  # a parser, too, gives up beyond
_MARK, _MOST = "8200173", 1000  # followed by the number of the place it is a value, a count and base64
_LONGEST = 20_000  # bytes that are no values; a spectrum has some thousand


@dataclass(frozen=True, slots=True)
class Alike:
    """Spectra that differ in nothing but their values.

    pattern : of a spectrum and the space before it. terms : that all of them have. The rest are numbers of groups of
    the pattern: name, length : of a spectrum. valued : beside a term and its unit. arrays : of length and of text,
    None where there is none, beside the array as it was parsed.
    """

    pattern: re.Pattern[bytes]
    terms: Terms
    name: int
    length: int
    valued: tuple[tuple[str, str, int], ...]
    arrays: tuple[tuple[Array, int, int | None], ...]

    def spectrum(self, file: TraceFile, number: int, values: tuple[bytes, ...]) -> Element:
        """The spectrum with these values, as it would be parsed.

        Parameters
        ----------
        file : for messages. number : of the spectrum in the file, from 0. values : what the groups have matched.
        """
        name = values[self.name].decode("ascii")
        length = whole_number(file, f"spectrum {number + 1}", values[self.length].decode("ascii"))
        terms = self.terms.copy()
        for term, unit, at in self.valued:
            terms[term] = (values[at].decode("ascii"), unit)
        arrays = []
        for one, count, text in self.arrays:
            size = length if count == self.length else whole_number(file, name, values[count].decode("ascii"))
            arrays.append(Array(one.terms, size, "" if text is None else values[text], one.dtype, one.zipped))
        return Element("spectrum", name, number, length, terms, arrays)


def learn(spectrum: bytes, parsed: Callable[[bytes], Element]) -> Alike | None:
    """What spectra that are written like one have in common, None where that cannot be told.

    Parameters
    ----------
    spectrum : the element as it stands in the file, which is nothing but tags and text.
    parsed : what a parser makes of such an element.
    """
    from lxml import etree

    texts, places, at = [], [], 0
    for found in _PLACES.finditer(spectrum):
        start, end = found.span(found.lastindex or 0)
        texts.append(spectrum[at:start])
        places.append(_VALUE if found.lastindex == 1 else _PACKED)
        at = end
    rest = spectrum[at:]
    if len(places) > _MOST or sum(map(len, texts)) + len(rest) > _LONGEST or not spectrum.isascii():
        return None
    marks = {f"{_MARK}{place:04d}": place for place in range(len(places))}
    try:
        element = parsed(b"".join(text + mark.encode("ascii") for text, mark in zip(texts, marks, strict=True)) + rest)
    except etree.XMLSyntaxError:  # a prefix that is declared outside, or a place that is none of a value
        return None
    own = {term: pair for term, pair in element.terms.items() if pair[0] not in marks}
    valued = [(term, unit, value) for term, (value, unit) in element.terms.items() if value in marks]
    arrays = [(one, str(one.length), str(one.text)) for one in element.arrays]
    asked = {element.name, str(element.length)}.union(
        (value for _, _, value in valued), (count for _, count, _ in arrays), (text for _, _, text in arrays if text)
    )
    if not marks.keys() >= asked or _MARK in repr(
        (own, [unit for _, unit, _ in valued], [one.terms for one, _, _ in arrays])
    ):
        return None
    group = {mark: number for number, mark in enumerate(mark for mark in marks if mark in asked)}
    pattern = b"".join(
        re.escape(text) + (b"(" + place + b")" if mark in group else place)
        for text, place, mark in zip(texts, places, marks, strict=True)
    )
    return Alike(
        re.compile(rb"[ \t\r\n]*+" + pattern + re.escape(rest)),
        own,
        group[element.name],
        group[str(element.length)],
        tuple((term, unit, group[value]) for term, unit, value in valued),
        tuple((one, group[count], group[text] if text else None) for one, count, text in arrays),
    )
