"""XML that must not be handed to a parser."""

import re
import tracemalloc

import pytest

from cutbook.importers.xml_prolog import unsafe_bulk

NAMES = (b"spectrum", b"chromatogram")


@pytest.mark.parametrize("sign", [b"<", b">", b"<a>"])
def test_more_tags_than_any_file_has_are_counted_within_little_memory(sign):
    content = b"<mzML>" + sign * 4_000_000 + b"</mzML>"
    tracemalloc.start()
    told = unsafe_bulk(content, NAMES)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert re.fullmatch(r"4,000,00\d tags", told)
    assert peak < 64 * 2**20  # 3 million places as 64-bit numbers, and the list that they are joined from


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"<mzML>" + b"<spectrum></spectrum>" * 5 + b"</mzML>", ""),
        (b"<mzML>" + b"<spectrum></spectrum>" * 100_001 + b"</mzML>", "100,001 spectra"),
        (b"<mzML>" + b"<m:spectrum/>" * 100_001 + b"</mzML>", "100,001 spectra"),
        (b"<mzML><run>" + b"<a/>" * 4998 + b"<spectrum/>", ""),
        (b"<mzML><run>" + b"<a/>" * 4999 + b"<spectrum/>", "5,001 elements in one place"),
        (b"<mzML><spectrum/><a b='" + b"c" * 199_990 + b"'/>", ""),
        (b"<mzML><spectrum/><a b='" + b"c" * 200_000 + b"'/>", "a tag of 200,008 characters"),
        (b"<mzML><spectrum>" + b"c" * 300_000 + b"</spectrum></mzML>", ""),
    ],
)
def test_what_a_parser_would_hold_at_a_time_is_bounded(content, told):
    assert unsafe_bulk(content, NAMES) == told
