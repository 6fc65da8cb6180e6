"""Spectra read by the pattern of one before them: the same as if all of them were parsed, whatever the file."""

import os
import random
import re

import pytest
from scan_files import mzml, some_scans

from cutbook.importers import mzml_elements
from cutbook.importers.mzml_elements import _any_elements, elements
from cutbook.importers.trace_file import TraceFile
from cutbook.model.errors import TraceError

TIMES, SCANS = some_scans(30)
GOOD = mzml(TIMES, SCANS)
FIRST, SECOND = (at.start() for at in list(re.finditer(rb"<spectrum ", GOOD))[:2])
INSIDE = GOOD.index(b"<cvParam", SECOND)


def file_of(content):
    return TraceFile("run.mzML", content, "0" * 64)


def told(found):
    """What elements hold, and the line with which reading ends, if it does."""
    seen = []
    try:
        for one in found:
            arrays = [
                (a.terms, a.length, a.text.decode("ascii") if isinstance(a.text, bytes) else a.text, a.dtype, a.zipped)
                for a in one.arrays
            ]
            seen.append((one.tag, one.name, one.number, one.length, one.terms, arrays))
    except TraceError as error:
        seen.append(str(error))
    return seen


def all_parsed(content):
    mzml_elements.refuse_unsafe(file_of(content), (b"spectrum", b"chromatogram"))
    return told(_any_elements(file_of(content), "", 0))


def assert_same(found, expected):
    """Assert that the elements are the same, or the fault; a parser may tell of a fault before what precedes it."""
    if found != expected:
        assert found[-1] == expected[-1] and isinstance(found[-1], str)
        for one, other in zip(found[:-1], expected[:-1], strict=False):
            assert one == other


def put(at, text, content=GOOD):
    return content[:at] + text + content[at:]


WHOLE = GOOD[FIRST : GOOD.index(b"</spectrum>", FIRST) + 11]
FILES = {
    "32 bits": mzml(TIMES, SCANS, 32),
    "not packed": mzml(TIMES, SCANS, zipped=False),
    "terms in groups": mzml(TIMES, SCANS, group=True, index=True),
    "fragments between": mzml(TIMES, SCANS, level=[1 + (n % 3 == 2) for n in range(len(TIMES))]),
    "without totals, in seconds": mzml(TIMES, SCANS, total=False, seconds=True),
    "chromatogram alone": mzml(TIMES, SCANS, spectra=False),
    "a comment between": put(SECOND, b"<!-- a note -->"),
    "a spectrum in a comment": put(SECOND, b"<!--" + WHOLE + b"-->"),
    "the rest in a comment": put(SECOND, b"<!--" + WHOLE).replace(b"</spectrumList>", b"--></spectrumList>"),
    "an end tag in a comment, spectra behind it": put(
        SECOND, b'<spectrum id="empty" defaultArrayLength="0"/><!--</spectrum>' + WHOLE + WHOLE + b"-->"
    ),
    "a comment inside": put(INSIDE, b"<!-- </spectrum> -->"),
    "an instruction": put(SECOND, b"<?note </spectrum> ?>"),
    "text as it stands": put(INSIDE, b"<![CDATA[</spectrum>]]>"),
    "text between": put(SECOND, b"a note"),
    "an element between": put(SECOND, b"<userParam name='a' value='<spectrum '/>".replace(b"<spectrum ", b"spectrum")),
    "one in another": put(INSIDE, WHOLE),
    "one in another, the outer without a space": put(INSIDE, WHOLE).replace(b"<spectrum ", b"<spectrum\n", 1),
    "all in one": put(FIRST, b"<spectrum\nid='a'>").replace(b"</spectrumList>", b"</spectrum></spectrumList>"),
    "all in one place": GOOD.replace(b"</spectrum>", b"<x/></spectrum>", 3),
    "entities of letters": GOOD.replace(b'id="scan=3', b'id="&#65;&amp;scan=3').replace(b"eJ", b"&#101;J", 9),
    "letters outside ASCII": GOOD.replace(b'id="', 'id="µ'.encode()),
    "single quotes": re.sub(rb'value="([^"]*)"', rb"value='\1'", GOOD),
    "a tag in a value": put(INSIDE, b'<userParam name="b" value="</spectrum>"/>'),
    "a value in another's text": put(INSIDE, b'<userParam name="b value=" type="x" value="c"/>'),
    "values in text": put(INSIDE, b' value="7" <userParam/>'),
    "spaces at the end of tags": GOOD.replace(b"</spectrum>", b"</spectrum >", 5),
    "spectra without an end tag": put(SECOND, b'<spectrum id="empty" defaultArrayLength="0"/>'),
    "prefixes": re.sub(rb"<(/?)(\w+)", rb"<\1m:\2", GOOD.split(b"\n", 1)[1]).replace(b"xmlns=", b"xmlns:m="),
    "prefixes inside": GOOD.replace(b'id="scan=', b'm:note="a" id="scan=').replace(b"<mzML ", b"<mzML xmlns:m='n' "),
    "a prefix without a name": GOOD.replace(b"<binary>", b"<m:binary>").replace(b"</binary>", b"</m:binary>"),
    "counts that are none": GOOD.replace(b'defaultArrayLength="20"', b'defaultArrayLength="a"', 7)[:-400],
    "a group that changes": put(
        mzml(TIMES, SCANS, group=True).index(b"</spectrum>", FIRST + 9000) + 11,
        b'<referenceableParamGroup id="common"><cvParam accession="MS:1000511" value="2"/></referenceableParamGroup>',
        mzml(TIMES, SCANS, group=True),
    ),
    "arrays in lines": GOOD.replace(b"eJ", b" eJ\n"),
    "arrays in lines of another system": GOOD.replace(b"eJ", b"e\r\nJ"),
    "a sign that is none, in an array": GOOD.replace(b"eJ", b"e\fJ", 9).replace(b"e\fJ", b"eJ", 8),
    "a sign that is none, between": put(SECOND, b"\f"),
    "cut off in a spectrum": GOOD[: len(GOOD) // 2],
    "cut off after a spectrum": GOOD[: GOOD.rindex(b"</spectrum>") + 11],
    "end tags in the wrong order": GOOD.replace(b"</spectrumList></run>", b"</run></spectrumList>"),
    "a declaration of the list left out": re.sub(rb"<spectrumList[^>]*>", b"", GOOD),
}


@pytest.mark.parametrize("name", FILES)
def test_a_file_is_read_as_if_all_of_it_were_parsed(name):
    assert_same(told(elements(file_of(FILES[name]))), all_parsed(FILES[name]))


def test_nothing_but_the_first_spectrum_is_parsed_where_all_are_alike(monkeypatch):
    parsed = []
    known = mzml_elements._Walk.element
    monkeypatch.setattr(
        mzml_elements._Walk, "element", lambda walk, node, tag: parsed.append(tag) or known(walk, node, tag)
    )
    assert len(list(elements(file_of(GOOD)))) == len(TIMES) + 1
    assert parsed == ["spectrum", "spectrum", "chromatogram"]  # the first, and again with marks
    parsed.clear()
    assert len(list(elements(file_of(FILES["fragments between"])))) == len(TIMES) + 1
    assert parsed.count("spectrum") == 2


def test_what_is_met_by_a_pattern_alone_is_counted_too():
    numbers = [one.number for one in elements(file_of(GOOD), counted="spectrum") if one.tag == "spectrum"]
    assert numbers == list(range(len(TIMES)))


SCRAPS = [
    b"<!--", b"-->", b"<![CDATA[", b"]]>", b"<?a ", b"?>", b"</spectrum>", b"<spectrum ", b"<spectrum>", b"&lt;", b"&", b"<",
    b">", b'"', b"'", b" ", b"/", b"=", b"\n", b"\xc3\xa9", b"\xff", b"\0", b' value="1"', b"<binary>", b"</binary>", b"<precursorList>",
]  # fmt: skip


def test_damage_at_random_is_met_as_by_the_parser():
    whole = mzml(TIMES[:6], [(mz[:3], intensity[:3]) for mz, intensity in SCANS[:6]])
    dice = random.Random(5)
    faults = 0
    for _ in range(400 * (10 if os.environ.get("CUTBOOK_LONG") else 1)):
        content = whole
        for _ in range(dice.choice([1, 1, 2, 3])):
            at = dice.randrange(60, len(content))
            cut = dice.choice([0, 0, 1, 5, 200])
            content = content[:at] + dice.choice(SCRAPS) + content[at + cut :]
        expected = all_parsed(content)
        assert_same(told(elements(file_of(content))), expected)
        faults += isinstance(expected[-1], str) if expected else 0
    assert 50 < faults < 400 * 10
